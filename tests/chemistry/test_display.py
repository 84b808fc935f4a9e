from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.display import show, show_number, show_percent
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.uncertain import normal


def plain(text):
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("value", "unit", "u", "text"),
    [
        (
            10.05762,
            "Ω",
            0.027 / 2,
            "10.058 ± 0.027 Ω",
        ),  # JCGM 100:2008, 7.2.6: 10,057 62 with 27 mΩ reads 10,058
        (
            100.02147,
            "g",
            0.00035 / 2,
            "100.02147 ± 0.00035 g",
        ),  # JCGM 100:2008, 7.2.2 (as standard uncertainty)
        (53.04, "mL", 1.2, "53.0 ± 2.4 mL"),
        (5321, "g", 120, "5320 ± 240 g"),
        (0.0996, "g", 0.0498, "0.10 ± 0.10 g"),
        (-0.001, "g", 0.01, "−0.001 ± 0.020 g"),
        (0, "g", 0.1, "0.00 ± 0.20 g"),
        (1e-9, "g", 1e-11, "(1.000 ± 0.020) × 10⁻⁹ g"),
        (5, "mL", 0, "5 mL"),
        (5, "mL", 1e-30, "5 mL"),
    ],
)
def test_digits_follow_the_uncertainty(value, unit, u, text):
    assert plain(show(value, unit, u)) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("5.00", "5.00"), (Decimal("0.50"), "0.50"), (Decimal("1E+3"), "1000"), (3, "3"), (0, "0"), (0.1 + 0.2, "0.3"),
        (52.99176, "52.992"), (123456.789, "123457"), (-1.5, "−1.5"), (1e-7, "1 × 10⁻⁷"), (1.5e9, "1.5 × 10⁹"),
        (Decimal(1) / Decimal(3), "0.33333"),
    ],
)  # fmt: skip
def test_without_uncertainty_the_number_keeps_its_own_digits(value, text):
    assert plain(show_number(value)) == text


def test_halves_go_to_the_even_digit():
    assert plain(show_number("2.25", 0.1, k=1)) == "2.25 ± 0.10"
    assert plain(show_number("2.245", 0.1, k=1)) == "2.24 ± 0.10"
    assert plain(show_number("2.255", 0.1, k=1)) == "2.26 ± 0.10"


def test_number_plus_minus_and_unit_do_not_break():
    assert show(53.04, "mol %", 1.2) == "53.0\u00a0±\u00a02.4\u00a0mol\u00a0%"


def test_a_value_with_uncertainty_brings_its_own():
    assert plain(show(normal(53.04, 1.2), "mL")) == "53.0 ± 2.4 mL"
    assert plain(show(normal(53.04, 1.2), "mL", k=1)) == "53.0 ± 1.2 mL"


def test_pieces_and_drops_have_a_plural():
    assert plain(show(1, "piece")) == "1 piece"
    assert plain(show(6, "drop")) == "6 drops"


def test_percent_is_printed_from_a_fraction():
    assert plain(show_percent(0.936, 0.006)) == "93.6 ± 1.2 %"
    assert plain(show_percent(Decimal("0.025"), kind="w/w")) == "2.5 % w/w"
    assert plain(show_percent(normal(0.05, 0.001), kind="mol")) == "5.00 ± 0.20 mol %"


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (float("nan"), None, "nan is not a number that can be shown: check the inputs."),
        (5, float("inf"), "inf is not a number that can be shown: check the inputs."),
        (5, -1, "An uncertainty of -1 is below zero: give its size, 0 or more."),
    ],
)
def test_refuses_to_print_what_is_no_number(value, u, text):
    with pytest.raises(LabError) as refusal:
        show(value, "mL", u)
    assert str(refusal.value) == text


@given(
    st.decimals(0, 10**8, places=6), st.sampled_from(["g", "mL", "mg", "mol/L", "% w/w", "mol %", "J/(g K)"])
)
def test_what_is_printed_is_read_back_as_the_same_value(value, symbol):
    read = parse_quantity(show(value, symbol))
    assert (read.value, read.unit.symbol, read.u) == (value, symbol, None)


@given(st.decimals(0, 10**6, places=6), st.floats(1e-6, 1e6))
def test_printed_uncertainty_is_read_back_no_smaller_and_value_within_it(value, u):
    read = parse_quantity(show(value, "mL", u))
    # two digits round by at most 5 %; a typed ± reads as a rectangle, U/√3 > U/2
    assert float(read.u) >= u * 0.95
    assert abs(read.value - value) <= Decimal(u)


@given(st.floats(1e-9, 1e9), st.floats(1e-9, 1e9), st.floats(1, 10))
def test_shown_uncertainty_never_shrinks_when_it_grows(value, u, times):
    smaller, larger = (parse_quantity(show(value, "mg", doubt)).u or 0 for doubt in (u, u * times))
    assert larger >= smaller
