"""When an old sample was made and how old that makes it, as a range on two scales."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from labstock.look.drawing.strokes import frame, n, path, rect, steps_of, text, two_cuts, width_of

_BAR, _TALL, _AXIS = 30, 20, 62
_UNSURE_YEARS = 10
"""How far an open or approximate end is drawn beyond what is written; a picture, not a claim."""


@dataclass(frozen=True)
class Made:
    """When it was made, as far as anybody knows.

    Parameters
    ----------
    earliest, latest : date, optional
        First and last day that fit; None where that end is open [-].
    is_approximate : bool
        Whether the ends are "about" [-].
    words : str
        Date and age in words, such as "189X, 126 to 136 years old" [-].
    """

    earliest: date | None
    latest: date | None
    is_approximate: bool = False
    words: str = ""


def age_picture(made: Made, today: date) -> str:
    """Draw the range of possible dates, with years below and ages above.

    Parameters
    ----------
    made : Made
        The range; at least one end is known [-].
    today : date
        The day of looking [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> made = Made(date(1890, 1, 1), date(1899, 12, 31), words="189X, 126 to 136 years old")
    >>> age_picture(made, date(2026, 11, 25)).count('aria-label="Made 189X, 126 to 136 years old"')
    2
    """
    said = f"Made {made.words or _said(made)}"
    cuts = [
        frame(_cut(made, today, width), (0, 0, width, 86), said, f"chart chart--{css}")
        for width, css in ((358, "narrow"), (820, "wide"))
    ]
    return two_cuts(*cuts)


def _said(made: Made) -> str:
    if made.earliest and made.latest:
        return f"between {made.earliest.isoformat()} and {made.latest.isoformat()}"
    return (
        f"since {made.earliest.isoformat()}" if made.earliest else f"before {made.latest or 'an open date'}"
    )


def _cut(made: Made, today: date, width: float) -> str:
    now = _year_of(today)
    start = _year_of(made.earliest) if made.earliest else None
    end = _year_of(made.latest) if made.latest else None
    left = (start if start is not None else min(end or now, now) - _UNSURE_YEARS) - _UNSURE_YEARS
    low, high = min(left, now - 2), max(now, end or now) + 1
    x_of = lambda year: 8 + (width - 20) * (year - low) / (high - low)  # noqa: E731  reads better
    return "".join(
        [
            _scales(x_of, low, high, now, width),
            _bar(x_of, start, end, made.is_approximate, low, now),
            path(f"M{n(x_of(now))} {_BAR - 8}V{_AXIS}", "c-now"),
        ]
    )


def _scales(x_of: Callable[[float], float], low: float, high: float, now: float, width: float) -> str:
    about = 9 if width > 500 else 4
    drawn = [path(f"M8 {_AXIS}H{n(width - 12)}", "c-axis")]
    for year in steps_of(low, high, about):
        words = f"{year:.0f}"
        if year == int(year) and x_of(year) + width_of(words) / 2 < width:
            drawn.append(path(f"M{n(x_of(year))} {_AXIS}v5", "c-tick"))
            drawn.append(text(max(x_of(year), 16), _AXIS + 19, words, "c-text", "middle"))
    for age in steps_of(0, now - low, about):
        at = now - age
        if age == int(age) and x_of(at) > 10:
            words = "now" if age == 0 else f"{age:.0f} years" if x_of(at) > 40 and age else f"{age:.0f}"
            anchor = "end" if age == 0 else "middle"
            drawn.append(path(f"M{n(x_of(at))} {_BAR - 8}v-4", "c-tick"))
            drawn.append(text(x_of(at), 14, words.replace(" years", " y"), "c-text", anchor))
    return "".join(drawn)


def _bar(
    x_of: Callable[[float], float],
    start: float | None,
    end: float | None,
    is_about: bool,
    low: float,
    now: float,
) -> str:
    first = start if start is not None else low
    last = end if end is not None else now
    left, right = x_of(first), max(x_of(last), x_of(first) + 3)
    drawn = rect(left, _BAR, right - left, _TALL, "c-fill") if start is not None else ""
    if start is None:
        drawn += _fading(x_of(last), x_of(low)) + path(f"M{n(right)} {_BAR - 5}v{_TALL + 10}", "c-axis")
        return drawn
    if is_about:
        reach = x_of(first) - x_of(first - _UNSURE_YEARS / 2)
        drawn += _fading(left, left - reach) + _fading(right, right + reach)
        return drawn
    ends = f"M{n(left)} {_BAR - 5}v{_TALL + 10}"
    if end is None:
        return drawn + path(ends, "c-axis")
    return drawn + path(f"{ends}M{n(right)} {_BAR - 5}v{_TALL + 10}", "c-axis")


def _fading(near: float, far: float) -> str:
    """Rule the doubtful part: lines grow thinner away from what is written."""
    count = max(4, round(abs(far - near) / 4))
    step = (far - near) / count
    drawn = []
    for i in range(count):
        thick = max(abs(step) * 0.7 * (1 - i / count), 0.4)
        drawn.append(rect(near + step * (i + 0.5) - thick / 2, _BAR, thick, _TALL, "v-ruled"))
    return "".join(drawn)


def _year_of(on: date) -> float:
    return on.year + (on.timetuple().tm_yday - 1) / 366
