"""The age of a sample with an uncertain date, as a range, and the order of two such dates."""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from typing import Literal

from batches.retained.edtf import EdtfDate, day_words
from labstock.chemistry.errors import LabError

Order = Literal["before", "after", "same day", "not decidable"]


@dataclass(frozen=True)
class Age:
    """An age in calendar years, months and days, and in days alone.

    Attributes
    ----------
    years : int
        Completed years [a].
    months : int
        Completed months beyond the years [month].
    days : int
        Days beyond the months [d].
    total_days : int
        The whole age in days [d].
    """

    years: int
    months: int
    days: int
    total_days: int

    def __str__(self) -> str:
        pieces = [_count(self.years, "year"), _count(self.months, "month"), _count(self.days, "day")]
        return " ".join(piece for piece in pieces if not piece.startswith("0 ")) or "0 days"


@dataclass(frozen=True)
class AgeRange:
    """The youngest and the oldest a sample can be.

    Attributes
    ----------
    shortest, longest : Age or None
        Ages from the latest and from the earliest possible day; None where that end is open or unknown [-].
    words : str
        The range in plain English [-].
    """

    shortest: Age | None
    longest: Age | None
    words: str

    def __str__(self) -> str:
        return self.words


def age_between(start: date, on: date) -> Age:
    """Count the age in whole years, months and days.

    Parameters
    ----------
    start : date
        First day [-].
    on : date
        Day at which the age is wanted, not before `start` [-].

    Returns
    -------
    Age
        The age [a, month, d].

    Notes
    -----
    Whole months are counted from the first day's number, or from the last day of a month that is too short
    for it; common practice, no source.

    Examples
    --------
    >>> str(age_between(date(2000, 2, 29), date(2026, 11, 25)))
    '26 years 8 months 27 days'
    """
    if on < start:
        raise LabError(
            "age-before-date",
            "no age on {on}: the date {start} lies after it. Correct one of the two days.",
            on=day_words(on),
            start=day_words(start),
        )
    months = (on.year - start.year) * 12 + on.month - start.month
    if _months_later(start, months) > on:
        months -= 1
    rest = (on - _months_later(start, months)).days
    return Age(months // 12, months % 12, rest, (on - start).days)


def age_range(edtf: EdtfDate, on: date) -> AgeRange:
    """Give the age of a sample as a range.

    Parameters
    ----------
    edtf : EdtfDate
        The sample's date [-].
    on : date
        Day at which the age is wanted [-].

    Returns
    -------
    AgeRange
        Shortest and longest age [a, month, d] and the range in words [-].

    Raises
    ------
    LabError
        When the whole date lies after `on`.

    Notes
    -----
    From the strict bounds of ISO 8601-2:2019. A sample that exists on a day was made by then, so a date that
    reaches beyond it is cut there.

    Examples
    --------
    >>> from batches.retained.edtf import read_edtf
    >>> age_range(read_edtf("193X"), date(2026, 11, 25)).words
    '86 to 96 years'
    """
    if edtf.earliest and edtf.earliest > on:
        raise LabError(
            "date-in-future",
            "the date {edtf} ({words}) lies after {on}: a sample cannot be made later than that. "
            "Correct the date.",
            edtf=edtf.text,
            words=edtf.words,
            on=day_words(on),
        )
    shortest = age_between(min(edtf.latest, on), on) if edtf.latest else None
    longest = age_between(edtf.earliest, on) if edtf.earliest else None
    doubt = ("possibly " if edtf.is_uncertain else "") + ("about " if edtf.is_approximate else "")
    return AgeRange(shortest, longest, doubt + _range_words(shortest, longest))


def order(a: EdtfDate, b: EdtfDate) -> Order:
    """Tell which of two dates is the earlier, where that can be told.

    Parameters
    ----------
    a, b : EdtfDate
        The two dates [-].

    Returns
    -------
    str
        "before" when all of `a` lies before all of `b`, "after" for the reverse, "same day", or
        "not decidable" when the ranges touch or an end that matters is open or unknown [-].

    Notes
    -----
    From the strict bounds alone; a mark ``?`` or ``~`` means that even a decided order rests on a doubtful
    date, see `order_words`.

    Examples
    --------
    >>> from batches.retained.edtf import read_edtf
    >>> order(read_edtf("1894"), read_edtf("193X")), order(read_edtf("1984?"), read_edtf("1984-06"))
    ('before', 'not decidable')
    """
    if a.is_one_day and b.is_one_day and a.earliest == b.earliest:
        return "same day"
    if a.latest and b.earliest and a.latest < b.earliest:
        return "before"
    if b.latest and a.earliest and b.latest < a.earliest:
        return "after"
    return "not decidable"


def order_words(a: EdtfDate, b: EdtfDate) -> str:
    """Say which of two dates is the earlier, with the doubt it rests on.

    Parameters
    ----------
    a, b : EdtfDate
        The two dates [-].

    Returns
    -------
    str
        One sentence without its full stop [-].

    Notes
    -----
    See `order`.

    Examples
    --------
    >>> from batches.retained.edtf import read_edtf
    >>> order_words(read_edtf("1894~"), read_edtf("1899"))
    'about 1894 is before 1899, if the marked date is right'
    """
    found = order(a, b)
    if found == "not decidable":
        return f"{a.words} and {b.words}: not decidable, {_why_undecidable(a, b)}"
    is_marked = [date.is_uncertain or date.is_approximate for date in (a, b)]
    doubt = {0: "", 1: ", if the marked date is right", 2: ", if both marked dates are right"}[sum(is_marked)]
    return f"{a.words} is {'the same day as' if found == 'same day' else found} {b.words}{doubt}"


def _why_undecidable(a: EdtfDate, b: EdtfDate) -> str:
    if None in (a.earliest, a.latest, b.earliest, b.latest):
        return "an end is open or unknown"
    return "the ranges overlap"


def _months_later(start: date, months: int) -> date:
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    return date(year, month + 1, min(start.day, monthrange(year, month + 1)[1]))


def _count(number: int, unit: str) -> str:
    return f"{number} {unit}" if number == 1 else f"{number} {unit}s"


def _range_words(shortest: Age | None, longest: Age | None) -> str:
    if shortest and longest:
        unit = _unit(longest)
        low, high = _in_unit(shortest, unit), _in_unit(longest, unit)
        return _count(low, unit) if low == high else f"{low} to {_count(high, unit)}"
    if shortest:
        return f"at least {_count(_in_unit(shortest, _unit(shortest)), _unit(shortest))}"
    if longest:
        return f"at most {_count(_in_unit(longest, _unit(longest)), _unit(longest))}"
    return "age not known"


def _unit(age: Age) -> str:
    """Choose the largest unit in which the age counts at least two."""
    if age.years >= 2:
        return "year"
    return "month" if age.years * 12 + age.months >= 2 else "day"


def _in_unit(age: Age, unit: str) -> int:
    return {"year": age.years, "month": age.years * 12 + age.months, "day": age.total_days}[unit]
