"""Plans: from a scale on any line to what is dispensed.

OpenStax = Chemistry 2e; the module number stands with each case. Book answers are checked to half a unit in
the last digit printed, plus one unit where the book rounded midway.
"""

from fractions import Fraction

import pytest

from batches.stoichiometry.lines import LineInput
from batches.stoichiometry.plan import Fixed, actual, work_out
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import UFloat, exact, normal, rectangle


def molar_mass(formula: str) -> UFloat:
    return parse_formula(formula).molar_mass


def reactant(key: str, formula: str, **more) -> LineInput:
    more.setdefault("coefficient", Fraction(1))
    return LineInput(key, more.pop("name", key), "reactant", molar_mass(formula), **more)


def product(key: str, formula: str, **more) -> LineInput:
    more.setdefault("coefficient", Fraction(1))
    return LineInput(key, key, "product", molar_mass(formula), **more)


def acetylation(**anhydride_changes) -> list[LineInput]:
    changes = {"equivalents": exact(1.05), "density_g_per_mL": exact(1.082), **anhydride_changes}
    return [
        reactant("aniline", "C6H7N"),
        reactant("anhydride", "C4H6O3", name="acetic anhydride", **changes),
        product("acetanilide", "C8H9NO"),
        product("acetic acid", "C2H4O2"),
    ]


def mass_of(found: UFloat | None) -> float:
    assert found is not None
    return found.n


def test_silicon_limits_silicon_nitride():
    lines = [
        reactant("Si", "Si", coefficient=Fraction(3), fixed=Fixed(exact(2.00), "mass")),
        reactant("N2", "N2", coefficient=Fraction(2), fixed=Fixed(exact(1.50), "mass")),
        product("Si3N4", "Si3N4"),
    ]
    found = actual(lines)
    assert found.limiting_key == "Si"
    assert found.amounts_mmol["Si"].n == pytest.approx(71.2, abs=0.06)  # OpenStax m68714
    assert found.amounts_mmol["N2"].n == pytest.approx(53.5, abs=0.06)  # same
    assert found.limiting_amount_mmol.n / 3 == pytest.approx(23.7, abs=0.06)  # same


@pytest.mark.parametrize(
    ("first", "second", "limiting"),
    [
        (("H2", "H2", 2, 5.00), ("O2", "O2", 1, 10.0), "O2"),  # OpenStax m68714
        (("Cr", "Cr", 2, 0.50 * 51.996), ("acid", "H3PO4", 2, 0.75 * 97.994), "Cr"),  # same, exercise
    ],
)
def test_limiting_reagent_of_the_textbook(first, second, limiting):
    lines = [
        reactant(key, formula, coefficient=Fraction(nu), fixed=Fixed(exact(mass), "mass"))
        for key, formula, nu, mass in (first, second)
    ]
    assert actual(lines).limiting_key == limiting


def test_sandwiches_take_one_cheese_and_two_slices():
    # OpenStax m68714: 11 slices of cheese and 28 of bread make 11 sandwiches, 6 slices of bread are left
    cheese = LineInput(
        "cheese", "cheese", "reactant", coefficient=Fraction(1), fixed=Fixed(exact(11), "amount")
    )
    bread = LineInput("bread", "bread", "reactant", coefficient=Fraction(2), fixed=Fixed(exact(28), "amount"))
    found = actual([cheese, bread])
    assert found.limiting_key == "cheese"
    assert found.amounts_mmol["bread"].n - 2 * found.limiting_amount_mmol.n == pytest.approx(6)


@pytest.mark.parametrize(
    ("scale", "asked", "expected", "tolerance"),
    [
        # OpenStax m68713: Mg(OH)2 from NaOH, Ga2O3 from Ga, O2 for octane, CO for Fe2O3, SiO2 for SiC
        (("product", "Mg(OH)2", 1, 16.0), ("reactant", "NaOH", 2), 22, 0.6),
        (("reactant", "Ga", 4, 29.0), ("product", "Ga2O3", 2), 39.0, 0.06),
        (("reactant", "C8H18", 2, 702.0), ("reactant", "O2", 25), 2.46e3, 6),
        (("reactant", "Fe2O3", 1, 25.13), ("reactant", "CO", 3), 13.22, 0.006),
        (("product", "SiC", 1, 3000.0), ("reactant", "SiO2", 1), 4.50e3, 6),
    ],
)
def test_masses_of_the_textbook(scale, asked, expected, tolerance):
    scale_role, scale_formula, scale_nu, grams = scale
    role, formula, nu = asked
    make = {"reactant": reactant, "product": product}
    lines = [
        make[scale_role]("scale", scale_formula, coefficient=Fraction(scale_nu)),
        make[role]("asked", formula, coefficient=Fraction(nu)),
    ]
    plan = work_out(lines, exact(grams), "mass", "scale")
    assert mass_of(plan.line("asked").mass_g) == pytest.approx(expected, abs=tolerance)


def test_purity_of_ore_goes_into_the_amount():
    ore = reactant("ore", "FeTiO3", coefficient=Fraction(2), fraction=exact(0.883))
    plan = work_out([ore, product("TiO2", "TiO2", coefficient=Fraction(2))], exact(379), "mass", "ore")
    assert mass_of(plan.theoretical_mass_g) == pytest.approx(176, abs=0.6)  # OpenStax m68713


def test_solution_needed_for_a_solution():
    copper = LineInput(
        "Cu", "Cu(NO3)2", "reactant", coefficient=Fraction(2), concentration_mol_per_L=exact(0.3842)
    )
    iodide = LineInput("I", "KI", "reactant", coefficient=Fraction(4), concentration_mol_per_L=exact(0.2089))
    plan = work_out([copper, iodide], exact(43.88), "volume", "Cu")
    assert mass_of(plan.line("I").volume_mL) == pytest.approx(161.4, abs=0.06)  # OpenStax m68713
    assert plan.line("I").dispense_unit == "mL"


def test_liquids_come_in_mL_and_solids_in_g_or_mg():
    plan = work_out(acetylation(), exact(50.0), "amount", "aniline")
    assert plan.line("aniline").dispense_unit == "g"
    assert plan.line("anhydride").dispense_unit == "mL"
    small = work_out(acetylation(), exact(0.5), "amount", "aniline")
    assert small.line("aniline").dispense_unit == "mg"
    assert small.line("anhydride").dispense_unit == "µL"


def test_missing_equivalents_are_one_per_coefficient():
    lines = [reactant("H2", "H2", coefficient=Fraction(2)), reactant("O2", "O2")]
    plan = work_out(lines, exact(10), "amount", "O2")
    assert plan.line("H2").amount_mmol.n == pytest.approx(20)
    assert plan.line("H2").equivalents.n == pytest.approx(1)


@pytest.mark.parametrize(
    ("key", "dimension"),
    [("aniline", "mass"), ("anhydride", "volume"), ("anhydride", "mass"), ("acetanilide", "mass")],
)
def test_scale_on_any_line_gives_the_same_plan(key, dimension):
    first = work_out(acetylation(), exact(50.0), "amount", "aniline")
    value = getattr(first.line(key), f"{dimension}_{'mL' if dimension == 'volume' else 'g'}")
    second = work_out(acetylation(), exact(value.n), dimension, key)
    for line in first.lines:
        assert second.line(line.key).amount_mmol.n == pytest.approx(line.amount_mmol.n)
    assert second.limiting_key == "aniline"


def test_scale_on_a_solvent_that_follows_the_batch():
    water = LineInput("water", "water", "solvent", fixed=Fixed(exact(2.0), "volume per mmol"))
    plan = work_out([*acetylation(), water], exact(100), "volume", "water")
    assert plan.limiting_amount_mmol.n == pytest.approx(50)
    assert plan.line("water").dispense_value.n == pytest.approx(100)


def test_scale_on_a_catalyst_in_equivalents():
    base = LineInput("dmap", "DMAP", "catalyst", molar_mass("C7H10N2"), equivalents=exact(0.05))
    plan = work_out([*acetylation(), base], exact(2.5), "amount", "dmap")
    assert plan.limiting_amount_mmol.n == pytest.approx(50)


def test_impure_anhydride_needs_more_of_it():
    plain = work_out(acetylation(), exact(50.0), "amount", "aniline")
    wet = work_out(acetylation(fraction=exact(0.936)), exact(50.0), "amount", "aniline")
    ratio = wet.line("anhydride").mass_g.n / plain.line("anhydride").mass_g.n
    assert ratio == pytest.approx(1 / 0.936)
    assert wet.line("anhydride").equivalents.n == pytest.approx(1.05)


def test_doubt_of_purity_shows_on_mass_and_equivalents():
    plan = work_out(acetylation(fraction=rectangle(0.98, 1.0)), exact(50.0), "amount", "aniline")
    line = plan.line("anhydride")
    relative = rectangle(0.98, 1.0).s / 0.99
    assert line.mass_g.s / line.mass_g.n == pytest.approx(relative, rel=0.01)
    assert line.equivalents.s / line.equivalents.n == pytest.approx(relative, rel=0.01)


def test_purity_of_the_limiting_reagent_reaches_the_theoretical_yield():
    lines = [reactant("aniline", "C6H7N", fraction=normal(0.99, 0.005)), product("acetanilide", "C8H9NO")]
    plan = work_out(lines, normal(5.0, 0.01), "mass", "aniline")
    expected = 5.0 * 0.99 / 93.129 * 135.166  # by hand, molar masses of IUPAC's abridged atomic weights
    assert plan.theoretical_mass_g.n == pytest.approx(expected, rel=1e-4)
    relative = ((0.005 / 0.99) ** 2 + (0.01 / 5.0) ** 2) ** 0.5
    assert plan.theoretical_mass_g.s / plan.theoretical_mass_g.n == pytest.approx(relative, rel=0.01)


def test_an_excess_eaten_by_doubt_is_named():
    plan = work_out(acetylation(fraction=normal(0.95, 0.03)), exact(50.0), "amount", "aniline")
    (problem,) = plan.problems
    assert problem.code == "limiting-unclear"
    assert "acetic anhydride at 1.050\u00a0±\u00a00.066\u00a0equiv may turn out to limit" in problem.message


def test_drops_are_counted_when_asked():
    acid = LineInput(
        "acid", "sulfuric acid", "catalyst", density_g_per_mL=exact(1.84), fixed=Fixed(exact(6), "drops")
    )
    line = work_out([*acetylation(), acid], exact(50.0), "amount", "aniline").line("acid")
    assert (line.dispense_value.n, line.dispense_unit) == (6, "drops")
    assert line.volume_mL.n == pytest.approx(0.30)  # Ph. Eur. 2.1.1: 20 drops of water are 1 mL
    assert line.volume_mL.s > 0.05


def test_liquid_without_density_is_named_and_weighed():
    lines = acetylation(density_g_per_mL=None, dispense="volume")
    plan = work_out(lines, exact(50.0), "amount", "aniline")
    (problem,) = plan.problems
    assert problem.message == "no density for this lot of acetic anhydride: enter it or weigh instead"
    assert plan.line("anhydride").dispense_unit == "g"


def test_a_fixed_reactant_that_is_too_little_limits_and_says_so():
    lines = acetylation(equivalents=None, fixed=Fixed(exact(2.0), "volume"))
    plan = work_out(lines, exact(50.0), "amount", "aniline")
    assert plan.limiting_key == "anhydride"
    assert "fixed-limits" in [problem.code for problem in plan.problems]


def test_equivalents_count_from_the_line_named():
    lines = [reactant("a", "C6H7N", equivalents=exact(3)), reactant("b", "C4H6O3", equivalents=exact(1.2))]
    plan = work_out(lines, exact(10.0), "amount", "a", given_key="a")
    assert plan.line("b").amount_mmol.n == pytest.approx(12)


def test_two_bottles_on_one_line_add_up():
    (aniline, anhydride, *_), whole = acetylation(), exact(50.0)
    portions = [
        _with(anhydride, Fixed(exact(3.0), "volume"), exact(0.99)),
        _with(anhydride, Fixed(exact(2.0), "volume"), exact(0.90)),
    ]
    found = actual([_with(aniline, Fixed(whole, "amount"), exact(1)), *portions])
    by_hand = (3.0 * 0.99 + 2.0 * 0.90) * 1.082 / 102.089 * 1000
    assert found.amounts_mmol["anhydride"].n == pytest.approx(by_hand, rel=1e-4)


def test_actual_names_what_is_not_in_yet():
    aniline, anhydride, acetanilide, _ = acetylation()
    found = actual([_with(aniline, Fixed(exact(5.0), "mass"), exact(1)), anhydride, acetanilide])
    assert [problem.message for problem in found.problems] == [
        "acetic anhydride is not in yet: record what went in"
    ]


@pytest.mark.parametrize(
    ("change", "scale", "text"),
    [
        (
            {},
            (0, "mass", "aniline"),
            "The mass of aniline is 0\u00a0g: it must be above zero. Check the number.",
        ),
        (
            {},
            (5, "volume", "aniline"),
            "The scale is 5\u00a0mL of aniline, but no density for this lot of aniline is "
            "known: enter it or give the scale in mmol.",
        ),
        (
            {},
            (5, "mass", "toluene"),
            'The scale names the line "toluene", which is not in this plan: its lines are aniline, anhydride, acetanilide, acetic acid.',
        ),
        (
            {"fraction": exact(98)},
            (5, "mass", "aniline"),
            "The purity of acetic anhydride is 9800\u00a0%: it lies above 0 and not over 105\u00a0%. "
            "Give 98\u00a0% as 0.98.",
        ),
        (
            {"density_g_per_mL": exact(1082)},
            (5, "mass", "aniline"),
            "The density of acetic anhydride is 1082\u00a0g/mL: more than 22.7\u00a0g/mL is not believed. "
            "Check the unit.",
        ),
        (
            {"coefficient": Fraction(-1)},
            (5, "mass", "aniline"),
            "The coefficient of acetic anhydride is -1: it must be above zero. "
            "Say by its role on which side it stands.",
        ),
        (
            {"equivalents": exact(0)},
            (5, "mass", "aniline"),
            "The number of equivalents of acetic anhydride is 0\u00a0equiv: it must be above zero. "
            "Check the number.",
        ),
        (
            {"fixed": Fixed(exact(0.1), "volume per mmol")},
            (5, "mass", "aniline"),
            "acetic anhydride is a reactant given as volume per mmol: give equivalents, or a mass, "
            "volume or amount.",
        ),
        (
            {},
            (5, "temperature", "aniline"),
            'aniline is given as "temperature": give it as mass, volume, amount or drops.',
        ),
    ],
)
def test_refusals_name_value_and_way_out(change, scale, text):
    value, dimension, key = scale
    with pytest.raises(LabError) as refused:
        work_out(acetylation(**change), exact(value), dimension, key)
    assert str(refused.value) == text


def test_refuses_a_scale_on_a_line_that_nothing_follows():
    water = LineInput("water", "water", "solvent", molar_mass("H2O"), fixed=Fixed(exact(20), "mass"))
    with pytest.raises(LabError, match="The scale is given on water, but nothing in this plan follows it"):
        work_out([*acetylation(), water], exact(10), "mass", "water")


def test_refuses_two_lines_with_one_key():
    with pytest.raises(LabError, match=r'Two lines have the key "a": give each its own\.'):
        work_out([reactant("a", "H2"), reactant("a", "O2")], exact(1), "mass", "a")


def test_refuses_a_plan_without_reactants():
    with pytest.raises(LabError, match=r"No line is a reactant: mark at least one line as a reactant\."):
        work_out([product("p", "H2O")], exact(1), "mass", "p")


def _with(line: LineInput, fixed: Fixed, fraction: UFloat) -> LineInput:
    from dataclasses import replace

    return replace(line, fixed=fixed, fraction=fraction)
