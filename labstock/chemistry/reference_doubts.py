"""Records of the reference that contradict themselves: shown with the doubt, never silently used."""

import re

from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.reference_package import SubstanceRow

_HYDRATE = re.compile(
    r"\b(hemi|mono|sesqui|di|tri|tetra|penta|hexa|hepta|octa|nona|deca|undeca|dodeca)hydrate\b", re.IGNORECASE
)
_WATERS = {
    "hemi": 0.5, "mono": 1, "sesqui": 1.5, "di": 2, "tri": 3, "tetra": 4, "penta": 5, "hexa": 6, "hepta": 7, "octa": 8,
    "nona": 9, "deca": 10, "undeca": 11, "dodeca": 12,
}  # fmt: skip


def doubt_about(row: SubstanceRow) -> str:
    """Say what does not fit in a record.

    Parameters
    ----------
    row : SubstanceRow
        The record [-].

    Returns
    -------
    str
        The doubt in words; empty when nothing was found [-].

    Notes
    -----
    Source: ours. Checked are the waters of hydrates, and the molar mass where the formula can be read.

    Examples
    --------
    >>> doubt_about(SubstanceRow("10022-68-1", "cadmium nitrate tetrahydrate", "CdH3NO4", 193.44, "O.O=[N+]([O-])O.[Cd]"))
    'the name says 4 H2O and the structure has 1'
    """
    match = _HYDRATE.search(row.name)
    if match and row.smiles:
        named, drawn = _WATERS[match[1].lower()], row.smiles.split(".").count("O")
        if not _fits(named, drawn):
            return f"the name says {named:g} H2O and the structure has {drawn}"
    return _mass_doubt(row) if match or not row.smiles else ""


def _fits(named: float, drawn: int) -> bool:
    """Half waters are drawn with the formula doubled."""
    return drawn in {named, 2 * named} if named % 1 else drawn == named


def _mass_doubt(row: SubstanceRow) -> str:
    try:
        computed = parse_formula(row.formula).molar_mass.nominal_value
    except LabError:
        return ""
    if abs(computed - row.molar_mass) > 1e-3 * row.molar_mass:
        return f"its formula gives {computed:.2f} g/mol and the record says {row.molar_mass:.2f} g/mol"
    return ""
