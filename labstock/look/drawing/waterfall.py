"""Where an amount went: it stands, it goes down step by step, and what is left stands again."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from labstock.look.drawing.doubt import REACH, level_band
from labstock.look.drawing.strokes import figure, frame, n, path, rect, steps_of, text, two_cuts, width_of

STANDS, CAME_IN, WENT_OUT, LOST, REVERSED, UNEXPLAINED = (
    "stands",
    "in",
    "out",
    "lost",
    "reversed",
    "unexplained",
)
_LEAST = 1.2


@dataclass(frozen=True)
class Bar:
    """One step of the account.

    Parameters
    ----------
    name : str
        What it is [-].
    kind : str
        "stands", "in", "out", "lost", "reversed" or "unexplained" [-].
    change : float
        Signed change, or the amount itself where it stands [any unit].
    amount : str
        The amount in words, as the table has it [-].
    u : float
        Standard uncertainty of an amount that stands [unit of `change`].
    """

    name: str
    kind: str
    change: float
    amount: str
    u: float = 0.0


@dataclass(frozen=True)
class _Cut:
    width: float
    names: float
    amounts: float
    row: float
    head: float

    @property
    def left(self) -> float:
        """Where the bars begin [user units]."""
        return self.names if self.head == 0 else 1

    @property
    def right(self) -> float:
        """Where the longest bar ends [user units]."""
        return self.width - (self.amounts if self.head == 0 else 1)


_NARROW = _Cut(358, 250, 104, 46, 18)
_WIDE = _Cut(820, 250, 130, 30, 0)


def waterfall(bars: Sequence[Bar], unit: str) -> str:
    """Draw an account as a waterfall lying on its side: zero at the left, time from top to bottom.

    Parameters
    ----------
    bars : sequence of Bar
        The steps in order, the first and the last of kind "stands" [their unit].
    unit : str
        Their unit [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> bars = [Bar("At the start", "stands", 100, "100"), Bar("Drawn", "out", -40, "−40"), Bar("Now", "stands", 60, "60")]
    >>> waterfall(bars, "mL").count("<svg")
    2
    """
    said = f"Where it went, in {unit}: " + "; ".join(f"{bar.name} {bar.amount}" for bar in bars)
    return two_cuts(
        _drawn(bars, unit, said, _NARROW, "chart--narrow"), _drawn(bars, unit, said, _WIDE, "chart--wide")
    )


def _drawn(bars: Sequence[Bar], unit: str, said: str, cut: _Cut, css: str) -> str:
    levels = _levels(bars)
    most = max([after for _, after in levels] + [bar.change + REACH * bar.u for bar in bars] + [1e-6])
    height = cut.row * len(bars) + 26

    def x_of(a: float) -> float:
        return cut.left + (cut.right - cut.left) * min(max(a, 0.0), most) / most

    drawn = [_axis(x_of, most, unit, height, cut)]
    for number, (bar, (before, after)) in enumerate(zip(bars, levels, strict=True)):
        y = number * cut.row
        drawn.append(_step(bar, before, after, x_of, y + cut.head + 4, cut.row - cut.head - 10))
        drawn.append(_words(bar, y, cut))
        if number + 1 < len(bars):
            x, bottom = x_of(after), y + cut.row - 6
            drawn.append(path(f"M{n(x)} {n(bottom)}V{n(y + cut.row + cut.head + 4)}", "c-tick"))
    return frame("".join(drawn), (0, 0, cut.width, height), said, f"chart {css}")


def _levels(bars: Sequence[Bar]) -> list[tuple[float, float]]:
    """Return how much there was before and after each step."""
    levels, level = [], 0.0
    for bar in bars:
        before = 0.0 if bar.kind == STANDS else level
        level = bar.change if bar.kind == STANDS else level + bar.change
        levels.append((before, level))
    return levels


def _axis(x_of: Callable[[float], float], most: float, unit: str, height: float, cut: _Cut) -> str:
    drawn = [path(f"M{n(x_of(0))} 0V{n(height - 22)}", "c-axis")]
    for a in steps_of(0, most, 5 if cut.head == 0 else 4):
        x = x_of(a)
        drawn.append(path(f"M{n(x)} 0V{n(height - 18)}", "c-grid"))
        words = f"{figure(a)} {unit}" if a == 0 else figure(a)
        anchor = "start" if x < cut.left + 12 else "end" if x > cut.width - 16 else "middle"
        drawn.append(text(x, height - 4, words, "c-text", anchor))
    return "".join(drawn)


def _step(
    bar: Bar, before: float, after: float, x_of: Callable[[float], float], y: float, height: float
) -> str:
    low, high = sorted((x_of(before), x_of(after)))
    width = max(high - low, _LEAST)
    middle = y + height / 2
    if bar.kind == STANDS:
        return _standing(bar, x_of, y, height)
    if bar.kind == CAME_IN:
        return rect(low, y, width, height, "v-body") + path(f"M{n(high)} {n(y)}v{n(height)}", "c-step")
    if bar.kind == REVERSED:
        x = x_of(after)
        return path(f"M{n(x - 5)} {n(middle + 4)}h10l-5 -9z", "c-mark c-mark--rev")
    outline = f"M{n(low)} {n(y)}h{n(width)}v{n(height)}h{n(-width)}z"
    if bar.kind == UNEXPLAINED:
        mark = f"M{n(low - 9)} {n(middle - 5)}l5 5l-5 5l-5 -5z"
        return path(outline, "c-limit") + (path(mark, "c-mark c-mark--weigh") if low > 16 else "")
    drawn = path(outline, "c-step")
    if bar.kind == LOST:
        return drawn + path(f"M{n(low - 12)} {n(middle - 3.5)}l7 7m0 -7l-7 7", "c-mark c-mark--spilt")
    return drawn + f'<circle class="c-mark" cx="{n(low - 8)}" cy="{n(middle)}" r="2.6"/>'


def _standing(bar: Bar, x_of: Callable[[float], float], y: float, height: float) -> str:
    """Draw what is there: solid as far as it is sure, then the band of doubt, with a line at the best amount."""
    sure = x_of(max(bar.change - REACH * bar.u, 0)) if bar.u else x_of(bar.change)
    drawn = rect(x_of(0), y, sure - x_of(0), height, "v-body")
    if bar.u and x_of(bar.change + REACH * bar.u) - sure > 1:
        drawn += level_band(y, height, x_of, (bar.change, bar.u)).drawn
    return drawn + path(f"M{n(x_of(bar.change))} {n(y - 2)}v{n(height + 4)}", "c-step")


def _words(bar: Bar, y: float, cut: _Cut) -> str:
    css = "c-text c-text--b" if bar.kind == STANDS else "c-text c-text--on"
    base = y + (14 if cut.head else cut.row / 2 + 4)
    name = _cut_off(bar.name, cut.width - width_of(bar.amount) - 24 if cut.head else cut.names - 24)
    return text(0, base, name, css) + text(cut.width, base, bar.amount, css, "end")


def _cut_off(name: str, room: float) -> str:
    while width_of(name) > room and len(name) > 4:
        name = name[:-2].rstrip(" …") + "…"
    return name
