"""How doubt is drawn: tone is the chance that something is there, ruling is thickest where the chance is one half."""

from collections.abc import Callable
from dataclasses import dataclass
from math import erf, exp, sqrt

from labstock.look.drawing.strokes import n, path, rect

REACH = 2.4
"""The band reaches from m - 2.4 u to m + 2.4 u."""


@dataclass(frozen=True)
class Band:
    """A drawn band of doubt.

    Parameters
    ----------
    drawn : str
        The tone and the ruling [-].
    start, end : float
        Where the band begins and ends along the scale [user units].
    """

    drawn: str
    start: float
    end: float


def chance_above(a: float, m: float, u: float) -> float:
    """Find the chance that the true amount is at least `a`.

    Parameters
    ----------
    a : float
        The amount asked about [any unit].
    m : float
        Best amount [unit of `a`].
    u : float
        Standard uncertainty, 0 or more [unit of `a`].

    Returns
    -------
    float
        Chance, 0 to 1 [-].

    Notes
    -----
    Source: normal distribution, JCGM 100:2008, 4.3.4 and C.2.14.

    Examples
    --------
    >>> round(chance_above(50, 53, 1.2), 4), chance_above(53, 53, 1.2)
    (0.9938, 0.5)
    """
    if u <= 0:
        return 1.0 if m >= a else 0.0
    return 0.5 * (1 - erf((a - m) / u / sqrt(2)))


def bell(a: float, m: float, u: float) -> float:
    """Find how likely `a` is compared with the best value.

    Parameters
    ----------
    a : float
        The value asked about [any unit].
    m : float
        Best value [unit of `a`].
    u : float
        Standard uncertainty, above 0 [unit of `a`].

    Returns
    -------
    float
        Density over the density at `m`, 0 to 1 [-].

    Notes
    -----
    Source: normal distribution, JCGM 100:2008, C.2.14.

    Examples
    --------
    >>> bell(95.4, 95.4, 0.8), round(bell(96.2, 95.4, 0.8), 4)
    (1.0, 0.6065)
    """
    return exp(-(((a - m) / u) ** 2) / 2)


def ruling(pitch: float, p: float) -> float:
    """Find how thick a ruled line is where the chance is `p`.

    Parameters
    ----------
    pitch : float
        Distance of two lines [user units].
    p : float
        Chance, 0 to 1 [-].

    Returns
    -------
    float
        Thickness, 0.14 to 0.52 of the pitch [user units].

    Examples
    --------
    >>> round(ruling(3, 0.5), 2), round(ruling(3, 0.0), 2)
    (1.56, 0.42)
    """
    return pitch * (0.14 + 1.52 * p * (1 - p))


def upright_band(
    x: float,
    width: float,
    y_of: Callable[[float], float],
    amount: tuple[float, float],
    limits: tuple[float, float],
    pitch: float,
) -> Band:
    """Draw the band of doubt on an upright scale.

    Parameters
    ----------
    x, width : float
        Left edge and width of the band [user units].
    y_of : callable
        Height on the page of an amount [user units].
    amount : tuple of float
        Best amount and standard uncertainty, the latter above 0 [any unit].
    limits : tuple of float
        Least and greatest amount that can be [unit of `amount`].
    pitch : float
        Distance of two ruled lines [user units].

    Returns
    -------
    Band
        The drawing, from its top to its bottom [user units].

    Examples
    --------
    >>> band = upright_band(0, 20, lambda a: 14 - a, (7, 2), (0, 14), 2.4)
    >>> round(band.start, 1), round(band.end, 1)
    (2.2, 11.8)
    """
    m, u = amount
    low, high = max(m - REACH * u, limits[0]), min(m + REACH * u, limits[1])
    top, bottom = y_of(high), y_of(low)
    count = max(3, round((bottom - top) / pitch))
    step = (bottom - top) / count
    tone, lines = [], []
    for i in range(count):
        p = chance_above(high - (high - low) * (i + 0.5) / count, m, u)
        middle, thick = top + (i + 0.5) * step, ruling(step, p)
        tone.append(rect(x, middle - step / 2, width, step + 0.05, opacity=p))
        lines.append(_bar(x, middle - thick / 2, width, thick))
    return Band(_layers(tone, lines), top, bottom)


def level_band(
    y: float,
    height: float,
    x_of: Callable[[float], float],
    amount: tuple[float, float],
    pitch: float = 3,
) -> Band:
    """Draw the band of doubt on a level scale, zero at the left.

    Parameters
    ----------
    y, height : float
        Upper edge and height of the band [user units].
    x_of : callable
        Place on the page of an amount [user units].
    amount : tuple of float
        Best amount and standard uncertainty, the latter above 0 [any unit].
    pitch : float
        Distance of two ruled lines [user units].

    Returns
    -------
    Band
        The drawing, from its left to its right end [user units].

    Examples
    --------
    >>> band = level_band(0, 14, lambda a: 2 * a, (50, 5))
    >>> band.start, band.end
    (76.0, 124.0)
    """
    m, u = amount
    low, high = max(m - REACH * u, 0), m + REACH * u
    start, end = x_of(low), x_of(high)
    count = max(3, round((end - start) / pitch))
    step = (end - start) / count
    tone, lines = [], []
    for i in range(count):
        p = chance_above(low + (high - low) * (i + 0.5) / count, m, u)
        middle, thick = start + (i + 0.5) * step, ruling(step, p)
        tone.append(rect(middle - step / 2, y, step + 0.05, height, opacity=p))
        lines.append(_bar(middle - thick / 2, y, thick, height))
    return Band(_layers(tone, lines), start, end)


def uprights(
    x_of: Callable[[float], float],
    value: tuple[float, float],
    y: float,
    height: float,
    limits: tuple[float, float],
) -> str:
    """Draw a modelled value as fading uprights, blackest at the best value.

    Parameters
    ----------
    x_of : callable
        Place on the page of a value [user units].
    value : tuple of float
        Best value and standard uncertainty, the latter above 0 [any unit].
    y, height : float
        Upper edge and height [user units].
    limits : tuple of float
        Ends of the scale [unit of `value`].

    Returns
    -------
    str
        The uprights [-].

    Examples
    --------
    >>> uprights(lambda p: p, (5, 1), 0, 10, (0, 10)).count("<rect")
    41
    """
    m, u = value
    step = REACH * 2.3 * u / 40
    drawn = []
    for i in range(-20, 21):
        a = m + i * step
        if limits[0] <= a <= limits[1]:
            width = max((x_of(limits[0] + step) - x_of(limits[0])) * bell(a, m, u), 0.3)
            drawn.append(rect(x_of(a) - width / 2, y, width, height, "c-dot"))
    return "".join(drawn)


def _bar(x: float, y: float, width: float, height: float) -> str:
    """Return one ruled line as a piece of a path: a picture has hundreds of them."""
    return f"M{n(x)} {n(y)}h{n(width)}v{n(height)}h{n(-width)}z"


def _layers(tone: list[str], lines: list[str]) -> str:
    return f'<g class="v-tone">{"".join(tone)}</g>{path("".join(lines), "v-rule")}'
