"""How much water a reagent consumes, and what comes of it: the stoichiometry behind the moisture model.

Source: textbook hydrolyses, from memory: (RCO)2O + H2O -> 2 RCO2H; RCOX + H2O -> RCO2H + HX;
MH + H2O -> MOH + H2. The patterns are ours.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from rdkit import Chem
from rdkit.Chem import rdChemReactions

from labstock.chemistry.reactive_groups import pattern
from labstock.chemistry.smiles import molecule_of

WaterKind = Literal["anhydride", "acyl halide", "hydride"]

_ANHYDRIDE = "[CX3;$(C[#6,#1]),$([CX3H1])](=[OX1])[OX2][CX3;$(C[#6,#1]),$([CX3H1])](=[OX1])"
_ACYL_HALIDE = "[#6][CX3](=[OX1])[F,Cl,Br,I]"
_OXALYL_HALIDE = "O=C([F,Cl,Br,I])C(=O)[F,Cl,Br,I]"  # goes another way, to carbon monoxide and dioxide
_OPEN_ANHYDRIDE = "[C:1](=[O:2])[O;X2:3][C:4]=[O:5]>>([C:1](=[O:2])[OH:3].[C:4](=[O:5])[OH])"
_OPEN_HALIDE = "[#6:1][CX3:2](=[O:3])[F,Cl,Br,I:4]>>([#6:1][C:2](=[O:3])[OH].[*:4])"
_VALENCE = {"Li": 1, "Na": 1, "K": 1, "Rb": 1, "Cs": 1, "Mg": 2, "Ca": 2, "Sr": 2, "Ba": 2, "Al": 3, "B": 3}


@dataclass(frozen=True)
class WaterReaction:
    """What one mole of a reagent does with water.

    Parameters
    ----------
    kind : {"anhydride", "acyl halide", "hydride"}
        Class of the reaction [-].
    water : int
        Water consumed [mol/mol].
    acid_equivalents : int
        Base that the acids formed consume; negative when a base is formed [mol/mol].
    hydrogen : int
        Hydrogen gas formed [mol/mol].
    acids : tuple of str
        Acids formed, as SMILES, one for each mole [-].
    words : str
        The same for people [-].
    """

    kind: WaterKind
    water: int
    acid_equivalents: int
    hydrogen: int
    acids: tuple[str, ...]
    words: str


@lru_cache(maxsize=2048)
def water_reaction(smiles: str) -> WaterReaction | None:
    """Work out what water does to an anhydride, an acyl halide or a hydride.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    WaterReaction or None
        Stoichiometry per mole of reagent; None for every other class [-].

    Notes
    -----
    Source: top of this file.

    Examples
    --------
    >>> water_reaction("CC(=O)OC(C)=O").acids
    ('CC(=O)O', 'CC(=O)O')
    >>> water_reaction("[Na+].[H-]").hydrogen
    1
    """
    molecule = molecule_of(smiles)
    if hydride := _hydride(molecule):
        return hydride
    molecule = _kekulised(molecule)
    anhydrides = len(molecule.GetSubstructMatches(pattern(_ANHYDRIDE)))
    halides = len(molecule.GetSubstructMatches(pattern(_ACYL_HALIDE)))
    if anhydrides and not halides:
        return _hydrolysed(molecule, "anhydride", _OPEN_ANHYDRIDE, anhydrides)
    has_oxalyl = molecule.HasSubstructMatch(pattern(_OXALYL_HALIDE))
    if halides and not anhydrides and not has_oxalyl:
        return _hydrolysed(molecule, "acyl halide", _OPEN_HALIDE, halides)
    return None


def _hydrolysed(molecule: Chem.Mol, kind: WaterKind, smarts: str, groups: int) -> WaterReaction:
    acids = _products(molecule, smarts, groups)
    named = "2 mol acid groups" if kind == "anhydride" else "1 mol acid and 1 mol hydrogen halide"
    words = f"{kind}: each group takes 1 mol water and gives {named}; groups in the molecule: {groups}"
    return WaterReaction(kind, groups, 2 * groups, 0, acids, words)


def _kekulised(molecule: Chem.Mol) -> Chem.Mol:
    """RDKit calls some fused anhydride rings aromatic; with single and double bonds they are anhydrides again."""
    copy = Chem.Mol(molecule)
    Chem.Kekulize(copy, clearAromaticFlags=True)
    return copy


def _products(molecule: Chem.Mol, smarts: str, groups: int) -> tuple[str, ...]:
    """Open one group after the other, in whichever fragment still has one."""
    reaction = rdChemReactions.ReactionFromSmarts(smarts)
    reaction.Initialize()
    fragments = [molecule]
    for _ in range(groups):
        place = next(i for i, fragment in enumerate(fragments) if reaction.IsMoleculeReactant(fragment))
        (opened,) = reaction.RunReactants((_kekulised(fragments.pop(place)),))[0]
        Chem.SanitizeMol(opened)
        fragments += [_kekulised(part) for part in Chem.GetMolFrags(opened, asMols=True)]
    acids = [Chem.MolToSmiles(Chem.MolFromSmiles(Chem.MolToSmiles(fragment))) for fragment in fragments]
    return tuple(sorted(acids, key=lambda acid: (-len(acid), acid)))


def _hydride(molecule: Chem.Mol) -> WaterReaction | None:
    """Hydrides of reactive metals and their complexes: every hydrogen on the metal takes one water."""
    elements = [atom.GetSymbol() for atom in molecule.GetAtoms()]
    metals = [symbol for symbol in elements if symbol in _VALENCE]
    hydrogens = elements.count("H") + sum(atom.GetTotalNumHs() for atom in molecule.GetAtoms())
    if not metals or not hydrogens or set(elements) - {"H"} - set(_VALENCE):
        return None
    base = sum(_VALENCE[symbol] for symbol in metals if symbol not in {"B", "Al"})
    words = f"hydride: takes {hydrogens} mol water, frees {hydrogens} mol hydrogen"
    return WaterReaction("hydride", hydrogens, -base, hydrogens, (), words)
