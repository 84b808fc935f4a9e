"""Refusals of the pure code outside the reader of quantities: each names the value, the reason and the way out."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from batches.retained.ages import age_between, age_range
from batches.retained.edtf import read_edtf
from batches.retained.shelf_life import shelf_life
from batches.stoichiometry.green import atom_economy_percent, process_mass_intensity
from batches.stoichiometry.isolation import MeltingRange, loss_on_drying, mass_balance, recovery
from batches.stoichiometry.lines import Dimension, LineInput, Plan
from batches.stoichiometry.plan import work_out
from batches.stoichiometry.quench import Quench, left_mmol, plan_quench, vessel_mL
from batches.stoichiometry.yields import percent_yield
from labstock.chemistry.amounts import (
    amount_mmol,
    density_at,
    mass_fraction,
    volume_mL,
    water_density_g_per_mL,
)
from labstock.chemistry.devices import device
from labstock.chemistry.equation import accept, complete, parse_equation
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.moisture import (
    Exposure,
    absolute_humidity_mg_per_L,
    fraction_after_water,
    moisture_class,
    water_taken_up_g,
)
from labstock.chemistry.purity import Claim, effective
from labstock.chemistry.regression import straight_line
from labstock.chemistry.solutions import diluted_by_mass_g, diluted_mol_per_L, stock_volume_mL
from labstock.chemistry.structure import canonical_smiles
from labstock.chemistry.thermochemistry import formation, reaction_enthalpy_kJ_per_mol
from labstock.chemistry.uncertain import coverage_factor, exact, normal, rectangle
from tests.chemistry.test_quantities import REFUSALS as QUANTITY_REFUSALS

A = LineInput("a", "aniline", "reactant", exact(93.13), fraction=exact(0.99))
P = LineInput("p", "acetanilide", "product", exact(135.17))
TODAY = date(2026, 11, 25)
QUENCH = Quench("108-24-7", "acetic anhydride", exact(10), exact(102.09), exact(1.082))


def plan(
    *lines: LineInput,
    scale: float = 5.0,
    dimension: Dimension = "mass",
    key: str = "a",
    given: str | None = None,
) -> Plan:
    return work_out(lines, exact(scale), dimension, key, given)


REFUSALS: list[tuple[Callable[[], object], str]] = [
    (lambda: parse_formula(""), 'The formula is empty: write one, for instance C4H6O3.'),
    (lambda: parse_formula("C4H6Xx"), "'Xx' is no element (character 5 of 'C4H6Xx'): did you mean Xe?"),
    (lambda: parse_formula("C(H3"), "'C(H3': the bracket '(' is not closed: add ')'."),
    (lambda: parse_formula("CH3)"), "'CH3)' closes a bracket ')' that was never opened: drop it."),
    (lambda: parse_formula("CuSO4·xH2O"), "'CuSO4·xH2O': 'x' is no number. Enter the count from the label or a certificate, or leave the water out and put it in the purity."),
    (lambda: parse_formula("acetic anhydride"), "'acetic anhydride' looks like a name, and a formula is wanted: write it, for instance C4H6O3, or choose the substance."),
    (lambda: parse_formula("VO2+"), "'VO2+' can be read as VO2^+ or as VO^2+: write the one you mean, with '^' before the charge."),
    (lambda: parse_formula("Tc").molar_mass, 'Tc has no standard atomic weight (no stable isotopes), so no molar mass follows: enter the molar mass by hand.'),
    (lambda: parse_formula("C" * 600), 'This formula has 600 characters and 500 are the most: check what was pasted.'),
    (lambda: parse_equation("C2H6 + O2"), "'C2H6 + O2' has no arrow between what goes in and what comes out: write exactly one '->', for instance C6H7N + C4H6O3 -> C8H9NO + C2H4O2."),
    (lambda: parse_equation("H2 -> O2 -> H2O"), "'H2 -> O2 -> H2O' has 2 arrows between what goes in and what comes out: write exactly one '->', for instance C6H7N + C4H6O3 -> C8H9NO + C2H4O2."),
    (lambda: parse_equation("0 H2 + O2 -> H2O"), "'0 H2' has the coefficient 0: a coefficient is a number above zero. Leave the substance out, or leave the coefficient out."),
    (lambda: accept(parse_equation("H2 + O2 -> H2O")), 'H2 + O2 → H2O does not conserve O: 2 on the left, 1 on the right. One balance: 2 H2 + O2 → 2 H2O.'),
    (lambda: accept(parse_equation("MnO4^- + Fe^2+ + 8 H^+ -> Mn^2+ + Fe^3+ + 4 H2O")), 'MnO4^- + Fe^2+ + 8 H^+ → Mn^2+ + Fe^3+ + 4 H2O does not conserve charge: +9 on the left, +5 on the right. One balance: MnO4^- + 5 Fe^2+ + 8 H^+ → Mn^2+ + 5 Fe^3+ + 4 H2O.'),
    (lambda: complete(parse_equation("2 KMnO4 + H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O")), '2 KMnO4 + H2O2 + H2SO4 → K2SO4 + MnSO4 + O2 + H2O: the coefficients given leave the others open. Give one more.'),
    (lambda: plan(P), 'No line is a reactant: mark at least one line as a reactant.'),
    (lambda: plan(A, A), 'Two lines have the key "a": give each its own.'),
    (lambda: plan(A, P, scale=0), 'The mass of aniline is 0 g: it must be above zero. Check the number.'),
    (lambda: plan(A, P, scale=5e12), 'The mass of aniline is 5e+12 g: more than 1e+09 g is not believed. Check the unit.'),
    (lambda: plan(A, P, key="z"), 'The scale names the line "z", which is not in this plan: its lines are a, p.'),
    (lambda: plan(A, P, dimension="volume"), 'The scale is 5 mL of aniline, but no density for this lot of aniline is known: enter it or give the scale in mmol.'),
    (lambda: plan(A, P, given="p"), 'Equivalents cannot be counted from acetanilide, a product: choose a reactant.'),
    (lambda: plan(LineInput("a", "aniline", "reactant", exact(93.13), fraction=exact(98)), P), 'The purity of aniline is 9800 %: it lies above 0 and not over 105 %. Give 98 % as 0.98.'),
    (lambda: plan(LineInput("a", "aniline", "reactant", exact(93.13), Fraction(-1)), P), 'The coefficient of aniline is -1: it must be above zero. Say by its role on which side it stands.'),
    (lambda: plan(LineInput("a", "aniline", "reactant"), P), 'The scale is 5 g of aniline, but its molar mass is not known: enter its formula, or give the scale in mmol.'),
    (lambda: plan(A, LineInput("b", "acid", "reactant", concentration_mol_per_L=exact(100)), P), 'The concentration of acid is 100 mol/L: more than 60 mol/L is not believed. Check the unit.'),
    (lambda: amount_mmol(-1, 93.13), 'The mass is -1 g: it must be above zero. Check the number.'),
    (lambda: mass_fraction(98), 'The purity is 9800 %: it lies above 0 and not over 105 %. Give 98 % as 0.98.'),
    (lambda: volume_mL(5, 1082), 'The density is 1082 g/mL: more than 22.7 g/mL is not believed. Check the unit.'),
    (lambda: density_at(1.08, 200), 'The density is known at 20 °C and wanted at 200 °C: that is too far to carry it over. Enter a density nearer to 200 °C.'),
    (lambda: water_density_g_per_mL(95), 'Water at 95 °C is outside the formula (0 to 40 °C): enter its density.'),
    (lambda: stock_volume_mL(1, 2, 100), '2 mol/L is wanted and the stock has 1 mol/L: diluting cannot make it stronger. Take a stronger stock.'),
    (lambda: diluted_mol_per_L(1, 100, 50), '100 mL of stock made up to 50 mL is no dilution: swap the two volumes.'),
    (lambda: diluted_by_mass_g(0.1, 0.5, 100), '50 % is wanted and the stock has 10 %: diluting cannot make it stronger. Take a stronger stock.'),
    (lambda: Claim("at least", 40), '≥ 40 % says almost nothing (anything up to 100 %): write 98 for 98 %, or enter the concentration of a solution in mol/L.'),
    (lambda: Claim("certificate", 120), 'A purity of 120 % cannot be: it lies above 0 and not over 105 %. Correct the number.'),
    (lambda: Claim("assay"), 'The kind "assay" needs a number in %: enter it, or choose "unknown".'),
    (lambda: Claim("about", 98), 'A purity of the kind "about" is not known: choose one of certificate, assay, at least, nominal, unknown.'),
    (lambda: Claim("assay", 98, basis="v/v"), 'A purity in % v/v is not a mass fraction: give it w/w, or enter the concentration in mol/L.'),
    (lambda: effective([Claim("unknown")]), 'No valid purity is on record for this lot: enter what the label or certificate says, measure it, or choose to take it as pure.'),
    (lambda: moisture_class("Grignard reagent"), 'There is no moisture model for Grignard reagent: measure the purity or the titre. Models exist for anhydride, acyl halide, sulfonyl halide, hydride.'),
    (lambda: fraction_after_water(0.99, 0.5, 102.09), '50.0 % of water is enough to destroy all of it: measure the purity before use.'),
    (lambda: absolute_humidity_mg_per_L(20, 120), 'A relative humidity of 120 % cannot be: it lies between 0 and 100 %. Read the hygrometer again.'),
    (lambda: water_taken_up_g(Exposure(-1, 100, 1)), 'The number of openings is -1: it cannot be below zero. Correct it, or leave it at 0.'),
    (lambda: water_taken_up_g(Exposure(1, 100, 1, cap="loose")), 'The cap "loose" is not known: choose one of good, worn, sealed.'),
    (lambda: formation("paracetamol"), 'no thermochemistry for paracetamol: ask'),
    (lambda: reaction_enthalpy_kJ_per_mol({"acetic anhydride": 1}, {"acetic acid": 2}), 'The equation does not conserve H, O: balance it first, a heat of it would mean nothing.'),
    (lambda: plan_quench(replace(QUENCH, left_mmol=exact(0))), 'By mass balance nothing of acetic anhydride is left (0 mmol): test the mixture before you take it as quenched.'),
    (lambda: plan_quench(replace(QUENCH, neutraliser="lime")), 'no thermochemistry for lime as a neutraliser: ask, or take sodium hydroxide or sodium hydrogen carbonate or sodium carbonate'),
    (lambda: left_mmol(0), 'The amount charged is 0 mmol: it must be above zero. Check the number.'),
    (lambda: vessel_mL(9000), '9000 mL needs a vessel of 27000 mL, larger than 20000 mL: quench in portions.'),
    (lambda: percent_yield(-1, 1, 50, 1, 135.17), 'The mass of product is -1 g: it cannot be below zero. Check the tare.'),
    (lambda: percent_yield(1, 1, 50, 0, 135.17), 'A ratio of coefficients of 0 cannot be: both coefficients are above zero. Correct the equation.'),
    (lambda: atom_economy_percent([(200, 1)], [(100, 1)]), 'An atom economy of 200.0 % cannot be: the equation does not conserve mass. Check the coefficients.'),
    (lambda: process_mass_intensity({"a": 1.0}, 2.0), '2 g of product from 1 g put in cannot be: an input is missing, or the product is wet.'),
    (lambda: recovery(5, 100, 0.5, 5), 'The solubility cold (5 g/100 mL) is not below the one hot (0.5 g/100 mL): swap them or take another solvent.'),
    (lambda: loss_on_drying(20.0, 20.5, 19.0), 'It weighs 20.5 g dry and 20 g wet: swap the two, or weigh it again once cold.'),
    (lambda: mass_balance({"a": -1}, {}), 'The mass of a is -1 g: it cannot be below zero. Check the tare.'),
    (lambda: MeltingRange(120, 110), 'A melting range of 120 to 110 °C cannot be: give the first drop, then the clear melt, between -200 and 1000 °C.'),
    (lambda: read_edtf("1934-13"), 'there is no month 13 (in 1934-13): months run from 01 to 12 and seasons from 21 (spring) to 24 (winter).'),
    (lambda: read_edtf("193u"), "'193u' is the old spelling: write 193X."),
    (lambda: read_edtf("1936/1931"), "the interval '1936/1931' ends before it starts: write 1931/1936, or correct the year."),
    (lambda: read_edtf("12.11.1894"), "'12.11.1894' is not EDTF: write 1894-11-12."),
    (lambda: age_between(date(2030, 1, 1), TODAY), 'no age on 25 November 2026: the date 1 January 2030 lies after it. Correct one of the two days.'),
    (lambda: age_range(read_edtf("2050"), TODAY), 'the date 2050 (2050) lies after 25 November 2026: a sample cannot be made later than that. Correct the date.'),
    (lambda: shelf_life({"A": [(0, 100.0), (3, 99.0)]}, 95), 'not enough: batch A has 2 of the 3 points a line with limits needs. Measure again later, or leave the batch out.'),
    (lambda: shelf_life({"A": [(0, 100.0), (0, 99.0), (0, 98.0)]}, 95), 'all 3 points of batch A were measured at month 0: measure again later.'),
    (lambda: shelf_life({}, 95), 'no measured values are given: enter at least three for each batch.'),
    (lambda: normal(5, -1), 'An uncertainty of -1 is below zero: give its size, 0 or more.'),
    (lambda: rectangle(100, 98), 'The lower limit 100 lies above the upper limit 98: swap them.'),
    (lambda: coverage_factor(0.5), 'A confidence of 0.95 with 0.5 degrees of freedom cannot be worked out: give a confidence between 0 and 1 and at least 1 degree of freedom.'),
    (lambda: straight_line([1, 2], [1, 2]), '2 settings with 2 values are not enough for a line with uncertainty: give at least three points, each with both figures.'),
    (lambda: device("bucket"), "'bucket' is not a measuring device known here: pick one of the list."),
    (lambda: device("by-eye").uncertainty(20), '20 mL by eye, from the level cannot be given a doubt without the capacity of the vessel: enter the capacity.'),
    (lambda: device("balance-0.1mg").uncertainty(500), '500 g is more than the 0.1 mg analytical balance takes (220 g): use a larger balance.'),
    (lambda: canonical_smiles("C1CC"), "'C1CC' is no readable SMILES: a ring number is opened and not closed. Correct it, or leave the structure out and enter the formula."),
]  # fmt: skip


@pytest.mark.parametrize(("act", "text"), REFUSALS, ids=[text[:40] for _, text in REFUSALS])
def test_refuses_and_says_what_would_be_right(act: Callable[[], object], text: str):
    with pytest.raises(LabError) as refusal:
        act()
    assert str(refusal.value).replace("\u00a0", " ") == text


def test_there_are_enough_of_them():
    assert len(REFUSALS) + len(QUANTITY_REFUSALS) >= 100
    assert len({text for _, text in REFUSALS}) == len(REFUSALS)
