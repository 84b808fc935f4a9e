"""Structures from SMILES: formula, identity, drawing, and what they suggest about water and air.

The one place to import from; the work is done in `smiles`, `drawing`, `reactive_groups`, `peroxide_formers`
and `water_reactions`.
"""

import re

from rdkit import Chem, rdBase
from rdkit.Chem import inchi, rdMolDescriptors

from labstock.chemistry.drawing import draw
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula, parse_formula
from labstock.chemistry.peroxide_formers import propose_peroxide
from labstock.chemistry.reactive_groups import Proposal, propose_moisture
from labstock.chemistry.smiles import molecule_of
from labstock.chemistry.water_reactions import WaterReaction, water_reaction

__all__ = [
    "Proposal", "WaterReaction", "canonical_smiles", "draw", "formula_of", "inchikey",
    "propose_moisture", "propose_peroxide", "water_reaction",
]  # fmt: skip


def formula_of(smiles: str) -> Formula:
    """Read the formula off a structure; isotopes that are drawn are kept.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    Formula
        Atoms and charge [-].

    Notes
    -----
    Source: RDKit adds the hydrogens that valence implies.

    Examples
    --------
    >>> formula_of("CC(=O)OC(C)=O").hill
    'C4H6O3'
    """
    written = rdMolDescriptors.CalcMolFormula(molecule_of(smiles), separateIsotopes=True)
    match = re.fullmatch(r"(.*?)(?:([+-])(\d*))?", written)
    assert match  # the expression fits every text
    body, sign, size = match.groups()
    return parse_formula(f"{body}^{size}{sign}" if sign else body)


def canonical_smiles(smiles: str) -> str:
    """Give the one spelling of a structure.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    str
        Canonical SMILES [-].

    Notes
    -----
    Source: RDKit's canonical order.

    Examples
    --------
    >>> canonical_smiles("OCC")
    'CCO'
    """
    return str(Chem.MolToSmiles(molecule_of(smiles)))


def inchikey(smiles: str) -> str:
    """Compute the InChIKey of a structure.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    str
        Standard InChIKey [-].

    Notes
    -----
    Source: IUPAC International Chemical Identifier, as built into RDKit.

    Examples
    --------
    >>> inchikey("CC(=O)OC(C)=O")
    'WFDIJRYMOXRFFG-UHFFFAOYSA-N'
    """
    with rdBase.BlockLogs():
        key = str(inchi.MolToInchiKey(molecule_of(smiles)))
    if not key:
        raise LabError(
            "no-inchikey",
            "No InChIKey can be made for '{smiles}' (query atoms or unusual bonds): leave it out.",
            smiles=smiles,
        )
    return key
