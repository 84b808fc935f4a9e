"""Which structures form peroxides in air: proposals with a class, confirmed or overridden by a person.

Classes as university safety pages use them (Cornell EHS, appendix J, and others): A forms dangerous peroxides
without being concentrated, B becomes dangerous when concentrated, C may start to polymerise. How long a bottle
may stay is a rule of the house, not of this file.
"""

from functools import lru_cache

from rdkit import Chem

from labstock.chemistry.reactive_groups import Proposal, pattern
from labstock.chemistry.smiles import molecule_of

_WITHOUT_CONCENTRATION = "forms dangerous peroxides without being concentrated"
_ON_CONCENTRATION = "peroxides become dangerous when the liquid is distilled or dries out"
_POLYMERISES = "peroxides can start a violent polymerisation"

# Single substances that the lists name (Cornell EHS, appendix J).
_NAMED = {
    "C=CC=C": ("A", "1,3-butadiene", "listed; also polymerises"),
    "C=CC(=C)Cl": ("A", "chloroprene", "listed; also polymerises"),
    "C=CC#CC=C": ("A", "divinylacetylene", "listed"),
    "FC(F)=C(F)F": ("A", "tetrafluoroethylene", "listed; also polymerises"),
    "C=C(Cl)Cl": ("A", "vinylidene chloride", "listed"),
    "[K]": ("A", "potassium metal", "its surface turns to superoxide"),
    "[NH2-].[K+]": ("A", "potassium amide", "its surface oxidises to an explosive crust"),
    "[NH2-].[Na+]": ("A", "sodium amide", "its surface oxidises to an explosive crust"),
    "CC(=O)CC(C)C": ("B", "4-methylpentan-2-one", "listed; a ketone with a tertiary CH"),
}

_REASON = {"A": _WITHOUT_CONCENTRATION, "B": _ON_CONCENTRATION, "C": _POLYMERISES}

# Grade, name, SMARTS, reason; the first that fits is proposed.
_GROUPS = (
    (
        "A",
        "di-secondary ether",
        "[CX4H1;!R]([CX4])([CX4])[OX2][CX4H1;!R]([CX4])[CX4]",
        "tertiary CH on both sides of an ether oxygen",
    ),
    ("C", "acrylic monomer", "[CH2]=[CX3][$(C(=O)[O,N,Cl,C,#1]),$(C#N),$([CX3H1]=O)]", "CH2= next to a carbonyl or nitrile"),
    ("C", "vinyl ester", "[CH2]=[CH1][OX2]C(=O)", "vinyl group on an ester oxygen"),
    ("C", "styrene-type monomer", "[CH2]=[CX3]c", "vinyl group on an aromatic ring"),
    ("C", "vinyl halide", "[$([CH2]=[CH1][F,Cl,Br]),$(FC(F)=C(F)Cl)]", "halogen on a vinyl group"),
    ("C", "vinylacetylene or diene", "[CH2]=[CX3][$(C#C),$([CX3]=[CH2])]", "conjugated terminal double bond"),
    ("B", "vinyl ether", "[CX3]=[CX3][OX2;!$(O[C]=O)][CX4;!H0]", "vinyl group and alpha-CH on an ether oxygen"),
    ("B", "acetal", "[CX4]([OX2;!$(O[C]=O)][CX4;!H0])[OX2;!$(O[C]=O)][#6]", "two ether oxygens on one carbon, with alpha-CH"),
    (
        "B",
        "ether with alpha-H",
        "[OX2;!$(O[C]=O);!$(Oc);!$(O[C]=[C,N])]([CX4])[CX4;!H0]",
        "ether oxygen with CH next to it",
    ),
    ("B", "aryl ether with alpha-H", "[OX2](c)[CX4;H1,H2][#6]", "aryl ether with a CH or CH2 next to oxygen, slower than dialkyl ethers"),
)  # fmt: skip

_SMALL = (
    (
        "secondary alcohol",
        "[CX4H1]([OX2H])([CX4])[CX4]",
        "CH next to a hydroxyl group, in a small alcohol",
        {"C", "O"},
    ),
    (
        "saturated ring fusion",
        "[CX4H1;R2]([CX4;R])([CX4;R])[CX4;R]",
        "tertiary CH where two saturated rings meet",
        {"C"},
    ),
    ("benzylic alcohol", "[OX2H][CX4;H1,H2]c", "alcohol carbon on an aromatic ring", {"C", "O"}),
    (
        "benzylic CH",
        "[$([CX4H1]([CX4])([CX4])c),$([CX4;R;H1,H2]c)]",
        "CH next to an aromatic ring, tertiary or in a ring",
        {"C"},
    ),
    ("allylic CH in a ring", "[CX4;R;!H0][CX3;R]=[CX3;R]", "ring CH next to a double bond", {"C"}),
)
MOST_ATOMS_OF_A_SMALL_ONE = 12
MOST_HYDROXYLS = 2


@lru_cache(maxsize=2048)
def propose_peroxide(smiles: str) -> Proposal | None:
    """Propose the peroxide-former flag, with its class, from the structure.

    Parameters
    ----------
    smiles : str
        The structure [-].

    Returns
    -------
    Proposal or None
        Name, reason, and class "A", "B" or "C" in `grade`; None when nothing suggests it [-].

    Notes
    -----
    Source: Cornell EHS, appendix J (classes and named members); the patterns are ours. Methyl aryl ethers, open-chain
    methyl arenes and polyols are left out, because the lists leave them out.

    Examples
    --------
    >>> propose_peroxide("C1CCOC1").grade
    'B'
    >>> propose_peroxide("CCOC(C)=O") is None
    True
    """
    molecule = molecule_of(smiles)
    named = _NAMED.get(Chem.MolToSmiles(molecule)) or _canonical_names().get(Chem.MolToSmiles(molecule))
    if named:
        grade, name, why = named
        return Proposal(name, f"{why}: {_REASON[grade]}", grade)
    if len(molecule.GetSubstructMatches(pattern("[OX2H][CX4]"))) > MOST_HYDROXYLS:
        return None
    for grade, name, smarts, why in _GROUPS:
        if molecule.HasSubstructMatch(pattern(smarts)):
            return Proposal(name, f"{why}: {_REASON[grade]}", grade)
    return _small(molecule)


@lru_cache(maxsize=1)
def _canonical_names() -> dict[str, tuple[str, str, str]]:
    return {Chem.MolToSmiles(molecule_of(smiles)): named for smiles, named in _NAMED.items()}


def _small(molecule: Chem.Mol) -> Proposal | None:
    """Groups that count only in small molecules, where the lists name them."""
    if molecule.GetNumAtoms() > MOST_ATOMS_OF_A_SMALL_ONE:
        return None
    elements = {atom.GetSymbol() for atom in molecule.GetAtoms()}
    for name, smarts, why, allowed in _SMALL:
        if elements <= allowed and molecule.HasSubstructMatch(pattern(smarts)):
            return Proposal(name, f"{why}: {_ON_CONCENTRATION}", "B")
    return None
