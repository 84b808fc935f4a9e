"""Strict reader of dates in EDTF (ISO 8601-2:2019; Library of Congress, 4 February 2019) for old samples.

The bounds follow from the digits alone: a mark ``?`` or ``~`` says that the date is in doubt, the standard
gives no number of years for it, so the bounds are not widened. An open end (``..``) and an unknown end
(nothing written) are kept apart. What the standard knows but a sample does not need is refused by name:
times of day, years beyond four digits, significant digits, parts of a year other than seasons.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from batches.retained.edtf_part import MONTHS, DatePart, read_part
from batches.retained.label_dates import Suggestion, suggest_edtf, written_as_edtf
from labstock.chemistry.errors import LabError

__all__ = ["EdtfDate", "End", "Suggestion", "read_edtf", "suggest_edtf"]

End = Literal["known", "open", "unknown"]
LONGEST = 120  # characters; a longer text is no date


@dataclass(frozen=True)
class EdtfDate:
    """A date or span of dates in EDTF, with its strict bounds.

    Attributes
    ----------
    text : str
        The expression as it was read [-].
    earliest, latest : date or None
        First and last possible day; None where the end is open or unknown [-].
    start_open, end_open : str
        "known", "open" (``..``: no limit is stated) or "unknown" (there is a limit, nobody knows it) [-].
    is_uncertain, is_approximate : bool
        Whether any piece carries ``?`` or ``%``, ``~`` or ``%`` [-].
    words : str
        The date in plain English [-].
    """

    text: str
    earliest: date | None
    latest: date | None
    start_open: End
    end_open: End
    is_uncertain: bool
    is_approximate: bool
    words: str

    @property
    def is_one_day(self) -> bool:
        """Whether first and last possible day are the same [-]."""
        return self.earliest is not None and self.earliest == self.latest

    def __str__(self) -> str:
        return self.text


def read_edtf(text: str) -> EdtfDate:
    """Read an EDTF expression strictly.

    Parameters
    ----------
    text : str
        A date, an interval or a set, such as ``1934~``, ``193X``, ``../1939``, ``[1894-11-12, 1899-11-12]`` [-].

    Returns
    -------
    EdtfDate
        The date with its strict bounds and its words [-].

    Raises
    ------
    LabError
        When the text is no EDTF or names a day that does not exist; the message says what to write instead.

    Notes
    -----
    ISO 8601-2:2019; Library of Congress, Extended Date/Time Format specification, 4 February 2019.

    Examples
    --------
    >>> sample_date = read_edtf("193X")
    >>> sample_date.earliest.isoformat(), sample_date.latest.isoformat(), sample_date.words
    ('1930-01-01', '1939-12-31', 'the 1930s')
    >>> read_edtf("../1939").start_open
    'open'
    """
    plain = text.strip()
    if not plain:
        raise LabError("edtf-empty", "no date is written: write EDTF such as 1934~, or leave the date out.")
    if len(plain) > LONGEST:
        raise LabError(
            "edtf-too-long",
            "'{start}…' has {length} characters and is no date: write EDTF such as 1934~, and the rest as a note.",
            start=plain[:20],
            length=len(plain),
        )
    if plain[0] in "[{":
        return _read_set(plain)
    if "/" in plain:
        return _read_interval(plain)
    part = _part(plain, plain)
    ends: End = "known" if part.earliest else "unknown"
    return EdtfDate(
        plain, part.earliest, part.latest, ends, ends, part.is_uncertain, part.is_approximate, part.words
    )


def _part(text: str, whole: str) -> DatePart:
    if (part := read_part(text)) is None:
        raise _not_edtf(text, whole)
    return part


def _read_interval(text: str) -> EdtfDate:
    sides = text.split("/")
    if len(sides) != 2:
        raise _not_edtf(text, text)
    if set(sides) <= {"", ".."}:
        raise LabError(
            "edtf-no-limits",
            "the interval '{text}' has no date at either end: write the end that is known, such as ../1939, "
            "or leave the date out.",
            text=text,
        )
    start, start_open = _read_end(sides[0], text)
    end, end_open = _read_end(sides[1], text)
    _refuse_backwards(start, end, text)
    parts = [part for part in (start, end) if part]
    return EdtfDate(
        text,
        start.earliest if start else None,
        end.latest if end else None,
        start_open,
        end_open,
        any(part.is_uncertain for part in parts),
        any(part.is_approximate for part in parts),
        _interval_words(start, end, start_open, end_open),
    )


def _read_end(side: str, whole: str) -> tuple[DatePart | None, End]:
    if side == "..":
        return None, "open"
    if not side:
        return None, "unknown"
    part = _part(side, whole)
    if not part.earliest:
        raise LabError(
            "edtf-end-without-year",
            "'{side}' in '{whole}' has no year and cannot be the end of an interval: write the year, or .. for "
            "an open end.",
            side=side,
            whole=whole,
        )
    return part, "known"


def _refuse_backwards(start: DatePart | None, end: DatePart | None, text: str) -> None:
    if start and end and start.earliest and end.latest and end.latest < start.earliest:
        first, last = text.split("/")
        raise LabError(
            "edtf-backwards",
            "the interval '{text}' ends before it starts: write {last}/{first}, or correct the year.",
            text=text,
            first=first,
            last=last,
        )


def _interval_words(start: DatePart | None, end: DatePart | None, start_open: End, end_open: End) -> str:
    if start and end:
        return f"between {start.words} and {end.words}"
    if end:
        before = f"{_in_or_on(end)} or before {end.words}"
        return before if start_open == "open" else f"from an unknown date to {end.words}"
    assert start is not None
    after = f"{_in_or_on(start)} or after {start.words}"
    return after if end_open == "open" else f"from {start.words} to an unknown date"


def _in_or_on(part: DatePart) -> str:
    return "on" if part.day else "in"


def _read_set(text: str) -> EdtfDate:
    closing = {"[": "]", "{": "}"}[text[0]]
    if text[-1] != closing or len(text) < 3:
        raise LabError(
            "edtf-set-not-closed",
            "the set '{text}' is not closed or is empty: write {example}.",
            text=text,
            example=f"{text[0]}1894-11-12, 1899-11-12{closing}",
        )
    members = [_read_member(member.strip(), text) for member in text[1:-1].split(",")]
    starts, ends = [first for first, _ in members], [last for _, last in members]
    parts = [part for member in members for part in member if part]
    earliest = None if None in starts else min(part.earliest for part in parts if part.earliest)
    latest = None if None in ends else max(part.latest for part in parts if part.latest)
    return EdtfDate(
        text,
        earliest,
        latest,
        "open" if earliest is None else "known",
        "open" if latest is None else "known",
        any(part.is_uncertain for part in parts),
        any(part.is_approximate for part in parts),
        _set_words(members, "one of: " if text[0] == "[" else "all of: "),
    )


def _read_member(member: str, whole: str) -> tuple[DatePart | None, DatePart | None]:
    """Read one member of a set: a date, ``a..b``, ``..b`` or ``a..``."""
    first, dots, last = member.partition("..")
    if dots and not (first or last):
        raise _not_edtf(member, whole)
    start = _dated_member(first, whole) if first or not dots else None
    if not dots:
        return start, start
    end = _dated_member(last, whole) if last else None
    if start and end and start.earliest and end.latest and end.latest < start.earliest:
        raise LabError(
            "edtf-backwards",
            "'{member}' in '{whole}' ends before it starts: write {last}..{first}, or correct the year.",
            member=member,
            whole=whole,
            first=first,
            last=last,
        )
    return start, end


def _dated_member(text: str, whole: str) -> DatePart:
    part = _part(text, whole)
    if not part.earliest:
        raise LabError(
            "edtf-end-without-year",
            "'{text}' in '{whole}' has no year and cannot stand in a set: write the year.",
            text=text,
            whole=whole,
        )
    return part


def _set_words(members: list[tuple[DatePart | None, DatePart | None]], opening: str) -> str:
    texts = []
    for start, end in members:
        if start is end and start:
            texts.append(start.words)
        else:
            texts.append(
                _interval_words(start, end, "known" if start else "open", "known" if end else "open")
            )
    return texts[0] if len(texts) == 1 else opening + "; ".join(texts)


_REFUSALS = (  # (shape of the wrong text, code, what is wrong and what to write)
    (r"[0-9uU-]*[uU][0-9uU-]*[?~]*", "edtf-old-spelling", "is the old spelling: write {masked}"),
    (r"[0-9X-]*x[0-9xX-]*", "edtf-old-spelling", "has a small x: write {masked}"),
    (r"open", "edtf-old-spelling", "is the old spelling of an open end: write .. for it"),
    (r"unknown", "edtf-old-spelling", "is the old spelling of an unknown end: write nothing on that side"),
    (r".*\?~", "edtf-old-spelling", "is the old spelling of uncertain and approximate: write % for both"),
    (r"[yY]-?[0-9].*|-[0-9].*", "edtf-year", "has a year that no sample can have: write 0001 to 9999"),
    (r"[0-9]{5}|[0-9]{7}", "edtf-year", "has {digits} digits: a year has four, such as 1934"),
    (r".*[0-9]T[0-9].*", "edtf-time", "has a time of day: write the day alone, {day}"),
    (r"[0-9X]{4}S[0-9]", "edtf-significant", "states significant digits: write a mask such as 19XX instead"),
)


def _not_edtf(text: str, whole: str) -> LabError:
    """Say what is wrong with a text that is no EDTF, and what to write instead."""
    place = "" if text == whole else f" (in '{whole}')"
    facts = {
        "masked": re.sub("[uUx]", "X", text),
        "digits": len(text),
        "day": text.split("T")[0],
    }
    for shape, code, reason in _REFUSALS:
        if re.fullmatch(shape, text):
            wrong = reason.format(**facts)
            return LabError(code, "{quoted}{place} {wrong}.", quoted=f"'{text}'", place=place, wrong=wrong)
    if not suggest_edtf(whole) and (day := written_as_edtf(text)):
        read_part(day)  # refuses it with its own reason
    return LabError(
        "edtf-not-read",
        "{quoted}{place} is not EDTF: write {remedy}.",
        quoted=f"'{text}'",
        place=place,
        remedy=_remedy(whole),
    )


def _remedy(text: str) -> str:
    suggestions = suggest_edtf(text)[:3]
    if len(suggestions) == 1:
        edtf = suggestions[0].edtf
        return f"'{edtf}'" if edtf.endswith(".") else edtf
    if suggestions:
        return " or ".join(f"{each.edtf} ({each.why})" for each in suggestions)
    return (
        "year, month and day as 1894-11-12, 1894-11 or 1894, with 1934~ for about 1934 and 193X for the 1930s"
    )


def day_words(day: date) -> str:
    """Write a day in words.

    Parameters
    ----------
    day : date
        The day [-].

    Returns
    -------
    str
        The day as 12 November 1894 [-].

    Notes
    -----
    Plain English order; no source.

    Examples
    --------
    >>> day_words(date(1894, 11, 12))
    '12 November 1894'
    """
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
