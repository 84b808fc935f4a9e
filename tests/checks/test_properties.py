"""What holds for every sum, whatever its numbers: units there and back, conservation, scaling, doubt that never shrinks."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as some

from batches.stoichiometry.green import atom_economy_percent, e_factor, process_mass_intensity
from batches.stoichiometry.isolation import mass_balance, recovery
from batches.stoichiometry.lines import Fixed, LineInput
from batches.stoichiometry.plan import actual
from batches.stoichiometry.quench import Quench, plan_quench
from batches.stoichiometry.yields import percent_yield
from labstock.chemistry.amounts import amount_mmol, mass_g, mass_of_volume_g, volume_mL
from labstock.chemistry.equation import Equation, Species, balance, imbalance, totals
from labstock.chemistry.formula import Formula, parse_formula
from labstock.chemistry.moisture import extra_base_mmol, fraction_after_water
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.solutions import diluted_mol_per_L, stock_volume_mL
from labstock.chemistry.uncertain import budget, exact, normal
from labstock.chemistry.units import UNITS

sizes = some.floats(1e-3, 1e3)
fractions = some.floats(0.05, 1.0)
doubts = some.floats(0, 0.2)
more = some.floats(1e-4, 0.2)
FORMULAE = [
    "C6H7N",
    "C4H6O3",
    "C8H9NO",
    "C2H4O2",
    "H2O",
    "CO2",
    "O2",
    "NaOH",
    "CuSO4·5H2O",
    "NH4^+",
    "SO4^2-",
]
formulae = some.sampled_from(FORMULAE).map(parse_formula)


@given(some.decimals("0.001", "1e3", places=3), some.sampled_from(sorted(UNITS)), some.data())
def test_a_quantity_goes_to_any_unit_and_comes_back(value: Decimal, symbol: str, data):
    start = UNITS[symbol]
    assume(not start.is_counted)
    other = data.draw(
        some.sampled_from(sorted(name for name, unit in UNITS.items() if start.converts_to(unit)))
    )
    typed = parse_quantity(f"{value} {symbol}")
    assert typed.to(other).in_unit(symbol) == pytest.approx(value, rel=Decimal("1e-30"))


@given(sizes, sizes, fractions)
def test_mass_to_amount_and_back_is_the_mass(mass: float, molar_mass: float, purity: float):
    there = amount_mmol(mass, molar_mass, purity)
    assert mass_g(there, molar_mass, purity).n == pytest.approx(mass)


@given(sizes, some.floats(0.3, 20))
def test_volume_to_mass_and_back_is_the_volume(volume: float, density: float):
    assert volume_mL(mass_of_volume_g(volume, density), density).n == pytest.approx(volume)


@given(some.floats(0.1, 10), some.floats(0.01, 0.99), sizes)
def test_a_dilution_keeps_the_amount(stock: float, share: float, volume: float):
    taken = stock_volume_mL(stock, stock * share, volume)
    assert (taken * stock).n == pytest.approx(stock * share * volume)
    assert diluted_mol_per_L(stock, taken, volume).n == pytest.approx(stock * share)


@given(some.lists(formulae, min_size=2, max_size=6, unique_by=lambda each: each.hill), some.integers(1, 5))
def test_whatever_balances_conserves_atoms_and_charge(chosen: list[Formula], cut: int):
    assume(cut < len(chosen))
    equation = Equation(tuple(map(Species, chosen[:cut])), tuple(map(Species, chosen[cut:])))
    found = balance(equation)
    if found.coefficients:
        assert imbalance(equation.with_coefficients(found.coefficients)) == []


@given(formulae, some.integers(1, 9))
def test_n_times_a_formula_holds_n_times_its_atoms(formula: Formula, count: int):
    one, many = totals([(formula, Fraction(1))]), totals([(formula, Fraction(count))])
    assert many == {element: number * count for element, number in one.items()}


@given(sizes, sizes, some.floats(0.2, 5), fractions, fractions)
def test_a_yield_is_at_most_all_when_mass_balances(
    first: float, second: float, ratio: float, purity: float, part: float
):
    """A + B → P with the mass of P the sum of both: whatever forms, no more than theory comes out."""
    a, b = 60.0 * ratio, 90.0
    lines = [
        LineInput("a", "A", "reactant", exact(a), fixed=Fixed(exact(first), "mass"), fraction=exact(purity)),
        LineInput("b", "B", "reactant", exact(b), fixed=Fixed(exact(second), "mass")),
        LineInput("p", "P", "product", exact(a + b)),
    ]
    found = actual(lines)
    assert found.theoretical_mass_g is not None
    assert found.limiting_amount_mmol is not None
    assert found.theoretical_mass_g.n <= (first * purity + second) * (1 + 1e-9)
    made = found.theoretical_mass_g * part
    assert percent_yield(made, 1, found.limiting_amount_mmol, 1, a + b).n <= 100 * (1 + 1e-9)


@example(masses=[1.018443536377731, 211.98008498883684], part=1.0, factor=77.5)  # floats round
@given(some.lists(sizes, min_size=1, max_size=6), fractions, some.floats(0.01, 100))
def test_green_figures_do_not_depend_on_the_scale(masses: list[float], part: float, factor: float):
    small = {str(i): mass for i, mass in enumerate(masses)}
    large = {name: mass * factor for name, mass in small.items()}
    product = sum(masses) * part
    assert process_mass_intensity(large, product * factor).n == pytest.approx(
        process_mass_intensity(small, product).n
    )
    assert e_factor(small, product).n == pytest.approx(process_mass_intensity(small, product).n - 1)


@given(some.lists(sizes, min_size=1, max_size=4), some.lists(sizes, min_size=1, max_size=4))
def test_all_products_together_have_all_the_atoms(wanted: list[float], others: list[float]):
    out = [(mass, 1) for mass in wanted + others]
    whole = [(sum(wanted) + sum(others), 1)]
    assert atom_economy_percent(out, whole).n == pytest.approx(100)
    assert atom_economy_percent(out[: len(wanted)], whole).n <= 100 * (1 + 1e-9)


@given(sizes, sizes, some.floats(0.01, 5), some.floats(1.01, 50))
def test_recrystallising_makes_no_mass(mass: float, solvent: float, cold: float, factor: float):
    found = recovery(mass, solvent, cold * factor, cold)
    assert found.recovered_g.n + found.lost_g.n == pytest.approx(mass)
    assert mass_balance(
        {"in": mass}, {"crystals": found.recovered_g, "liquor": found.lost_g}
    ).percent.n == pytest.approx(0, abs=1e-9)


@given(some.floats(0.5, 1.0), some.floats(0, 0.02), some.floats(60, 300))
def test_the_acid_formed_is_the_water_that_came_in(fraction: float, water: float, molar_mass: float):
    """An anhydride takes one water and makes two acid groups: what extra base is asked for follows from the purity alone."""
    assume(fraction > water * molar_mass / 18.015 + 0.01)
    now = fraction_after_water(fraction, water, molar_mass)
    dispensed = 10.0
    acid = extra_base_mmol(dispensed, fraction, now, molar_mass).n
    assert acid == pytest.approx(2 * dispensed * water / (1 + water) / 18.015 * 1000, rel=1e-6, abs=1e-6)


@given(sizes, doubts, more)
def test_doubt_of_an_amount_never_shrinks(mass: float, u: float, extra: float):
    calm, wild = (
        amount_mmol(normal(mass, doubt * mass), 102.089, normal(0.98, 0.004)) for doubt in (u, u + extra)
    )
    assert wild.s > calm.s


@given(doubts, more, doubts)
def test_doubt_of_a_yield_never_shrinks_whatever_input_gets_worse(u: float, extra: float, other: float):
    def found(product: float, purity: float) -> float:
        limiting = amount_mmol(normal(5, 0.02), 93.129, normal(0.99, 0.99 * purity))
        return float(percent_yield(normal(5.6, 5.6 * product), 1, limiting, 1, 135.166).s)

    assert found(u + extra, other) > found(u, other)
    assert found(other, u + extra) > found(other, u)


@given(some.floats(1, 500), some.floats(0, 50), some.floats(0.01, 50))
def test_more_doubt_makes_every_figure_of_a_quench_larger(amount: float, u: float, extra: float):
    calm, wild = (
        plan_quench(
            Quench(
                "108-24-7",
                "acetic anhydride",
                normal(amount, doubt),
                exact(102.09),
                exact(1.082),
                cooling_W=20,
            )
        )
        for doubt in (u, u + extra)
    )
    assert wild.water_needed_g > calm.water_needed_g
    assert wild.heat_kJ > calm.heat_kJ
    assert (wild.dosing_min or 0) > (calm.dosing_min or 0)
    assert wild.vessel_mL >= calm.vessel_mL


@given(some.lists(some.floats(0.01, 5), min_size=2, max_size=6))
def test_the_shares_of_a_budget_add_up_to_all_of_it(us: list[float]):
    inputs = [normal(10.0 + i, u, f"input {i}") for i, u in enumerate(us)]
    product = exact(1.0)
    for each in inputs:
        product = product * each
    assert sum(line.share for line in budget(product)) == pytest.approx(1)
