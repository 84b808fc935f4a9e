"""EDTF: strict bounds, ages, and the order of two uncertain dates."""

from datetime import date

from batches.retained.ages import age_between, age_range, order
from batches.retained.edtf import read_edtf
from tests.checks.row import Check, near, same

LOC = "Library of Congress, Extended Date/Time Format specification, 4 February 2019; bounds as edtf 5.0.2 strict"
CALENDAR = "calendar arithmetic by hand, on 25 November 2026"
TODAY = date(2026, 11, 25)

BOUNDS = """
1985-04-12 1985-04-12 1985-04-12
1985-04 1985-04-01 1985-04-30
2004-02 2004-02-01 2004-02-29
1900-02 1900-02-01 1900-02-28
2000-02 2000-02-01 2000-02-29
1984? 1984-01-01 1984-12-31
2004-06~ 2004-06-01 2004-06-30
2004-06-11% 2004-06-11 2004-06-11
1984?/2004~ 1984-01-01 2004-12-31
201X 2010-01-01 2019-12-31
20XX 2000-01-01 2099-12-31
2004-XX 2004-01-01 2004-12-31
1985-04-XX 1985-04-01 1985-04-30
1964/2008 1964-01-01 2008-12-31
2004-06/2006-08 2004-06-01 2006-08-31
2004-02-01/2005 2004-02-01 2005-12-31
1985-04-12/.. 1985-04-12 open
../1985-04-12 open 1985-04-12
"""
AGES = {
    "12.5": ("1984?", ("41 years 10 months 25 days", 15304), ("42 years 10 months 24 days", 15669)),
    "12.6": ("2004-06~", ("22 years 4 months 26 days", 8183), ("22 years 5 months 24 days", 8212)),
    "12.7": ("198X", ("36 years 10 months 25 days", 13478), ("46 years 10 months 24 days", 17130)),
}


def bounds(text: str) -> tuple[str, str]:
    """Return first and last possible day, or "open"."""
    read = read_edtf(text)
    ends = ((read.earliest, read.start_open), (read.latest, read.end_open))
    first, last = (day.isoformat() if day else how for day, how in ends)
    return first, last


def marks(text: str) -> tuple[bool, bool]:
    """Return whether a date is uncertain and whether it is approximate."""
    read = read_edtf(text)
    return read.is_uncertain, read.is_approximate


def ages(text: str) -> tuple[str, str]:
    """Return the shortest and the longest age in words."""
    found = age_range(read_edtf(text), TODAY)
    return str(found.shortest), str(found.longest)


def age_days(text: str) -> list[int]:
    """Return the shortest and the longest age [d]."""
    found = age_range(read_edtf(text), TODAY)
    return [age.total_days for age in (found.shortest, found.longest) if age]


CHECKS: list[Check] = [
    *(
        same("12.bounds", text, (first, last), lambda t=text: bounds(t), LOC)
        for text, first, last in (line.split() for line in BOUNDS.strip().splitlines())
    ),
    same("12.1", "'?' is uncertain, '~' approximate, '%' both", ((True, False), (False, True), (True, True)), lambda: tuple(marks(f"1984{mark}") for mark in "?~%"), LOC),
    *(same("12.1", f"old spelling {text}", "refused: " + code, lambda t=text: read_edtf(t), LOC) for text, code in (("198u", "edtf-old-spelling"), ("1934/open", "edtf-old-spelling"), ("unknown/1934", "edtf-old-spelling"), ("y1934", "edtf-year"))),
    same("12.2", "basic format 20050924", "refused: edtf-not-read", lambda: read_edtf("20050924"), LOC),
    same("12.3", "a mark does not widen the bounds", bounds("1984"), lambda: bounds("1984~"), LOC),
    same("12.4", "a winter reaches beyond December", True, lambda: bounds("2001-24")[1] > "2001-12-31", "the meaning of the word; edtf 5.0.2 stops in December"),
    *(same(number, f"ages of {text}", (young[0], old[0]), lambda t=text: ages(t), CALENDAR) for number, (text, young, old) in AGES.items()),
    *(near(number, f"the same in days, {text}", (young[1], old[1]), 0, lambda t=text: age_days(t), CALENDAR, "d") for number, (text, young, old) in AGES.items()),
    same("12.8", "age of 2000-02-29", "26 years 8 months 27 days", lambda: str(age_between(date(2000, 2, 29), TODAY)), CALENDAR),
    same("12.9", "1984? against 1984-06", "not decidable", lambda: order(read_edtf("1984?"), read_edtf("1984-06")), "logic: the two overlap"),
]  # fmt: skip
