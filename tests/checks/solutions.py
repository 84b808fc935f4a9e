"""Commercial acids, dilutions, solutions by mass."""

from labstock.chemistry.formula import parse_formula
from labstock.chemistry.solutions import (
    concentration_mol_per_L,
    diluted_by_mass_g,
    diluted_mol_per_L,
    diluted_volume_mL,
    mass_for_solution_g,
    stock_volume_mL,
    strength_mol_per_L,
)
from labstock.chemistry.uncertain import UFloat
from tests.checks.row import Check, near

BOTTLES = "OpenStax, Chemistry 2e, appendix F, Composition of Commercial Acids and Bases (m68864); ± 0.7 %"
MOLARITY = "OpenStax, Chemistry 2e, Molarity (m68703)"
OTHER_UNITS = "OpenStax, Chemistry 2e, Other Units for Solution Concentrations (m68704)"


def molar_mass(formula: str) -> UFloat:
    """Return our molar mass [g/mol]."""
    return parse_formula(formula).molar_mass


ACIDS = (
    ("5.1", "glacial acetic acid", "C2H4O2", 1.05, 0.995, 17.4),
    ("5.2", "aqueous ammonia", "NH3", 0.90, 0.28, 14.8),
    ("5.3", "hydrochloric acid", "HCl", 1.18, 0.36, 11.6),
    ("5.4", "nitric acid", "HNO3", 1.42, 0.71, 16.0),
    ("5.5", "perchloric acid", "HClO4", 1.67, 0.70, 11.65),
    ("5.6", "phosphoric acid", "H3PO4", 1.70, 0.85, 14.7),
    ("5.7", "sodium hydroxide", "NaOH", 1.53, 0.50, 19.1),
    ("5.8", "sulfuric acid", "H2SO4", 1.84, 0.96, 18.0),
)

CHECKS: list[Check] = [
    *(
        near(number, f"{name}, {100 * w:g} %, {d} g/mL", printed, round(0.007 * printed, 3), lambda w=w, d=d, f=formula: strength_mol_per_L(w, d, molar_mass(f)).n, BOTTLES, "mol/L")
        for number, name, formula, d, w, printed in ACIDS
    ),
    near("5.9", "HCl in 0.500 L of 37.2 %, 1.19 g/mL", 221, 0.5, lambda: (strength_mol_per_L(0.372, 1.19, molar_mass("HCl")) * 0.5 * molar_mass("HCl")).n, OTHER_UNITS, "g"),
    near("5.9", "volume of it that holds 125 g HCl", 282, 0.5, lambda: (125 / molar_mass("HCl") / strength_mol_per_L(0.372, 1.19, molar_mass("HCl")) * 1000).n, OTHER_UNITS, "mL"),
    near("5.10", "68.0 % HNO3 for 400.0 g of 10.0 %", 58.8, 0.05, lambda: diluted_by_mass_g(0.680, 0.100, 400.0).n, OTHER_UNITS, "g"),
    near("5.11", "97.0 % NaOH for 1.00 L of 10.0 %, 1.109 g/mL", 114, 0.5, lambda: mass_for_solution_g(strength_mol_per_L(0.100, 1.109, molar_mass("NaOH")), 1000, molar_mass("NaOH"), 0.970).n, OTHER_UNITS, "g"),
    near("5.12", "5.0 % glucose, 1.029 g/mL", 0.29, 0.005, lambda: strength_mol_per_L(0.050, 1.029, molar_mass("C6H12O6")).n, OTHER_UNITS, "mol/L"),
    near("5.13", "40.0 % H2SO4, 1.3057 g/mL", 5.33, 0.01, lambda: strength_mol_per_L(0.400, 1.3057, molar_mass("H2SO4")).n, f"problem of {OTHER_UNITS}, answer computed", "mol/L"),
    near("5.14", "0.850 L of 5.00 M made up to 1.80 L", 2.36, 0.005, lambda: diluted_mol_per_L(5.00, 850, 1800).n, MOLARITY, "mol/L"),
    near("5.14", "25.0 mL of 2.04 M made up to 500.0 mL", 0.102, 0.0005, lambda: diluted_mol_per_L(2.04, 25.0, 500.0).n, MOLARITY, "mol/L"),
    near("5.14", "11 mL of 0.45 M to 0.12 M", 41, 0.5, lambda: diluted_volume_mL(0.45, 11, 0.12).n, MOLARITY, "mL"),
    near("5.14", "0.250 L of 1.88 M to 0.125 M", 3760, 5, lambda: diluted_volume_mL(1.88, 250, 0.125).n, MOLARITY, "mL"),
    near("5.14", "1.59 M for 5.00 L of 0.100 M", 314, 0.5, lambda: stock_volume_mL(1.59, 0.100, 5000).n, MOLARITY, "mL"),
    near("5.14", "50.00 mL of 3.00 M to 0.575 M", 261, 0.5, lambda: diluted_volume_mL(3.00, 50.00, 0.575).n, MOLARITY, "mL"),
    near("5.15", "10.5 kg Na2SO4·10H2O in 18.60 L", 1.75, 0.005, lambda: concentration_mol_per_L(10500, molar_mass("Na2SO4·10H2O"), 18600).n, MOLARITY, "mol/L"),
    near("5.16", "25.2 g acetic acid in 0.500 L", 0.839, 0.0005, lambda: concentration_mol_per_L(25.2, molar_mass("CH3CO2H"), 500).n, MOLARITY, "mol/L"),
]  # fmt: skip
