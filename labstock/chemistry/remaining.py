"""What is left in a container, and how sure that is.

The book amount m carries a band. Each removal widens it by its random part (as squares) and by the part common to the
device (as it is, so that twelve draws with one biased syringe add up twelve times). A weighing narrows it.
Evaporation widens it with time, and what it is expected to have taken (the band's `drift`) is held against the book
amount wherever somebody counts on it; only a weighing or a count brings it into the book.

The amounts follow the GUM (JCGM 100:2008): 5.1.2 for independent parts, 5.2.2 for the common ones; the weighted mean of
book and weighing is that of two independent estimates of one amount.
"""

from dataclasses import dataclass, replace
from math import hypot, inf
from statistics import NormalDist

from labstock.chemistry.band import EVAPORATION, RECEIPT, Band, size_of, weight_of_book
from labstock.chemistry.display import NO_BREAK
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat

__all__ = [
    "EVAPORATION", "RECEIPT", "Band", "WeighBack", "amount_from_gross", "probability_enough", "settle_weighing",
    "settles", "sure_amount", "weigh_back", "words_for_probability",
]  # fmt: skip

SETTLES_WITHIN = 3.0

_STANDARD_NORMAL = NormalDist()


@dataclass(frozen=True)
class WeighBack:
    """What a weighing does to the book.

    Parameters
    ----------
    m : float
        Amount to go on with: the weighted mean, or the book's where the two do not agree [unit].
    u : float
        Its standard uncertainty [unit].
    z : float
        |book - weighed| over the uncertainty of the difference [-].
    is_settled : bool
        False where the difference has to be explained first [-].
    difference : float
        Weighed minus book [unit].
    """

    m: float
    u: float
    z: float
    is_settled: bool
    difference: float


def settles(m: float, u: float, v: float, s: float) -> bool:
    """Tell whether a weighing agrees with the book well enough to be averaged with it.

    Parameters
    ----------
    m, u : float
        Book amount and its standard uncertainty [unit].
    v, s : float
        Weighed amount and its standard uncertainty [unit].

    Returns
    -------
    bool
        False where they lie more than 3·√(u² + s²) apart [-].

    Examples
    --------
    >>> settles(52, 1.3, 51, 0.3), settles(52, 1.3, 45, 0.3)
    (True, False)
    """
    return weigh_back(m, u, v, s).is_settled


def weigh_back(m: float, u: float, v: float, s: float) -> WeighBack:
    """Bring together the book amount and an amount found by weighing.

    Parameters
    ----------
    m, u : float
        Book amount and its standard uncertainty [unit].
    v, s : float
        Weighed amount and its standard uncertainty [unit].

    Returns
    -------
    WeighBack
        The mean weighted by 1/u² and 1/s²; beyond three standard uncertainties of the difference nothing is
        averaged and the difference is reported [unit].

    Notes
    -----
    Source: weighted mean of independent estimates, as in JCGM 100:2008, 5.1.2; the limit of three is common practice.

    Examples
    --------
    >>> found = weigh_back(52, 1.3, 51, 0.3)
    >>> round(found.m, 2), round(found.u, 2), found.is_settled
    (51.05, 0.29, True)
    """
    u, s = size_of(u), size_of(s)
    apart, spread = abs(m - v), hypot(u, s)
    z = apart / spread if spread else (inf if apart else 0.0)
    if z > SETTLES_WITHIN:
        return WeighBack(m, u, z, False, v - m)
    weight = weight_of_book(u, s)
    return WeighBack(weight * m + (1 - weight) * v, hypot(weight * u, (1 - weight) * s), z, True, v - m)


def settle_weighing(m: float, band: Band, v: float, s: float, shared: str = "") -> tuple[WeighBack, Band]:
    """Bring a weighing into the book and its band.

    Parameters
    ----------
    m : float
        Book amount [unit].
    band : Band
        Its doubt [unit].
    v, s : float
        Weighed amount and its standard uncertainty, without the `shared` part [unit].
    shared : str
        `RECEIPT` where the weighing is held against the gross mass at receipt: book and weighing then start from the
        same amount, and its doubt is neither compared nor narrowed. Empty where the empty vessel's mass is known [-].

    Returns
    -------
    tuple of (WeighBack, Band)
        What to go on with; amount and band are unchanged where the difference has to be explained first. The
        difference is that to the likely amount: the book's less what is expected to have evaporated [unit].

    Examples
    --------
    >>> found, band = settle_weighing(52, Band(0.0, (("receipt", 0.25), ("syringe-5", 1.3))), 51, 0.3, "receipt")
    >>> round(found.m, 2), round(band.u, 2)
    (51.05, 0.38)
    """
    found = weigh_back(m - band.drift, band.u_without(shared), v, s)
    if not found.is_settled:
        return replace(found, m=m, u=band.u), band
    after = band.after_weigh_back(s, shared)
    return replace(found, u=after.u), after


def amount_from_gross(
    gross_now_g: UFloat, gross_received_g: UFloat, received: UFloat, density_g_per_ml: UFloat | None = None
) -> UFloat:
    """Find what is left from the gross mass now and the gross mass at receipt; no tare is needed.

    Parameters
    ----------
    gross_now_g : UFloat
        Vessel, label, cap and contents now [g].
    gross_received_g : UFloat
        The same when it came in [g].
    received : UFloat
        Amount of contents when it came in. Give it as exact where its doubt stays in the band as `RECEIPT` [g or mL].
    density_g_per_ml : UFloat, optional
        Density for contents kept in mL; None for contents kept in g [g/mL].

    Returns
    -------
    UFloat
        Amount left [unit of `received`].

    Examples
    --------
    >>> from labstock.chemistry.uncertain import exact, normal
    >>> left = amount_from_gross(normal(700.0, 0.014), normal(808.2, 0.014), exact(500), exact(1.082))
    >>> round(left.n, 2), round(left.s, 3)
    (400.0, 0.018)
    """
    gone_g = gross_received_g - gross_now_g
    return received - (gone_g if density_g_per_ml is None else gone_g / density_g_per_ml)


def probability_enough(m: float, u: float, need: float, heel: float = 0.0) -> float:
    """Find the probability that a container still gives an amount.

    Parameters
    ----------
    m, u : float
        Amount left and its standard uncertainty [unit].
    need : float
        Amount wanted [unit].
    heel : float
        Amount that cannot be got out [unit].

    Returns
    -------
    float
        Probability, 0 to 1 [-].

    Examples
    --------
    >>> round(probability_enough(52, 2.5, 50, heel=1.5), 2)
    0.58
    """
    spare, u = m - heel - need, size_of(u)
    return _STANDARD_NORMAL.cdf(spare / u) if u else float(spare >= 0)


def sure_amount(m: float, u: float, p: float = 0.95, heel: float = 0.0) -> float:
    """Find the amount that a container gives with a wanted probability.

    Parameters
    ----------
    m, u : float
        Amount left and its standard uncertainty [unit].
    p : float
        Probability wanted, between 0 and 1 [-].
    heel : float
        Amount that cannot be got out [unit].

    Returns
    -------
    float
        The amount, 0 or more [unit].

    Examples
    --------
    >>> round(sure_amount(52, 2.5), 1)  # 52 - 1.645 * 2.5
    47.9
    """
    if not 0 < p < 1:
        raise LabError(
            "bad-confidence", "A probability of {p} cannot be asked for: give one between 0 and 1.", p=p
        )
    return max(0.0, m - heel - _STANDARD_NORMAL.inv_cdf(p) * size_of(u))


def words_for_probability(p: float) -> str:
    """Say a probability in words.

    Parameters
    ----------
    p : float
        Probability, 0 to 1 [-].

    Returns
    -------
    str
        Such as "almost certainly" or "58 %: a coin toss" [-].

    Notes
    -----
    The bounds are common practice, no source.

    Examples
    --------
    >>> words_for_probability(0.58)
    '58\\xa0%: a coin toss'
    """
    if not 0 <= p <= 1:
        raise LabError("bad-probability", "{p} is not a probability: it lies between 0 and 1.", p=p)
    if p >= 0.99:
        return "almost certainly"
    if p <= 0.01:
        return "almost certainly not"
    words = ("very likely", "likely", "a coin toss", "unlikely", "very unlikely")
    word = next(word for bound, word in zip((0.9, 0.7, 0.4, 0.1, 0.0), words, strict=True) if p >= bound)
    return f"{100 * p:.0f}{NO_BREAK}%: {word}"
