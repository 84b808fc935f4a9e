"""How far a count lies from the book, and what follows from it.

The tolerance of a stock check is z = |count - book| / √(u_book² + u_count²), the difference in units of what both
measurements leave open (JCGM 100:2008, 5.1.2, for the sum of independent parts). That up to 2 nothing is said, up to 3
the difference is noted and beyond 3 a cause is asked for is common practice, no source.
"""

from dataclasses import dataclass
from enum import Enum
from math import hypot, inf

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import SETTLES_WITHIN

NOTED_BEYOND = 2.0
# Plan for the share of records that match; trade practice, read on trade pages, no norm.
AIM = 0.95


class Verdict(Enum):
    """What a difference asks for."""

    FITS = "fits"
    NOTED = "noted"
    EXPLAIN = "explain"


@dataclass(frozen=True)
class Difference:
    """A count beside the book.

    Parameters
    ----------
    count, u_count : float
        What was found and its standard uncertainty [unit].
    book, u_book : float
        What the book said before and its standard uncertainty [unit].
    """

    count: float
    u_count: float
    book: float
    u_book: float

    @property
    def signed(self) -> float:
        """Count less book: below zero, less is there than the book says [unit]."""
        return self.count - self.book

    @property
    def u(self) -> float:
        """Standard uncertainty of the difference [unit]."""
        return hypot(self.u_count, self.u_book)

    @property
    def z(self) -> float:
        """The difference in units of its uncertainty; endless where two exact numbers differ [-]."""
        if self.u:
            return abs(self.signed) / self.u
        return inf if self.signed else 0.0

    @property
    def verdict(self) -> Verdict:
        """What follows from it [-]."""
        if self.z <= NOTED_BEYOND:
            return Verdict.FITS
        return Verdict.NOTED if self.z <= SETTLES_WITHIN else Verdict.EXPLAIN

    @property
    def words(self) -> str:
        """The size of z in words [-]."""
        if self.z == inf:
            return "two counts of whole pieces cannot differ by chance"
        times = f"{self.z:.1f} times what the devices leave open"
        return {
            Verdict.FITS: f"as expected: {times}",
            Verdict.NOTED: f"larger than usual: {times}; one in twenty is by chance",
            Verdict.EXPLAIN: f"not by chance: {times}",
        }[self.verdict]


def matched_share(matched: int, total: int) -> float | None:
    """Find the share of records that a check found right. Overs and unders are never set off against each other.

    Parameters
    ----------
    matched : int
        Records that were right: seen where they belong and, where counted, within three times the uncertainty [-].
    total : int
        All records that were looked for, and all that was found besides [-].

    Returns
    -------
    float or None
        The share, 0 to 1; None where nothing was looked for [-].

    Notes
    -----
    Source: matched over total is common practice for periodic counts; see the module.

    Examples
    --------
    >>> matched_share(38, 40), matched_share(0, 0)
    (0.95, None)
    """
    if not 0 <= matched <= total:
        raise LabError(
            "bad-share",
            "{matched} of {total} records cannot match: give a count from 0 to {total}.",
            matched=matched,
            total=total,
        )
    return matched / total if total else None
