"""Atom economy, E factor, mass intensity."""

from fractions import Fraction

from batches.stoichiometry.green import (
    atom_economy_percent,
    e_factor,
    process_mass_intensity,
    reaction_mass_efficiency_percent,
    stoichiometric_factor,
)
from batches.stoichiometry.yields import percent_yield
from labstock.chemistry.amounts import amount_mmol
from labstock.chemistry.equation import parse_equation
from labstock.chemistry.formula import parse_formula
from tests.checks.row import Check, near

YIELDS = "OpenStax, Chemistry 2e, Reaction Yields (m68714)"
COMPUTED = "arithmetic on CIAAW weights"
SCHOOL = "school value, from memory"


def economy_percent(text: str, *wanted: str) -> float:
    """Return the atom economy of an equation [%]."""
    equation = parse_equation(text)
    left = [(s.formula.molar_mass, s.coefficient or Fraction(1)) for s in equation.left]
    right = [
        (s.formula.molar_mass, s.coefficient or Fraction(1)) for s in equation.right if s.label in wanted
    ]
    return float(atom_economy_percent(right, left).n)


def _identities() -> tuple[float, float]:
    """PMI - E, and RME against atom economy times yield over the excess; both should vanish."""
    acid, anhydride, aspirin = (parse_formula(each).molar_mass for each in ("C7H6O3", "C4H6O3", "C9H8O4"))
    used = {"salicylic acid": 5.00, "acetic anhydride": 7.20}
    limiting = amount_mmol(5.00, acid)
    asked = {"salicylic acid": 5.00, "acetic anhydride": float((limiting * anhydride / 1000).n)}
    economy = atom_economy_percent([(aspirin, 1)], [(acid, 1), (anhydride, 1)]).n / 100
    part = percent_yield(5.10, 1, limiting, 1, aspirin).n / 100
    efficiency = reaction_mass_efficiency_percent(used, 5.10).n / 100
    by_parts = economy * part / stoichiometric_factor(used, asked).n
    return float(process_mass_intensity(used, 5.10).n - e_factor(used, 5.10).n), float(efficiency - by_parts)


def _efficiency_both_ways() -> float:
    """RME by masses less RME by moles, for equal coefficients [%]."""
    ratio, part = 1.8, 0.83
    acid, anhydride, aspirin = (parse_formula(each).molar_mass.n for each in ("C7H6O3", "C4H6O3", "C9H8O4"))
    by_moles = 100 * aspirin * part / (acid + anhydride * ratio)
    masses = {"acid": acid * 0.02, "anhydride": anhydride * 0.02 * ratio}
    return float(reaction_mass_efficiency_percent(masses, aspirin * 0.02 * part).n - by_moles)


CHECKS: list[Check] = [
    near("4.1", "ibuprofen, six steps, 514.99 g of reactants", 40, 0.5, lambda: atom_economy_percent([(parse_formula("C13H18O2").molar_mass, 1)], [(514.99, 1)]).n, YIELDS, "%"),
    near("4.2", "ibuprofen, three steps, acetic acid not counted", 77, 0.5, lambda: economy_percent("C10H14 + C4H6O3 + H2 + CO -> C13H18O2 + C2H4O2", "C13H18O2"), "common teaching value, from memory", "%"),
    near("4.2", "the same with acetic acid as a product", 99.5, 0.51, lambda: economy_percent("C10H14 + C4H6O3 + H2 + CO -> C13H18O2 + C2H4O2", "C13H18O2", "C2H4O2"), "published 99 %, 100 % by conservation", "%"),
    near("4.3", "aspirin", 75, 0.05, lambda: economy_percent("C7H6O3 + C4H6O3 -> C9H8O4 + C2H4O2", "C9H8O4"), "open teaching page (delocalised.com/atom-economy)", "%"),
    near("4.4", "paracetamol", 71.57, 0.01, lambda: economy_percent("C6H7NO + C4H6O3 -> C8H9NO2 + C2H4O2", "C8H9NO2"), COMPUTED, "%"),
    near("4.5", "acetanilide", 69.24, 0.01, lambda: economy_percent("C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "C8H9NO"), COMPUTED, "%"),
    near("4.6", "hydrogen from methane and steam", 15.49, 0.05, lambda: economy_percent("CH4 + 2 H2O -> CO2 + 4 H2", "H2"), SCHOOL, "%"),
    near("4.7", "ethanol by fermentation", 51.14, 0.05, lambda: economy_percent("C6H12O6 -> 2 C2H5OH + 2 CO2", "C2H5OH"), SCHOOL, "%"),
    near("4.8", "iron from its oxide", 45.83, 0.05, lambda: economy_percent("Fe2O3 + 3 CO -> 2 Fe + 3 CO2", "Fe"), SCHOOL, "%"),
    near("4.9", "mass efficiency by masses and by moles, difference", 0, 1e-9, _efficiency_both_ways, "Green Chem. 4 (2002) 521 (the two forms)", "%"),
    near("4.10", "mass intensity less E factor", 1, 1e-9, lambda: _identities()[0], "Green Chem. 9 (2007) 1273, from memory"),
    near("4.10", "mass efficiency less economy · yield / excess", 0, 1e-9, lambda: _identities()[1], "Green Chem. 10 (2008), from memory"),
    near("4.11", "1-bromobutane (not the misprinted 50.15)", 49.81, 0.02, lambda: economy_percent("C4H9OH + NaBr + H2SO4 -> C4H9Br + NaHSO4 + H2O", "C4H9Br"), "Chemistry and Chemical Reactivity, ch. 4 no. 119", "%"),
]  # fmt: skip
