import random
from math import inf, sqrt
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import (
    budget,
    correlated,
    coverage_factor,
    effective_degrees_of_freedom,
    exact,
    expanded,
    from_expanded,
    half_width,
    normal,
    rectangle,
    triangle,
)

# QUAM A1 = EURACHEM/CITAC Guide CG 4 Quantifying Uncertainty in Analytical Measurement, 2nd edition, example A1


def test_calibration_standard_agrees_with_quam_example_a1():
    mass_mg, purity, volume_mL = normal(100.28, 0.05), normal(0.9999, 0.000058), normal(100.0, 0.07)
    concentration = 1000 * mass_mg * purity / volume_mL  # QUAM A1: 1002.7 mg/L, u = 0.9 mg/L
    assert concentration.n == pytest.approx(1002.7, abs=0.05)
    assert 0.83 <= concentration.s <= 0.90


def test_volume_term_of_quam_example_a1():
    calibration = triangle(99.9, 100.1)
    temperature = rectangle(-4, 4) * 100 * 2.1e-4
    volume = calibration + normal(0, 0.02) + temperature
    assert round(calibration.s, 3) == 0.041  # QUAM A1, each term and the sum
    assert round(temperature.s, 3) == 0.048  # printed 0.049: 0.084/1.73 = 0.0486, the page rounds up
    assert volume.s == pytest.approx(0.0665, abs=0.0002)


def test_purity_term_of_quam_example_a1():
    assert round(half_width(0.9999, 0.0001).s, 6) == 0.000058  # QUAM A1


def test_gauge_block_agrees_with_gum_example_h1():
    # JCGM 100:2008, H.1: length 50 000 838 nm, u = 32 nm, 16 effective degrees of freedom, U99 = 93 nm; u(d) 9.7 has 25.6
    length = normal(50_000_623, 25) + normal(215, 9.7) + normal(0, 2.9) + normal(0, 16.6)
    freedom = effective_degrees_of_freedom([(25, 18), (9.7, 25.6), (2.9, 50), (16.6, 2)])
    assert round(length.n) == 50_000_838
    assert round(length.s) == 32
    assert int(freedom) == 16
    assert round(coverage_factor(freedom, 0.99), 2) == 2.92
    assert round(coverage_factor(freedom, 0.99) * 32) == 93


def test_correlated_line_agrees_with_gum_example_h3():
    # JCGM 100:2008, H.3: y1 -0.1712 (0.0029), y2 0.00218 (0.00067), r -0.930; b(30) = -0.1494, u = 0.0041
    intercept, slope = correlated([-0.1712, 0.00218], [0.0029, 0.00067], -0.930)
    correction = intercept + slope * (30 - 20)
    assert correction.n == pytest.approx(-0.1494, abs=0.00005)
    assert round(correction.s, 4) == 0.0041


def test_an_input_that_enters_twice_stays_correlated():
    mass = normal(5, 0.1)
    assert (mass - mass).s == 0
    assert (mass / mass).s == 0
    assert (mass - normal(5, 0.1)).s == pytest.approx(0.1 * sqrt(2))


def test_monte_carlo_agrees_for_a_ratio_of_purity_and_volume():
    # JCGM 101:2008: propagate the distributions themselves
    chance = random.Random(1729)
    draws = [
        chance.gauss(5.41, 0.02) * chance.uniform(0.98, 1.0) / chance.gauss(50.0, 0.4) for _ in range(100_000)
    ]
    result = normal(5.41, 0.02) * rectangle(0.98, 1.0) / normal(50.0, 0.4)
    assert result.n == pytest.approx(fmean(draws), rel=1e-3)
    assert result.s == pytest.approx(stdev(draws), rel=0.02)


def test_expanded_uncertainty_comes_back_from_a_certificate():
    assert from_expanded(99.7, 0.2, k=2).s == pytest.approx(0.1)
    assert expanded(from_expanded(99.7, 0.2, k=3), k=3) == pytest.approx(0.2)


def test_budget_names_the_largest_part_first():
    result = normal(5, 0.1, "volume") * normal(1.08, 0.001, "density") * exact(2)
    lines = budget(result)
    assert [line.name for line in lines] == ["volume", "density"]
    assert sum(line.share for line in lines) == pytest.approx(1)
    assert budget(exact(5)) == []


def test_known_uncertainties_have_endless_degrees_of_freedom():
    assert effective_degrees_of_freedom([(1.0, inf)]) == inf
    assert round(coverage_factor(inf, 0.95), 2) == 1.96  # JCGM 100:2008, table G.2


@given(st.floats(-1e6, 1e6), st.floats(0, 1e3), st.floats(0, 1e3))
def test_uncertainty_of_a_product_never_shrinks_when_an_input_grows(value, u, more):
    smaller = normal(value, u) * normal(3.0, 0.1)
    larger = normal(value, u + more) * normal(3.0, 0.1)
    assert larger.s >= smaller.s * (1 - 1e-12)


@given(st.floats(-1e6, 1e6), st.floats(0, 1e6))
def test_a_rectangle_holds_more_doubt_than_a_triangle(middle, a):
    low, high = middle - a, middle + a
    assert rectangle(low, high).s >= triangle(low, high).s
    assert rectangle(low, high).n == pytest.approx(middle, abs=1e-6)


@pytest.mark.parametrize(
    ("make", "text"),
    [
        (lambda: normal(5, -0.1), "An uncertainty of -0.1 is below zero: give its size, 0 or more."),
        (lambda: normal(float("nan"), 0.1), "The value nan is not a number: give a figure."),
        (lambda: exact(float("inf")), "The value inf is not a number: give a figure."),
        (lambda: rectangle(100, 98), "The lower limit 100 lies above the upper limit 98: swap them."),
        (lambda: from_expanded(5, 1, k=0), "A coverage factor of 0 cannot be: it is above 0, mostly 2."),
        (
            lambda: correlated([1, 2], [1, 1], 1.5),
            "A correlation of 1.5 cannot be: it lies between -1 and 1.",
        ),
        (
            lambda: coverage_factor(5, 95),
            "A confidence of 95 with 5 degrees of freedom cannot be worked out: "
            "give a confidence between 0 and 1 and at least 1 degree of freedom.",
        ),
    ],
)
def test_refuses_what_is_no_uncertainty(make, text):
    with pytest.raises(LabError) as refusal:
        make()
    assert str(refusal.value) == text
