"""Strength on a line: what the label claims, what was measured, what it is now by model."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from labstock.look.drawing.doubt import uprights
from labstock.look.drawing.labels import Labels
from labstock.look.drawing.strokes import figure, frame, n, path, rect, steps_of, text, two_cuts, width_of

_ROW, _NARROW_ROW = 32, 46


@dataclass(frozen=True)
class Claim:
    """The label's claim: a flat rectangle, any place in it as likely as any other.

    Parameters
    ----------
    low, high : float
        Its limits [unit of the scale].
    words : str
        Such as "label, ≥ 98 %" [-].
    """

    low: float
    high: float
    words: str


@dataclass(frozen=True)
class Measured:
    """A measured value: a diamond with a whisker of ± 2u.

    Parameters
    ----------
    value, u : float
        Value and standard uncertainty [unit of the scale].
    words : str
        Such as "measured 9 Oct, 97.1 ± 0.8" [-].
    """

    value: float
    u: float
    words: str


@dataclass(frozen=True)
class Modelled:
    """A modelled value: fading uprights, and the word model in its words.

    Parameters
    ----------
    value, u : float
        Value and standard uncertainty [unit of the scale].
    words : str
        Such as "now, by model, 95.4 ± 1.6" [-].
    """

    value: float
    u: float
    words: str


Strength = Claim | Measured | Modelled


def strength_picture(rows: Sequence[Strength], unit: str = "%") -> str:
    """Draw claims, measurements and models one under another on one scale.

    Parameters
    ----------
    rows : sequence of Claim, Measured or Modelled
        From the top down; at least one [`unit`].
    unit : str
        Unit of the scale [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> strength_picture([Claim(98, 100, "label, ≥ 98 %")]).count("c-soft")
    2
    """
    said = f"Strength in {unit}: " + "; ".join(row.words for row in rows)
    cuts = [
        frame(_cut(rows, unit, width, row), (0, 0, width, 34 + row * len(rows)), said, f"chart chart--{css}")
        for width, row, css in ((358, _NARROW_ROW, "narrow"), (820, _ROW, "wide"))
    ]
    return two_cuts(*cuts)


def _cut(rows: Sequence[Strength], unit: str, width: float, tall: float) -> str:
    marks = _scale(rows)
    low, high = marks[0], marks[-1]
    x_of = lambda a: 4 + (width - 10) * (a - low) / (high - low)  # noqa: E731  one line reads better here
    floor = 6 + tall * len(rows)
    labels = Labels(right=width)
    drawn = [path(f"M4 {floor}H{n(width - 6)}", "c-axis")]
    for mark in [high, low, *marks[1:-1]]:
        drawn.append(path(f"M{n(x_of(mark))} {n(floor)}v5", "c-tick"))
        anchor = "start" if mark == low else "end" if mark == high else "middle"
        words = f"{figure(mark)} {unit}" if mark == high else figure(mark)
        if labels.take(x_of(mark), floor + 19, words, anchor):
            drawn.append(text(x_of(mark), floor + 19, words, "c-text", anchor))
    for i, row in enumerate(rows):
        drawn.append(_row(row, 8 + i * tall + (tall - _ROW), x_of, (low, high), width))
    return "".join(drawn)


def _scale(rows: Sequence[Strength]) -> list[float]:
    lows = [row.low if isinstance(row, Claim) else row.value - 2.8 * row.u for row in rows]
    highs = [row.high if isinstance(row, Claim) else row.value + 2.8 * row.u for row in rows]
    low, high = min(lows), max(highs)
    room = max(high - low, abs(high) * 0.02, 1e-9)
    marks = steps_of(max(0, low - room * 0.6), high + room * 0.02, 5)
    step = marks[1] - marks[0]
    if marks[0] > max(0, low - room * 0.6):
        marks.insert(0, round(marks[0] - step, 10))
    if marks[-1] < high:
        marks.append(round(marks[-1] + step, 10))
    return [mark for mark in marks if mark >= 0]


def _row(
    row: Strength, y: float, x_of: Callable[[float], float], limits: tuple[float, float], width: float
) -> str:
    if isinstance(row, Claim):
        left, right = x_of(row.low), x_of(row.high)
        drawn = rect(left, y + 2, right - left, 16, "c-soft")
        drawn += path(f"M{n(left)} {y - 2}v24M{n(right)} {y - 2}v24", "c-axis")
        return drawn + _beside(row.words, left, right, y, width, "c-text")
    if isinstance(row, Measured):
        left, right, x = x_of(row.value - 2 * row.u), x_of(row.value + 2 * row.u), x_of(row.value)
        drawn = path(f"M{n(left)} {y + 10}H{n(right)}M{n(left)} {y + 5}v10M{n(right)} {y + 5}v10", "c-axis")
        drawn += path(f"M{n(x)} {y + 4}l6 6-6 6-6-6z", "c-mark c-mark--weigh")
        return drawn + _beside(row.words, min(left, x - 6), max(right, x + 6), y, width, "c-text")
    left, right = x_of(row.value - 2.8 * row.u), x_of(row.value + 2.8 * row.u)
    drawn = uprights(x_of, (row.value, row.u), y, 20, limits) if row.u > 0 else ""
    drawn += path(f"M{n(x_of(row.value))} {y - 4}v28", "c-axis")
    return drawn + _beside(row.words, left, right, y, width, "c-text c-text--b")


def _beside(words: str, left: float, right: float, y: float, width: float, css: str) -> str:
    """Set the words left of the mark, or right of it; above where there is little room."""
    room = width_of(words)
    if width < 500:
        return text(max(min((left + right - room) / 2, width - room), 0), y - 5, words, css)
    if left - 8 - room >= 0:
        return text(left - 8, y + 15, words, css, "end")
    if right + 8 + room <= width:
        return text(right + 8, y + 15, words, css)
    return text(min(max(left, 0), width - room), y - 4, words, css)
