"""What water does to a moisture-sensitive bottle."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as some

from labstock.chemistry.errors import LabError
from labstock.chemistry.moisture import (
    Exposure,
    MoistureModel,
    absolute_humidity_mg_per_L,
    acid_formed_mmol,
    decision_line,
    destroyed_g_per_g,
    dried_over_sieves_ppm,
    extra_base_mmol,
    fraction_after_water,
    leak_from_assays_g_per_month,
    vapour_pressure_Pa,
    water_taken_up_g,
)
from labstock.chemistry.purity import Claim, effective
from labstock.chemistry.uncertain import exact, normal

ACETIC_ANHYDRIDE = 102.0886  # NIST Chemistry WebBook
ACETIC_ACID = 60.052


def test_one_gram_of_water_destroys_5_67_g_of_acetic_anhydride():
    # by hand: 102.09/18.015 = 5.67, and 2 · 60.05/18.015 = 6.67 g of acid are formed
    assert destroyed_g_per_g(ACETIC_ANHYDRIDE).n == pytest.approx(5.67, abs=0.005)
    acid = acid_formed_mmol(destroyed_g_per_g(ACETIC_ANHYDRIDE), ACETIC_ANHYDRIDE) * ACETIC_ACID / 1000
    assert acid.n == pytest.approx(6.67, abs=0.005)


def test_one_percent_lost_needs_19_6_mmol_of_base_per_100_g():
    assert acid_formed_mmol(1.0, ACETIC_ANHYDRIDE).n == pytest.approx(19.6, abs=0.05)  # 2 · 1/102.09


def test_drop_of_water_costs_0_28_g_of_anhydride():
    assert 0.05 * destroyed_g_per_g(ACETIC_ANHYDRIDE).n == pytest.approx(0.28, abs=0.005)  # by hand


@given(some.floats(0.5, 1.0), some.floats(0, 0.05))
def test_mass_and_matter_are_conserved(before, water):
    after = fraction_after_water(before, water, ACETIC_ANHYDRIDE).n * (1 + water)
    acid = water / 18.015 * 2 * ACETIC_ACID
    other = 1 - before
    assert after + acid + other == pytest.approx(1 + water, rel=1e-4)


@given(some.floats(0, 0.05), some.floats(1e-6, 0.05))
def test_more_water_never_makes_it_purer(water, more):
    first = fraction_after_water(0.99, water, ACETIC_ANHYDRIDE)
    assert fraction_after_water(0.99, water + more, ACETIC_ANHYDRIDE).n < first.n


@given(some.floats(0.6, 0.98))
def test_base_agrees_with_the_water_that_made_the_acid(now):
    # forward: water w per gram before gives 2·w/18.015 mol acid in 1 + w grams
    water = (0.99 - now) / (ACETIC_ANHYDRIDE / 18.015 + now)
    acid = 2 * water / 18.015 * 1000 / (1 + water)
    assert extra_base_mmol(1.0, 0.99, now, ACETIC_ANHYDRIDE).n == pytest.approx(acid)


@pytest.mark.parametrize(
    ("temperature", "expected"),
    # ASHRAE Fundamentals 2017, ch. 1, table 3; the Magnus formula is 0.31 % low at 25 °C
    [(5, 872.6), (25, 3169.7)],
)
def test_saturation_pressure_within_half_a_percent(temperature, expected):
    assert vapour_pressure_Pa(temperature) == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize(("temperature", "expected"), [(25, 3160.06), (20, 2332.60)])
def test_magnus_formula_itself(temperature, expected):
    assert vapour_pressure_Pa(temperature) == pytest.approx(expected, abs=0.01)  # computed from its constants


@pytest.mark.parametrize(
    ("temperature", "humidity", "expected"),
    [
        # PsychroLib 2.5.0 and the ideal gas law; CoolProp agrees within 0.7 %
        (20, 100, 17.29),
        (25, 100, 23.03),
        (30, 100, 30.35),
        (20, 50, 8.64),
        (25, 60, 13.82),
        (40, 75, 38.3),
        (30, 65, 19.73),
        (5, 60, 4.08),
    ],
)
def test_water_in_air(temperature, humidity, expected):
    assert absolute_humidity_mg_per_L(temperature, humidity).n == pytest.approx(expected, rel=0.007)


def test_one_swap_of_250_mL_brings_2_6_mg_of_water():
    # by hand: 10.3 mg/L at 23 °C and 50 %, times 0.25 L
    assert 0.25 * absolute_humidity_mg_per_L(23, 50).n == pytest.approx(2.6, abs=0.05)


def test_openings_alone_hardly_matter_but_a_worn_cap_does():
    opened = water_taken_up_g(Exposure(20, 250, 0, cap="sealed"))
    worn = water_taken_up_g(Exposure(0, 250, 6, cap="worn"))
    assert opened.n < 0.06
    assert worn.n == pytest.approx(6 * 0.3)


def test_wide_band_of_the_prior_reaches_the_purity():
    model = MoistureModel("anhydride", ACETIC_ANHYDRIDE, 400, Exposure(14, 150, 8, cap="worn"))
    found = effective([Claim("certificate", 99.0, 0.1)], model)
    assert found.is_model
    assert found.fraction.n < 0.99
    assert found.fraction.s > 0.005
    assert "14 openings, 8 months, worn cap; not a measurement" in found.words


def test_a_leak_learned_from_two_assays_predicts_the_third():
    leak = leak_from_assays_g_per_month(normal(0.99, 0.001), normal(0.97, 0.001), 6, 400, ACETIC_ANHYDRIDE)
    exposure = Exposure(0, 150, 6, leak_g_per_month=leak)
    found = MoistureModel("anhydride", ACETIC_ANHYDRIDE, 400, exposure).fraction_after(exact(0.99))
    assert found.n == pytest.approx(0.97)


def test_model_counts_from_its_day():
    model = MoistureModel("hydride", 24.0, 50, Exposure(1, 10, 1, since=date(2026, 9, 1)))
    assert model.since == date(2026, 9, 1)


@pytest.mark.parametrize(
    ("fraction", "line"),
    [
        (exact(0.936), "at 93.6 % your 1.05 equiv is 0.99: measure before you start"),
        (
            normal(0.96, 0.02),
            "at 96.0 % your 1.05 equiv is 1.02, and may be as low as 0.98: measure before you start",
        ),
        (normal(0.985, 0.002), "at 98.5 % your 1.05 equiv is 1.04: still an excess"),
    ],
)
def test_decision_line(fraction, line):
    assert decision_line(1.05, fraction, exact(0.99)).replace("\u00a0", " ") == line


def test_sieves_dry_towards_their_end_value():
    assert dried_over_sieves_ppm(0, 100, 5, 1.5) == 100
    assert dried_over_sieves_ppm(30, 100, 5, 1.5) == pytest.approx(5)


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: destroyed_g_per_g(102, "Grignard reagent"),
            "There is no moisture model for Grignard reagent: measure the purity or the titre. "
            "Models exist for anhydride, acyl halide, sulfonyl halide, hydride.",
        ),
        (
            lambda: fraction_after_water(0.99, 0.2, ACETIC_ANHYDRIDE),
            "20.0 % of water is enough to destroy all of it: measure the purity before use.",
        ),
        (
            lambda: fraction_after_water(0.99, -0.1, ACETIC_ANHYDRIDE),
            "Water taken up is -0.1 g/g: it cannot be below zero.",
        ),
        (
            lambda: absolute_humidity_mg_per_L(20, 140),
            "A relative humidity of 140 % cannot be: it lies between 0 and 100 %. Read the hygrometer again.",
        ),
        (
            lambda: vapour_pressure_Pa(120),
            "120 °C is outside the formula (-20 to 60 °C): enter the room's temperature.",
        ),
        (
            lambda: water_taken_up_g(Exposure(-1, 250, 6)),
            "The number of openings is -1: it cannot be below zero. Correct it, or leave it at 0.",
        ),
        (
            lambda: water_taken_up_g(Exposure(1, 250, 6, cap="lost")),
            'The cap "lost" is not known: choose one of good, worn, sealed.',
        ),
        (
            lambda: water_taken_up_g(Exposure(1, 250, 6, events=("rain",))),
            'The mishap "rain" is not known: choose one of wet pipette, opened cold, drop of water.',
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
