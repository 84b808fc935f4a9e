"""Reaction equations: reading and printing them."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula, parse_formula

MOST_SPECIES = 30
LONGEST = 4000

_ARROW = re.compile(r"<[-–−]+>|<=+>|(?<=\s)[-–−]{2,3}>|[-–−]>|=+>|[→⟶⇌⇄↔⇋➝⟷]")
_EQUALS = re.compile(r"(?<=\s)=+(?=\s)|=")
_PLUS = re.compile(r"\s+\+\s+|\s+\+(?=\S)|\+(?=\s*[\d./½¼¾]*\s*(?:[A-Z(\[]|e[-−⁻^]))")
_COEFFICIENT = re.compile(
    r"(\d{1,15}/\d{1,15}|\d{1,15}[.,]\d{1,9}|\d{0,15}[½¼¾]|\d{1,15})\s*[*·×]?\s*(?=[A-Z(\[e{])"
)
_SIMPLE = {"½": Fraction(1, 2), "¼": Fraction(1, 4), "¾": Fraction(3, 4)}


@dataclass(frozen=True)
class Species:
    """One substance in an equation.

    Parameters
    ----------
    formula : Formula
        What it is made of [-].
    coefficient : Fraction or None
        Its number as typed; None when it was left out [-].
    name : str
        What to call it; its formula as typed when nothing else is known [-].
    """

    formula: Formula
    coefficient: Fraction | None = None
    name: str = ""

    @property
    def label(self) -> str:
        """What to call it in a sentence [-]."""
        return self.name or self.formula.typed or self.formula.hill


@dataclass(frozen=True)
class Equation:
    """What goes in, on the left, and what comes out, on the right.

    Parameters
    ----------
    left, right : tuple of Species
        Reactants and products in the order written [-].
    typed : str
        What the person wrote [-].
    """

    left: tuple[Species, ...]
    right: tuple[Species, ...]
    typed: str = ""

    @property
    def species(self) -> tuple[Species, ...]:
        """All substances, left before right [-]."""
        return self.left + self.right

    @property
    def coefficients(self) -> tuple[Fraction, ...]:
        """Coefficients in the order of `species`; one left out counts as 1 [-]."""
        return tuple(Fraction(1) if s.coefficient is None else s.coefficient for s in self.species)

    @property
    def text(self) -> str:
        """The equation in one spelling, with '→' [-]."""
        sides = (" + ".join(_spelled(species) for species in side) for side in (self.left, self.right))
        return " → ".join(sides)

    def with_coefficients(self, coefficients: Iterable[Fraction | int]) -> "Equation":
        """Give the same equation with other coefficients.

        Parameters
        ----------
        coefficients : iterable of Fraction or int
            One for each of `species` [-].

        Returns
        -------
        Equation
            The equation with every coefficient set [-].

        Examples
        --------
        >>> parse_equation("H2 + O2 -> H2O").with_coefficients([2, 1, 2]).text
        '2 H2 + O2 → 2 H2O'
        """
        given = [Fraction(number) for number in coefficients]
        numbered = [replace(s, coefficient=n) for s, n in zip(self.species, given, strict=True)]
        return replace(self, left=tuple(numbered[: len(self.left)]), right=tuple(numbered[len(self.left) :]))


def parse_equation(text: str) -> Equation:
    """Read an equation as chemists type it.

    Parameters
    ----------
    text : str
        For instance "C6H7N + C4H6O3 -> C8H9NO + C2H4O2"; '->', '→', '=' and '⇌' part the sides,
        coefficients may be "2", "1/2", "½" or "0.5" [-].

    Returns
    -------
    Equation
        The two sides; nothing is checked or balanced yet [-].

    Notes
    -----
    Source: ours; formulae as in `labstock.chemistry.formula`.

    Examples
    --------
    >>> parse_equation("2H2 + O2 = 2 H2O").coefficients == (2, 1, 2)
    True
    """
    if len(text) > LONGEST:
        raise LabError(
            "equation-too-long",
            "This equation has {length} characters and {longest} are the most: check what was pasted.",
            length=len(text),
            longest=LONGEST,
        )
    left, right = _sides(text)
    equation = Equation(_side(left, "left", text), _side(right, "right", text), text.strip())
    if len(equation.species) > MOST_SPECIES:
        raise LabError(
            "equation-too-many",
            "This equation has {count} substances and {most} are the most: split it into steps.",
            count=len(equation.species),
            most=MOST_SPECIES,
        )
    return equation


def _sides(text: str) -> list[str]:
    pattern = _ARROW if _ARROW.search(text) else _EQUALS
    found = list(pattern.finditer(text))
    if pattern is _EQUALS and len(found) > 1:
        found = [m for m in found if text[m.start() - 1 : m.start()].isspace()]
    if len(found) != 1:
        raise LabError(
            "equation-arrow",
            "'{typed}' has {count} between what goes in and what comes out: write exactly one '->', for instance "
            "C6H7N + C4H6O3 -> C8H9NO + C2H4O2.",
            typed=text.strip(),
            count="no arrow" if not found else f"{len(found)} arrows",
        )
    return [text[: found[0].start()], text[found[0].end() :]]


def _side(text: str, which: str, typed: str) -> tuple[Species, ...]:
    parts = [part.strip() for part in _PLUS.split(text)] if text.strip() else []
    if not parts or not all(parts):
        raise LabError(
            "equation-side",
            "'{typed}' has {fault} on the {which}: write at least one formula on each side of the arrow and of every '+'.",
            typed=typed.strip(),
            fault="nothing" if not parts else "a '+' with nothing beside it",
            which=which,
        )
    return tuple(_species(part) for part in parts)


def _species(text: str) -> Species:
    match = _COEFFICIENT.match(text)
    if not match:
        return Species(parse_formula(text))
    coefficient = _fraction(match[1], text)
    return Species(parse_formula(text[match.end() :]), coefficient)


def _fraction(text: str, typed: str) -> Fraction:
    above, _, below = text.replace(",", ".").partition("/")
    if above[-1] in _SIMPLE:
        number = int(above[:-1] or 0) + _SIMPLE[above[-1]]
    else:
        number = Fraction(above) / int(below or 1) if int(below or 1) else Fraction(0)
    if number <= 0:
        raise LabError(
            "coefficient-zero",
            "'{typed}' has the coefficient {number}: a coefficient is a number above zero. Leave the substance out, or "
            "leave the coefficient out.",
            typed=typed,
            number=text,
        )
    return number


def number_text(number: Fraction | int) -> str:
    """Print an exact number: "2", "1/2".

    Parameters
    ----------
    number : Fraction or int
        The number [-].

    Returns
    -------
    str
        The number as people write it [-].

    Notes
    -----
    Source: ours.

    Examples
    --------
    >>> number_text(Fraction(1, 2))
    '1/2'
    """
    return str(Fraction(number))


def _spelled(species: Species) -> str:
    number = species.coefficient
    front = "" if number in (None, 1) else f"{number_text(number or 1)} "
    return front + species.label
