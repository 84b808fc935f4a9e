from math import inf, sqrt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from labstock.chemistry.errors import LabError
from labstock.chemistry.propagation import (
    Distribution,
    Sampled,
    Statement,
    drawn_normal,
    drawn_rectangle,
    drawn_t,
    drawn_triangle,
    is_confirmed,
    monte_carlo,
    numerical_tolerance,
    standard_error_of_u,
    statement,
)
from labstock.chemistry.uncertain import UFloat, half_width, normal, rectangle, triangle


def test_agrees_with_the_cadmium_standard() -> None:  # EURACHEM/CITAC QUAM, 2nd ed., example A1
    mass = normal(100.28, 0.05)  # mg
    purity = half_width(0.9999, 0.0001)
    volume = triangle(99.9, 100.1) + normal(0, 0.02) + half_width(0, 100 * 4 * 2.1e-4)  # mL
    assert purity.s == pytest.approx(0.000058, abs=5e-7)
    assert volume.s == pytest.approx(0.0665, abs=5e-5)
    stated = statement(1000 * mass * purity / volume)
    assert stated.value == pytest.approx(1002.7, abs=0.05)  # mg/L
    assert 0.83 <= stated.u <= 0.90
    assert (stated.degrees, round(stated.k, 2)) == (inf, 1.96)


def test_agrees_with_the_molar_mass_of_the_phthalate() -> None:  # QUAM, example A2
    carbon, hydrogen = half_width(12.0107, 0.0008), half_width(1.00794, 0.00007)
    oxygen, potassium = half_width(15.9994, 0.0003), half_width(39.0983, 0.0001)
    stated = statement(8 * carbon + 5 * hydrogen + 4 * oxygen + potassium)  # g/mol, linear within an element
    assert stated.value == pytest.approx(204.2212, abs=5e-5)
    assert stated.u == pytest.approx(0.0038, abs=5e-5)


def test_agrees_with_the_sodium_hydroxide_titre() -> None:  # QUAM, example A2; inputs and result from memory
    repeat, mass, purity = normal(1, 0.0005), normal(0.3888, 0.00013), normal(1, 0.00029)
    molar_mass, volume = normal(204.2212, 0.0038), normal(18.64, 0.013)  # g/mol, mL
    stated = statement(repeat * 1000 * mass * purity / (molar_mass * volume))  # mol/L
    assert stated.value == pytest.approx(0.10214, abs=5e-6)
    assert stated.u == pytest.approx(0.00010, abs=5e-6)


def _end_gauge() -> tuple[UFloat, dict[UFloat, float]]:
    """Length of an end gauge in nm with the degrees of freedom of its inputs."""
    standard, difference = normal(50_000_623, 25), normal(215, 9.7)
    expansion, offset = rectangle(9.5e-6, 13.5e-6), normal(-0.1, 0.41)
    expansion_gap, temperature_gap = ufloat(0, 0.58e-6), ufloat(0, 0.029)
    length = standard + difference - standard * (expansion_gap * offset + expansion * temperature_gap)
    return length, {standard: 18, difference: 25.6, expansion_gap: 50, temperature_gap: 2}


def test_agrees_with_the_end_gauge_and_its_degrees_of_freedom() -> None:  # JCGM 100:2008, H.1
    length, degrees = _end_gauge()
    stated = statement(length, degrees, p=0.99)
    assert round(stated.value) == 50_000_838  # nm
    assert stated.u == pytest.approx(32, abs=0.5)
    assert stated.degrees == pytest.approx(16.8, abs=0.2)  # the source adds terms rounded to 2.9 and 16.6
    assert int(stated.degrees) == 16
    assert round(stated.k, 2) == 2.92
    assert stated.expanded == pytest.approx(93, abs=0.6)


def test_two_values_from_one_input_stay_correlated() -> None:
    weighed = normal(5.0, 0.1)
    assert statement(weighed - weighed).u == 0
    assert statement(weighed + weighed).u == pytest.approx(0.2)
    assert statement(weighed / (2 * weighed)).u == pytest.approx(0)


def test_few_readings_widen_the_interval() -> None:
    reading, known = normal(10.0, 0.3), normal(5.0, 0.4)
    few, many = statement(reading + known, {reading: 2}), statement(reading + known)
    assert few.u == many.u
    assert few.expanded > many.expanded
    assert few.interval[0] < many.interval[0] < 15 < many.interval[1] < few.interval[1]


def test_refuses_degrees_of_freedom_for_a_calculated_value() -> None:
    total = normal(1, 0.1) + normal(2, 0.1)
    with pytest.raises(LabError, match="is made of 2 inputs with uncertainty"):
        statement(total, {total: 5})


def test_refuses_less_than_one_degree_of_freedom() -> None:
    single = normal(1, 0.1)
    with pytest.raises(LabError, match="0 degrees of freedom for"):
        statement(single, {single: 0})


# Additive model Y = X1 + X2 + X3 + X4, JCGM 101:2008, 9.2; results of the clauses from memory.
@pytest.mark.parametrize(
    ("first", "others", "u", "end"),
    [
        (drawn_normal(0, 1), drawn_normal(0, 1), 2.0, 3.92),
        (drawn_rectangle(-sqrt(3), sqrt(3)), drawn_rectangle(-sqrt(3), sqrt(3)), 2.0, 3.88),
        (drawn_rectangle(-10 * sqrt(3), 10 * sqrt(3)), drawn_rectangle(-sqrt(3), sqrt(3)), 10.1, 17.0),
    ],
)
def test_draws_agree_with_the_additive_example(
    first: Distribution, others: Distribution, u: float, end: float
) -> None:
    sampled = monte_carlo(
        lambda a, b, c, d: a + b + c + d, {"a": first, "b": others, "c": others, "d": others}, trials=400_000
    )
    assert sampled.u == pytest.approx(u, rel=0.006)
    assert sampled.interval == pytest.approx((-end, end), rel=0.006)


def test_draws_agree_with_the_mass_calibration_example() -> None:  # JCGM 101:2008, 9.3, from memory
    sampled = monte_carlo(
        lambda reference, excess, air, weight, other: (
            (reference + excess) * (1 + (air - 1.2) * (1 / weight - 1 / other)) - 100_000
        ),
        {
            "reference": drawn_normal(100_000, 0.050),  # mg
            "excess": drawn_normal(1.234, 0.020),  # mg
            "air": drawn_rectangle(1.10, 1.30),  # kg/m³
            "weight": drawn_rectangle(7_000, 9_000),  # kg/m³
            "other": drawn_rectangle(7_950, 8_050),  # kg/m³
        },
        trials=400_000,
    )
    assert sampled.mean == pytest.approx(1.2341, abs=0.0005)
    assert sampled.u == pytest.approx(0.0754, abs=0.0005)  # the linear sum gives 0.0539, too small
    assert sampled.interval == pytest.approx((1.0834, 1.3825), abs=0.002)


def _yield(product_g: Any, product_purity: Any, limiting_g: Any, limiting_purity: Any) -> Any:
    """Percent yield of acetanilide (135.17 g/mol) from aniline (93.13 g/mol), one to one."""
    return 100 * product_g * product_purity / 135.17 / (limiting_g * limiting_purity / 93.13)


def test_draws_confirm_a_percent_yield() -> None:
    linear = _yield(normal(2.41, 0.01), rectangle(0.97, 1.0), normal(2.05, 0.01), rectangle(0.96, 1.0))
    sampled = monte_carlo(
        _yield,
        {
            "product_g": drawn_normal(2.41, 0.01),
            "product_purity": drawn_rectangle(0.97, 1.0),
            "limiting_g": drawn_normal(2.05, 0.01),
            "limiting_purity": drawn_rectangle(0.96, 1.0),
        },
    )
    stated = statement(linear)
    assert stated.u == pytest.approx(sampled.u, rel=0.01)
    assert is_confirmed(stated, sampled)


def _rise(amount_mol: Any, heat_kj_per_mol: Any, mass_g: Any, heat_capacity: Any) -> Any:
    """Adiabatic rise of a quench in kelvin; heat capacity in J/(g K)."""
    return 1000 * amount_mol * heat_kj_per_mol / (mass_g * heat_capacity)


def test_draws_confirm_a_quench_rise_with_modest_doubt() -> None:
    linear = _rise(normal(0.05, 0.002), normal(58.5, 1.5), normal(100, 1), normal(4.0, 0.1))
    sampled = monte_carlo(
        _rise,
        {
            "amount_mol": drawn_normal(0.05, 0.002),
            "heat_kj_per_mol": drawn_normal(58.5, 1.5),
            "mass_g": drawn_normal(100, 1),
            "heat_capacity": drawn_normal(4.0, 0.1),
        },
    )
    assert is_confirmed(statement(linear), sampled)


def test_draws_do_not_confirm_a_quench_rise_with_a_doubtful_denominator() -> None:
    linear = _rise(normal(0.05, 0.002), normal(58.5, 1.5), normal(100, 20), normal(4.0, 0.1))
    sampled = monte_carlo(
        _rise,
        {
            "amount_mol": drawn_normal(0.05, 0.002),
            "heat_kj_per_mol": drawn_normal(58.5, 1.5),
            "mass_g": drawn_normal(100, 20),
            "heat_capacity": drawn_normal(4.0, 0.1),
        },
    )
    assert not is_confirmed(statement(linear), sampled)
    assert sampled.mean > statement(linear).value


def test_draws_from_few_readings_are_wider() -> None:  # JCGM 101:2008, 6.4.9: by sqrt(degrees/(degrees - 2))
    sampled = monte_carlo(lambda x: x, {"x": drawn_t(10, 0.3, 6)})
    assert sampled.u == pytest.approx(0.3 * sqrt(6 / 4), rel=0.02)


def test_the_same_seed_gives_the_same_draws() -> None:
    first, second = (monte_carlo(lambda x: x**2, {"x": drawn_triangle(1, 3)}, 2_000) for _ in "ab")
    assert first == second


def test_refuses_too_few_trials() -> None:
    with pytest.raises(
        LabError, match=r"10 trials for a coverage .* give no interval: ask for at least 1000"
    ):
        monte_carlo(lambda x: x, {"x": drawn_normal(0, 1)}, trials=10)


@pytest.mark.filterwarnings("ignore:divide by zero")  # the fault that is looked for
def test_refuses_a_model_that_fails_for_some_draws() -> None:
    def zeros(generator: Any, trials: int) -> Any:
        return generator.integers(0, 2, trials)

    with pytest.raises(LabError, match="the model gives no finite result for"):
        monte_carlo(lambda x: 1 / x, {"x": zeros})


@pytest.mark.parametrize(  # JCGM 101:2008, 7.9.2: u = c·10^l, tolerance 10^l/2; the first is its example
    ("u", "digits", "tolerance"),
    [(0.35, 2, 0.005), (0.35, 1, 0.05), (32, 2, 0.5), (0.0999, 2, 0.005), (0.0997, 1, 0.05), (2.0, 1, 0.5)],
)
def test_the_tolerance_is_half_a_unit_of_the_last_digit(u: float, digits: int, tolerance: float) -> None:
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance)


def test_refuses_a_tolerance_for_no_doubt_at_all() -> None:
    with pytest.raises(LabError, match="An uncertainty of 0 has no digits"):
        numerical_tolerance(0)


def test_an_interval_beyond_the_tolerance_is_not_confirmed() -> None:
    stated = Statement(0.0, 2.0, inf, 1.96, 0.95)
    assert not is_confirmed(stated, Sampled(0.0, 2.0, (-3.90, 4.50), 0.95, 200_000))
    assert not is_confirmed(stated, Sampled(0.0, 2.0, (-4.50, 3.90), 0.95, 200_000))


US = st.floats(0.001, 10)


@given(US, US, US, st.integers(1, 100))
def test_the_doubt_never_shrinks_when_that_of_an_input_grows(
    one: float, two: float, more: float, degrees: int
) -> None:
    first, wider, second = normal(5, one), normal(5, one + more), normal(3, two)
    assert statement(2 * first + second).u <= statement(2 * wider + second).u
    assert statement(first * second, {second: degrees}).degrees >= degrees * (1 - 1e-9)


@given(st.floats(0.05, 2), st.integers(0, 2**32 - 1))
def test_draws_of_a_straight_sum_agree_with_the_linear_one(u: float, seed: int) -> None:
    sampled = monte_carlo(
        lambda a, b: 3 * a - b, {"a": drawn_normal(1, u), "b": drawn_normal(2, 1)}, 20_000, seed=seed
    )
    expected = statement(3 * normal(1, u) - normal(2, 1)).u
    assert abs(sampled.u - expected) < 6 * standard_error_of_u(sampled)
