"""The dates that may end a container's use, on one line of time: the earliest wins."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from labstock.look.drawing.strokes import frame, n, path, text, two_cuts, width_of
from labstock.look.drawing.time_axis import time_marks

_ROW = 36
_FIRST_ROW = 34


@dataclass(frozen=True)
class DateRule:
    """One rule and its date.

    Parameters
    ----------
    name : str
        Such as "opened + 6 months in use" [-].
    starts_on, ends_on : date
        What it counts from, and its date [-].
    """

    name: str
    starts_on: date
    ends_on: date


def date_rules(rules: Sequence[DateRule], today: date) -> str:
    """Draw every rule as a line that ends on its date.

    Parameters
    ----------
    rules : sequence of DateRule
        The rules that give a date; at least one [-].
    today : date
        The day of looking [-].

    Returns
    -------
    str
        The narrow and the wide cut [-].

    Examples
    --------
    >>> rule = DateRule("the maker's expiry", date(2026, 9, 3), date(2028, 3, 31))
    >>> "31 Mar 2028" in date_rules([rule], date(2026, 11, 25))
    True
    """
    wins = min(rules, key=lambda rule: rule.ends_on)
    height = _FIRST_ROW + len(rules) * _ROW - 8
    is_past = "was" if wins.ends_on < today else "is"
    said = (
        f"{len(rules)} possible end dates on one line of time; the earliest {is_past}"
        f" {_words(wins.ends_on)}, {wins.name}"
    )
    cuts = [
        frame(_cut(rules, wins, today, width, at_most), (0, 0, width, height), said, f"chart chart--{css}")
        for width, at_most, css in ((358, 3, "narrow"), (820, 6, "wide"))
    ]
    return two_cuts(*cuts)


def _cut(rules: Sequence[DateRule], wins: DateRule, today: date, width: float, at_most: int) -> str:
    first = min([rule.starts_on for rule in rules] + [today])
    last = max([rule.ends_on for rule in rules] + [today])
    last += max((last - first) * 0.06, timedelta(days=7))
    x_of = lambda on: 4 + (width - 12) * (on - first).days / (last - first).days  # noqa: E731  reads better
    bottom = _FIRST_ROW + len(rules) * _ROW - 14
    drawn = []
    for mark in time_marks(_moment(first), _moment(last), at_most):
        x = x_of(mark.at.date())
        drawn.append(path(f"M{n(x)} 16V{n(bottom)}", "c-grid"))
        if x + 3 + width_of(mark.words) < width:
            drawn.append(text(x + 3, 12, mark.words))
    for i, rule in enumerate(rules):
        drawn.append(_row(rule, rule is wins, _FIRST_ROW + i * _ROW, x_of, width))
    drawn.append(path(f"M{n(x_of(today))} 16V{n(bottom)}", "c-now"))
    return "".join(drawn)


def _row(rule: DateRule, wins: bool, y: float, x_of: Callable[[date], float], width: float) -> str:
    line, dot, css = ("c-accent", "c-win", "c-win-text") if wins else ("c-axis", "c-dot", "c-text")
    start, end = x_of(rule.starts_on), x_of(rule.ends_on)
    words = f"{_words(rule.ends_on)}, {rule.name}{': wins' if wins else ''}"
    room = width_of(words, 7.4 if width < 500 else 6.7)  # on a small phone words are set a little larger
    if end + 8 + room <= width:
        label = text(end + 8, y + 8, words, css)
    else:
        label = text(max(end - 8, room), y - 4, words, css, "end")
    return (
        path(f"M{n(start)} {y + 4}H{n(end)}", line)
        + f'<circle class="{dot}" cx="{n(start)}" cy="{y + 4}" r="3"/>'
        + path(f"M{n(end)} {y - 3}v14h-2.5v-14z", dot)
        + label
    )


def _words(on: date) -> str:
    return f"{on.day} {on:%b %Y}"


def _moment(on: date) -> datetime:
    return datetime.combine(on, time())
