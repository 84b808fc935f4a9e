"""The vessel unrolled over time: darkness is the chance that liquid was there."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from labstock.look.drawing.content import Content
from labstock.look.drawing.doubt import REACH, upright_band
from labstock.look.drawing.doubt_strip import STRIP_HEIGHT, doubt_strip
from labstock.look.drawing.labels import Labels
from labstock.look.drawing.strokes import decimals_for, figure, frame, n, path, rect, steps_of, text, two_cuts
from labstock.look.drawing.time_axis import time_marks

_LEFT, _TOP, _BOTTOM = 38, 28, 30
_MOST_RINGS = 120
_DIAMONDS = ("weighed", "weighed back", "counted")
_CROSSES = ("spilt", "evaporated", "wasted", "disposed")


@dataclass(frozen=True)
class Step:
    """One line of the ledger.

    Parameters
    ----------
    at : datetime
        When it was done [-].
    m, u : float
        Amount left after it and its standard uncertainty [unit of the container].
    kind : str
        "received", "drawn", "weighed back", "spilt", "reversed" and so on; empty where no line was written and
        only the doubt grew [-].
    """

    at: datetime
    m: float
    u: float
    kind: str


@dataclass(frozen=True)
class Hold:
    """A part promised to a session.

    Parameters
    ----------
    start, end : datetime
        When it is held [-].
    amount : float
        How much [unit of the container].
    is_mine : bool
        Whether it is held for the reader [-].
    """

    start: datetime
    end: datetime
    amount: float
    is_mine: bool = False


@dataclass(frozen=True)
class Plane:
    """Where moments and amounts stand on the page.

    Parameters
    ----------
    x_of, y_of : callable
        Place of a moment, height of an amount [user units].
    width, height : float
        Size of the drawing without the strip [user units].
    """

    x_of: Callable[[datetime], float]
    y_of: Callable[[float], float]
    width: float
    height: float


def ledger_chart(steps: Sequence[Step], now: datetime, content: Content, holds: Sequence[Hold] = ()) -> str:
    """Draw the amount over time, with the doubt alone in a strip below.

    Parameters
    ----------
    steps : sequence of Step
        The ledger, oldest first; at least one [unit of the content].
    now : datetime
        The moment of looking [-].
    content : Content
        Capacity, heel and unit of the container [its unit].
    holds : sequence of Hold
        What is promised from now on [unit of the content].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> one = [Step(datetime(2026, 9, 3), 100, 0.25, "received")]
    >>> ledger_chart(one, datetime(2026, 9, 8), Content(100, 0.25, 100)).count("<svg")
    2
    """
    said = _said(steps, content.unit)
    narrow = _cut(steps, now, content, holds, (358, 280), is_narrow=True)
    wide = _cut(steps, now, content, holds, (820, 300), is_narrow=False)
    return two_cuts(
        frame(narrow, (0, 0, 358, 280 + STRIP_HEIGHT), said, "chart chart--narrow"),
        frame(wide, (0, 0, 820, 300 + STRIP_HEIGHT), said, "chart chart--wide"),
    )


def _cut(
    steps: Sequence[Step],
    now: datetime,
    content: Content,
    holds: Sequence[Hold],
    size: tuple[float, float],
    is_narrow: bool,
) -> str:
    plane, first, last = _plane(steps, now, content, holds, size, right=16 if is_narrow else 30)
    shown = _thinned(steps, plane)
    ends = [plane.x_of(step.at) for step in shown[1:]] + [plane.x_of(now)]
    labels = Labels(right=plane.x_of(now) - 4)
    drawn = [
        _axes(plane, content, first, last, at_most=5 if is_narrow else 9),
        *(_area(step, x2, plane, content) for step, x2 in zip(shown, ends, strict=True)),
        _heel(steps[0].at, now, plane, content.heel),
        _holds(holds, now, plane, content.heel),
        _edges(shown, ends, plane),
        _line(shown, ends, plane),
        _now(steps[-1], now, plane, labels),
        _marks(steps, plane),
        _names(steps, plane, labels, is_narrow),
        doubt_strip([(step.at, step.u) for step in shown], now, plane.x_of, plane.height, content.unit),
    ]
    return "".join(drawn)


def _plane(
    steps: Sequence[Step],
    now: datetime,
    content: Content,
    holds: Sequence[Hold],
    size: tuple[float, float],
    right: float,
) -> tuple[Plane, datetime, datetime]:
    width, height = size
    past = max(now - steps[0].at, timedelta(hours=6))
    ahead = max([hold.end - now for hold in holds], default=timedelta())
    first = steps[0].at - past * 0.03
    last = now + max(past * 0.08, min(ahead, past * 0.25))
    whole = (last - first).total_seconds()
    full = max(content.full, *(step.m for step in steps)) * 1.03
    plane = Plane(
        x_of=lambda at: _LEFT + (width - _LEFT - right) * (at - first).total_seconds() / whole,
        y_of=lambda a: height - _BOTTOM - (height - _BOTTOM - _TOP) * a / full,
        width=width,
        height=height,
    )
    return plane, first, last


def _thinned(steps: Sequence[Step], plane: Plane) -> list[Step]:
    """Keep one step for each unit of width: more cannot be seen."""
    kept = {int(plane.x_of(step.at)): step for step in steps[1:]}
    kept.pop(int(plane.x_of(steps[0].at)), None) if len(kept) > 1 else None
    return [steps[0], *kept.values()]


def _axes(plane: Plane, content: Content, first: datetime, last: datetime, at_most: int) -> str:
    drawn = []
    for a in steps_of(0, content.full, 5):
        y = plane.y_of(a)
        drawn.append(path(f"M{_LEFT} {n(y)}H{n(plane.width - 8)}", "c-grid"))
        drawn.append(text(_LEFT - 6, y + 4, figure(a), "c-text", "end"))
    drawn.append(text(_LEFT - 6, _TOP - 12, content.unit, "c-text", "end"))
    for mark in time_marks(first, last, at_most):
        x = plane.x_of(mark.at)
        drawn.append(path(f"M{n(x)} {n(plane.y_of(0))}v5", "c-tick"))
        if x < plane.width - 8 * len(mark.words):
            drawn.append(text(x + 3, plane.height - 12, mark.words))
    return "".join(drawn)


def _area(step: Step, x2: float, plane: Plane, content: Content) -> str:
    x, floor = plane.x_of(step.at), plane.y_of(0)
    sure = plane.y_of(max(step.m - REACH * step.u, 0))
    drawn = rect(x, sure, x2 - x, floor - sure, "v-body")
    if step.u > 0:
        limits = (0.0, max(content.full, step.m) * 1.03)
        drawn += upright_band(x, max(x2 - x, 0.5), plane.y_of, (step.m, step.u), limits, 2.2).drawn
    return drawn


def _heel(start: datetime, now: datetime, plane: Plane, heel: float) -> str:
    if heel <= 0:
        return ""
    x, y = plane.x_of(start), plane.y_of(heel)
    return rect(x, y, plane.x_of(now) - x, plane.y_of(0) - y, "v-heel")


def _holds(holds: Sequence[Hold], now: datetime, plane: Plane, heel: float) -> str:
    drawn: list[str] = []
    placed: list[tuple[float, float, float]] = []
    for hold in sorted(holds, key=lambda h: h.start):
        x = plane.x_of(max(hold.start, now))
        x2 = min(max(plane.x_of(max(hold.end, now)), x + 9), plane.width - 4)
        base = heel + sum(amount for a, b, amount in placed if a < x2 and x < b)
        top = plane.y_of(base + hold.amount)
        css = "v-mine" if hold.is_mine else "v-held"
        drawn.append(rect(x, top, x2 - x, plane.y_of(base) - top, css))
        placed.append((x, x2, hold.amount))
    return "".join(drawn)


def _edges(steps: Sequence[Step], ends: Sequence[float], plane: Plane) -> str:
    """Draw the 95 % limits where they stand off the line far enough to be seen."""
    drawn = []
    for step, x2 in zip(steps, ends, strict=True):
        x, y = plane.x_of(step.at), plane.y_of(step.m)
        if y - plane.y_of(step.m + 2 * step.u) >= 2:
            low = plane.y_of(max(step.m - 2 * step.u, 0))
            drawn.append(f"M{n(x)} {n(plane.y_of(step.m + 2 * step.u))}H{n(x2)}M{n(x)} {n(low)}H{n(x2)}")
    return path("".join(drawn), "c-edge") if drawn else ""


def _line(steps: Sequence[Step], ends: Sequence[float], plane: Plane) -> str:
    d = []
    for i, (step, x2) in enumerate(zip(steps, ends, strict=True)):
        d.append(f"{'L' if i else 'M'}{n(plane.x_of(step.at))} {n(plane.y_of(step.m))}H{n(x2)}")
    return path("".join(d), "c-step")


def _now(last: Step, now: datetime, plane: Plane, labels: Labels) -> str:
    x = plane.x_of(now)
    words = f"now {_with_doubt(last)}"
    anchor = "end" if x > 140 else "start"
    at = x - 5 if anchor == "end" else x + 5
    labels.take(at, _TOP - 12, words, anchor)
    drawn = path(f"M{n(x)} {_TOP - 8}V{n(plane.y_of(0))}", "c-now")
    return drawn + text(at, _TOP - 12, words, "c-text c-text--now", anchor)


def _marks(steps: Sequence[Step], plane: Plane) -> str:
    drawn = []
    for step in steps:
        x, y = plane.x_of(step.at), plane.y_of(step.m)
        if step.kind in _DIAMONDS:
            drawn.append(path(f"M{n(x)} {n(y - 5.5)}l5.5 5.5l-5.5 5.5l-5.5 -5.5z", "c-mark c-mark--weigh"))
        elif step.kind in _CROSSES:
            drawn.append(path(f"M{n(x - 3.5)} {n(y - 3.5)}l7 7m0 -7l-7 7", "c-mark c-mark--spilt"))
        elif step.kind == "reversed":
            drawn.append(path(f"M{n(x - 4)} {n(y + 3)}h8l-4 -7z", "c-mark c-mark--rev"))
        elif step.kind not in ("", "received") and len(steps) <= _MOST_RINGS:
            drawn.append(f'<circle class="c-mark" cx="{n(x)}" cy="{n(y)}" r="2.3"/>')
    return "".join(drawn)


def _names(steps: Sequence[Step], plane: Plane, labels: Labels, is_narrow: bool) -> str:
    """Write beside their marks what the rarer lines were, the latest first, where there is room."""
    drawn = []
    is_weighing_named = False
    for before, step in reversed(list(pairwise(steps))):
        x, y = plane.x_of(step.at), plane.y_of(step.m)
        if step.kind in _DIAMONDS and before.u > 0 and not is_weighing_named:
            drawn.append(_weighing(step, before, x, y, labels))
            is_weighing_named = bool(drawn[-1])
        elif not is_narrow and step.kind in _CROSSES and y + 26 < plane.y_of(0) - 20:
            if labels.take(x - 4, y + 26, step.kind):
                drawn.append(text(x - 4, y + 26, step.kind, "c-text c-text--on"))
        elif not is_narrow and step.kind == "reversed" and labels.take(x, y - 14, step.kind, "middle"):
            drawn.append(text(x, y - 14, step.kind, "c-text", "middle"))
    return "".join(drawn)


def _weighing(step: Step, before: Step, x: float, y: float, labels: Labels) -> str:
    """Say how far a weighing shrank the doubt, over its mark or, near the right edge, left of it."""
    words = f"{_doubt(step)}, was {_doubt(before)}"
    for anchor in ("start", "middle", "end"):
        if (
            y > _TOP + 50
            and labels.take(x, y - 30, words, anchor)
            and labels.take(x, y - 45, step.kind, anchor)
        ):
            return (
                path(f"M{n(x)} {n(y - 8)}V{n(y - 26)}", "v-lead")
                + text(x, y - 45, step.kind, "c-text c-text--b", anchor)
                + text(x, y - 30, words, "c-text", anchor)
            )
    return ""


def _with_doubt(step: Step) -> str:
    if step.u <= 0:
        return figure(step.m)
    digits = decimals_for(step.u)
    return f"{figure(step.m, digits)} ± {figure(2 * step.u, digits)}"


def _doubt(step: Step) -> str:
    return f"± {figure(2 * step.u, decimals_for(step.u))}"


def _said(steps: Sequence[Step], unit: str) -> str:
    first, last = steps[0], steps[-1]
    weighed = [step for step in steps if step.kind in _DIAMONDS]
    words = (
        f"Amount in {unit} over time, {sum(bool(step.kind) for step in steps)} lines: {figure(first.m)} on {first.at.day} {first.at:%b %Y},"
        f" now {_with_doubt(last)}"
    )
    if weighed:
        words += (
            f"; doubt shrank at the last {weighed[-1].kind} on {weighed[-1].at.day} {weighed[-1].at:%b %Y}"
        )
    return words
