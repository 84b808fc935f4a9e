"""Statements of a result with its coverage, and the Monte Carlo check of them.

A result made of values with uncertainty carries its own budget (see uncertain.py). Here it is given degrees of
freedom, a coverage factor and an interval (JCGM 100:2008, annex G), and the same model can be run on random
draws from the inputs' distributions (JCGM 101:2008) to see whether the linear sum may be trusted.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import floor, inf, log10, sqrt
from typing import Any

import numpy as np

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, coverage_factor, effective_degrees_of_freedom

Draws = Any  # numpy array of floats; numpy's own type cannot say "or a single float"
Distribution = Callable[[np.random.Generator, int], Draws]
FEWEST_TRIALS = 1_000


@dataclass(frozen=True)
class Statement:
    """A result with the interval that covers it.

    Attributes
    ----------
    value : float
        Best estimate [unit of the result].
    u : float
        Standard uncertainty [unit of the result].
    degrees : float
        Effective degrees of freedom, infinity when every input's uncertainty is taken as known [-].
    k : float
        Coverage factor [-].
    p : float
        Level of confidence [-].
    """

    value: float
    u: float
    degrees: float
    k: float
    p: float

    @property
    def expanded(self) -> float:
        """Expanded uncertainty k·u [unit of the result]."""
        return self.k * self.u

    @property
    def interval(self) -> tuple[float, float]:
        """Lower and upper end [unit of the result]."""
        return self.value - self.expanded, self.value + self.expanded


@dataclass(frozen=True)
class Sampled:
    """What random draws say about a result.

    Attributes
    ----------
    mean : float
        Mean of the draws [unit of the result].
    u : float
        Standard deviation of the draws [unit of the result].
    interval : tuple of float
        Probabilistically symmetric coverage interval [unit of the result].
    p : float
        Coverage probability [-].
    trials : int
        Number of draws [-].
    """

    mean: float
    u: float
    interval: tuple[float, float]
    p: float
    trials: int


def statement(result: UFloat, degrees: Mapping[UFloat, float] | None = None, p: float = 0.95) -> Statement:
    """State a result with its coverage interval.

    Parameters
    ----------
    result : UFloat
        A result calculated from values with uncertainty [any unit].
    degrees : mapping of UFloat to float, optional
        Degrees of freedom of inputs whose uncertainty was estimated from few readings; an input that is left out
        counts as known [-].
    p : float
        Level of confidence, between 0 and 1 [-].

    Returns
    -------
    Statement
        Value, u, degrees of freedom, k and interval [unit of the result].

    Raises
    ------
    LabError
        When an input with degrees of freedom is itself a calculated value, or its degrees are below 1.

    Notes
    -----
    Source: JCGM 100:2008, G.4 (Welch-Satterthwaite). The formula is for independent inputs; give degrees only
    to such.

    Examples
    --------
    >>> from uncertainties import ufloat
    >>> length, shift = ufloat(10.0, 0.3), ufloat(0.0, 0.4)
    >>> stated = statement(length + shift, {length: 9})
    >>> round(stated.u, 3), round(stated.degrees, 1)
    (0.5, 69.4)
    """
    known = _degrees_by_source(degrees or {})
    parts = [(amount, known.get(source, inf)) for source, amount in result.error_components().items()]
    freedom = effective_degrees_of_freedom(parts)
    return Statement(float(result.n), float(result.s), freedom, coverage_factor(freedom, p), p)


def _degrees_by_source(degrees: Mapping[UFloat, float]) -> dict[Any, float]:
    known = {}
    for value, freedom in degrees.items():
        sources = [source for source, amount in value.error_components().items() if amount]
        if len(sources) != 1:
            raise LabError(
                "degrees-of-calculated-value",
                "{value} is made of {count} inputs with uncertainty, so it has no degrees of freedom of its own: "
                "give them for the inputs one by one.",
                value=value,
                count=len(sources),
            )
        if not freedom >= 1:
            raise LabError(
                "degrees-below-one",
                "{freedom} degrees of freedom for {value} cannot be: n readings give n - 1, at least 1.",
                freedom=freedom,
                value=value,
            )
        known[sources[0]] = float(freedom)
    return known


def drawn_normal(mean: float, u: float) -> Distribution:
    """Give a normal distribution to draw from.

    Parameters
    ----------
    mean : float
        Best estimate [any unit].
    u : float
        Standard uncertainty [unit of `mean`].

    Returns
    -------
    callable
        Takes a random generator and a number of trials, gives that many draws [unit of `mean`].

    Notes
    -----
    Source: JCGM 101:2008, 6.4.7.

    Examples
    --------
    >>> len(drawn_normal(5.0, 0.1)(np.random.default_rng(1), 3))
    3
    """
    return lambda generator, trials: generator.normal(mean, u, trials)


def drawn_rectangle(low: float, high: float) -> Distribution:
    """Give a rectangular distribution to draw from.

    Parameters
    ----------
    low, high : float
        The limits [any unit].

    Returns
    -------
    callable
        Takes a random generator and a number of trials, gives that many draws [unit of the limits].

    Notes
    -----
    Source: JCGM 101:2008, 6.4.2.

    Examples
    --------
    >>> draws = drawn_rectangle(98, 100)(np.random.default_rng(1), 100)
    >>> bool(98 <= draws.min() and draws.max() <= 100)
    True
    """
    return lambda generator, trials: generator.uniform(low, high, trials)


def drawn_triangle(low: float, high: float) -> Distribution:
    """Give a symmetric triangular distribution to draw from.

    Parameters
    ----------
    low, high : float
        The limits [any unit].

    Returns
    -------
    callable
        Takes a random generator and a number of trials, gives that many draws [unit of the limits].

    Notes
    -----
    Source: JCGM 101:2008, 6.4.5.

    Examples
    --------
    >>> draws = drawn_triangle(99.9, 100.1)(np.random.default_rng(1), 100)
    >>> bool(99.9 <= draws.min() and draws.max() <= 100.1)
    True
    """
    return lambda generator, trials: generator.triangular(low, (low + high) / 2, high, trials)


def drawn_t(mean: float, u: float, degrees: float) -> Distribution:
    """Give the scaled and shifted t distribution of an input known from few readings.

    Parameters
    ----------
    mean : float
        Mean of the readings [any unit].
    u : float
        Standard uncertainty of the mean, s/sqrt(n) [unit of `mean`].
    degrees : float
        Degrees of freedom, n - 1 [-].

    Returns
    -------
    callable
        Takes a random generator and a number of trials, gives that many draws [unit of `mean`].

    Notes
    -----
    Source: JCGM 101:2008, 6.4.9. Its standard deviation is wider than `u`, by sqrt(degrees/(degrees - 2)).

    Examples
    --------
    >>> len(drawn_t(5.0, 0.1, 4)(np.random.default_rng(1), 3))
    3
    """
    return lambda generator, trials: mean + u * generator.standard_t(degrees, trials)


def monte_carlo(
    model: Callable[..., Draws],
    inputs: Mapping[str, Distribution],
    trials: int = 200_000,
    p: float = 0.95,
    seed: int = 101,
) -> Sampled:
    """Run a model on random draws of its inputs.

    Parameters
    ----------
    model : callable
        Takes the inputs by name as arrays and gives the result as an array [any unit].
    inputs : mapping of str to callable
        Distribution of each input, drawn independently [unit of the input].
    trials : int
        Number of draws, at least 1,000 [-].
    p : float
        Coverage probability, between 0 and 1 [-].
    seed : int
        Start of the random numbers, so that a check can be repeated [-].

    Returns
    -------
    Sampled
        Mean, standard deviation and coverage interval of the result [unit of the result].

    Raises
    ------
    LabError
        When too few trials are asked for, or the model fails for some draws.

    Notes
    -----
    Source: JCGM 101:2008, clause 7.

    Examples
    --------
    >>> four = {name: drawn_normal(0, 1) for name in "abcd"}
    >>> round(monte_carlo(lambda a, b, c, d: a + b + c + d, four).u, 1)
    2.0
    """
    if trials < FEWEST_TRIALS or not 0 < p < 1:
        raise LabError(
            "too-few-trials",
            "{trials} trials for a coverage of {p} give no interval: ask for at least {fewest} trials and a "
            "coverage between 0 and 1.",
            trials=trials,
            p=p,
            fewest=FEWEST_TRIALS,
        )
    generator = np.random.default_rng(seed)
    drawn = {name: distribution(generator, trials) for name, distribution in inputs.items()}
    results = np.sort(np.broadcast_to(np.asarray(model(**drawn), dtype=float), (trials,)))
    if not np.isfinite(results).all():
        raise LabError(
            "model-fails",
            "the model gives no finite result for {count} of {trials} draws: an input reaches a value it must "
            "not have, such as 0 below a fraction line.",
            count=int(np.count_nonzero(~np.isfinite(results))),
            trials=trials,
        )
    low, high = np.quantile(results, [(1 - p) / 2, (1 + p) / 2])
    return Sampled(float(results.mean()), float(results.std(ddof=1)), (float(low), float(high)), p, trials)


def numerical_tolerance(u: float, digits: int = 2) -> float:
    """Find how close two results must be to agree to the digits that matter.

    Parameters
    ----------
    u : float
        Standard uncertainty, above 0 [any unit].
    digits : int
        Significant digits of `u` that are trusted [-].

    Returns
    -------
    float
        Half a unit in the last trusted digit of `u` [unit of `u`].

    Notes
    -----
    Source: JCGM 101:2008, 7.9.2.

    Examples
    --------
    >>> numerical_tolerance(0.35), numerical_tolerance(0.35, digits=1)
    (0.005, 0.05)
    """
    if not 0 < u < inf:
        raise LabError("no-tolerance", "An uncertainty of {u} has no digits: it must be above 0.", u=u)
    exponent = floor(log10(float(f"{u:.{digits - 1}e}"))) - digits + 1
    return float(f"5e{exponent - 1}")


def is_confirmed(stated: Statement, sampled: Sampled, digits: int = 1) -> bool:
    """Tell whether random draws confirm a stated interval.

    Parameters
    ----------
    stated : Statement
        The result by the linear sum [any unit].
    sampled : Sampled
        The same result by random draws [unit of `stated`].
    digits : int
        Significant digits of u to which the ends must agree [-].

    Returns
    -------
    bool
        Whether both ends agree within the numerical tolerance [-].

    Notes
    -----
    Source: JCGM 101:2008, 8.1.

    Examples
    --------
    >>> stated = Statement(0.0, 2.0, inf, 1.96, 0.95)
    >>> is_confirmed(stated, Sampled(0.0, 2.0, (-3.90, 3.91), 0.95, 200_000))
    True
    """
    tolerance = numerical_tolerance(stated.u, digits)
    pairs = zip(stated.interval, sampled.interval, strict=True)
    return all(abs(one - other) <= tolerance for one, other in pairs)


def standard_error_of_u(sampled: Sampled) -> float:
    """Estimate how far the sampled uncertainty may be off by chance alone.

    Parameters
    ----------
    sampled : Sampled
        Result of random draws [any unit].

    Returns
    -------
    float
        Standard error of the sampled standard deviation, for a nearly normal result [unit of the result].

    Notes
    -----
    s/sqrt(2·(n - 1)), any statistics textbook.

    Examples
    --------
    >>> standard_error_of_u(Sampled(0.0, 2.0, (-4.0, 4.0), 0.95, 200_001)) < 0.0033
    True
    """
    return sampled.u / sqrt(2 * (sampled.trials - 1))
