"""Whether differences between book and balance are only what the devices' tolerances make.

A weighing that agrees with the book is averaged with it (labstock.chemistry.remaining), so the book takes in a part of what
was found. The test below is on the whole of it: found less book, against the doubt of both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, inf, sqrt
from statistics import NormalDist

import numpy as np
from scipy.special import gammaincc

from labstock.chemistry.band import size_of, weight_of_book
from labstock.chemistry.display import NO_BREAK
from labstock.chemistry.remaining import SETTLES_WITHIN

_STANDARD_NORMAL = NormalDist()
_HAIR = 1e-6


@dataclass(frozen=True)
class Difference:
    """One difference between what was found and what the book said.

    Parameters
    ----------
    found_less_book : float
        The difference [unit].
    u : float
        Its standard uncertainty: that of the book and that of the measurement together [unit].
    book : int
        Number of the book it is of: one for each container [-].
    commons : tuple of (str, float)
        What of the book's doubt comes from the bias of a device, device by device [-, unit].
    kept : float
        Weight of the book in what it said afterwards: 0 where it was replaced by what was found [-].
    """

    found_less_book: float
    u: float
    book: int = 0
    commons: tuple[tuple[str, float], ...] = ()
    kept: float = 0.0

    @property
    def z(self) -> float:
        """The difference over its standard uncertainty [-]."""
        if self.u:
            return self.found_less_book / self.u
        return inf if self.found_less_book else 0.0


@dataclass(frozen=True)
class Verdict:
    """What tolerance alone makes of some differences.

    Parameters
    ----------
    total : float
        Their sum [unit].
    u : float
        Its standard uncertainty [unit].
    probability : float
        Chance that tolerance alone gives differences at least as large, 0 to 1 [-].
    """

    total: float
    u: float
    probability: float

    @property
    def z(self) -> float:
        """Size of the sum over its standard uncertainty [-]."""
        return abs(Difference(self.total, self.u).z)


def difference_of(
    change: float, u: float, s: float, book: int = 0, commons: tuple[tuple[str, float], ...] = ()
) -> Difference:
    """Find the whole difference behind the change that a weighing or a count made to the book.

    Parameters
    ----------
    change : float
        What the book was changed by [unit].
    u : float
        Standard uncertainty of the book before [unit].
    s : float
        Standard uncertainty of what was found [unit].
    book : int
        Number of the book [-].
    commons : tuple of (str, float)
        What of `u` comes from the bias of a device, device by device [-, unit].

    Returns
    -------
    Difference
        Found less book [unit].

    Notes
    -----
    Within three standard uncertainties the book moves by u²/(u² + s²) of the difference (weighted mean of independent
    estimates, as in JCGM 100:2008, 5.1.2), beyond them by all of it. A book without doubt does not move at all, and
    then nothing can be said: the difference comes back as 0.

    Examples
    --------
    >>> found = difference_of(-0.95, 1.3, 0.3)  # weighed 51.0, book 51.95 after a difference of 1.00
    >>> round(found.found_less_book, 2), round(found.u, 2)
    (-1.0, 1.33)
    """
    u, s = size_of(u), size_of(s)
    spread = hypot(u, s)
    if abs(change) > SETTLES_WITHIN * spread + _HAIR:
        return Difference(change, spread, book, commons, 0.0)
    kept = weight_of_book(u, s)
    return Difference(change / (1 - kept) if kept < 1 else 0.0, spread, book, commons, kept)


def by_tolerance(differences: Sequence[Difference]) -> Verdict:
    """Judge whether the tolerances of the devices used explain some differences.

    Parameters
    ----------
    differences : sequence of Difference
        The differences, each book's in the order of time [unit].

    Returns
    -------
    Verdict
        Sum, its standard uncertainty, and the chance of differences at least as large [unit, unit, -].

    Notes
    -----
    A measurement leaves no trace of its own error in the next difference (the innovations of a sequence of weighted means
    are independent), but the bias of a device that was used again does: it is in both. Of several differences both the
    sum (a steady leak) and the whole pattern (overs and unders that cancel) are tested, and the smaller chance is doubled
    for having looked twice (Bonferroni).
    Sources: normal and chi-square distribution, JCGM 100:2008, C.2.14 and C.3; correlated quantities, JCGM 100:2008, 5.2;
    not netting overs against unders is common practice of stock checks, no source.

    Examples
    --------
    >>> round(by_tolerance([Difference(2.0, 1.0)]).probability, 3)
    0.046
    >>> round(by_tolerance([Difference(60.0, 1.0), Difference(-60.0, 1.0)]).probability, 3)
    0.0
    """
    if not differences:
        return Verdict(0.0, 0.0, 1.0)
    found = np.array([one.found_less_book for one in differences])
    covariance = _covariance(differences)
    total, u = float(found.sum()), float(sqrt(max(covariance.sum(), 0.0)))
    of_sum = 2 * (1 - _STANDARD_NORMAL.cdf(min(abs(Difference(total, u).z), 40.0)))
    if len(differences) == 1:
        return Verdict(total, u, of_sum)
    squares = float(found @ np.linalg.pinv(covariance, hermitian=True) @ found)
    of_pattern = float(gammaincc(len(differences) / 2, max(squares, 0.0) / 2))
    return Verdict(total, u, min(1.0, 2 * min(of_sum, of_pattern)))


def _covariance(differences: Sequence[Difference]) -> np.ndarray:
    made = np.diag([max(one.u, _HAIR) ** 2 for one in differences])
    for j, later in enumerate(differences):
        biases, left = dict(later.commons), 1.0
        for i in reversed(range(j)):
            earlier = differences[i]
            is_same = earlier.book == later.book
            left *= earlier.kept if is_same else 1.0
            # what of the later bias was there before is in balance with the error that the measurement took in
            made[i, j] = made[j, i] = sum(
                common * (biases.get(device, 0.0) - (left * common if is_same else 0.0))
                for device, common in earlier.commons
            )
    return made


def words_for_tolerance(verdict: Verdict) -> str:
    """Say whether tolerance alone explains the differences.

    Parameters
    ----------
    verdict : Verdict
        What was found [unit].

    Returns
    -------
    str
        One sentence [-].

    Notes
    -----
    The bounds are those of two and three standard uncertainties (4.6 % and 0.27 %): common practice, no source.

    Examples
    --------
    >>> words_for_tolerance(Verdict(-0.4, 1.0, 0.69))
    'Tolerance alone explains it: in 69\\xa0of 100 cases it would make as much or more.'
    """
    percent = 100 * verdict.probability
    cases = f"{percent:.0f}{NO_BREAK}of 100" if percent >= 1 else f"fewer than 1{NO_BREAK}in 100"
    if percent < 0.27:
        return f"Tolerance does not explain it: it would make as much in {cases} cases. Look for a cause."
    if percent < 4.6:
        return f"Tolerance hardly explains it: it would make as much or more in {cases} cases. Keep an eye on it."
    return f"Tolerance alone explains it: in {cases} cases it would make as much or more."
