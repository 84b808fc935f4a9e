"""What a structure suggests about water: proposals that a person confirms or overrides.

Source of the list of water-reactive classes: National Research Council, Prudent Practices in the Laboratory
(2011), chapters 4 and 6, and textbook chemistry from memory; the patterns are ours.
"""

from dataclasses import dataclass
from functools import lru_cache

from rdkit import Chem

from labstock.chemistry.smiles import molecule_of


@dataclass(frozen=True)
class Proposal:
    """A flag proposed from the structure.

    Parameters
    ----------
    name : str
        Class of substance [-].
    because : str
        The reason, as shown to people [-].
    grade : str
        Class "A", "B" or "C" of a peroxide former; empty otherwise [-].
    """

    name: str
    because: str
    grade: str = ""


# Name, SMARTS, reason; the first that fits is proposed.
_MOISTURE = (
    (
        "dicarbonate",
        "[OX2][CX3](=[OX1])[OX2][CX3](=[OX1])[OX2]",
        "two carbonate halves on one oxygen: water slowly frees carbon dioxide, and pressure builds",
    ),
    (
        "acid anhydride",
        "[#6X3](=[OX1])~[#8X2]~[#6X3](=[OX1])",  # RDKit calls some fused anhydride rings aromatic
        "two acyl groups on one oxygen: reacts with water, 1 mol per mol",
    ),
    (
        "acyl halide",
        "[#6][CX3](=[OX1])[F,Cl,Br,I]",
        "halogen on an acyl carbon: reacts with water, 1 mol per mol, to acid and hydrogen halide",
    ),
    (
        "chloroformate or phosgene",
        "[O,N,S,F,Cl,Br][CX3](=[OX1])[F,Cl,Br,I]",
        "halogen on a carbonyl carbon: water frees hydrogen halide and carbon dioxide",
    ),
    (
        "sulfonic anhydride",
        "[SX4](=O)(=O)[OX2][SX4](=O)(=O)",
        "two sulfonyl groups on one oxygen: reacts with water to strong acid",
    ),
    (
        "sulfonyl chloride",
        "[SX4](=O)(=O)[Cl,Br,I]",
        "halogen on a sulfonyl group: reacts with water to sulfonic acid and hydrogen halide",
    ),
    ("thionyl or sulfur chloride", "[#16;!$([SX6])][Cl,Br]", "halogen on sulfur: reacts with water, frees hydrogen halide"),
    ("sulfur trioxide", "[SX3](=O)(=O)=O", "takes up water violently to sulfuric acid"),
    (
        "phosphorus or arsenic halide",
        "[#15,#33;+0][F,Cl,Br,I]",
        "halogen on phosphorus or arsenic: reacts with water, frees hydrogen halide",
    ),
    (
        "phosphorus pentoxide",
        "[$([PX4](=O)([OX2]P)([OX2]P)[OX2]P),$(P(=O)=O)]",
        "phosphoric anhydride: takes up water with much heat",
    ),
    ("chlorosilane", "[#14][Cl,Br,I]", "halogen on silicon: reacts with water, frees hydrogen halide"),
    ("boron halide", "[#5;+0][F,Cl,Br,I]", "halogen on boron: reacts with water, frees hydrogen halide"),
    (
        "metal halide",
        "[Al,Ti,Zr,Hf,V,Nb,Ta,Mo,W,Sb,Ga,Ge,$([Sn;!$([Sn][#6])]),$([Fe](Cl)(Cl)Cl)][F,Cl,Br,I]",
        "halide of a highly charged metal: fumes in moist air, frees hydrogen halide",
    ),
    ("silyl sulfonate", "[#14][OX2][SX4](=O)(=O)", "silicon on a sulfonate: reacts with water to strong acid"),
    ("silazane", "[#14][#7]", "silicon on nitrogen: water splits it, frees ammonia or amine"),
    ("borane or borohydride", "[#5;H1,H2,H3,H4]", "hydrogen on boron: water and acids free hydrogen"),
    ("aluminium hydride", "[Al;H1,H2,H3,H4]", "hydrogen on aluminium: reacts violently with water, frees hydrogen"),
    ("hydride", "[H-]", "hydride ion: reacts violently with water, frees hydrogen"),
    (
        "organometal",
        "[Li,Na,K,Mg,Zn,Cd,Al][#6]",
        "carbon on a reactive metal: reacts violently with water, frees hydrocarbon",
    ),
    ("alkali metal", "[Li,Na,K,Rb,Cs,Ca,Sr,Ba;+0;X0;v0]", "reactive metal: reacts violently with water, frees hydrogen"),
    ("carbide", "[C-]#[C-]", "carbide: water frees acetylene"),
    ("isocyanate", "[NX2]=[CX2]=[OX1]", "isocyanate: reacts with water, frees carbon dioxide, and pressure builds"),
    ("ketene", "[#6]=[CX2]=[OX1]", "ketene: reacts with water to acid"),
    ("carbodiimide", "[NX2]=[CX2]=[NX2]", "carbodiimide: water turns it into a urea"),
    ("acyl azole", "[nX3]([CX3]=[OX1])1cncc1", "acyl group on an azole: reacts with water, frees carbon dioxide or acid"),
    ("oxonium salt", "[OX3+]([CX4])([CX4])[CX4]", "trialkyloxonium: reacts with water to ether, alcohol and acid"),
    ("quicklime or basic oxide", "[$([O-2]),$(O=[Ca,Sr,Ba])]", "basic oxide: takes up water with heat"),
)  # fmt: skip

_COUNTERIONS = "[Li+,Na+,K+,Rb+,Cs+,Mg+,Mg+2,Ca+2,Zn+,Zn+2,Al+3,Ba+2,Ti+4,Zr+4]"
_IONIC = (
    (
        "organometal",
        "[#6-;!$([#6-]#[#7]);!$([#6-]#[#8]);!$([#6-]#[#6-]);!$([#6-][#7+]);!$([#6-]=[#7+]);!$([#6-]C=O)]",
        "carbanion with a metal: reacts violently with water, frees hydrocarbon",
    ),
    (
        "metal amide",
        "[$([NX1-;H2]),$([#7-;H2]),$([#7-]([CX4,#14,c])[CX4,#14])]",
        "amide ion: reacts violently with water, frees ammonia or amine",
    ),
    ("alkoxide", "[OX1-][CX4]", "alkoxide: water turns it into alcohol and hydroxide"),
    ("nitride or phosphide", "[N-3,P-3]", "nitride or phosphide: water frees ammonia or phosphine"),
)

_HYDRIDE_METALS = frozenset({"Li", "Na", "K", "Rb", "Cs", "Mg", "Ca", "Sr", "Ba", "Al"})
_HALIDE_METALS = frozenset({"Al", "Ti", "Zr", "Hf", "V", "Nb", "Ta", "Mo", "W", "Sb", "Sn", "Ga", "Ge"})
_HALOGENS = frozenset({"F", "Cl", "Br", "I"})


@lru_cache(maxsize=512)
def pattern(smarts: str) -> Chem.Mol:
    """Compile a pattern once.

    Parameters
    ----------
    smarts : str
        The pattern [-].

    Returns
    -------
    Mol
        The query [-].

    Notes
    -----
    Source: RDKit.

    Examples
    --------
    >>> molecule_of("CC(=O)Cl").HasSubstructMatch(pattern("C(=O)Cl"))
    True
    """
    query = Chem.MolFromSmarts(smarts)
    if query is None:
        raise ValueError(f"SMARTS {smarts!r} cannot be read")
    return query


@lru_cache(maxsize=2048)
def propose_moisture(smiles: str) -> Proposal | None:
    """Propose the moisture-sensitive flag from the structure.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    Proposal or None
        Class and reason; None when nothing in the structure suggests it [-].

    Notes
    -----
    Source: top of this file. A proposal only: hygroscopic salts and solvents are not covered.

    Examples
    --------
    >>> propose_moisture("CC(=O)OC(C)=O")
    Proposal(name='acid anhydride', because='two acyl groups on one oxygen: reacts with water, 1 mol per mol', grade='')
    >>> propose_moisture("CCOC(C)=O") is None
    True
    """
    molecule = molecule_of(smiles)
    return _by_composition(molecule) or _ionic(molecule) or _by_group(molecule)


def _by_group(molecule: Chem.Mol) -> Proposal | None:
    is_hydrate = molecule.HasSubstructMatch(pattern("[OX2H2]"))
    for name, smarts, because in _MOISTURE:
        if molecule.HasSubstructMatch(pattern(smarts)) and not (is_hydrate and name == "metal halide"):
            return Proposal(name, because)
    return None


def _ionic(molecule: Chem.Mol) -> Proposal | None:
    if not molecule.HasSubstructMatch(pattern(_COUNTERIONS)):
        return None
    for name, smarts, because in _IONIC:
        if molecule.HasSubstructMatch(pattern(smarts)):
            return Proposal(name, because)
    return None


def _by_composition(molecule: Chem.Mol) -> Proposal | None:
    """Salts written as separate ions or atoms, such as [Al+3].[Cl-].[Cl-].[Cl-] and [Ca].[H].[H]."""
    elements = {atom.GetSymbol() for atom in molecule.GetAtoms()}
    if any(atom.GetTotalNumHs() for atom in molecule.GetAtoms()):
        return None
    if elements & _HYDRIDE_METALS and "H" in elements and elements <= _HYDRIDE_METALS | {"H", "B"}:
        return Proposal("hydride", "hydride of a reactive metal: reacts violently with water, frees hydrogen")
    metals, halogens = elements & _HALIDE_METALS, elements & _HALOGENS
    if metals and halogens and elements <= metals | halogens | {"O"}:
        return Proposal(
            "metal halide", "halide of a highly charged metal: fumes in moist air, frees hydrogen halide"
        )
    return None
