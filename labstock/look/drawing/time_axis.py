"""Marks on a line of time: hours, days, months or years, as the stretch asks."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple


class Mark(NamedTuple):
    """A mark on the line and what stands under it."""

    at: datetime
    words: str


_HOUR_STEPS = (1, 2, 3, 6, 12)
_DAY_STEPS = (1, 2, 7, 14)
_MONTH_STEPS = (1, 2, 3, 6)
_YEAR_STEPS = (1, 2, 5, 10, 20, 50, 100)


def time_marks(first: datetime, last: datetime, at_most: int = 7) -> list[Mark]:
    """Choose round moments between two ends.

    Parameters
    ----------
    first, last : datetime
        Ends of the line, `last` after `first` [-].
    at_most : int
        How many marks there is room for [-].

    Returns
    -------
    list of Mark
        The marks from left to right [-].

    Examples
    --------
    >>> [mark.words for mark in time_marks(datetime(2026, 8, 31), datetime(2026, 12, 3))]
    ['Sep', 'Oct', 'Nov', 'Dec']
    >>> [mark.words for mark in time_marks(datetime(2026, 11, 25, 8), datetime(2026, 11, 25, 18))]
    ['08:00', '10:00', '12:00', '14:00', '16:00', '18:00']
    """
    for marks in _tries(first, last):
        found: list[Mark] = []
        for mark in marks:
            if mark.at > last or len(found) > at_most:
                break
            if mark.at >= first:
                found.append(mark)
        if len(found) <= at_most:
            return found
    return found[:at_most]


def _tries(first: datetime, last: datetime) -> Iterator[Iterator[Mark]]:
    days = (last - first).total_seconds() / 86400
    if days <= 3:
        yield from (_hours(first, step) for step in _HOUR_STEPS)
    if days <= 45:
        yield from (_days(first, step) for step in _DAY_STEPS)
    if days <= 1500:
        yield from (_months(first, step) for step in _MONTH_STEPS)
    yield from (_years(first, step) for step in _YEAR_STEPS)


def _hours(first: datetime, step: int) -> Iterator[Mark]:
    at = first.replace(hour=first.hour - first.hour % step, minute=0, second=0, microsecond=0)
    while True:
        yield Mark(at, f"{at.day} {at:%b}" if at.hour == 0 else f"{at:%H:%M}")
        at += timedelta(hours=step)


def _days(first: datetime, step: int) -> Iterator[Mark]:
    at = first.replace(hour=0, minute=0, second=0, microsecond=0)
    if step >= 7:
        at -= timedelta(days=at.weekday())
    while True:
        yield Mark(at, f"{at.day} {at:%b}")
        at += timedelta(days=step)


def _months(first: datetime, step: int) -> Iterator[Mark]:
    at = _midnight(first, first.year, (first.month - 1) // step * step + 1)
    while True:
        yield Mark(at, f"{at:%b %Y}" if at.month == 1 or step > 1 else f"{at:%b}")
        month = at.month - 1 + step
        at = at.replace(year=at.year + month // 12, month=month % 12 + 1)


def _years(first: datetime, step: int) -> Iterator[Mark]:
    at = _midnight(first, max(1, first.year // step * step), 1)
    while True:
        yield Mark(at, f"{at.year}")
        at = at.replace(year=min(9999, at.year + step))
        if at.year == 9999:
            return


def _midnight(like: datetime, year: int, month: int) -> datetime:
    return like.replace(year=year, month=month, day=1, hour=0, minute=0, second=0, microsecond=0)
