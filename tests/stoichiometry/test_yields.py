"""Yields against theory and against history. OpenStax = Chemistry 2e, with module number."""

from fractions import Fraction

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.stoichiometry.yields import (
    expected_range,
    percent_yield,
    theoretical_mass_g,
    yield_problem,
)
from labstock.chemistry.amounts import amount_mmol
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import exact, normal, rectangle


@pytest.mark.parametrize(
    ("charged", "ratio", "product", "obtained_g", "expected", "tolerance"),
    [
        # OpenStax m68714: copper from copper sulfate, CF2Cl2 from CCl4, benzoic acid from toluene
        (("CuSO4", 1.274), 1, "Cu", 0.392, 77.3, 0.06),
        (("CCl4", 32.9), 1, "CF2Cl2", 12.5, 48.3, 0.06),
        (("C7H8", 1000), Fraction(2, 2), "C7H6O2", 1210, 91.3, 0.06),
    ],
)
def test_percent_yields_of_the_textbook(charged, ratio, product, obtained_g, expected, tolerance):
    formula, mass = charged
    limiting = amount_mmol(mass, parse_formula(formula).molar_mass)
    found = percent_yield(obtained_g, 1, limiting, ratio, parse_formula(product).molar_mass)
    assert found.n == pytest.approx(expected, abs=tolerance)


def test_theoretical_mass_of_copper():
    limiting = amount_mmol(1.274, parse_formula("CuSO4").molar_mass)
    found = theoretical_mass_g(limiting, 1, parse_formula("Cu").molar_mass)
    assert found.n == pytest.approx(0.5072, abs=0.0001)  # OpenStax m68714


def test_magnesium_sulfate_in_a_mixture():
    # OpenStax m68716: 0.4550 g of mixture give 0.6168 g BaSO4; 69.91 % MgSO4
    sulfate = amount_mmol(0.6168, parse_formula("BaSO4").molar_mass)
    found = theoretical_mass_g(sulfate, 1, parse_formula("MgSO4").molar_mass) / 0.4550 * 100
    assert found.n == pytest.approx(69.91, abs=0.015)


def test_two_weighings_on_one_balance_share_its_error():
    # one relative scale error, common to both masses, cancels from the yield
    scale = normal(1, 0.01)
    limiting = amount_mmol(5.0 * scale, 93.129)
    found = percent_yield(6.0 * scale, 1, limiting, 1, 135.166)
    assert found.s == pytest.approx(0, abs=1e-9)
    apart = percent_yield(6.0 * normal(1, 0.01), 1, limiting, 1, 135.166)
    assert apart.s / apart.n == pytest.approx(0.01 * 2**0.5)


def test_uncertainty_agrees_with_monte_carlo():
    # JCGM 101:2008: propagation of distributions, 200 000 trials, seed fixed
    rng = numpy.random.default_rng(20261125)
    trials = 200_000
    mass = rng.normal(6.20, 0.02, trials)
    purity = rng.uniform(0.96, 1.00, trials)
    charged = rng.normal(5.00, 0.02, trials) * rng.uniform(0.98, 1.00, trials) / 93.129 * 1000
    sampled = mass * purity / (charged * 135.166 / 1000) * 100
    limiting = amount_mmol(normal(5.00, 0.02), 93.129, rectangle(0.98, 1.00))
    found = percent_yield(normal(6.20, 0.02), rectangle(0.96, 1.00), limiting, 1, 135.166)
    assert found.n == pytest.approx(sampled.mean(), rel=0.001)
    assert found.s == pytest.approx(sampled.std(), rel=0.01)


@given(
    some.floats(0.01, 100), some.floats(0, 1), some.floats(0.2, 1), some.sampled_from([1, 2, Fraction(1, 3)])
)
def test_yield_is_at_most_100_percent_when_mass_balances(limiting, converted, purity, ratio):
    pure = theoretical_mass_g(limiting, ratio, 135.166).n * converted
    found = percent_yield(pure / purity, purity, limiting, ratio, 135.166)
    assert found.n <= 100 * (1 + 1e-9)
    assert found.n == pytest.approx(100 * converted)


@given(some.floats(0.1, 100), some.floats(0.01, 100))
def test_yield_does_not_depend_on_the_scale(mass, factor):
    once = percent_yield(mass, 0.98, 50, 1, 135.166).n
    assert percent_yield(mass * factor, 0.98, 50 * factor, 1, 135.166).n == pytest.approx(once)


@given(some.floats(0, 0.1), some.floats(1e-6, 0.1))
def test_doubt_of_the_yield_never_shrinks(u, more):
    calm = percent_yield(normal(6.0, u), exact(0.98), exact(50), 1, 135.166)
    wild = percent_yield(normal(6.0, u + more), exact(0.98), exact(50), 1, 135.166)
    assert wild.s > calm.s


def test_nothing_isolated_is_zero_percent():
    assert percent_yield(0, 0.98, 50, 1, 135.166).n == 0


def test_more_than_all_is_named():
    assert yield_problem(normal(98, 1)) == ""
    assert "within its doubt of ±\u00a02.0\u00a0%" in yield_problem(normal(101, 1))
    assert "wet or impure, or an amount is wrong" in yield_problem(normal(110, 1))


def test_no_verdict_under_five_runs():
    found = expected_range([80, 81, 82, 83])
    assert found.verdict(exact(20)) == "no verdict"
    assert found.words == "no verdict: 4 earlier runs, at least 5 are needed"


def test_expected_range_is_median_and_three_scaled_deviations():
    # by hand: median 80, deviations 0 2 1 1 20, their median 1: 80 ± 4.4478
    found = expected_range([80, 82, 79, 81, 60])
    assert (found.middle, found.low, found.high) == (80, pytest.approx(75.5522), pytest.approx(84.4478))


@pytest.mark.parametrize(
    ("percent", "verdict"),
    [(exact(80), "as expected"), (exact(70), "low"), (exact(90), "high"), (normal(74, 1), "as expected")],
)
def test_verdict_gives_the_doubt_its_due(percent, verdict):
    assert expected_range([80, 82, 79, 81, 60]).verdict(percent) == verdict


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: percent_yield(-1, 1, 50, 1, 135.2),
            "The mass of product is -1 g: it cannot be below zero. Check the tare.",
        ),
        (
            lambda: percent_yield(5, 98, 50, 1, 135.2),
            "The purity of the product is 9800 %: it lies above 0 and not over 105 %. Give 98 % as 0.98.",
        ),
        (
            lambda: percent_yield(5, 1, 0, 1, 135.2),
            "The amount of the limiting reagent is 0 mmol: it must be above zero. Check the number.",
        ),
        (
            lambda: theoretical_mass_g(50, 0, 135.2),
            "A ratio of coefficients of 0 cannot be: both coefficients are above zero. Correct the equation.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
