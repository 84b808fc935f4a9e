"""Reading SMILES: one cached molecule per text, and a refusal that says what RDKit found wrong."""

import re
from functools import lru_cache

from rdkit import Chem, rdBase

from labstock.chemistry.errors import LabError

LONGEST = 1000
MOST_ATOMS = 400


@lru_cache(maxsize=2048)
def molecule_of(smiles: str) -> Chem.Mol:
    """Read a SMILES string.

    Parameters
    ----------
    smiles : str
        The structure as text, for instance "CC(=O)OC(C)=O" [-].

    Returns
    -------
    Mol
        The molecule; shared, so never change it [-].

    Notes
    -----
    Source: RDKit reads and checks valences.

    Examples
    --------
    >>> molecule_of("CCO").GetNumAtoms()
    3
    """
    text = smiles.strip()
    if not text:
        raise LabError(
            "no-structure", "The structure is empty: write a SMILES string, for instance CC(=O)OC(C)=O."
        )
    if len(text) > LONGEST:
        raise LabError(
            "structure-too-long",
            "This SMILES has {length} characters and {longest} are the most: check what was pasted.",
            length=len(text),
            longest=LONGEST,
        )
    with rdBase.BlockLogs():
        molecule = Chem.MolFromSmiles(text) if _is_plain(text) else None
        if molecule is None:
            raise _unreadable(text)
    if molecule.GetNumAtoms() > MOST_ATOMS:
        raise LabError(
            "structure-too-large",
            "This structure has {count} heavy atoms and {most} are the most: enter the formula instead.",
            count=molecule.GetNumAtoms(),
            most=MOST_ATOMS,
        )
    return molecule


def _is_plain(text: str) -> bool:
    return text.isascii() and not any(character.isspace() for character in text)


def _unreadable(text: str) -> LabError:
    shown = text if len(text) <= 60 else text[:60] + "…"
    return LabError(
        "structure-unreadable",
        "'{smiles}' is no readable SMILES: {reason} Correct it, or leave the structure out and enter the formula.",
        smiles=shown,
        reason=_reason(text),
    )


def _reason(text: str) -> str:
    strange = next((c for c in text if not c.isascii() or c.isspace()), None)
    if strange:
        return f"the character '{strange}' cannot stand in one."
    for opening, closing in ("()", "[]"):
        if text.count(opening) != text.count(closing):
            return f"it has {text.count(opening)} '{opening}' and {text.count(closing)} '{closing}'."
    loose = Chem.MolFromSmiles(text, sanitize=False)
    problems = Chem.DetectChemistryProblems(loose) if loose is not None else ()
    if problems:
        return _in_words(problems[0].Message())
    outside = re.sub(r"\[[^\]]*\]|%\d\d", "", text)
    if any(outside.count(digit) % 2 for digit in "0123456789"):
        return "a ring number is opened and not closed."
    return "an atom symbol, a bond or a ring number is wrong."


def _in_words(message: str) -> str:
    valence = re.search(r"atom # (\d+) (\w+), (\d+)", message)
    if valence:
        number, symbol, bonds = valence.groups()
        return f"atom {int(number) + 1} ({symbol}) has {bonds} bonds, more than it can carry."
    return "an aromatic ring has no arrangement of double bonds: look for a missing [nH] or a wrong lower-case letter."
