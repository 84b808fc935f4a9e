"""Quenching acetic anhydride and others, against hand calculations."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.stoichiometry.cautions import CAUTIONS, cautions_for
from batches.stoichiometry.quench import (
    NEUTRALISERS,
    Quench,
    adiabatic_rise_K,
    dosing_mL_per_min,
    gas_L,
    left_mmol,
    plan_quench,
    upper,
    vessel_mL,
)
from labstock.chemistry.errors import LabError
from labstock.chemistry.thermochemistry import reaction_enthalpy_kJ_per_mol
from labstock.chemistry.uncertain import exact, normal

M, DENSITY = exact(102.089), exact(1.082)
TEN_ML_MMOL = 10 * 1.082 / 102.089 * 1000
SAFE = 1.06  # the plan's heat is the upper bound: 58.4 + 2 · 1.2 over 58.4 is 4 %


def anhydride(**changes) -> Quench:
    plain = Quench("108-24-7", "acetic anhydride", exact(TEN_ML_MMOL), M, DENSITY, cooling_W=20)
    return replace(plain, **changes)


def test_heat_of_ten_millilitres():
    # measured -58.4 ± 0.4 kJ/mol (NIST Chemistry WebBook): 0.106 mol give 6.2 kJ
    assert 6.2 <= plan_quench(anhydride()).heat_kJ <= 6.2 * SAFE


def test_neutralising_gives_twice_the_heat_of_the_hydrolysis():
    # by hand: 0.212 mol of acid, 55.8 kJ/mol (OpenStax Chemistry 2e, m68865): 11.8 kJ
    plan = plan_quench(anhydride(neutraliser="sodium hydroxide"))
    assert 11.8 <= plan.neutraliser_kJ <= 11.8 * SAFE
    assert plan.neutraliser_g == pytest.approx(0.212 * 40.0, rel=0.01)


@pytest.mark.parametrize(
    ("volumes", "rise", "tolerance"),
    # by hand for 0.62 kJ in one volume of anhydride and n of water; the first was rounded from a larger
    # heat capacity
    [(2, 59, 2.5), (5, 27, 1), (10, 14, 0.5), (20, 7, 0.5)],
)
def test_rise_without_cooling(volumes, rise, tolerance):
    found = plan_quench(anhydride(water_volumes=volumes)).rise_K
    assert found == pytest.approx(rise * 1.04, abs=tolerance)  # the plan takes the upper bound of the heat


def test_hydrogen_carbonate_sets_two_moles_of_gas_free():
    # by hand: 0.212 mol CO2 at 20 °C are 5.1 L, from 17.8 g NaHCO3
    plan = plan_quench(anhydride(neutraliser="sodium hydrogen carbonate"))
    assert plan.gas_L == pytest.approx(5.1, abs=0.05)
    assert plan.neutraliser_g == pytest.approx(17.8, abs=0.05)
    assert plan.neutraliser_kJ == 0


def test_a_hundred_millilitres_make_51_litres():
    plan = plan_quench(anhydride(left_mmol=exact(TEN_ML_MMOL * 10), neutraliser="sodium hydrogen carbonate"))
    assert plan.gas_L == pytest.approx(51, abs=0.5)


def test_hydrogen_carbonate_takes_up_heat():
    heat = reaction_enthalpy_kJ_per_mol(
        {"acetic acid": 1, "sodium hydrogen carbonate": 1},
        {"sodium acetate": 1, "water": 1, "carbon dioxide": 1},
    )
    assert heat.n > 0
    assert NEUTRALISERS["sodium hydrogen carbonate"].heat_kJ_per_acid.n == 0


def test_dosing_at_20_W():
    # by hand: 60 · 20 W / 618 J/mL, about 2 mL/min
    assert dosing_mL_per_min(20, 0.618).n == pytest.approx(1.94, abs=0.005)
    assert plan_quench(anhydride()).dosing_mL_per_min == pytest.approx(2, abs=0.15)


def test_a_diluted_mixture_is_dosed_faster_but_takes_as_long():
    neat, diluted = plan_quench(anhydride()), plan_quench(anhydride(mixture_mL=50))
    assert neat.dosing_mL_per_min is not None
    assert diluted.dosing_mL_per_min == pytest.approx(5 * neat.dosing_mL_per_min)
    assert diluted.dosing_min == pytest.approx(neat.dosing_min)


def test_rise_of_the_textbook_cup():
    # OpenStax Chemistry 2e, m68865: 0.0500 mol · 55.83 kJ/mol in 100 g · 4.184 J/gK
    assert adiabatic_rise_K(0.0500 * 55.83, 0.4184).n == pytest.approx(6.67, abs=0.005)


def test_rise_of_the_open_worked_example():
    # scienceaq.com: 200 kJ into 200 g · 4.18 J/gK and a cup of 2 kJ/K, from 25 °C: 95.5 °C
    assert 25 + adiabatic_rise_K(200, 0.200 * 4.18 + 2.0).n == pytest.approx(95.5, abs=0.05)


def test_neat_anhydride_and_water_would_boil():
    # 58.4 kJ into 2 mol of acetic acid, 123.1 to 124.3 J/(mol·K) (thermo 0.6.1, CRC and Poling): 235 to 237 K
    rises = [adiabatic_rise_K(58.4, 2 * each / 1000).n for each in (124.3, 123.1)]
    assert rises == pytest.approx([235, 237], abs=0.5)


def test_what_is_left_is_on_the_safe_side():
    left = left_mmol(normal(105, 1), normal(80, 2))
    plan = plan_quench(anhydride(left_mmol=left))
    assert left.n == pytest.approx(25)
    assert plan.upper_mmol == pytest.approx(25 + 2 * 5**0.5)


def test_more_product_than_reagent_leaves_nothing_but_doubt():
    left = left_mmol(normal(100, 1), normal(101, 1))
    assert left.n == 0
    assert upper(left) == pytest.approx(2 * 2**0.5)


def test_without_a_product_all_of_it_is_left():
    assert left_mmol(105).n == 105


@given(some.floats(1, 1000), some.floats(0, 100), some.floats(0.001, 100))
def test_more_doubt_never_makes_a_quench_look_safer(amount, u, more):
    calm = plan_quench(anhydride(left_mmol=normal(amount, u)))
    wild = plan_quench(anhydride(left_mmol=normal(amount, u + more)))
    assert wild.heat_kJ >= calm.heat_kJ
    assert wild.vessel_mL >= calm.vessel_mL
    assert wild.water_mL >= calm.water_mL


@given(some.floats(0.1, 100), some.floats(1.1, 20))
def test_heat_and_gas_grow_with_the_amount_and_the_rise_does_not(amount, factor):
    small = plan_quench(anhydride(left_mmol=exact(amount), neutraliser="sodium hydrogen carbonate"))
    large = plan_quench(anhydride(left_mmol=exact(amount * factor), neutraliser="sodium hydrogen carbonate"))
    assert large.heat_kJ == pytest.approx(small.heat_kJ * factor)
    assert large.gas_L == pytest.approx(small.gas_L * factor)
    assert large.rise_K == pytest.approx(small.rise_K)


def test_hydrogen_of_a_hydride():
    # sodium hydride: 24 L of hydrogen per mole at room temperature
    plan = plan_quench(Quench("7646-69-7", "sodium hydride", exact(1000), exact(23.998), exact(1.39)))
    assert plan.gas_L == pytest.approx(24, abs=0.2)
    assert plan.acid_mmol == 0
    assert any("hindered alcohol" in caution.text for caution in plan.cautions)


def test_vessel_is_three_times_the_total():
    assert [vessel_mL(total) for total in (3, 33, 110, 334)] == [10, 100, 500, 2000]


def test_too_little_water_is_named_with_enough_of_it():
    plan = plan_quench(anhydride(water_volumes=2))
    (problem,) = plan.problems
    assert problem.code == "too-little-water"
    assert "take at least 5 volumes" in problem.message
    assert plan_quench(anhydride(water_volumes=5)).rise_K < 30


def test_water_that_runs_out_is_named():
    plan = plan_quench(anhydride(water_volumes=0.1))
    assert "water-runs-out" in [problem.code for problem in plan.problems]


def test_the_safe_rise_is_the_labs_own():
    plan = plan_quench(anhydride(water_volumes=5, highest_rise_K=12))
    # by hand: 0.645 kJ/mL over 12 K, less 1.8 J/K of the anhydride, over 4.18 J/(mL·K): 12.4
    assert "take at least 13 volumes" in plan.problems[0].message
    assert plan_quench(anhydride(start_C=5, stop_above_start_K=10)).stop_above_C == 15


def test_doubt_alone_is_quenched_too():
    plan = plan_quench(anhydride(left_mmol=left_mmol(normal(100, 1), normal(101, 1))))
    assert plan.upper_mmol == pytest.approx(2 * 2**0.5)


def test_without_cooling_there_is_no_rate_and_it_says_so():
    plan = plan_quench(anhydride(cooling_W=None))
    assert (plan.dosing_mL_per_min, plan.dosing_min) == (None, None)
    assert [problem.code for problem in plan.problems] == ["no-cooling"]


def test_every_caution_has_a_source_and_reaches_its_kind():
    assert all(caution.source for caution in CAUTIONS)
    reached = {
        each for kind in ("anhydride", "acyl halide", "hydride", *NEUTRALISERS) for each in cautions_for(kind)
    }
    assert reached == set(CAUTIONS)


def test_gas_of_one_mole_at_zero_degrees():
    assert gas_L(1000, 0).n == pytest.approx(22.414, abs=0.001)  # molar volume at 101 325 Pa, CODATA


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: plan_quench(anhydride(cas="407-25-0", name="trifluoroacetic anhydride")),
            "no thermochemistry for trifluoroacetic anhydride: ask",
        ),
        (
            lambda: plan_quench(anhydride(neutraliser="chalk")),
            "no thermochemistry for chalk as a neutraliser: ask, or take sodium hydroxide or "
            "sodium hydrogen carbonate or sodium carbonate",
        ),
        (
            lambda: vessel_mL(10000),
            "10000 mL needs a vessel of 30000 mL, larger than 20000 mL: quench in portions.",
        ),
        (
            lambda: plan_quench(anhydride(left_mmol=exact(0))),
            "By mass balance nothing of acetic anhydride is left (0 mmol): test the mixture before you take "
            "it as quenched.",
        ),
        (lambda: dosing_mL_per_min(0, 0.6), "The cooling is 0 W: it must be above zero. Check the number."),
        (lambda: left_mmol(0), "The amount charged is 0 mmol: it must be above zero. Check the number."),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
