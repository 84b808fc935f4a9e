"""The doubt alone, enlarged: plus and minus two u around a straight line."""

from collections.abc import Callable, Sequence
from datetime import datetime
from itertools import pairwise

from labstock.look.drawing.doubt import chance_above
from labstock.look.drawing.labels import Labels
from labstock.look.drawing.strokes import decimals_for, figure, n, path, text

STRIP_HEIGHT = 78
_HALF = 24
_ROWS = 14


def doubt_strip(
    doubts: Sequence[tuple[datetime, float]],
    now: datetime,
    x_of: Callable[[datetime], float],
    top: float,
    unit: str,
) -> str:
    """Draw the band of doubt over time, stretched so that the widest fills the strip.

    Parameters
    ----------
    doubts : sequence of (datetime, float)
        From when on, and the standard uncertainty from then on [-, `unit`].
    now : datetime
        The moment of looking [-].
    x_of : callable
        Place of a moment [user units].
    top : float
        Upper edge of the strip [user units].
    unit : str
        Unit of the doubts [-].

    Returns
    -------
    str
        The strokes; none where there is no doubt [-].

    Examples
    --------
    >>> day = datetime(2026, 11, 25)
    >>> doubt_strip([(day, 0.0)], day, lambda at: 0, 0, "mL")
    ''
    """
    most = max(u for _, u in doubts) * 2.4
    if most <= 0:
        return ""
    middle = top + 46
    ends = [x_of(at) for at, _ in doubts[1:]] + [x_of(now)]
    drawn = [text(34, top + 12, f"the doubt alone, ± {unit}", "c-text c-text--b")]
    for (at, u), end in zip(doubts, ends, strict=True):
        drawn.append(_column(x_of(at), max(end - x_of(at), 0.6), u, most, middle))
    drawn.append(path(f"M{n(x_of(doubts[0][0]))} {n(middle)}H{n(x_of(now))}", "c-axis"))
    drawn.append(_figures(doubts, now, x_of, middle, most))
    return "".join(drawn)


def _column(x: float, width: float, u: float, most: float, middle: float) -> str:
    if u <= 0:
        return ""
    rows = []
    for k in range(-_ROWS, _ROWS + 1):
        thick = _HALF / _ROWS * 2 * chance_above(abs(k) / _ROWS * most, 0, u)
        if thick > 0.25:
            y = middle + k / _ROWS * _HALF - thick / 2
            rows.append(f"M{n(x)} {n(y)}h{n(width)}v{n(thick)}h{n(-width)}z")
    return path("".join(rows), "c-dot")


def _figures(
    doubts: Sequence[tuple[datetime, float]],
    now: datetime,
    x_of: Callable[[datetime], float],
    middle: float,
    most: float,
) -> str:
    """Write ± now at the end, and on the way the places where it changed most."""
    last = doubts[-1][1]
    labels = Labels(right=x_of(now) - 2)
    drawn = [text(x_of(now) + 5, middle + 4, _words(last))]
    turns = sorted(
        ((abs(u - before), at, u) for (_, before), (at, u) in pairwise(doubts)),
        reverse=True,
    )
    for change, at, u in turns[:8]:
        y = middle - 8 - _HALF * min(2.4 * u / most, 1)
        if change > 0.05 * most and u > 0 and labels.take(x_of(at) + 2, y, _words(u)):
            drawn.append(text(x_of(at) + 2, y, _words(u)))
    return "".join(drawn)


def _words(u: float) -> str:
    return figure(2 * u, decimals_for(u)) if u > 0 else "0"
