"""Limiting reagents, yields, purity and titrations of a textbook."""

from fractions import Fraction

from batches.stoichiometry.lines import Fixed, LineInput
from batches.stoichiometry.plan import Actual, Plan, actual, work_out
from batches.stoichiometry.yields import percent_yield, theoretical_mass_g
from labstock.chemistry.amounts import amount_mmol, mass_g
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.solutions import titrated_mol_per_L
from labstock.chemistry.uncertain import UFloat, exact
from tests.checks.row import Check, near, same

YIELDS = "OpenStax, Chemistry 2e, Reaction Yields (m68714)"
REACTIONS = "OpenStax, Chemistry 2e, Reaction Stoichiometry (m68713)"
ANALYSIS = "OpenStax, Chemistry 2e, Quantitative Chemical Analysis (m68716)"


def molar_mass(formula: str) -> UFloat:
    """Return our molar mass [g/mol]."""
    return parse_formula(formula).molar_mass


def reacted(*reactants: tuple[int, str, float], product: tuple[int, str] | None = None) -> Actual:
    """Put masses [g] of reactants together."""
    lines = [
        LineInput(formula, formula, "reactant", molar_mass(formula), Fraction(nu), fixed=Fixed(exact(mass), "mass"))
        for nu, formula, mass in reactants
    ]  # fmt: skip
    if product:
        lines.append(
            LineInput(product[1], product[1], "product", molar_mass(product[1]), Fraction(product[0]))
        )
    return actual(lines)


def needed_g(have: tuple[int, str, float], want: tuple[int, str]) -> float:
    """Return the mass of one substance that belongs to a mass of another [g]."""
    nu, formula, mass = have
    limiting = amount_mmol(mass, molar_mass(formula))
    return float(theoretical_mass_g(limiting, Fraction(want[0], nu), molar_mass(want[1])).n)


def yield_percent(charged: tuple[str, float], product: tuple[str, float], ratio: Fraction | int = 1) -> float:
    """Return a percent yield [%] from two masses [g]."""
    limiting = amount_mmol(charged[1], molar_mass(charged[0]))
    return float(percent_yield(product[1], 1, limiting, ratio, molar_mass(product[0])).n)


def _nitride() -> Actual:
    return reacted((3, "Si", 2.00), (2, "N2", 1.50), product=(1, "Si3N4"))


def _nitride_mol() -> float:
    theory = _nitride().theoretical_mass_g
    assert theory is not None
    return float((theory / molar_mass("Si3N4")).n)


def _iodide() -> Plan:
    copper = LineInput(
        "Cu(NO3)2",
        "copper nitrate",
        "reactant",
        coefficient=Fraction(2),
        concentration_mol_per_L=exact(0.3842),
    )
    iodide = LineInput("KI", "potassium iodide", "reactant", coefficient=Fraction(4), concentration_mol_per_L=exact(0.2089))  # fmt: skip
    return work_out([copper, iodide], exact(43.88), "volume", "Cu(NO3)2")


def _sandwiches() -> Actual:
    cheese = LineInput(
        "cheese", "cheese", "reactant", coefficient=Fraction(1), fixed=Fixed(exact(11), "amount")
    )
    bread = LineInput("bread", "bread", "reactant", coefficient=Fraction(2), fixed=Fixed(exact(28), "amount"))
    return actual([cheese, bread])


def _bread_left() -> float:
    found = _sandwiches()
    assert found.limiting_amount_mmol is not None
    return float((found.amounts_mmol["bread"] - 2 * found.limiting_amount_mmol).n)


def _sulfate_percent() -> float:
    sulfate = amount_mmol(0.6168, molar_mass("BaSO4"))
    return float(mass_g(sulfate, molar_mass("MgSO4")).n / 0.4550 * 100)


CHECKS: list[Check] = [
    same("2.1", "silicon limits, 2.00 g with 1.50 g N2", "Si", lambda: _nitride().limiting_key, YIELDS),
    near("2.1", "amount of silicon", 0.0712, 0.00005, lambda: _nitride().amounts_mmol["Si"].n / 1000, YIELDS, "mol"),
    near("2.1", "amount of nitrogen", 0.0535, 0.00005, lambda: _nitride().amounts_mmol["N2"].n / 1000, YIELDS, "mol"),
    near("2.1", "amount of nitride", 0.0237, 0.00005, _nitride_mol, YIELDS, "mol"),
    near("2.2", "copper from 1.274 g CuSO4, theory", 0.5072, 0.0001, lambda: needed_g((1, "CuSO4", 1.274), (1, "Cu")), YIELDS, "g"),
    near("2.2", "copper, percent yield", 77.3, 0.06, lambda: yield_percent(("CuSO4", 1.274), ("Cu", 0.392)), YIELDS, "%"),
    near("2.3", "CF2Cl2 from 32.9 g CCl4", 48.3, 0.06, lambda: yield_percent(("CCl4", 32.9), ("CF2Cl2", 12.5)), YIELDS, "%"),
    near("2.4", "benzoic acid from 1.000 kg toluene", 91.3, 0.06, lambda: yield_percent(("C7H8", 1000), ("C7H6O2", 1210)), YIELDS, "%"),
    same("2.5", "oxygen limits, 5.00 g H2 with 10.0 g", "O2", lambda: reacted((2, "H2", 5.00), (1, "O2", 10.0)).limiting_key, YIELDS),
    same("2.6", "chromium limits, 0.50 mol with 0.75 mol H3PO4", "Cr", lambda: reacted((2, "Cr", 0.50 * 51.9961), (2, "H3PO4", 0.75 * 97.994)).limiting_key, YIELDS),
    near("2.7", "NaOH for 16 g Mg(OH)2", 22, 0.5, lambda: needed_g((1, "Mg(OH)2", 16), (2, "NaOH")), REACTIONS, "g"),
    near("2.8", "Ga2O3 from 29.0 g gallium", 39.0, 0.05, lambda: needed_g((4, "Ga", 29.0), (2, "Ga2O3")), REACTIONS, "g"),
    near("2.9", "oxygen for 702 g octane", 2460, 5, lambda: needed_g((2, "C8H18", 702), (25, "O2")), REACTIONS, "g"),
    near("2.10", "CO for 25.13 g Fe2O3", 13.22, 0.01, lambda: needed_g((1, "Fe2O3", 25.13), (3, "CO")), REACTIONS, "g"),
    near("2.11", "TiO2 from 379 g ore with 88.3 % ilmenite", 176, 0.5, lambda: needed_g((2, "FeTiO3", 379 * 0.883), (2, "TiO2")), REACTIONS, "g"),
    near("2.12", "SiO2 for 3.00 kg SiC", 4500, 6, lambda: needed_g((1, "SiC", 3000), (1, "SiO2")), REACTIONS, "g"),
    near("2.13", "0.2089 M KI for 43.88 mL of 0.3842 M Cu(NO3)2", 161.4, 0.05, lambda: _iodide().line("KI").volume_mL.n, REACTIONS, "mL"),
    near("2.14", "MgSO4 in a mixture, from its BaSO4", 69.91, 0.01, _sulfate_percent, ANALYSIS, "%"),
    near("2.15", "oxalic acid by 0.09113 M KMnO4", 0.2648, 0.0002, lambda: titrated_mol_per_L(0.09113, 23.24, 20.00, 5 / 2).n, ANALYSIS, "mol/L"),
    near("2.16", "sandwiches from 11 cheese and 28 bread", 11, 1e-9, lambda: _sandwiches().limiting_amount_mmol.n, YIELDS),
    near("2.16", "slices of bread left over", 6, 1e-9, _bread_left, YIELDS),
]  # fmt: skip
