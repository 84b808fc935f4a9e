"""One date of an EDTF expression: year, month or season, day, with masks and marks.

The calendar is the proleptic Gregorian one, as in ISO 8601. ISO 8601-2 does not say on which days a season
begins and ends, so the bounds of the codes 21 to 24 are our reading: northern seasons, wide enough for the
calendar months as well as for solstice and equinox, and a winter may be the one before or the one after.
"""

import calendar
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

from labstock.chemistry.errors import LabError

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
SEASONS = {"21": "spring", "22": "summer", "23": "autumn", "24": "winter"}
SEASON_BOUNDS = {  # (years from the written one, month, day) of first and last day; our reading, see above
    "21": ((0, 3, 1), (0, 6, 21)),
    "22": ((0, 6, 1), (0, 9, 23)),
    "23": ((0, 9, 1), (0, 12, 22)),
    "24": ((-1, 12, 1), (1, 3, 21)),
}
MARK = "[?~%]?"
SHAPE = re.compile(
    rf"(?P<year_before>{MARK})(?P<year>[0-9X]{{4}})(?P<year_after>{MARK})"
    rf"(?:-(?P<month_before>{MARK})(?P<month>[0-9X]{{2}})(?P<month_after>{MARK})"
    rf"(?:-(?P<day_before>{MARK})(?P<day>[0-9X]{{2}})(?P<day_after>{MARK}))?)?"
)


@dataclass(frozen=True)
class DatePart:
    """One date inside an EDTF expression.

    Attributes
    ----------
    year, month, day : str
        Digits and X as written, empty where nothing is written; month 21 to 24 is a season [-].
    marks : tuple of str
        The marks ``?``, ``~``, ``%`` or nothing on each written piece, year first [-].
    earliest, latest : date or None
        First and last day the digits allow; None when the year is wholly unspecified [-].
    """

    year: str
    month: str
    day: str
    marks: tuple[str, ...]
    earliest: date | None
    latest: date | None

    @property
    def is_uncertain(self) -> bool:
        """Whether it is marked ``?`` or ``%`` [-]."""
        return any(mark in ("?", "%") for mark in self.marks)

    @property
    def is_approximate(self) -> bool:
        """Whether it is marked ``~`` or ``%`` [-]."""
        return any(mark in ("~", "%") for mark in self.marks)

    @property
    def words(self) -> str:
        """The date in plain English [-]."""
        plain = _plain_words(self.year, self.month, self.day)
        if len(set(self.marks)) == 1:
            return _MARK_WORDS[self.marks[0]] + plain
        names = ("year", "season" if self.month in SEASONS else "month", "day")
        doubts = [
            f"{name} {_MARK_NOTES[mark]}" for name, mark in zip(names, self.marks, strict=False) if mark
        ]
        return f"{plain} ({', '.join(doubts)})"


_MARK_WORDS = {"": "", "~": "about ", "?": "possibly ", "%": "possibly about "}
_MARK_NOTES = {"~": "approximate", "?": "uncertain", "%": "uncertain and approximate"}


def read_part(text: str) -> DatePart | None:
    """Read one date, or say by None that the text has not the shape of one.

    Parameters
    ----------
    text : str
        One date such as ``1934-02``, ``193X~`` or ``1894?-11-12`` [-].

    Returns
    -------
    DatePart or None
        The date with its bounds [-].

    Raises
    ------
    LabError
        When the shape is right but no such day, month or year exists.

    Notes
    -----
    ISO 8601-2:2019 and the Library of Congress EDTF specification of 4 February 2019, levels 0 to 2 of dates:
    a mark behind a piece holds for it and everything left of it, a mark before a piece for that piece alone.

    Examples
    --------
    >>> part = read_part("1900-02")
    >>> part.earliest.isoformat(), part.latest.isoformat()
    ('1900-02-01', '1900-02-28')
    """
    shape = SHAPE.fullmatch(text)
    if not shape:
        return None
    year, month, day = shape["year"], shape["month"] or "", shape["day"] or ""
    _refuse_year_zero(year)
    _refuse_month(year, month, day)
    earliest, latest = _bounds(year, month, day)
    return DatePart(year, month, day, _marks(shape), earliest, latest)


def _marks(shape: re.Match[str]) -> tuple[str, ...]:
    """Give each written piece its mark: its own one before it, or the nearest one behind it."""
    names = [name for name in ("year", "month", "day") if shape[name]]
    marks = []
    for place, name in enumerate(names):
        behind = next((shape[f"{later}_after"] for later in names[place:] if shape[f"{later}_after"]), "")
        marks.append(_joined(shape[f"{name}_before"], behind))
    return tuple(marks)


def _joined(first: str, second: str) -> str:
    both = {first, second} - {""}
    return "%" if (both and both >= {"?", "~"}) or "%" in both else next(iter(both), "")


def _refuse_year_zero(year: str) -> None:
    if year != "XXXX" and _fits(0, year, 4):
        raise LabError(
            "edtf-year-zero",
            "the year {year} reaches down to 0000, which no sample has: write a year between 0001 and 9999 in "
            "four digits, such as 1934 or 193X.",
            year=year,
        )


def _refuse_month(year: str, month: str, day: str) -> None:
    if not month:
        return
    if month in SEASONS:
        if day:
            raise LabError(
                "edtf-season-day",
                "{year}-{month} is the {season} and has no day {day}: write {year}-{month}, or the month "
                "as 01 to 12.",
                year=year,
                month=month,
                day=day,
                season=SEASONS[month],
            )
        return
    if not any(_fits(number, month, 2) for number in range(1, 13)):
        raise LabError(
            "edtf-month",
            "there is no month {month} (in {year}-{month}): months run from 01 to 12 and seasons from 21 (spring) "
            "to 24 (winter){span}.",
            year=year,
            month=month,
            span=_span_hint(year, month),
        )


def _span_hint(year: str, month: str) -> str:
    if (year + month).isdigit() and int(month) > int(year[2:]):
        return f"; for the years {year} to {year[:2]}{month} write {year}/{year[:2]}{month}"
    return ""


def _bounds(year: str, month: str, day: str) -> tuple[date | None, date | None]:
    if year == "XXXX":
        _some_day(range(2000, 2400), year, month, day)  # 400 years hold every calendar there is
        return None, None
    years = _years(year)
    if month in SEASONS:
        return _season_bounds(years, month)
    return _some_day(years, year, month, day), _some_day(reversed(years), year, month, day, is_last=True)


def _season_bounds(years: list[int], month: str) -> tuple[date, date]:
    first, last = SEASON_BOUNDS[month]
    return (
        date(max(1, years[0] + first[0]), first[1], first[2]),
        date(min(9999, years[-1] + last[0]), last[1], last[2]),
    )


def _years(mask: str) -> list[int]:
    return [
        int("".join(digits)) for digits in product(*("0123456789" if sign == "X" else sign for sign in mask))
    ]


def _some_day(years: Iterable[int], year: str, month: str, day: str, is_last: bool = False) -> date:
    """Give the first day that fits the masks (the last one when the years run backwards)."""
    for number in years:
        found = list(_days_of_year(number, month, day))
        if found:
            return found[-1 if is_last else 0]
    raise _no_such_day(year, month, day)


def _days_of_year(year: int, month: str, day: str) -> Iterator[date]:
    """Yield the first and the last fitting day of each fitting month, in order."""
    for number in _matching(month or "XX", 2, range(1, 13)):
        days = _matching(day or "XX", 2, range(1, calendar.monthrange(year, number)[1] + 1))
        if days:
            yield date(year, number, days[0])
            yield date(year, number, days[-1])


def _no_such_day(year: str, month: str, day: str) -> LabError:
    name = MONTHS[int(month) - 1] if month.isdigit() else f"month {month}"
    where = name if year == "XXXX" else f"{name} {year}"
    if (year + month).isdigit():
        last = calendar.monthrange(int(year), int(month))[1]
        remedy = f"{where} has {last} days, written 01 to {last}"
    else:
        remedy = "no year and month that fit have such a day"
    return LabError(
        "edtf-no-such-day",
        "there is no {day} {where}: {remedy}. Write the day that is meant, or XX when it cannot be read.",
        day=day.lstrip("0") or "day 00 in",
        where=where,
        remedy=remedy,
    )


def _matching(mask: str, width: int, numbers: range) -> Sequence[int]:
    if mask == "X" * width:
        return numbers
    return [number for number in numbers if _fits(number, mask, width)]


def _fits(number: int, mask: str, width: int) -> bool:
    return all(sign in ("X", digit) for sign, digit in zip(mask, f"{number:0{width}d}", strict=True))


def _plain_words(year: str, month: str, day: str) -> str:
    if not month:
        return _year_words(year)
    join = " in " if "X" in year and year != "XXXX" else " "
    when = "in an unknown year" if year == "XXXX" else f"{join}{_year_words(year)}".strip()
    if month in SEASONS:
        return f"{SEASONS[month]} {when}"
    if month == "XX" and day in ("", "XX"):
        return f"{_year_words(year)}, {'month and day' if day else 'month'} not known"
    named = MONTHS[int(month) - 1] if month.isdigit() else "of an unknown month"
    if not month.isdigit() and month != "XX":
        named = f"of a month {month}"
    if not day:
        return f"{named} {when}" if month.isdigit() else f"some time in a month {month}, {when}"
    if day.isdigit() and month.isdigit():
        return f"{int(day)} {named} {when}"
    if day.isdigit():
        return f"day {int(day)} {named}, {when}"
    if day == "XX":
        return f"some day in {named.removeprefix('of ')} {when}"
    return f"a day {day} {'in ' if month.isdigit() else ''}{named} {when}"


def _year_words(year: str) -> str:
    if year.isdigit():
        return str(int(year))
    if year == "XXXX":
        return "year not known"
    if re.fullmatch("[0-9]{3}X", year):
        return f"the {year[:3]}0s"
    if re.fullmatch("[0-9]+X+", year):
        return f"the years {year.replace('X', '0')} to {year.replace('X', '9')}"
    return f"a year {year}"
