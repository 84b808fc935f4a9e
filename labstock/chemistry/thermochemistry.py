"""Heats of reaction by Hess's law, from one consistent table; no data, no number.

Never mix tables: the same hydrolysis is -58.4 kJ/mol from this one and -56.5 kJ/mol from another.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import UFloat, exact, half_width, normal

CRC = "CRC Handbook of Chemistry and Physics, standard thermodynamic properties, as in chemicals 1.5.2"
U_KJ_PER_MOL = 0.5
"""Standard uncertainty taken for each row: the table prints none (common practice, no source)."""


@dataclass(frozen=True)
class Formation:
    """One enthalpy of formation.

    Parameters
    ----------
    name : str
        The substance [-].
    formula : str
        Its formula [-].
    cas : str
        Its CAS number [-].
    phase : str
        "s", "l" or "g" [-].
    kJ_per_mol : float
        Standard enthalpy of formation at 25 °C [kJ/mol].
    source : str
        Where it was read [-].
    """

    name: str
    formula: str
    cas: str
    phase: str
    kJ_per_mol: float
    source: str = CRC

    @property
    def key(self) -> str:
        """CAS number and phase, such as "64-19-7(l)" [-]."""
        return f"{self.cas}({self.phase})"


TABLE = (
    Formation("water", "H2O", "7732-18-5", "l", -285.8),
    Formation("acetic acid", "C2H4O2", "64-19-7", "l", -484.3),
    Formation("acetic anhydride", "C4H6O3", "108-24-7", "l", -624.4),
    Formation("propionic acid", "C3H6O2", "79-09-4", "l", -510.7),
    Formation("propionic anhydride", "C6H10O3", "123-62-6", "l", -679.1),
    Formation("maleic anhydride", "C4H2O3", "108-31-6", "s", -469.8),
    Formation("maleic acid", "C4H4O4", "110-16-7", "s", -789.4),
    Formation("succinic anhydride", "C4H4O3", "108-30-5", "s", -608.6),
    Formation("succinic acid", "C4H6O4", "110-15-6", "s", -940.5),
    Formation("phthalic anhydride", "C8H4O3", "85-44-9", "s", -460.1),
    Formation("phthalic acid", "C8H6O4", "88-99-3", "s", -782.0),
    Formation("acetyl chloride", "C2H3ClO", "75-36-5", "l", -272.9),
    Formation("benzoyl chloride", "C7H5ClO", "98-88-4", "l", -158.0),
    Formation("hydrogen chloride", "HCl", "7647-01-0", "g", -92.3),
    Formation("salicylic acid", "C7H6O3", "69-72-7", "s", -589.9),
    Formation("aspirin", "C9H8O4", "50-78-2", "s", -815.6),
    Formation("benzoic acid", "C7H6O2", "65-85-0", "s", -385.2),
    Formation("benzamide", "C7H7NO", "55-21-0", "s", -202.6),
    Formation("urea", "CH4N2O", "57-13-6", "s", -333.1),
    Formation("aniline", "C6H7N", "62-53-3", "l", 31.6),
    Formation("acetanilide", "C8H9NO", "103-84-4", "s", -209.4),
    Formation("butylamine", "C4H11N", "109-73-9", "l", -127.6),
    Formation("ethanol", "C2H6O", "64-17-5", "l", -277.6),
    Formation("ethyl acetate", "C4H8O2", "141-78-6", "l", -479.3),
    Formation("1-butanol", "C4H10O", "71-36-3", "l", -327.3),
    Formation("butyl acetate", "C6H12O2", "123-86-4", "l", -529.2),
    Formation("3-methyl-1-butanol", "C5H12O", "123-51-3", "l", -356.4),
    Formation("phenol", "C6H6O", "108-95-2", "s", -165.1),
    Formation("resorcinol", "C6H6O2", "108-46-3", "s", -368.0),
    Formation("phosphoric acid", "H3PO4", "7664-38-2", "l", -1271.7),
    Formation("phosphoric acid", "H3PO4", "7664-38-2", "s", -1284.4),
    Formation("sodium hydride", "NaH", "7646-69-7", "s", -56.3),
    Formation("sodium hydroxide", "NaOH", "1310-73-2", "s", -425.8),
    Formation("sodium acetate", "C2H3NaO2", "127-09-3", "s", -708.8),
    Formation("sodium hydrogen carbonate", "NaHCO3", "144-55-8", "s", -950.8),
    Formation("sodium carbonate", "Na2CO3", "497-19-8", "s", -1130.7),
    Formation("calcium hydride", "CaH2", "7789-78-8", "s", -181.5),
    Formation("calcium hydroxide", "Ca(OH)2", "1305-62-0", "s", -985.2),
    Formation("carbon dioxide", "CO2", "124-38-9", "g", -393.5),
    Formation("hydrogen", "H2", "1333-74-0", "g", 0.0),
    Formation("oxygen", "O2", "7782-44-7", "g", 0.0),
)
"""One table, one method (CRC); enthalpies of formation at 25 °C."""

_ROWS = {row.key: row for row in TABLE} | {f"{row.name}({row.phase})": row for row in TABLE}
_USUAL = {row.cas: row for row in reversed(TABLE)} | {row.name: row for row in reversed(TABLE)}


@dataclass(frozen=True)
class Hydrolysis:
    """What water does to one mole of a reactive substance.

    Parameters
    ----------
    cas : str
        CAS number of the substance [-].
    kind : str
        "anhydride", "acyl halide" or "hydride" [-].
    water : int
        Water used up [mol/mol].
    products : mapping of str to int
        What is formed, by name [mol/mol].
    acid_groups : int
        Acid groups formed, hydrogen halide included [mol/mol].
    """

    cas: str
    kind: str
    water: int
    products: Mapping[str, int]
    acid_groups: int = 0

    @property
    def hydrogen(self) -> int:
        """Hydrogen formed [mol/mol]."""
        return self.products.get("hydrogen", 0)

    @property
    def heat_kJ_per_mol(self) -> UFloat:
        """Enthalpy in much water; hydrogen chloride dissolves [kJ/mol]."""
        gas = self.products.get("hydrogen chloride", 0)
        heat = reaction_enthalpy_kJ_per_mol({self.cas: 1, "water": self.water}, self.products)
        return heat + gas * dissolved_hydrogen_chloride_kJ_per_mol() if gas else heat


_HYDROLYSES = {
    each.cas: each
    for each in (
        Hydrolysis("108-24-7", "anhydride", 1, {"acetic acid": 2}, 2),
        Hydrolysis("123-62-6", "anhydride", 1, {"propionic acid": 2}, 2),
        Hydrolysis("108-31-6", "anhydride", 1, {"maleic acid": 1}, 2),
        Hydrolysis("108-30-5", "anhydride", 1, {"succinic acid": 1}, 2),
        Hydrolysis("85-44-9", "anhydride", 1, {"phthalic acid": 1}, 2),
        Hydrolysis("75-36-5", "acyl halide", 1, {"acetic acid": 1, "hydrogen chloride": 1}, 2),
        Hydrolysis("98-88-4", "acyl halide", 1, {"benzoic acid": 1, "hydrogen chloride": 1}, 2),
        Hydrolysis("7646-69-7", "hydride", 1, {"sodium hydroxide": 1, "hydrogen": 1}),
        Hydrolysis("7789-78-8", "hydride", 2, {"calcium hydroxide": 1, "hydrogen": 2}),
    )
}


def formation(substance: str) -> Formation:
    """Find the enthalpy of formation of a substance.

    Parameters
    ----------
    substance : str
        Name or CAS number, with its phase in brackets where it has more than one, such as
        "phosphoric acid(s)" [-].

    Returns
    -------
    Formation
        The row with its source [kJ/mol].

    Notes
    -----
    Source: CRC Handbook of Chemistry and Physics, as in chemicals 1.5.2, method CRC.

    Examples
    --------
    >>> formation("108-24-7").kJ_per_mol
    -624.4
    """
    wanted = substance.strip().lower()
    row = _ROWS.get(wanted) or _USUAL.get(wanted)
    if row is None:
        raise LabError("no-thermochemistry", "no thermochemistry for {substance}: ask", substance=substance)
    return row


def reaction_enthalpy_kJ_per_mol(
    reactants: Mapping[str, Fraction | int], products: Mapping[str, Fraction | int]
) -> UFloat:
    """Find the enthalpy of a reaction as written, by Hess's law.

    Parameters
    ----------
    reactants, products : mapping of str to Fraction or int
        Substances, as for `formation`, with their coefficients [-].

    Returns
    -------
    UFloat
        Enthalpy of reaction at 25 °C; below zero when heat is given off [kJ/mol].

    Notes
    -----
    Source: Hess's law over one table; the equation must conserve atoms. Each row carries u = 0.5 kJ/mol (common practice, no source).

    Examples
    --------
    >>> heat = reaction_enthalpy_kJ_per_mol({"acetic anhydride": 1, "water": 1}, {"acetic acid": 2})
    >>> round(heat.n, 1), round(heat.s, 1)
    (-58.4, 1.2)
    """
    net: dict[Formation, float] = {}
    for side, sign in ((reactants, -1), (products, 1)):
        for substance, coefficient in side.items():
            row = formation(substance)
            net[row] = net.get(row, 0.0) + sign * float(coefficient)
    _refuse_unbalanced(net)
    parts = (nu * _with_doubt(row) for row, nu in net.items())
    return sum(parts, start=exact(0))


def hydrolysis(cas: str, name: str = "") -> Hydrolysis:
    """Find what water does to a reactive substance.

    Parameters
    ----------
    cas : str
        CAS number of the anhydride, acyl halide or hydride [-].
    name : str
        What the person calls it; used in a refusal [-].

    Returns
    -------
    Hydrolysis
        Water, acid and gas [mol/mol] and the heat [kJ/mol].

    Notes
    -----
    Source: textbook chemistry; heat by Hess's law over the table of this module.

    Examples
    --------
    >>> round(hydrolysis("108-24-7").heat_kJ_per_mol.n, 1)
    -58.4
    """
    if cas not in _HYDROLYSES:
        raise LabError("no-thermochemistry", "no thermochemistry for {substance}: ask", substance=name or cas)
    return _HYDROLYSES[cas]


def dissolved_hydrogen_chloride_kJ_per_mol() -> UFloat:
    """Give the heat of dissolving hydrogen chloride gas in much water.

    Returns
    -------
    UFloat
        Enthalpy of solution at 25 °C [kJ/mol].

    Notes
    -----
    Source: from memory: ΔfH of HCl(aq) -167.2 against -92.3 for the gas, CRC Handbook; half width 1.

    Examples
    --------
    >>> dissolved_hydrogen_chloride_kJ_per_mol().n
    -74.9
    """
    return half_width(-74.9, 1.0, "dissolving HCl")


def neutralisation_kJ_per_mol() -> UFloat:
    """Give the heat of neutralising one mole of acid groups with a dissolved strong base.

    Returns
    -------
    UFloat
        Enthalpy of neutralisation at 25 °C; weak acids differ by a few kJ [kJ/mol].

    Notes
    -----
    Source: OpenStax, Chemistry 2e, appendix G (m68865): -55.8 from the ions H2O -285.83 and OH- -230.0; the
    cup experiment of m68727 gives -58, which is taken as the half width.

    Examples
    --------
    >>> neutralisation_kJ_per_mol().n
    -55.8
    """
    return half_width(-55.8, 2.2, "neutralising")


def _refuse_unbalanced(net: Mapping[Formation, float]) -> None:
    balance: dict[str, float] = {}
    for row, nu in net.items():
        for element, count in parse_formula(row.formula).counts:
            balance[element] = balance.get(element, 0.0) + nu * float(count)
    unbalanced = sorted(element for element, left in balance.items() if abs(left) > 1e-9)
    if unbalanced:
        raise LabError(
            "unbalanced",
            "The equation does not conserve {elements}: balance it first, a heat of it would mean nothing.",
            elements=", ".join(unbalanced),
        )


def _with_doubt(row: Formation) -> UFloat:
    is_element = row.kJ_per_mol == 0
    return exact(0) if is_element else normal(row.kJ_per_mol, U_KJ_PER_MOL, row.key)
