from contextlib import suppress
from datetime import date
from time import struct_time

import pytest
from edtf import parse_edtf  # an independent reader of the same standard, for the bounds alone
from hypothesis import given
from hypothesis import strategies as st

from batches.retained.edtf import read_edtf, suggest_edtf
from labstock.chemistry.errors import LabError

# Library of Congress, Extended Date/Time Format specification, 4 February 2019; bounds follow from the calendar.
STRICT_BOUNDS = [
    ("1985-04-12", "1985-04-12", "1985-04-12"),
    ("1985-04", "1985-04-01", "1985-04-30"),
    ("2004-02", "2004-02-01", "2004-02-29"),
    ("1900-02", "1900-02-01", "1900-02-28"),
    ("2000-02", "2000-02-01", "2000-02-29"),
    ("1984?", "1984-01-01", "1984-12-31"),
    ("2004-06~", "2004-06-01", "2004-06-30"),
    ("2004-06-11%", "2004-06-11", "2004-06-11"),
    ("1984?/2004~", "1984-01-01", "2004-12-31"),
    ("201X", "2010-01-01", "2019-12-31"),
    ("20XX", "2000-01-01", "2099-12-31"),
    ("2004-XX", "2004-01-01", "2004-12-31"),
    ("1985-04-XX", "1985-04-01", "1985-04-30"),
    ("1964/2008", "1964-01-01", "2008-12-31"),
    ("2004-06/2006-08", "2004-06-01", "2006-08-31"),
    ("2004-02-01/2005", "2004-02-01", "2005-12-31"),
    ("189X-11-12", "1890-11-12", "1899-11-12"),
    ("[1894-11-12, 1899-11-12]", "1894-11-12", "1899-11-12"),
    ("{1960,1961-12}", "1960-01-01", "1961-12-31"),
    ("2004?-06-11", "2004-06-11", "2004-06-11"),
]
WITHOUT_QUALIFIER = [
    "193X",
    "19XX",
    "1XXX-12",
    "2004-XX-XX",
    "1934-11",
    "1894-11-12",
    "1931/1936",
    "[1667,1668]",
]


def _day(found: struct_time) -> date:
    return date(found.tm_year, found.tm_mon, found.tm_mday)


@pytest.mark.parametrize(("text", "earliest", "latest"), STRICT_BOUNDS)
def test_reads_the_strict_bounds(text: str, earliest: str, latest: str) -> None:
    found = read_edtf(text)
    assert (str(found.earliest), str(found.latest)) == (earliest, latest)
    assert (found.start_open, found.end_open) == ("known", "known")


@pytest.mark.parametrize("text", [row[0] for row in STRICT_BOUNDS] + WITHOUT_QUALIFIER)
def test_agrees_with_an_independent_reader_on_the_strict_bounds(text: str) -> None:
    other, found = parse_edtf(text), read_edtf(text)
    assert (found.earliest, found.latest) == (_day(other.lower_strict()), _day(other.upper_strict()))


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("1985-04-12/..", "known", "open"),
        ("../1985-04-12", "open", "known"),
        ("1985-04-12/", "known", "unknown"),
        ("/1985-04-12", "unknown", "known"),
        ("[..1760-12-03]", "open", "known"),
        ("[1760-12..]", "known", "open"),
        ("XXXX-11-12", "unknown", "unknown"),
    ],
)
def test_keeps_open_and_unknown_ends_apart(text: str, start: str, end: str) -> None:
    found = read_edtf(text)
    assert (found.start_open, found.end_open) == (start, end)
    assert (found.earliest is None, found.latest is None) == (start != "known", end != "known")


@pytest.mark.parametrize(
    ("text", "is_uncertain", "is_approximate"),
    [
        ("1934", 0, 0),
        ("1934?", 1, 0),
        ("1934~", 0, 1),
        ("1934%", 1, 1),
        ("1931/1936~", 0, 1),
        ("1894?-11-12", 1, 0),
    ],
)
def test_tells_uncertain_from_approximate(text: str, is_uncertain: int, is_approximate: int) -> None:
    found = read_edtf(text)
    assert (found.is_uncertain, found.is_approximate) == (bool(is_uncertain), bool(is_approximate))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1934~", "about 1934"),
        ("1934?", "possibly 1934"),
        ("193X", "the 1930s"),
        ("19XX", "the years 1900 to 1999"),
        ("../1939", "in or before 1939"),
        ("../1985-04-12", "on or before 12 April 1985"),
        ("1939/..", "in or after 1939"),
        ("1939/", "from 1939 to an unknown date"),
        ("1931/1936~", "between 1931 and about 1936"),
        ("189X-11-12", "12 November in the 1890s"),
        ("1894?-11-12", "12 November 1894 (year uncertain)"),
        ("1894-11-12?", "possibly 12 November 1894"),
        ("2004-XX", "2004, month not known"),
        ("1985-04-XX", "some day in April 1985"),
        ("XXXX-11-12", "12 November in an unknown year"),
        ("[1894-11-12, 1899-11-12]", "one of: 12 November 1894; 12 November 1899"),
        ("1934-21", "spring 1934"),
    ],
)
def test_says_the_date_in_plain_words(text: str, words: str) -> None:
    assert read_edtf(text).words == words


def test_a_mark_before_a_piece_holds_for_that_piece_alone() -> None:
    assert read_edtf("2004-?06-11").words == "11 June 2004 (month uncertain)"
    assert read_edtf("2004-06~-11").words == "11 June 2004 (year approximate, month approximate)"


def test_a_season_reaches_over_calendar_and_sun_and_a_winter_over_both_new_years() -> None:
    spring, winter = read_edtf("1934-21"), read_edtf("1934-24")
    assert (spring.earliest, spring.latest) == (date(1934, 3, 1), date(1934, 6, 21))
    assert (winter.earliest, winter.latest) == (date(1933, 12, 1), date(1935, 3, 21))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1934-02-30", "there is no 30 February 1934: February 1934 has 28 days"),
        ("1900-02-29", "there is no 29 February 1900"),
        ("1934-04-31", "there is no 31 April 1934"),
        ("1934-02-00", "there is no day 00 in February 1934"),
        ("19X1-02-29", "there is no 29 February 19X1: no year and month that fit have such a day"),
        ("1934-02-3X", "there is no 3X February 1934"),
        ("XXXX-02-30", "there is no 30 February"),
        ("1934-13", "there is no month 13"),
        ("1934-35", "for the years 1934 to 1935 write 1934/1935"),
        ("2001-33", "seasons from 21 (spring) to 24 (winter)"),
        ("1934-21-05", "1934-21 is the spring and has no day 05"),
        ("0000", "reaches down to 0000"),
        ("193u", "'193u' is the old spelling: write 193X"),
        ("1934-uu", "write 1934-XX"),
        ("193x", "'193x' has a small x: write 193X"),
        ("1934/open", "'open' (in '1934/open') is the old spelling of an open end: write .. for it"),
        ("unknown/1934", "is the old spelling of an unknown end: write nothing on that side"),
        ("1934?~", "write % for both"),
        ("y12000", "has a year that no sample can have"),
        ("-0333", "has a year that no sample can have"),
        ("1985-04-12T10:00:00", "write the day alone, 1985-04-12"),
        ("1950S2", "states significant digits"),
        ("20050924", "'20050924' is not EDTF: write 2005-09-24."),
        ("12.11.1894", "'12.11.1894' is not EDTF: write 1894-11-12."),
        (
            "12/11/1894",
            "write 1894-11-12 (read as day, month, year) or 1894-12-11 (read as month, day, year)",
        ),
        ("1934/35", "write 1934/1935"),
        ("1894-6-5", "write 1894-06-05"),
        ("1930s", "'1930s' is not EDTF: write 193X"),
        ("c. 1934", "'c. 1934' is not EDTF: write 1934~"),
        ("after 1920", "write 1921/.. (after 1920, which itself is left out)"),
        ("30 Feb 1934", "there is no 30 February 1934: February 1934 has 28 days"),
        ("31.04.1894", "there is no 31 April 1894"),
        ("19341301", "there is no month 13"),
        ("mauve", "'mauve' is not EDTF: write year, month and day as 1894-11-12"),
        ("1936/1931", "ends before it starts: write 1931/1936"),
        ("[1672..1670]", "'1672..1670' in '[1672..1670]' ends before it starts"),
        ("../..", "has no date at either end"),
        ("/", "has no date at either end"),
        ("1934/XXXX", "'XXXX' in '1934/XXXX' has no year"),
        ("[1894, XXXX-11-12]", "has no year and cannot stand in a set"),
        ("[1894", "is not closed or is empty: write [1894-11-12, 1899-11-12]"),
        ("[]", "is not closed or is empty"),
        ("[..]", "is not EDTF"),
        ("1931/1934/1936", "is not EDTF"),
        ("", "no date is written"),
        ("1" * 400, "has 400 characters and is no date"),
        ("{0}{x!r}", "is not EDTF"),
        ("١٩٣٤", "is not EDTF: write year, month and day as"),
    ],
)
def test_refuses_what_is_no_date_and_says_what_to_write(text: str, message: str) -> None:
    with pytest.raises(LabError) as refusal:
        read_edtf(text)
    assert message in str(refusal.value)


@pytest.mark.parametrize(
    ("written", "first"),
    [
        ("12. XI. 94", "1894-11-12"),
        ("12.XI.1894", "1894-11-12"),
        ("12/XI/94", "1894-11-12"),
        ("12 Nov. 1894", "1894-11-12"),
        ("November 12, 1894", "1894-11-12"),
        ("um 1934", "1934~"),
        ("c. 1934", "1934~"),
        ("ca. 1934", "1934~"),
        ("~ 1934", "1934~"),
        ("1934 (?)", "1934?"),
        ("ca 1934?", "1934%"),
        ("1930s", "193X"),
        ("the 1930's", "193X"),
        ("1930er Jahre", "193X"),
        ("193-", "193X"),
        ("before 1939", "../1938"),
        ("vor 1939", "../1938"),
        ("by 1939", "../1939"),
        ("after 1920", "1921/.."),
        ("since 1920", "1920/.."),
        ("Nov 1934", "1934-11"),
        ("Dezember 1934", "1934-12"),
        ("XI.1934", "1934-11"),
        ("spring 1934", "1934-21"),
        ("1931-36", "1931/1936"),
        ("between 1931 and 1936", "1931/1936"),
        ("[1934]", "1934"),
        ("'94", "1894"),
    ],
)
def test_suggests_what_a_label_may_mean(written: str, first: str) -> None:
    suggestions = suggest_edtf(written)
    assert suggestions[0].edtf == first
    assert all(suggestion.why for suggestion in suggestions)


def test_offers_every_reading_of_an_ambiguous_label() -> None:
    assert {"1894-11-12", "1994-11-12", "189X-11-12"} <= {each.edtf for each in suggest_edtf("12. XI. 94")}
    assert {"1894-11-12", "1894-12-11"} == {each.edtf for each in suggest_edtf("12/11/1894")}
    assert {"../1938", "../1939"} == {each.edtf for each in suggest_edtf("before 1939")}
    assert {"1911-12", "1911/1912"} == {each.edtf for each in suggest_edtf("1911-12")}
    assert suggest_edtf("no date, blue tube") == []


DIGITS = st.integers(1, 9999).map(lambda year: f"{year:04d}")
DAYS = st.dates(min_value=date(1000, 1, 1))


@given(DIGITS, st.sampled_from(["", "?", "~", "%"]), st.integers(1, 12) | st.none())
def test_bounds_are_in_order(year: str, mark: str, month: int | None) -> None:
    found = read_edtf(year + (f"-{month:02d}" if month else "") + mark)
    assert found.earliest is not None
    assert found.latest is not None
    assert found.earliest < found.latest


@given(DAYS, st.permutations([2, 3, 5, 6, 8, 9]))
def test_masking_one_more_digit_never_narrows(day: date, places: list[int]) -> None:
    signs = list(day.isoformat())
    before = read_edtf("".join(signs))
    for place in places:
        signs[place] = "X"
        after = read_edtf("".join(signs))
        assert after.earliest is not None
        assert after.latest is not None
        assert after.earliest <= before.earliest <= before.latest <= after.latest
        before = after


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    with suppress(LabError):  # anything but a refusal in words is a fault
        assert read_edtf(text).words
    for suggestion in suggest_edtf(text):
        assert read_edtf(suggestion.edtf).text == suggestion.edtf


LABEL_WORDS = [
    "12",
    "XI",
    "94",
    "1894",
    "Nov",
    "um",
    "c.",
    "before",
    "1939",
    "?",
    "-",
    "/",
    ".",
    "30",
    "Feb",
    "1930s",
    "'",
]


@given(st.lists(st.sampled_from(LABEL_WORDS), max_size=6), st.sampled_from(["", " "]))
def test_every_suggestion_can_be_read(words: list[str], join: str) -> None:
    for suggestion in suggest_edtf(join.join(words)):
        assert read_edtf(suggestion.edtf).text == suggestion.edtf
