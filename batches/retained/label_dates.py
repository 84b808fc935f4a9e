"""Dates as people wrote them on labels, and the EDTF they may mean. Suggestions only: a person decides."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from batches.retained.edtf_part import read_part
from labstock.chemistry.errors import LabError

ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii")
MONTH_STARTS = {  # first letters of month names in English, German and French
    **{"jan": 1, "jän": 1, "feb": 2, "fév": 2, "fev": 2, "mar": 3, "mär": 3, "mrz": 3, "apr": 4, "avr": 4},
    **{"may": 5, "mai": 5, "jun": 6, "juin": 6, "jul": 7, "juil": 7, "aug": 8, "aoû": 8, "aou": 8, "sep": 9},
    **{"oct": 10, "okt": 10, "nov": 11, "dec": 12, "dez": 12, "déc": 12},
}
SEASON_WORDS = {
    **{"spring": "21", "frühjahr": "21", "frühling": "21", "summer": "22", "sommer": "22"},
    **{"autumn": "23", "fall": "23", "herbst": "23", "winter": "24"},
}
ABOUT = r"(?:about|around|abt|circa|ca|c|um|etwa|gegen|vers|environ)\b\.?\s*"
BEFORE = r"(?:before|vor|avant|prior to)\s+"
UNTIL = r"(?:until|till|by|bis|up to|not after)\s+"
AFTER = r"(?:after|nach|après)\s+"
SINCE = r"(?:since|from|seit|ab|depuis|not before)\s+"
CENTURIES = ("18", "19", "20")
OLDEST_YEAR = 1850  # two-digit years on labels are not read as older than this; our choice
LATEST_YEAR = 2049  # nor as younger than this; our choice


@dataclass(frozen=True)
class Suggestion:
    """An EDTF date that a label may mean, and why.

    Attributes
    ----------
    edtf : str
        The date in EDTF [-].
    why : str
        The reading behind it, for the person who decides [-].
    """

    edtf: str
    why: str


def suggest_edtf(text: str) -> list[Suggestion]:
    """Suggest what a date on a label may mean; never to be accepted without a person.

    Parameters
    ----------
    text : str
        The date as written on the label [-].

    Returns
    -------
    list of Suggestion
        Possible EDTF readings, the likeliest first; empty when nothing is recognised [-].

    Notes
    -----
    Marks and masks as in ISO 8601-2:2019. That dots mean day first and that "before 1939" leaves out 1939 are
    common practice, no source; where a century is missing every possible one is offered.

    Examples
    --------
    >>> [suggestion.edtf for suggestion in suggest_edtf("um 1934")]
    ['1934~']
    >>> [suggestion.edtf for suggestion in suggest_edtf("12. XI. 94")]
    ['1894-11-12', '1994-11-12', '189X-11-12']
    """
    plain = _without_brackets(" ".join(text.lower().split()))[:80]
    seen: dict[str, Suggestion] = {}
    for reader in _READERS:
        for suggestion in reader(plain):
            seen.setdefault(suggestion.edtf, suggestion)
    return [suggestion for edtf, suggestion in seen.items() if _exists(edtf)]


def _without_brackets(plain: str) -> str:
    inside = re.fullmatch(r"[\[(](.+)[\])]", plain)
    return inside[1].strip() if inside else plain


def _read_point(plain: str) -> list[Suggestion]:
    """Read one point in time: a day, a month, a season, a year or a decade."""
    found: list[Suggestion] = []
    for reader in (_read_day, _read_month, _read_season, _read_decade, _read_year):
        found.extend(reader(plain))
    return found


def _exists(edtf: str) -> bool:
    """Tell whether each date of the expression is on the calendar."""
    try:
        return all(read_part(side) for side in edtf.split("/") if side != "..")
    except LabError:
        return False


def _read_day(plain: str) -> Iterator[Suggestion]:
    for year, month, day, why in _written_days(plain):
        yield from _days(year, month, day, why)


def _written_days(plain: str) -> Iterator[tuple[str, int, int, str]]:
    """Yield year as written, month and day of each way to read a day; the day may not exist."""
    named = re.fullmatch(
        r"([0-9]{1,2})(?:st|nd|rd|th|er)?[.\s/-]*([^\W\d]+)[.\s,/-]*'?([0-9]{4}|[0-9]{2})", plain
    )
    if named and (month := _month_number(named[2])):
        yield named[3], month, int(named[1]), f"{named[2]} is month {month}"
    turned = re.fullmatch(r"([^\W\d]+)\.?\s+([0-9]{1,2})(?:st|nd|rd|th)?[,.]?\s+'?([0-9]{4}|[0-9]{2})", plain)
    if turned and (month := _month_number(turned[1])):
        yield turned[3], month, int(turned[2]), f"{turned[1]} is month {month}"
    basic = re.fullmatch(r"([0-9]{4})([0-9]{2})([0-9]{2})", plain)
    if first := basic or re.fullmatch(r"([0-9]{4})[-./]([0-9]{1,2})[-./]([0-9]{1,2})", plain):
        yield first[1], int(first[2]), int(first[3]), "read as year, month, day"
    if last := re.fullmatch(r"([0-9]{1,2})([-./ ]+)([0-9]{1,2})[-./ ]+([0-9]{4}|[0-9]{2})", plain):
        yield last[4], int(last[3]), int(last[1]), "read as day, month, year"
        if last[1] != last[3] and "." not in last[2]:
            yield last[4], int(last[1]), int(last[3]), "read as month, day, year"


def written_as_edtf(text: str) -> str | None:
    """Put a day written in figures or words into EDTF form, whether or not there is such a day.

    Parameters
    ----------
    text : str
        The date as written [-].

    Returns
    -------
    str or None
        The day in EDTF form, or None when no day with a full year is written [-].

    Notes
    -----
    Serves to say what is impossible in a date; common practice, no source.

    Examples
    --------
    >>> written_as_edtf("30 Feb 1934")
    '1934-02-30'
    """
    for year, month, day, _ in _written_days(" ".join(text.lower().split())):
        if len(year) == 4:
            return f"{year}-{month:02d}-{day:02d}"
    return None


def _days(year: str, month: int, day: int, why: str) -> Iterator[Suggestion]:
    if not 1 <= month <= 12:
        return
    for full, reason in _full_years(year):
        yield Suggestion(f"{full}-{month:02d}-{day:02d}", _joined(why, reason))
    if len(year) == 2:
        century = next(iter(_full_years(year)))[0] // 100
        yield Suggestion(
            f"{century}{year[0]}X-{month:02d}-{day:02d}", _joined(why, "the last digit of the year in doubt")
        )


def _read_month(plain: str) -> Iterator[Suggestion]:
    if named := re.fullmatch(r"([^\W\d]+)[.,]?[\s/-]*'?([0-9]{4}|[0-9]{2})", plain):
        month, year, why = _month_number(named[1]), named[2], f"{named[1]} is a month"
    elif numbers := re.fullmatch(r"([0-9]{1,2})[./]([0-9]{4})", plain):
        month, year, why = int(numbers[1]), numbers[2], "read as month and year"
    else:
        return
    if month and 1 <= month <= 12:
        for full, reason in _full_years(year):
            yield Suggestion(f"{full}-{month:02d}", _joined(why, reason))


def _read_season(plain: str) -> Iterator[Suggestion]:
    if (found := re.fullmatch(r"([^\W\d]+),?\s+([0-9]{4})", plain)) and found[1] in SEASON_WORDS:
        yield Suggestion(f"{found[2]}-{SEASON_WORDS[found[1]]}", f"{found[1]} as a season code")


def _read_decade(plain: str) -> Iterator[Suggestion]:
    if found := re.fullmatch(r"(?:the )?(?:([0-9]{2}))?'?([0-9])0(?:'?s|er(?: jahre)?)", plain):
        for century in [found[1]] if found[1] else CENTURIES[:2]:
            why = "a decade" if found[1] else f"a decade; the century is not written, read as {century}00s"
            yield Suggestion(f"{century}{found[2]}X", why)
    if found := re.fullmatch(r"([0-9]{3})[-–_.?xu]", plain):
        yield Suggestion(f"{found[1]}X", "the last digit cannot be read")
    if found := re.fullmatch(r"([0-9]{2})(?:[-–_.?xu]{2})", plain):
        yield Suggestion(f"{found[1]}XX", "the last two digits cannot be read")


def _read_year(plain: str) -> Iterator[Suggestion]:
    if re.fullmatch(r"(?!0000)[0-9]{4}", plain):
        yield Suggestion(plain, "a year")
    elif found := re.fullmatch(r"'?([0-9]{2})", plain):
        for full, reason in _full_years(found[1]):
            yield Suggestion(str(full), f"a year; {reason}")


def _about(plain: str) -> Iterator[Suggestion]:
    found = re.fullmatch(ABOUT + "(.+)", plain) or re.fullmatch(r"~\s*(.+)", plain)
    if found or (found := re.fullmatch(r"(.+?)\s*(?:±|\+/-)", plain)):
        for point in _read_point(found[1]):
            yield Suggestion(f"{point.edtf}~", _joined(point.why, "written as approximate"))


def _doubtful(plain: str) -> Iterator[Suggestion]:
    found = re.fullmatch(r"(.+?)\s*(?:\(\?\)|\?~|~\?|\?)", plain) or re.fullmatch(r"\?\s*(.+)", plain)
    if not found:
        return
    for point in _read_point(found[1]):
        mark = "%" if "~" in plain else "?"
        yield Suggestion(f"{point.edtf}{mark}", _joined(point.why, "marked as doubtful"))
    for point in _about(found[1]):
        yield Suggestion(f"{point.edtf.rstrip('~')}%", _joined(point.why, "marked as doubtful"))


def _open_ended(plain: str) -> Iterator[Suggestion]:
    if found := re.fullmatch(BEFORE + "(.+)", plain):
        if re.fullmatch(r"[0-9]{4}", found[1]) and int(found[1]) > 1:
            yield Suggestion(f"../{int(found[1]) - 1:04d}", f"before {found[1]}, which itself is left out")
        yield from _ranged("../{}", found[1], "itself is not ruled out")
    if found := re.fullmatch(UNTIL + "(.+)", plain):
        yield from _ranged("../{}", found[1], "is the latest")
    if found := re.fullmatch(AFTER + "(.+)", plain):
        if re.fullmatch(r"[0-9]{4}", found[1]) and int(found[1]) < 9999:
            yield Suggestion(f"{int(found[1]) + 1:04d}/..", f"after {found[1]}, which itself is left out")
        yield from _ranged("{}/..", found[1], "itself is not ruled out")
    if found := re.fullmatch(SINCE + r"((?:(?!\b(?:to|bis|until)\b).)+)", plain):
        yield from _ranged("{}/..", found[1], "is the earliest")


def _ranged(shape: str, text: str, note: str) -> Iterator[Suggestion]:
    for point in _read_point(text):
        yield Suggestion(shape.format(point.edtf), f"{point.edtf} {note}")


def _spans(plain: str) -> Iterator[Suggestion]:
    years = re.fullmatch(
        r"(?:between |from |zwischen |von )?([0-9]{4})(?: ?[-–—/] ?| and | to | und | bis )([0-9]{4}|[0-9]{2})",
        plain,
    )
    if not years:
        return
    first, last = years[1], years[2] if len(years[2]) == 4 else years[1][:2] + years[2]
    is_month = len(years[2]) == 2 and 1 <= int(years[2]) <= 12
    if is_month:
        yield Suggestion(f"{first}-{years[2]}", "read as year and month")
    if "0000" < first < last:
        yield Suggestion(f"{first}/{last}", "read as from one year to the other")


def _bare_point(plain: str) -> Iterator[Suggestion]:
    yield from _read_point(plain)


def _full_years(year: str) -> list[tuple[int, str]]:
    """Give the full years a written year may stand for, oldest first."""
    if len(year) == 4:
        return [(int(year), "")] if int(year) else []
    full = [int(century + year) for century in CENTURIES]
    return [
        (each, f"the century is not written, read as {each}")
        for each in full
        if OLDEST_YEAR <= each <= LATEST_YEAR
    ]


def _month_number(name: str) -> int | None:
    if name in ROMAN:
        return ROMAN.index(name) + 1
    return MONTH_STARTS.get(name[:4], MONTH_STARTS.get(name[:3]))


def _joined(*reasons: str) -> str:
    return "; ".join(reason for reason in reasons if reason)


_READERS = (_spans, _open_ended, _about, _doubtful, _bare_point)
