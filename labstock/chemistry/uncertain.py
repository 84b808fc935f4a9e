"""Values with a standard uncertainty, made the ways the GUM lists them.

The arithmetic itself is the ``uncertainties`` package: inputs that enter twice stay correlated.
Source throughout: JCGM 100:2008 (GUM); the clause stands with each function.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, isfinite, isinf, sqrt
from typing import TypeAlias

import uncertainties
from uncertainties.core import AffineScalarFunc, LinearCombination

from labstock.chemistry.errors import LabError

UFloat: TypeAlias = AffineScalarFunc
"""A value with its uncertainty; write this in type hints."""


@dataclass(frozen=True)
class Contribution:
    """One line of an uncertainty budget.

    Parameters
    ----------
    name : str
        What the input is called; empty when it was given no name [-].
    amount : float
        |sensitivity| times standard uncertainty of the input [unit of the result].
    share : float
        Part of the result's variance that this input brings, 0 to 1 [-].
    """

    name: str
    amount: float
    share: float


def exact(value: float) -> UFloat:
    """Give a number without doubt, such as a count or a definition.

    Parameters
    ----------
    value : float
        The number [any unit].

    Returns
    -------
    UFloat
        The number, u = 0 [unit of `value`].

    Examples
    --------
    >>> exact(3).s
    0.0
    """
    return AffineScalarFunc(_finite(value, "value"), LinearCombination({}))


def normal(value: float, u: float, name: str | None = None) -> UFloat:
    """Give a value whose standard uncertainty is known.

    Parameters
    ----------
    value : float
        Best estimate [any unit].
    u : float
        Standard uncertainty, 0 or more [unit of `value`].
    name : str, optional
        Name in the uncertainty budget [-].

    Returns
    -------
    UFloat
        The value with its uncertainty [unit of `value`].

    Notes
    -----
    Source: JCGM 100:2008, 3.1.2 and 4.2.

    Examples
    --------
    >>> normal(100.28, 0.05)
    100.28+/-0.05
    """
    if not _finite(u, "uncertainty") >= 0:
        raise LabError(
            "negative-uncertainty", "An uncertainty of {u} is below zero: give its size, 0 or more.", u=u
        )
    if u == 0:
        return exact(value)
    return uncertainties.ufloat(_finite(value, "value"), float(u), name)


def rectangle(low: float, high: float, name: str | None = None) -> UFloat:
    """Give a value that lies between two limits, any place as likely as any other.

    Parameters
    ----------
    low, high : float
        The limits [any unit].
    name : str, optional
        Name in the uncertainty budget [-].

    Returns
    -------
    UFloat
        The middle, u = (high - low)/(2·sqrt 3) [unit of the limits].

    Notes
    -----
    Source: JCGM 100:2008, 4.3.7. "≥ 98 %" on a label is ``rectangle(98, 100)``.

    Examples
    --------
    >>> purity = rectangle(98, 100)
    >>> purity.n, round(purity.s, 4)
    (99.0, 0.5774)
    """
    _ordered(low, high)
    return normal((low + high) / 2, (high - low) / 2 / sqrt(3), name)


def half_width(value: float, a: float, name: str | None = None) -> UFloat:
    """Give a value with limits ± a and nothing said about the shape: a rectangle.

    Parameters
    ----------
    value : float
        Middle [any unit].
    a : float
        Half width, 0 or more [unit of `value`].
    name : str, optional
        Name in the uncertainty budget [-].

    Returns
    -------
    UFloat
        The value, u = a/sqrt 3 [unit of `value`].

    Notes
    -----
    Source: JCGM 100:2008, 4.3.7.

    Examples
    --------
    >>> round(half_width(0.9999, 0.0001).s, 6)
    5.8e-05
    """
    return normal(value, a / sqrt(3), name)


def triangle(low: float, high: float, name: str | None = None) -> UFloat:
    """Give a value between two limits, the middle more likely than the edges.

    Parameters
    ----------
    low, high : float
        The limits [any unit].
    name : str, optional
        Name in the uncertainty budget [-].

    Returns
    -------
    UFloat
        The middle, u = (high - low)/(2·sqrt 6) [unit of the limits].

    Notes
    -----
    Source: JCGM 100:2008, 4.3.9 (trapezoid with a point on top).

    Examples
    --------
    >>> round(triangle(99.9, 100.1).s, 3)
    0.041
    """
    _ordered(low, high)
    return normal((low + high) / 2, (high - low) / 2 / sqrt(6), name)


def from_expanded(value: float, expanded_u: float, k: float = 2, name: str | None = None) -> UFloat:
    """Give a value whose certificate states an expanded uncertainty.

    Parameters
    ----------
    value : float
        Best estimate [any unit].
    expanded_u : float
        Expanded uncertainty U, 0 or more [unit of `value`].
    k : float
        Coverage factor that U was made with, above 0 [-].
    name : str, optional
        Name in the uncertainty budget [-].

    Returns
    -------
    UFloat
        The value, u = U/k [unit of `value`].

    Notes
    -----
    Source: JCGM 100:2008, 4.3.3 and 6.2.

    Examples
    --------
    >>> from_expanded(99.7, 0.2)
    99.7+/-0.1
    """
    return normal(value, expanded_u / _coverage(k), name)


def expanded(value: UFloat, k: float = 2) -> float:
    """Find the expanded uncertainty.

    Parameters
    ----------
    value : UFloat
        A value with uncertainty [any unit].
    k : float
        Coverage factor, above 0 [-].

    Returns
    -------
    float
        U = k·u [unit of `value`].

    Notes
    -----
    Source: JCGM 100:2008, 6.2.1; k = 2 covers about 95 % (6.3.3).

    Examples
    --------
    >>> expanded(normal(5, 0.1))
    0.2
    """
    return _coverage(k) * float(value.std_dev)


def correlated(values: Sequence[float], us: Sequence[float], r: float) -> tuple[UFloat, UFloat]:
    """Give two values whose errors go together.

    Parameters
    ----------
    values : sequence of float
        The two estimates [any units].
    us : sequence of float
        Their standard uncertainties, 0 or more [units of `values`].
    r : float
        Correlation coefficient, -1 to 1 [-].

    Returns
    -------
    tuple of UFloat
        The two values, correlated [units of `values`].

    Notes
    -----
    Source: JCGM 100:2008, 5.2.2.

    Examples
    --------
    >>> a, b = correlated([1.0, 2.0], [0.1, 0.1], 1)
    >>> round((a - b).s, 9), round((a + b).s, 9)
    (0.0, 0.2)
    """
    if not -1 <= r <= 1:
        raise LabError("bad-correlation", "A correlation of {r} cannot be: it lies between -1 and 1.", r=r)
    (first_value, second_value), (first_u, second_u) = values, us
    shared, own = normal(0, 1), normal(0, 1)
    first = first_value + first_u * shared
    second = second_value + second_u * (r * shared + sqrt(1 - r * r) * own)
    return first, second


def budget(result: UFloat) -> list[Contribution]:
    """List what each input brings to the uncertainty of a result, largest first.

    Parameters
    ----------
    result : UFloat
        A result calculated from values with uncertainty [any unit].

    Returns
    -------
    list of Contribution
        Empty for a result without doubt [unit of `result`].

    Notes
    -----
    Source: JCGM 100:2008, 5.1.3 (contributions c_i·u_i).

    Examples
    --------
    >>> [line.name for line in budget(normal(5, 0.1, "volume") * normal(1.08, 0.001, "density"))]
    ['volume', 'density']
    """
    parts = [(source.tag or "", amount) for source, amount in result.error_components().items()]
    variance = sum(amount * amount for _, amount in parts)
    lines = [Contribution(name, amount, amount * amount / variance) for name, amount in parts if amount]
    return sorted(lines, key=lambda line: -line.amount)


def effective_degrees_of_freedom(parts: Iterable[tuple[float, float]]) -> float:
    """Find the degrees of freedom of a combined uncertainty (Welch-Satterthwaite).

    Parameters
    ----------
    parts : iterable of (float, float)
        For each input its contribution c_i·u_i [unit of the result] and its degrees of freedom,
        infinity where u is taken as known [-].

    Returns
    -------
    float
        Effective degrees of freedom; infinity when every part is taken as known [-].

    Notes
    -----
    Source: JCGM 100:2008, G.4.1.

    Examples
    --------
    >>> effective_degrees_of_freedom([(3.0, 9), (4.0, float("inf"))])  # (25² / 81) * 9
    69.44444444444444
    """
    pairs = list(parts)
    variance = sum(amount * amount for amount, _ in pairs)
    below = sum(amount**4 / freedom for amount, freedom in pairs if not isinf(freedom))
    return variance * variance / below if below else inf


def coverage_factor(degrees_of_freedom: float = inf, p: float = 0.95) -> float:
    """Find the factor k for a wanted level of confidence.

    Parameters
    ----------
    degrees_of_freedom : float
        Effective degrees of freedom, at least 1; cut to a whole number as the GUM says [-].
    p : float
        Level of confidence, between 0 and 1 [-].

    Returns
    -------
    float
        k, from Student's t [-].

    Notes
    -----
    Source: JCGM 100:2008, G.3.4, G.4.1 note 1 and table G.2.

    Examples
    --------
    >>> round(coverage_factor(16, 0.99), 2)
    2.92
    """
    from scipy.special import ndtri, stdtrit  # scipy takes a third of a second; most callers never need it

    if not 0 < p < 1 or not degrees_of_freedom >= 1:
        raise LabError(
            "bad-confidence",
            "A confidence of {p} with {freedom} degrees of freedom cannot be worked out: "
            "give a confidence between 0 and 1 and at least 1 degree of freedom.",
            p=p,
            freedom=degrees_of_freedom,
        )
    if isinf(degrees_of_freedom):
        return float(ndtri((1 + p) / 2))
    return float(stdtrit(int(degrees_of_freedom), (1 + p) / 2))


def _ordered(low: float, high: float) -> None:
    if not low <= high:
        raise LabError(
            "limits-swapped",
            "The lower limit {low} lies above the upper limit {high}: swap them.",
            low=low,
            high=high,
        )


def _coverage(k: float) -> float:
    if not _finite(k, "coverage factor") > 0:
        raise LabError("bad-coverage", "A coverage factor of {k} cannot be: it is above 0, mostly 2.", k=k)
    return float(k)


def _finite(number: float, what: str) -> float:
    if not isfinite(number):
        raise LabError(
            "not-a-number", "The {what} {number} is not a number: give a figure.", what=what, number=number
        )
    return float(number)
