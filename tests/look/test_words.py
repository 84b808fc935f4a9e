from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.utils import timezone

from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.uncertain import normal
from labstock.look import words


@pytest.mark.parametrize("value", [(53.04, 1.2), normal(53.04, 1.2)])
def test_amount_sets_doubt_in_lighter_type(value: object) -> None:
    assert words.amount(value, "mL") == (
        '<span class="num">53.0 <span class="pm">±\xa02.4</span>\xa0mL</span>'
    )


def test_amount_keeps_the_digits_of_what_was_written() -> None:
    assert words.amount(Decimal("5.00"), "g") == '<span class="num">5.00\xa0g</span>'


def test_amount_takes_a_quantity_with_its_own_unit() -> None:
    assert words.amount(parse_quantity("250 mg ± 1 mg")).endswith("\xa0mg</span>")


def test_amount_that_nobody_knows_is_said_in_words() -> None:
    assert words.amount(None, "g") == '<span class="quiet">not known</span>'


def test_amount_escapes_its_unit() -> None:
    assert "<script>" not in words.amount(1, "<script>")


def test_code_sets_the_check_character_apart() -> None:
    assert words.code("TQ4817K") == '<span class="code">TQ\xa04817\xa0<b>K</b></span>'
    assert words.code("tq 4817 k") == words.code("TQ4817K")


def test_something_that_is_no_code_is_shown_as_it_is() -> None:
    assert words.code("No. 44 <b>") == '<span class="code">No. 44 &lt;b&gt;</span>'


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("C8H9NO", "C<sub>8</sub>H<sub>9</sub>NO"),
        ("CuSO4·5H2O", "CuSO<sub>4</sub>·5H<sub>2</sub>O"),
        ("CuSO4.5H2O", "CuSO<sub>4</sub>·5H<sub>2</sub>O"),
        ("Fe2(SO4)3", "Fe<sub>2</sub>(SO<sub>4</sub>)<sub>3</sub>"),
        ("SO4^2-", "SO<sub>4</sub><sup>2−</sup>"),
        ("[Cu(NH3)4]2+", "[Cu(NH<sub>3</sub>)<sub>4</sub>]<sup>2+</sup>"),
        ("NH4+", "NH<sub>4</sub><sup>+</sup>"),
        ("Fe3+", "Fe<sup>3+</sup>"),
        ("Cl-", "Cl<sup>−</sup>"),
    ],
)
def test_formula_lowers_counts_and_raises_charges(typed: str, shown: str) -> None:
    assert words.formula(typed) == f'<span class="formula">{shown}</span>'


def test_formula_escapes_what_is_no_formula() -> None:
    assert "<img" not in words.formula("<img src=x>")


def test_moment_has_day_time_and_zone() -> None:
    this_year = timezone.now().year
    at = datetime(this_year, 11, 25, 10, 40, tzinfo=UTC)
    assert words.moment(at) == (
        f'<time datetime="{this_year}-11-25T10:40:00+00:00">{at:%a}\xa025\xa0Nov\xa010:40 <span class="zone">UTC</span></time>'
    )


def test_another_year_is_written_out() -> None:
    assert "Tue\xa012\xa0Nov\xa01895" in words.day(date(1895, 11, 12))
    assert "25\xa0Nov\xa02026" in words.full_day(date(2026, 11, 25))


def test_no_moment_is_nothing() -> None:
    assert [words.moment(None), words.day(""), words.full_day(None), words.clock(None)] == [""] * 4


def test_stretch_within_a_day_says_the_day_once() -> None:
    start, end = datetime(2026, 11, 25, 11, tzinfo=UTC), datetime(2026, 11, 25, 13, tzinfo=UTC)
    assert words.from_to(start, end).count("Nov") == 1
    assert words.from_to(start, end.replace(day=26)).count("Nov") == 2
