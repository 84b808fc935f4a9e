from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.retained.ages import Age, age_between, age_range, order, order_words
from batches.retained.edtf import read_edtf
from labstock.chemistry.errors import LabError

TODAY = date(2026, 11, 25)

# Calendar arithmetic counted by hand from the strict bounds of ISO 8601-2:2019.
PUBLISHED_AGES = [
    ("1984?", Age(41, 10, 25, 15304), Age(42, 10, 24, 15669)),
    ("2004-06~", Age(22, 4, 26, 8183), Age(22, 5, 24, 8212)),
    ("198X", Age(36, 10, 25, 13478), Age(46, 10, 24, 17130)),
]


@pytest.mark.parametrize(("text", "shortest", "longest"), PUBLISHED_AGES)
def test_the_age_is_a_range(text: str, shortest: Age, longest: Age) -> None:
    found = age_range(read_edtf(text), TODAY)
    assert (found.shortest, found.longest) == (shortest, longest)


def test_a_day_in_a_leap_year_keeps_its_number() -> None:
    found = age_range(read_edtf("2000-02-29"), TODAY)
    assert found.shortest == found.longest
    assert str(found.longest) == "26 years 8 months 27 days"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1925/1934-02", "92 to 101 years"),
        ("193X", "86 to 96 years"),
        ("1934~", "about 91 to 92 years"),
        ("1934?", "possibly 91 to 92 years"),
        ("1934-11-25", "92 years"),
        ("1934-11-26", "91 years"),
        ("../1939", "at least 86 years"),
        ("/1939", "at least 86 years"),
        ("1985-04-12/..", "at most 41 years"),
        ("XXXX-11-12", "age not known"),
        ("202X", "0 to 6 years"),
        ("2026-09", "1 to 2 months"),
        ("2026-05/2026-06", "4 to 6 months"),
        ("2026-11-25", "0 days"),
        ("2026-11-24", "1 day"),
    ],
)
def test_says_the_age_in_words(text: str, words: str) -> None:
    assert age_range(read_edtf(text), TODAY).words == words


def test_refuses_a_date_that_lies_wholly_in_the_future() -> None:
    with pytest.raises(LabError, match=r"the date 2027-01 \(January 2027\) lies after 25 November 2026"):
        age_range(read_edtf("2027-01"), TODAY)


def test_refuses_an_age_before_the_start() -> None:
    with pytest.raises(LabError, match="no age on 25 November 2026: the date 26 November 2026 lies after it"):
        age_between(TODAY + timedelta(days=1), TODAY)


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ("1894", "193X", "before"),
        ("193X", "1894", "after"),
        ("1984?", "1984-06", "not decidable"),
        ("1984", "1984", "not decidable"),
        ("1894-11-12", "1894-11-12", "same day"),
        ("1894-11-12", "1894-11-12?", "same day"),
        ("../1939", "1940", "before"),
        ("../1939", "1930", "not decidable"),
        ("1939/..", "1938", "after"),
        ("1939/..", "1950", "not decidable"),
        ("/1939", "1939/", "not decidable"),
        ("XXXX-11-12", "1950", "not decidable"),
        ("1934-06", "1934-06-30", "not decidable"),
        ("1934-06", "1934-07", "before"),
    ],
)
def test_orders_two_dates_only_where_that_can_be_told(first: str, second: str, expected: str) -> None:
    assert order(read_edtf(first), read_edtf(second)) == expected


def test_says_on_which_doubt_an_order_rests() -> None:
    words = order_words(read_edtf("1894~"), read_edtf("1899"))
    assert words == "about 1894 is before 1899, if the marked date is right"
    assert order_words(read_edtf("../1939"), read_edtf("1930")).endswith("an end is open or unknown")
    assert order_words(read_edtf("1984?"), read_edtf("1984-06")).endswith("the ranges overlap")


PAST_DAYS = st.dates(min_value=date(1600, 1, 1), max_value=TODAY)


@given(PAST_DAYS, PAST_DAYS)
def test_an_age_is_never_negative_and_its_parts_add_up(start: date, on: date) -> None:
    start, on = sorted((start, on))
    age = age_between(start, on)
    assert 0 <= age.months < 12
    assert 0 <= age.days <= 31
    assert age.total_days == (on - start).days
    assert abs(age.years * 365.2425 + age.months * 30.44 + age.days - age.total_days) < 4


@given(PAST_DAYS, PAST_DAYS, PAST_DAYS)
def test_of_two_starts_the_earlier_gives_the_greater_age(one: date, two: date, three: date) -> None:
    early, late, on = sorted((one, two, three))
    older, younger = age_between(early, on), age_between(late, on)
    assert (older.years, older.months) >= (younger.years, younger.months)


@given(st.integers(1600, 2026), st.integers(0, 3), st.sampled_from(["", "~", "?"]))
def test_the_shortest_age_never_exceeds_the_longest(year: int, masked: int, mark: str) -> None:
    found = age_range(read_edtf(str(year)[: 4 - masked] + "X" * masked + mark), TODAY)
    assert found.shortest is not None
    assert found.longest is not None
    assert 0 <= found.shortest.total_days <= found.longest.total_days


@given(PAST_DAYS, PAST_DAYS)
def test_order_turned_round_is_the_opposite(one: date, two: date) -> None:
    opposite = {
        "before": "after",
        "after": "before",
        "same day": "same day",
        "not decidable": "not decidable",
    }
    first, second = read_edtf(one.isoformat()), read_edtf(two.isoformat()[:7])
    assert order(second, first) == opposite[order(first, second)]
