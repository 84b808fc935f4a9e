"""Heats of reaction and adiabatic rises."""

from batches.stoichiometry.quench import adiabatic_rise_K
from labstock.chemistry.thermochemistry import (
    formation,
    hydrolysis,
    neutralisation_kJ_per_mol,
    reaction_enthalpy_kJ_per_mol,
)
from tests.checks.row import Check, inside, near, same

NIST = "NIST Chemistry WebBook, acetic anhydride, reaction thermochemistry: -58.6 ± 0.4 (1962)"
CRC = "chemicals 1.5.2, method CRC"
CALORIMETRY = "OpenStax, Chemistry 2e, Calorimetry (m68726)"
ENTHALPY = "OpenStax, Chemistry 2e, Enthalpy (m68727)"

SHIPPED = {
    "salicylic acid": -589.9, "aspirin": -815.6, "benzoic acid": -385.2, "benzamide": -202.6,
    "phthalic anhydride": -460.1, "maleic anhydride": -469.8, "succinic anhydride": -608.6, "urea": -333.1,
    "phosphoric acid(l)": -1271.7, "phosphoric acid(s)": -1284.4, "aniline": 31.6, "acetic acid": -484.3,
    "acetic anhydride": -624.4, "water": -285.8,
}  # fmt: skip


def _combustion() -> float:
    return float(
        reaction_enthalpy_kJ_per_mol({"ethanol": 1, "oxygen": 3}, {"carbon dioxide": 2, "water": 3}).n
    )


def _doubt_covers_measurement() -> bool:
    heat = hydrolysis("108-24-7").heat_kJ_per_mol
    return bool(abs(heat.n + 58.6) <= 2 * heat.s)


CHECKS: list[Check] = [
    near("7.1", "hydrolysis of acetic anhydride, measured", -58.6, 0.6, lambda: hydrolysis("108-24-7").heat_kJ_per_mol.n, NIST, "kJ/mol"),
    same("7.1", "our ± 2u covers the measurement", True, _doubt_covers_measurement, NIST),
    near("7.2", "the same by Hess's law from one table", -58.4, 0.5, lambda: hydrolysis("108-24-7").heat_kJ_per_mol.n, CRC, "kJ/mol"),
    near("7.4", "hydrochloric acid with sodium hydroxide", -55.8, 0.05, lambda: neutralisation_kJ_per_mol().n, "OpenStax, Chemistry 2e, appendix G (m68865)", "kJ/mol"),
    near("7.5", "combustion of ethanol", -1366.8, 0.5, _combustion, ENTHALPY, "kJ/mol"),
    near("7.11", "rise in the cup, 2.89 kJ into 100 g of water", 28.9 - 22.0, 0.05, lambda: adiabatic_rise_K(2.89, 0.4184).n, CALORIMETRY, "K"),
    near("7.12", "rise by 0.0500 mol neutralised in 100 g", 6.672, 0.001, lambda: adiabatic_rise_K(0.0500 * 55.83, 0.4184).n, "OpenStax, Chemistry 2e, appendix G (m68865), computed", "K"),
    near("7.13", "end temperature, 200 kJ into 200 g and a cup of 2 kJ/K", 95.5, 0.05, lambda: 25 + adiabatic_rise_K(200, 0.200 * 4.18 + 2.0).n, "scienceaq.com, worked example", "°C"),
    inside("7.14", "neat anhydride and water 1:1, an alarm bound", 234.5, 237.5, lambda: adiabatic_rise_K(58.4, 2 * 0.1237).n, "Cp of acetic acid 123.1 to 124.3 J/(mol K), thermo 0.6.1 (CRC, Poling)", "K"),
    near("7.15", "fall by 1.02 kJ taken up in 53.21 g", 24.9 - 20.3, 0.05, lambda: adiabatic_rise_K(1.02, 0.05321 * 4.184).n, CALORIMETRY, "K"),
    near("7.16", "rise in the bomb, 48.80 kJ", 35.6 - 23.8, 0.05, lambda: adiabatic_rise_K(48.80, 0.775 * 4.184 + 0.893).n, CALORIMETRY, "K"),
    *(near("7.table", f"enthalpy of formation, {name}", value, 0, lambda s=name: formation(s).kJ_per_mol, CRC, "kJ/mol") for name, value in SHIPPED.items()),
    same("7.table", "paracetamol: no data, no number", "refused: no-thermochemistry", lambda: formation("paracetamol"), f"{CRC}: no entry for the solid"),
]  # fmt: skip
