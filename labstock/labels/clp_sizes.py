"""How large a label with every hazard element must be, and what small packages may leave out.

Each row names its source and the date of the text it was taken from.
"""

from dataclasses import dataclass
from math import inf, sqrt

from labstock.chemistry.errors import LabError

TABLE = "CLP (EC) 1272/2008, Annex I, 1.2.1.4, Table 1.3"


@dataclass(frozen=True)
class Relief:
    """What lets a small package say less: up to which volume [mL], by which rule, and on what condition."""

    up_to_mL: float
    source: str
    condition: str
    as_of: str = "2024-12"

    @property
    def words(self) -> str:
        """Return it as a page says it."""
        return f"{self.source}, up to {self.up_to_mL:g} mL, {self.condition}"


# Both from memory of the regulation's text.
SMALL_PACKAGE = Relief(125, "CLP Annex I, 1.5.2.1", "not for the general public")
RESEARCH_PACKAGE = Relief(
    10, "CLP Annex I, 1.5.2.4", "for research or quality control, inside a fully labelled pack"
)


@dataclass(frozen=True)
class SizeRule:
    """A row of the table: up to which capacity [L], the label [mm], the edge of a picture's own square [mm].

    `picture` is asked for "if possible" where `picture_least` is smaller; the edge is that of the square set on
    its point, not of the frame around it.
    """

    up_to_L: float
    width: float
    height: float
    picture: float
    picture_least: float
    source: str = TABLE
    as_of: str = "2024-12"

    @property
    def words(self) -> str:
        """Return which containers the row is for."""
        return {3.0: "up to 3 L", 50.0: "3 to 50 L", 500.0: "50 to 500 L"}.get(self.up_to_L, "over 500 L")

    @property
    def picture_wanted(self) -> float:
        """Return the edge that also covers a fifteenth of the label [mm]."""
        return max(self.picture, sqrt(self.width * self.height / 15))

    def is_met_by(self, width: float, height: float) -> bool:
        """Say whether a label is large enough, lying or standing [mm]."""
        return min(width, height) >= self.height and max(width, height) >= self.width


SIZE_RULES = (
    SizeRule(3.0, 74, 52, 16, 10),
    SizeRule(50.0, 105, 74, 23, 23),
    SizeRule(500.0, 148, 105, 32, 32),
    SizeRule(inf, 210, 148, 46, 46),
)

# Statements that a package of up to 125 mL not sold to the public may leave out, with their categories.
# CLP Annex I, 1.5.2.1.1; the list is from memory.
MAY_BE_LEFT_OUT: dict[str, frozenset[str]] = {
    "H270": frozenset({"1"}),
    "H225": frozenset({"2"}), "H226": frozenset({"3"}), "H228": frozenset({"1", "2"}),
    "H252": frozenset({"2"}), "H260": frozenset({"1"}), "H261": frozenset({"2", "3"}),
    "H272": frozenset({"2", "3"}), "H302": frozenset({"4"}), "H312": frozenset({"4"}),
    "H332": frozenset({"4"}), "H315": frozenset({"2"}), "H319": frozenset({"2"}),
    "H335": frozenset({"3"}), "H336": frozenset({"3"}), "H371": frozenset({"2"}),
    "H373": frozenset({"2"}), "H400": frozenset({"1"}), "H410": frozenset({"1"}), "H411": frozenset({"2"}),
}  # fmt: skip
# What stays on a package of up to 10 mL: CLP Annex I, 1.5.2.4.2; from memory. At most two, the last first.
STAYS_ON_THE_SMALLEST = ("GHS08", "GHS06", "GHS05", "GHS01")


def size_rule(capacity_mL: float) -> SizeRule:
    """Find the row for a container.

    Parameters
    ----------
    capacity_mL : float
        What the container holds when full [mL].

    Returns
    -------
    SizeRule
        The row; a bound belongs to the smaller label [-].

    Notes
    -----
    CLP (EC) 1272/2008, Annex I, 1.2.1.4, Table 1.3.

    Examples
    --------
    >>> size_rule(3000).width, size_rule(3001).width
    (74, 105)
    """
    if not capacity_mL > 0:
        raise LabError(
            "no-capacity",
            "A capacity of {capacity:g} mL has no label size: give the size of the container.",
            capacity=capacity_mL,
        )
    return next(rule for rule in SIZE_RULES if capacity_mL <= rule.up_to_L * 1000)


def may_be_left_out(code: str, category: str) -> bool:
    """Say whether a package of up to 125 mL may leave a hazard statement out.

    Parameters
    ----------
    code : str
        For instance "H226" [-].
    category : str
        For instance "3"; empty where nobody wrote it down, and then the statement stays unless its code alone
        decides [-].

    Returns
    -------
    bool
        True when it may be left out [-].

    Notes
    -----
    CLP Annex I, 1.5.2.1.1; the list is from memory.

    Examples
    --------
    >>> may_be_left_out("H226", "3"), may_be_left_out("H314", "1B"), may_be_left_out("H302", "")
    (True, False, True)
    """
    allowed = MAY_BE_LEFT_OUT.get(code.strip().upper()[:4], frozenset())
    return category.strip() in allowed if category.strip() else len(allowed) == 1
