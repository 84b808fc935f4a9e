"""Chemical formulae: reading what people type, counting atoms, molar mass with uncertainty.

How a sign at the end is read when nothing sets it apart (with '^', a space, superscripts or a closing
square bracket it is always the charge):

* one metal: the digit is the charge ("Fe3+", "Cu2+"); one halogen: it is the count ("I3-");
* two digits after a group or a heavier atom: count, then charge ("SO42-", "Fe(CN)63-");
* otherwise one digit is the count ("NH4+", "MnO4-", "Ag(NH3)2+");
* what stays open ("VO2+", "O2-") is asked, never guessed.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from labstock.chemistry.atomic_weights import atomic_weight
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula_text import normalised, pieces
from labstock.chemistry.formula_tree import count_atoms
from labstock.chemistry.uncertain import UFloat, exact

LONGEST = 500


@dataclass(frozen=True)
class Formula:
    """A formula that has been read.

    Parameters
    ----------
    counts : tuple of (str, Fraction)
        Element, "D", "T" or isotope such as "13C", with its number of atoms, in Hill order [-].
    charge : int
        Charge in elementary charges [-].
    typed : str
        What the person wrote [-].
    """

    counts: tuple[tuple[str, Fraction], ...]
    charge: int = 0
    typed: str = ""

    @property
    def atoms(self) -> dict[str, Fraction]:
        """Number of atoms by element [-]."""
        return dict(self.counts)

    def count(self, element: str) -> Fraction:
        """Number of atoms of one element, 0 when it is absent [-]."""
        return self.atoms.get(element, Fraction(0))

    @property
    def hill(self) -> str:
        """Formula in the order of Hill: C, H, then the alphabet; charge after '^' [-]."""
        body = "".join(_written(element, number) for element, number in self.counts) or "e"
        return f"{body}^{_charge_text(self.charge)}" if self.charge else body

    @property
    def molar_mass(self) -> UFloat:
        """Molar mass with its uncertainty, from the CIAAW 2021 weights [g/mol]."""
        return self.molar_mass_from({})

    def molar_mass_from(self, weights: Mapping[str, UFloat]) -> UFloat:
        """Molar mass with some atomic weights replaced, for instance by measured ones.

        Parameters
        ----------
        weights : Mapping
            Atomic weight by element; the others come from the table [g/mol].

        Returns
        -------
        UFloat
            Molar mass; doubts add linearly within an element and in squares between elements [g/mol].

        Notes
        -----
        Source: EURACHEM/CITAC QUAM, example A2 (how the elements combine).

        Examples
        --------
        >>> f"{parse_formula('C4H6O3').molar_mass_from({'C': exact(12)}).nominal_value:.3f} g/mol"
        '102.046 g/mol'
        """
        total = exact(0.0)
        for element, number in self.counts:
            weight = weights[element] if element in weights else atomic_weight(element)
            total = total + float(number) * weight
        return total

    def html_pieces(self) -> list[tuple[str, str]]:
        """Give the formula as typed, in pieces for a template.

        Returns
        -------
        list of (str, str)
            Text, and "sub", "sup" or "" for where it stands [-].
        """
        return pieces(*_body_and_charge(self))


def _body_and_charge(formula: Formula) -> tuple[str, str]:
    body, _ = normalised(formula.typed or formula.hill)
    return body, _charge_text(formula.charge).replace("-", "−")


def _written(element: str, number: Fraction) -> str:
    symbol = f"[{element}]" if element[0].isdigit() else element
    return symbol if number == 1 else f"{symbol}{_number_text(number)}"


def _number_text(number: Fraction) -> str:
    if number.denominator == 1:
        return str(number.numerator)
    decimal = f"{float(number):.6f}".rstrip("0")
    return decimal.replace(".", ",") if Fraction(decimal) == number else f"({number})"


def _charge_text(charge: int) -> str:
    if not charge:
        return ""
    size = "" if abs(charge) == 1 else str(abs(charge))
    return size + ("+" if charge > 0 else "-")


def _hill_order(atoms: Mapping[str, Fraction]) -> tuple[tuple[str, Fraction], ...]:
    def place(element: str) -> tuple[int, str, str]:
        plain = {"D": "H", "T": "H"}.get(element, element.lstrip("0123456789"))
        first = {"C": 0, "H": 1}.get(plain, 2) if has_carbon else 2
        return first, plain, element if element != plain else ""

    has_carbon = any(element.lstrip("0123456789") == "C" for element in atoms)
    return tuple((element, atoms[element]) for element in sorted(atoms, key=place) if atoms[element])


@lru_cache(maxsize=4096)
def parse_formula(text: str) -> Formula:
    """Read a formula as chemists type it.

    Groups in (), [] and {} nest; a hydrate's dot may be '·', '.', '*' or a space; charges may be
    "^2-", " 2-", superscripts or plain (see the top of this file); D, T and [13C] are isotopes;
    fractions are counts such as "½", "0,5" or "1/2".

    Parameters
    ----------
    text : str
        The formula, for instance "CuSO4·5H2O" [-].

    Returns
    -------
    Formula
        Atoms, charge, and what was typed [-].

    Notes
    -----
    Source: notation as in IUPAC, Nomenclature of Inorganic Chemistry 2005, IR-4 (from memory); the
    readings of plain text are ours.

    Examples
    --------
    >>> parse_formula("CuSO4·5H2O").hill
    'CuH10O9S'
    >>> parse_formula("Cr2O7^2-").charge
    -2
    >>> parse_formula("C2Xx")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: 'Xx' is no element (character 3 of 'C2Xx'): did you mean Xe?
    """
    typed = text.strip()
    if not typed:
        raise LabError("no-formula", "The formula is empty: write one, for instance C4H6O3.")
    if len(typed) > LONGEST:
        raise LabError(
            "formula-too-long",
            "This formula has {length} characters and {longest} are the most: check what was pasted.",
            length=len(typed),
            longest=LONGEST,
        )
    if re.fullmatch(r"[A-Z]?[a-z][a-z ,\-0-9]{4,}", typed):
        raise LabError(
            "name-not-formula",
            "'{typed}' looks like a name, and a formula is wanted: write it, for instance C4H6O3, or choose the substance.",
            typed=typed,
        )
    body, charge = normalised(typed)
    if body == "e" and charge == -1:
        return Formula((), -1, typed)
    return Formula(_hill_order(count_atoms(body, typed)), charge, typed)
