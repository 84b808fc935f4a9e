"""GHS label elements from hazard statements: pictograms, signal word, statements, with the rules of precedence."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from labstock.chemistry.errors import LabError
from labstock.chemistry.hazard_table import hazard_rows

PICTOGRAM_NAMES = {
    "GHS01": "exploding bomb",
    "GHS02": "flame",
    "GHS03": "flame over circle",
    "GHS04": "gas cylinder",
    "GHS05": "corrosion",
    "GHS06": "skull and crossbones",
    "GHS07": "exclamation mark",
    "GHS08": "health hazard",
    "GHS09": "environment",
}

# A statement that another one makes superfluous: GHS 1.4.
_CUT_BY = {"H400": "H410", "H401": "H411", "H318": "H314"}
_IRRITATION = frozenset({"H315", "H319", "H320"})


@dataclass(frozen=True)
class Hazard:
    """One row of the table: a statement in one class and category.

    Parameters
    ----------
    code : str
        For instance "H314" [-].
    hazard_class, category : str
        Where it comes from, for instance "Skin corrosion or irritation", "1B" [-].
    pictograms : tuple of str
        "GHS01" to "GHS09" [-].
    signal_word : str
        "Danger", "Warning" or empty [-].
    text : str
        The statement [-].
    """

    code: str
    hazard_class: str
    category: str
    pictograms: tuple[str, ...]
    signal_word: str
    text: str

    @property
    def is_only_un(self) -> bool:
        """Whether the category is in the UN GHS but not in the CLP [-]."""
        return self.category.startswith("UN ")


@dataclass(frozen=True)
class LabelElements:
    """What a label shows.

    Parameters
    ----------
    pictograms : tuple of str
        Those that must be shown, in the order of their numbers [-].
    optional_pictograms : tuple of str
        Those that may be left out beside the others [-].
    signal_word : str
        "Danger", "Warning" or empty [-].
    statements : tuple of (str, str)
        Codes and words, physical hazards first [-].
    """

    pictograms: tuple[str, ...]
    optional_pictograms: tuple[str, ...]
    signal_word: str
    statements: tuple[tuple[str, str], ...]


HAZARDS: tuple[Hazard, ...] = tuple(Hazard(*row) for row in hazard_rows())
_BY_CODE: dict[str, tuple[Hazard, ...]] = {
    code: tuple(hazard for hazard in HAZARDS if hazard.code == code)
    for code in {hazard.code for hazard in HAZARDS}
}


def hazard(code: str, category: str = "") -> Hazard:
    """Find the row for a code and, where the code alone does not decide, its category.

    Parameters
    ----------
    code : str
        For instance "H261" or "EUH019" [-].
    category : str, optional
        For instance "2" or "1B"; needed when categories differ in signal word or pictogram [-].

    Returns
    -------
    Hazard
        The row [-].

    Notes
    -----
    Source: `labstock.chemistry.hazard_table`.

    Examples
    --------
    >>> hazard("H261", "3").signal_word
    'Warning'
    >>> hazard("H314").pictograms
    ('GHS05',)
    """
    cleaned = _cleaned(code)
    rows = _BY_CODE.get(cleaned) or _raise_unknown(code)
    wanted = _category(category)
    if wanted:
        found = [row for row in rows if _category(row.category) == wanted]
        if not found:
            raise _no_category(cleaned, category, rows)
        return found[0]
    if len({(row.signal_word, row.pictograms) for row in rows}) > 1:
        raise _category_needed(cleaned, rows)
    return rows[0]


def _cleaned(code: str) -> str:
    match = re.fullmatch(r"\s*(EU)?\s*[Hh]\s*(\d{3})\s*([A-Za-z]{0,2})\s*", code)
    return f"{match[1] or ''}H{match[2]}{match[3]}" if match else code.strip()


def _category(text: str) -> str:
    return re.sub(
        r"^(un|category|cat\.?|acute|chronic|type)\s*", "", text.strip().lower().replace("un acute", "acute")
    )


def _raise_unknown(code: str) -> tuple[Hazard, ...]:
    number = "".join(filter(str.isdigit, code))
    near = sorted(known for known in _BY_CODE if number and number[:2] in known)[:4]
    raise LabError(
        "unknown-hazard",
        "'{code}' is no hazard statement known here{hint}: copy it from section 2 of the safety data sheet.",
        code=code.strip()[:40],
        hint=f" (near it: {', '.join(near)})" if near else "",
    )


def _no_category(code: str, category: str, rows: tuple[Hazard, ...]) -> LabError:
    return LabError(
        "wrong-category",
        "{code} has no category {category}: it belongs to {hazard_class}, category {categories}.",
        code=code,
        category=category,
        hazard_class=rows[0].hazard_class.lower(),
        categories=" or ".join(row.category for row in rows) or "none",
    )


def _category_needed(code: str, rows: tuple[Hazard, ...]) -> LabError:
    meanings = "; ".join(f"{row.signal_word or 'no word'} in category {row.category}" for row in rows)
    return LabError(
        "category-needed",
        "{code} alone does not decide the signal word or pictogram ({meanings}): add the category from the safety data sheet.",
        code=code,
        meanings=meanings,
    )


def label_elements(hazards: Iterable[tuple[str, str]]) -> LabelElements:
    """Work out what a label shows.

    Parameters
    ----------
    hazards : iterable of (str, str)
        Code and category; the category may be empty where the code decides. "H302+H332" counts as two [-].

    Returns
    -------
    LabelElements
        Pictograms, signal word and statements after the rules of precedence [-].

    Notes
    -----
    Source: CLP articles 20(3) and 26(1); GHS 1.4 for statements that others make superfluous.

    Examples
    --------
    >>> label_elements([("H226", "3"), ("H302", "4"), ("H314", "1B"), ("H332", "4")]).pictograms
    ('GHS02', 'GHS05', 'GHS07')
    """
    rows = [hazard(part, category) for code, category in hazards for part in code.split("+")]
    codes = {row.code for row in rows}
    statements = {row.code: row.text for row in rows if _CUT_BY.get(row.code) not in codes}
    shown, optional = _pictograms(rows)
    return LabelElements(shown, optional, _signal_word(rows), tuple(sorted(statements.items(), key=_order)))


def _order(statement: tuple[str, str]) -> tuple[bool, str]:
    return statement[0].startswith("EUH"), statement[0]


def _signal_word(rows: list[Hazard]) -> str:
    words = {row.signal_word for row in rows}
    return next((word for word in ("Danger", "Warning") if word in words), "")


def _pictograms(rows: list[Hazard]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Article 26(1): what one pictogram makes superfluous, and what it makes optional."""
    wanted = {pictogram for row in rows for pictogram in row.pictograms}
    if "GHS07" in wanted and not _exclamation_stays(rows, wanted):
        wanted.discard("GHS07")
    compulsory_pairs = {pictogram for row in rows if len(row.pictograms) > 1 for pictogram in row.pictograms}
    optional = set()
    if "GHS01" in wanted:
        optional |= {"GHS02", "GHS03"} & wanted
    if wanted & {"GHS02", "GHS06"}:
        optional |= {"GHS04"} & wanted
    optional -= compulsory_pairs
    return tuple(sorted(wanted - optional)), tuple(sorted(optional))


def _exclamation_stays(rows: list[Hazard], wanted: set[str]) -> bool:
    """The exclamation mark stays if at least one statement still asks for it."""
    covered: set[str] = set()
    if "GHS06" in wanted:
        return False
    if "GHS05" in wanted:
        covered |= _IRRITATION
    if any(row.code == "H334" for row in rows):
        covered |= _IRRITATION | {"H317"}
    return any("GHS07" in row.pictograms and row.code not in covered for row in rows)
