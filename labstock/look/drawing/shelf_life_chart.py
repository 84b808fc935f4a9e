"""A shelf life: measured values, the fitted line with its fading band, the dashed limit, and where they meet."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from labstock.look.drawing.doubt import REACH, bell
from labstock.look.drawing.labels import Labels
from labstock.look.drawing.strokes import figure, frame, n, path, rect, steps_of, text, two_cuts

_LEFT, _TOP, _BOTTOM = 46, 30, 46
_COLUMNS, _ROWS = 60, 6


@dataclass(frozen=True)
class Line:
    """The line of one batch, or of all.

    Parameters
    ----------
    name : str
        What stands on the line [-].
    value : callable
        Value at a month [unit of the values].
    u : callable
        Standard error of that value at a month [unit of the values].
    decides : bool
        Whether this line sets the shelf life; only it has a band [-].
    """

    name: str
    value: Callable[[float], float]
    u: Callable[[float], float]
    decides: bool


@dataclass(frozen=True)
class Life:
    """What the picture shows.

    Parameters
    ----------
    points : sequence of (str, float, float)
        Batch, month and measured value [-, month, unit].
    lines : sequence of Line
        The fitted lines [unit].
    limit : float
        The value that must not be crossed [unit].
    months : float, optional
        Where the confidence limit meets it; None for never [month].
    reach, cap : float
        How far the data reach, and how far may be claimed [month].
    unit : str
        Unit of the values [-].
    """

    points: Sequence[tuple[str, float, float]]
    lines: Sequence[Line]
    limit: float
    months: float | None
    reach: float
    cap: float
    unit: str


@dataclass(frozen=True)
class _Plane:
    x_of: Callable[[float], float]
    y_of: Callable[[float], float]
    width: float
    height: float
    last: float
    low: float
    high: float


def shelf_life_chart(life: Life) -> str:
    """Draw a shelf life.

    Parameters
    ----------
    life : Life
        Points, lines and limit; at least one of each [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> line = Line("all", lambda month: 100 - 0.2 * month, lambda month: 0.3, True)
    >>> shelf_life_chart(Life([("A", 0, 100.0), ("A", 12, 97.6)], [line], 95, 22.0, 12, 24, "%")).count("c-limit")
    2
    """
    said = _said(life)
    return two_cuts(
        frame(_cut(life, 358, 300, 5), (0, 0, 358, 300), said, "chart chart--narrow"),
        frame(_cut(life, 820, 340, 9), (0, 0, 820, 340), said, "chart chart--wide"),
    )


def _cut(life: Life, width: float, height: float, at_most: int) -> str:
    plane = _plane(life, width, height)
    labels = Labels(right=width)
    drawn = [_axes(plane, life, at_most), *(_band(line, plane) for line in life.lines if line.decides)]
    drawn += [_line(line, plane, life.reach) for line in life.lines]
    drawn += [_limit(plane, life, labels), _ends(plane, life, labels), *_points(plane, life)]
    drawn += [_name(line, plane, labels) for line in life.lines]
    return "".join(drawn)


def _plane(life: Life, width: float, height: float) -> _Plane:
    known = [life.reach, life.cap, *([life.months] if life.months is not None else [])]
    last = min(max(known), max(life.cap, life.reach) * 1.25) * 1.06 or 1.0
    values = [value for _, _, value in life.points] + [life.limit]
    values += [line.value(month) for line in life.lines for month in (0.0, last)]
    spread = max(max(values) - min(values), abs(life.limit) * 0.01, 1e-9)
    low, high = min(values) - 0.12 * spread, max(values) + 0.12 * spread
    return _Plane(
        x_of=lambda month: _LEFT + (width - _LEFT - 14) * month / last,
        y_of=lambda value: _TOP + (height - _TOP - _BOTTOM) * (high - value) / (high - low),
        width=width, height=height, last=last, low=low, high=high,
    )  # fmt: skip


def _axes(plane: _Plane, life: Life, at_most: int) -> str:
    drawn = []
    for value in steps_of(plane.low, plane.high, 5):
        y = plane.y_of(value)
        drawn.append(path(f"M{_LEFT} {n(y)}H{n(plane.width - 8)}", "c-grid"))
        drawn.append(text(_LEFT - 6, y + 4, figure(value), "c-text", "end"))
    drawn.append(text(_LEFT - 6, _TOP - 14, life.unit, "c-text", "end"))
    floor = plane.height - _BOTTOM
    drawn.append(path(f"M{_LEFT} {n(floor)}H{n(plane.width - 8)}", "c-axis"))
    for month in steps_of(0, plane.last, at_most):
        drawn.append(path(f"M{n(plane.x_of(month))} {n(floor)}v5", "c-tick"))
        drawn.append(text(plane.x_of(month), floor + 18, figure(month), "c-text", "middle"))
    return "".join([*drawn, text(plane.width - 8, floor + 34, "months", "c-text", "end")])


def _band(line: Line, plane: _Plane) -> str:
    """Draw the doubt of the line, darkest on it and fading to both sides."""
    step, drawn = plane.last / _COLUMNS, []
    for i in range(_COLUMNS):
        month = (i + 0.5) * step
        value, u = line.value(month), line.u(month)
        if u > 0:
            x, x2 = plane.x_of(i * step), plane.x_of((i + 1) * step)
            drawn += [_shade(x, x2 - x, value, u, row, plane) for row in range(-_ROWS, _ROWS)]
    return "".join(drawn)


def _shade(x: float, width: float, value: float, u: float, row: int, plane: _Plane) -> str:
    top, bottom = (value + REACH * u * (row + step) / _ROWS for step in (1, 0))
    top, bottom = min(top, plane.high), max(bottom, plane.low)
    if bottom >= top:
        return ""
    tone = bell((top + bottom) / 2, value, u)
    return rect(x, plane.y_of(top), width + 0.3, plane.y_of(bottom) - plane.y_of(top), "c-fill", tone)


def _line(line: Line, plane: _Plane, reach: float) -> str:
    """Draw the line solid as far as there are data, dashed where it is stretched."""

    def stretch(start: float, end: float, css: str) -> str:
        ends = f"M{n(plane.x_of(start))} {n(plane.y_of(line.value(start)))}L{n(plane.x_of(end))} {n(plane.y_of(line.value(end)))}"
        return path(ends, css)

    solid = stretch(0, min(reach, plane.last), "c-trace" if line.decides else "c-step")
    return solid + (stretch(reach, plane.last, "c-old") if reach < plane.last else "")


def _limit(plane: _Plane, life: Life, labels: Labels) -> str:
    y = plane.y_of(life.limit)
    words = f"limit {figure(life.limit)} {life.unit}".strip()
    labels.take(_LEFT + 6, y - 6, words)
    return path(f"M{_LEFT} {n(y)}H{n(plane.width - 8)}", "c-limit") + text(
        _LEFT + 6, y - 6, words, "c-text c-text--b"
    )


def _ends(plane: _Plane, life: Life, labels: Labels) -> str:
    drawn = []
    marks = [(life.reach, "data end"), (life.cap, "claim ends")]
    if life.months is not None and life.months <= plane.last:
        marks.insert(0, (life.months, f"meets the limit, {life.months:.1f}"))
    for month, words in marks:
        x = plane.x_of(month)
        drawn.append(path(f"M{n(x)} {_TOP - 4}V{n(plane.height - _BOTTOM)}", "c-now"))
        for anchor, at in (("end", x - 4), ("start", x + 4)):
            y = next((y for y in (_TOP - 10, _TOP + 6, _TOP + 22) if labels.take(at, y, words, anchor)), None)
            if y is not None:
                drawn.append(text(at, y, words, "c-text", anchor))
                break
    return "".join(drawn)


def _points(plane: _Plane, life: Life) -> list[str]:
    drawn = []
    for _, month, value in life.points:
        x, y = plane.x_of(month), plane.y_of(value)
        drawn.append(path(f"M{n(x)} {n(y - 4.5)}l4.5 4.5l-4.5 4.5l-4.5 -4.5z", "c-mark c-mark--weigh"))
    return drawn


def _name(line: Line, plane: _Plane, labels: Labels) -> str:
    at = plane.last * 0.62
    y = plane.y_of(line.value(at))
    for place in (y - 10, y + 18, y - 24):
        if labels.take(plane.x_of(at), place, line.name):
            return text(plane.x_of(at), place, line.name, "c-text c-text--b")
    return ""


def _said(life: Life) -> str:
    meets = "never meets it" if life.months is None else f"meets it at {life.months:.1f} months"
    return (
        f"{len(life.points)} measured values in {life.unit} over {figure(life.reach)} months, "
        f"limit {figure(life.limit)}: the confidence limit {meets}; nothing beyond {figure(life.cap)} months may be claimed"
    )
