"""What a plan tells people to dispense, against published examples and the containers' own strength."""

from datetime import date

import pytest

from batches.drafts import Draft, read_preparation
from batches.planning import drafts_of, plan_of, work_out_lines
from labstock.stock.models import Assay
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    container,
    lot,
    person,
    refused,
    substance,
)

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
ACETYLATION = "aniline + acetic anhydride -> acetanilide + acetic acid"


def shelf():
    return [substance(about) for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID)]


def planned(equation, scale, line=1, extra=(), **typed):
    drafts = read_preparation(equation)
    for position, fields in typed.items():
        number = int(position.removeprefix("line")) - 1
        drafts[number] = Draft(**{**vars(drafts[number]), **fields})
    return work_out_lines([*drafts, *extra], scale=scale, scale_line=line, on=TODAY)


def test_5_mL_of_pure_acetic_anhydride_are_53_mmol():
    # density route n = V·ρ/M by hand: 5.0 mL · 1.082 g/mL / 102.089 g/mol = 52.99 mmol
    shelf()
    lines, _ = planned(ACETYLATION, "5 mL", line=2)
    assert lines[1].amount_mmol == pytest.approx(52.99, abs=0.01)


def test_silicon_limits_in_the_making_of_silicon_nitride():
    # OpenStax, Chemistry 2e, 4.4 Reaction Yields (m68714), Example 4.12: 2.00 g Si, 1.50 g N2: Si limits,
    # 0.0712 mol Si, 0.0237 mol Si3N4
    lines, _ = planned("3 Si + 2 N2 -> Si3N4", "2.00 g", line2={"amount": "1.50 g"})
    assert [line.is_limiting for line in lines] == [True, False, False]
    assert lines[0].amount_mmol == pytest.approx(71.2, abs=0.1)
    assert lines[2].amount_mmol == pytest.approx(23.7, abs=0.1)


def test_oxygen_limits_in_the_burning_of_hydrogen():
    # OpenStax, Chemistry 2e, 4.4 (m68714), exercise: 5.00 g H2 and 10.0 g O2
    _, plan = planned("2 H2 + O2 -> 2 H2O", "5.00 g", line2={"amount": "10.0 g"})
    assert plan.limiting_key == "2"
    assert [p.code for p in plan.problems] == ["fixed-limits"]


def test_the_theory_of_copper_from_copper_sulfate():
    # OpenStax, Chemistry 2e, 4.4 (m68714), Example 4.13: 1.274 g CuSO4 give 0.5072 g Cu
    _, plan = planned("CuSO4 + Zn -> Cu + ZnSO4", "1.274 g")
    assert plan.theoretical_mass_g.n == pytest.approx(0.5072, abs=0.0002)


def test_the_scale_may_stand_on_the_product():
    # OpenStax, Chemistry 2e, 4.3 (m68713): 16 g Mg(OH)2 need 22 g NaOH
    lines, _ = planned("MgCl2 + 2 NaOH -> Mg(OH)2 + 2 NaCl", "16 g", line=3)
    assert lines[1].dispense == pytest.approx(22, abs=0.5)
    assert lines[1].dispense_unit == "g"


def test_the_newest_assay_of_the_open_bottle_counts_not_its_label():
    shelf()
    bottle = container(ANHYDRIDE)
    Assay.objects.create(
        container=bottle, percent=95.4, u_percent=0.8, method="titration", measured_on=TODAY, by=person()
    )
    lines, _ = planned(ACETYLATION, "320 mmol", line2={"equivalents": "1.20"})
    # by hand: 0.320 mol · 1.20 · 102.089 g/mol / 0.954 / 1.082 g/mL = 37.98 mL
    assert lines[1].dispense == pytest.approx(37.98, abs=0.02)
    assert lines[1].fraction_from.startswith("95.4\u00a0±\u00a01.6\u00a0% by assay")


def test_a_solution_is_planned_by_its_concentration():
    acid = substance({"name": "hydrochloric acid", "formula": "HCl", "is_liquid": True})
    about = {"name": acid.name}
    container(about, lot=lot(about, purity_kind="unknown", purity_percent=None, concentration_mol_per_L=2.0))
    lines, _ = planned("C6H7N + HCl -> C6H8NCl", "10 mmol")
    assert (lines[1].dispense, lines[1].dispense_unit) == (
        pytest.approx(5.0),
        "mL",
    )  # n/c = 10 mmol / 2 mol/L


def test_solvents_drops_and_amounts_per_millimole_follow_what_was_typed():
    shelf()
    extra = [
        Draft("solvent", "ethanol", amount="12 mL"),
        Draft("catalyst", "sulfuric acid", amount="6 drops"),
        Draft("wash", "water", amount="0.2 mL/mmol"),
    ]
    lines, _ = planned(ACETYLATION, "60 mmol", extra=extra)
    assert [(line.dispense, line.dispense_unit) for line in lines[4:]] == [
        (12, "mL"), (6, "drops"), (pytest.approx(12.0, rel=0.001), "mL"),
    ]  # fmt: skip


def test_a_saved_plan_gives_the_same_plan_again_without_looking_anything_up(django_assert_num_queries):
    shelf()
    lines, plan = planned(ACETYLATION, "60 mmol", line2={"equivalents": "1.2"})
    with django_assert_num_queries(0):
        again = plan_of(lines, scale="60 mmol", scale_line=1)
    assert again.theoretical_mass_g.n == plan.theoretical_mass_g.n
    assert [draft.equivalents for draft in drafts_of(lines)] == ["", "1.2", "", ""]


def test_six_lines_take_three_queries(django_assert_max_num_queries):
    drafts = [Draft("reactant", s.name, s.formula, s) for s in shelf()]
    container(ANHYDRIDE)
    with django_assert_max_num_queries(3):
        work_out_lines(drafts + drafts[:2], scale="60 mmol", scale_line=1, on=TODAY)


@pytest.mark.parametrize(
    ("scale", "words"),
    [
        ("1,500 mL", "Do you mean 1.5 mL or 1500 mL"),
        ("5", "has no unit"),
        ("-5 g", "below zero"),
        ("0 g", "is nothing"),
        ("3 bar", "bar"),
    ],
)
def test_an_unclear_scale_is_asked_not_guessed(scale, words):
    with refused(words):
        planned("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", scale)


@pytest.mark.parametrize("typed", ["0", "-1", "much", "1.2.3", "5000"])
def test_refuses_equivalents_that_are_no_number(typed):
    with refused("equivalents of C4H6O3 cannot be read: write a number above 0 and up to 1000"):
        planned("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "5 mmol", line2={"equivalents": typed})


def test_equivalents_that_may_be_thousands_are_asked():
    with refused("'1,250' equivalents of C4H6O3 is not clear: write 1.25 or 1250"):
        planned("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "5 mmol", line2={"equivalents": "1,250"})


def test_refuses_a_scale_in_mL_of_something_without_a_density():
    with refused("no density for this lot of C6H7N is known: enter it or give the scale in mmol"):
        planned("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "5 mL")


def test_refuses_a_line_that_is_not_there():
    with refused("There is no line 9 to give the scale on: choose 1 to 4"):
        planned("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "5 mmol", line=9)
