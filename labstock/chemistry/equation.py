"""Reaction equations: what they conserve, and what conservation says about the coefficients.

A balance is one answer, none, several, or a substance on the wrong side; coefficients a chemist gives are
accepted if, and only if, they conserve atoms and charge.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import Literal

from labstock.chemistry.equation_text import Equation, Species, number_text, parse_equation
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula
from labstock.chemistry.null_space import Vector, null_space, whole

__all__ = [
    "Balance", "Equation", "Problem", "Species",
    "accept", "balance", "complete", "imbalance", "number_text", "parse_equation", "totals",
]  # fmt: skip

Kind = Literal["one", "none", "many", "wrong side"]

INFEASIBLE = 2  # status code of scipy.optimize.milp


@dataclass(frozen=True)
class Problem:
    """One thing an equation does not conserve.

    Parameters
    ----------
    what : str
        Element, or "charge" [-].
    left, right : Fraction
        How much stands on each side [-].
    message : str
        The same in words [-].
    """

    what: str
    left: Fraction
    right: Fraction
    message: str


def totals(side: Iterable[tuple[Formula, Fraction]]) -> dict[str, Fraction]:
    """Add up the atoms and the charge of one side.

    Parameters
    ----------
    side : iterable of (Formula, Fraction)
        Formulae and how often they stand there [-].

    Returns
    -------
    dict
        Number of atoms by element, and "charge" [-].

    Notes
    -----
    Source: conservation of atoms and charge.

    Examples
    --------
    >>> from labstock.chemistry.formula import parse_formula
    >>> sum(totals([(parse_formula("SO4^2-"), Fraction(2))]).values())
    Fraction(6, 1)
    """
    total: dict[str, Fraction] = {"charge": Fraction(0)}
    for formula, times in side:
        total["charge"] += formula.charge * times
        for element, number in formula.counts:
            total[element] = total.get(element, Fraction(0)) + number * times
    return total


def imbalance(equation: Equation) -> list[Problem]:
    """List everything that an equation does not conserve with the coefficients it has.

    Parameters
    ----------
    equation : Equation
        The equation; a coefficient left out counts as 1 [-].

    Returns
    -------
    list of Problem
        One for each element and for the charge; empty when all is conserved [-].

    Notes
    -----
    Source: conservation of atoms and charge.

    Examples
    --------
    >>> [problem.message for problem in imbalance(parse_equation("H2 + O2 -> H2O"))]
    ['O: 2 on the left, 1 on the right']
    """
    numbered = list(zip([s.formula for s in equation.species], equation.coefficients, strict=True))
    left, right = totals(numbered[: len(equation.left)]), totals(numbered[len(equation.left) :])
    zero = Fraction(0)
    elements = sorted({*left, *right}, key=lambda element: (element == "charge", element))
    pairs = [(element, left.get(element, zero), right.get(element, zero)) for element in elements]
    return [Problem(what, a, b, _in_words(what, a, b)) for what, a, b in pairs if a != b]


def _in_words(what: str, left: Fraction, right: Fraction) -> str:
    if what == "charge":
        return f"charge: {_signed(left)} on the left, {_signed(right)} on the right"
    return f"{what}: {_amount(left)} on the left, {_amount(right)} on the right"


def _amount(number: Fraction) -> str:
    return number_text(number) if number else "none"


def _signed(number: Fraction) -> str:
    return f"{'+' if number > 0 else '−' if number < 0 else ''}{number_text(abs(number))}"


@dataclass(frozen=True)
class Balance:
    """What conservation of atoms and charge says about the coefficients.

    Parameters
    ----------
    kind : {"one", "none", "many", "wrong side"}
        How far conservation decides them [-].
    coefficients : tuple of int
        The balance, or the smallest proposal when there are several; empty when there is none [-].
    nullity : int
        Number of independent balances [-].
    misplaced : tuple of str
        Substances that belong on the other side [-].
    words : str
        The same for people, with what to do [-].
    """

    kind: Kind
    coefficients: tuple[int, ...]
    nullity: int
    misplaced: tuple[str, ...]
    words: str


def balance(equation: Equation) -> Balance:
    """Balance an equation exactly, as far as conservation decides it.

    Coefficients that were typed are not used; see `accept` for those.

    Parameters
    ----------
    equation : Equation
        What goes in and what comes out [-].

    Returns
    -------
    Balance
        Kind, coefficients and words [-].

    Notes
    -----
    Source: null space of the composition matrix over the rational numbers (linear algebra, exact). With
    several balances the one with the smallest sum is proposed; chemistry may want another.

    Examples
    --------
    >>> balance(parse_equation("C2H6 + O2 -> H2O + CO2")).coefficients
    (2, 7, 6, 4)
    >>> balance(parse_equation("C7H6O3 + C4H6O3 -> C9H8O4 + C2H4O2")).nullity
    2
    """
    matrix = _matrix(equation)
    basis = null_space(matrix)
    if not basis:
        return _none(equation, 0)
    if len(basis) == 1:
        return _from_one(equation, basis[0])
    proposal = _smallest_positive(matrix)
    if proposal is not None:
        return _several(equation, proposal, len(basis))
    misplaced = _fix_by_moving_one(equation, matrix)
    return _wrong_side(equation, (), misplaced, len(basis)) if misplaced else _none(equation, len(basis))


def accept(equation: Equation) -> Equation:
    """Accept the coefficients an equation has if, and only if, they conserve atoms and charge.

    Parameters
    ----------
    equation : Equation
        The equation; a coefficient left out counts as 1 [-].

    Returns
    -------
    Equation
        The same with every coefficient set [-].

    Notes
    -----
    Source: conservation of atoms and charge.

    Examples
    --------
    >>> accept(parse_equation("2 H2 + O2 -> 2 H2O")).text
    '2 H2 + O2 → 2 H2O'
    """
    problems = imbalance(equation)
    if problems:
        raise LabError(
            "not-conserved",
            "{equation} does not conserve {what}. {advice}",
            equation=equation.text,
            what="; ".join(problem.message for problem in problems),
            advice=balance(equation).words,
            problems=problems,
        )
    return equation.with_coefficients(equation.coefficients)


def complete(equation: Equation) -> Equation:
    """Keep the coefficients that were typed and work out the ones left out.

    Parameters
    ----------
    equation : Equation
        The equation with at least one coefficient typed and one left out [-].

    Returns
    -------
    Equation
        The same with every coefficient set [-].

    Notes
    -----
    Source: conservation of atoms and charge, solved exactly.

    Examples
    --------
    >>> complete(parse_equation("2 KMnO4 + 5 H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O")).text
    '2 KMnO4 + 5 H2O2 + 3 H2SO4 → K2SO4 + 2 MnSO4 + 5 O2 + 8 H2O'
    """
    given = [species.coefficient for species in equation.species]
    blank = [column for column, number in enumerate(given) if number is None]
    rows = [
        [row[c] for c in blank]
        + [sum((a * n for a, n in zip(row, given, strict=True) if n is not None), Fraction(0))]
        for row in _matrix(equation)
    ]
    basis = null_space(rows)
    if len(basis) != 1 or not basis[0][-1] or any(value <= 0 for value in basis[0]):
        raise _not_completed(equation, basis)
    found = dict(zip(blank, (value / basis[0][-1] for value in basis[0]), strict=False))
    return equation.with_coefficients(found[c] if n is None else n for c, n in enumerate(given))


def _not_completed(equation: Equation, basis: list[Vector]) -> LabError:
    is_open = len(basis) > 1
    return LabError(
        "not-completed",
        "{equation}: the coefficients given {fault}. {advice}",
        equation=equation.text,
        fault="leave the others open" if is_open else "do not fit together",
        advice="Give one more." if is_open else balance(equation).words,
    )


def _matrix(equation: Equation) -> list[list[Fraction]]:
    """One row for each element and one for the charge; products count negative."""
    elements = sorted({element for species in equation.species for element, _ in species.formula.counts})
    signs = [1] * len(equation.left) + [-1] * len(equation.right)
    pairs = list(zip(equation.species, signs, strict=True))
    rows = [[sign * species.formula.count(element) for species, sign in pairs] for element in elements]
    return [*rows, [Fraction(sign * species.formula.charge) for species, sign in pairs]]


def _from_one(equation: Equation, vector: Vector) -> Balance:
    numbers = whole(vector)
    if sum(number > 0 for number in numbers) < sum(number < 0 for number in numbers):
        numbers = tuple(-number for number in numbers)
    if all(number > 0 for number in numbers):
        return Balance("one", numbers, 1, (), f"One balance: {equation.with_coefficients(numbers).text}.")
    if any(number < 0 for number in numbers):
        misplaced = tuple(s.label for s, n in zip(equation.species, numbers, strict=True) if n < 0)
        return _wrong_side(equation, numbers, misplaced, 1)
    idle = [s.label for s, n in zip(equation.species, numbers, strict=True) if n == 0]
    return Balance(
        "none", (), 1, (), f"No balance uses {_and(idle)}: take it out, or add what is missing beside it."
    )


def _several(equation: Equation, proposal: tuple[int, ...], nullity: int) -> Balance:
    found = (
        f"The smallest is {equation.with_coefficients(proposal).text}; if another is meant, give"
        if proposal
        else "Give"
    )
    words = (
        f"Conservation allows more than one balance ({nullity} independent ones). "
        f"{found} the coefficients and they will be checked."
    )
    return Balance("many", proposal, nullity, (), words)


def _wrong_side(
    equation: Equation, numbers: tuple[int, ...], misplaced: tuple[str, ...], nullity: int
) -> Balance:
    choice = _and(misplaced) if numbers else " or ".join(misplaced)
    verb = "belong" if numbers and len(misplaced) > 1 else "belongs"
    words = f"{choice} {verb} on the other side of the arrow: with that the equation balances. Move it and try again."
    return Balance(
        "wrong side",
        (),
        nullity,
        misplaced,
        words.replace("Move it", "Move them") if verb == "belong" else words,
    )


def _none(equation: Equation, nullity: int) -> Balance:
    lonely = _one_sided(equation)
    if lonely:
        reason = "; ".join(f"{element} stands only on the {side}" for element, side in lonely)
        words = f"No balance exists: {reason}. Add the substance that carries it on the other side, or correct a formula."
    else:
        words = (
            "No balance exists: no coefficients conserve all of "
            f"{_and(_elements(equation))} at once. A substance is missing, or a formula is wrong."
        )
    return Balance("none", (), nullity, (), words)


def _elements(equation: Equation) -> list[str]:
    found = {element for species in equation.species for element, _ in species.formula.counts}
    has_charge = any(species.formula.charge for species in equation.species)
    return sorted(found) + (["charge"] if has_charge else [])


def _one_sided(equation: Equation) -> list[tuple[str, str]]:
    def on(side: tuple[Species, ...]) -> set[str]:
        return {element for species in side for element, _ in species.formula.counts}

    left, right = on(equation.left), on(equation.right)
    return [(element, "left" if element in left else "right") for element in sorted(left ^ right)]


def _and(names: list[str] | tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _smallest_positive(matrix: list[list[Fraction]], seconds: float = 2.0) -> tuple[int, ...] | None:
    """Positive whole numbers with the smallest sum, checked exactly.

    None when there are none at all; empty when the search ended without a proof.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp  # slow to import, and most equations do without

    rows = [_whole_row(row) for row in matrix if any(row)]
    width = len(matrix[0])
    solved = milp(
        c=np.ones(width),
        integrality=np.ones(width),
        bounds=Bounds(1, np.inf),
        constraints=LinearConstraint(np.array(rows, dtype=float), 0, 0),
        options={"time_limit": seconds},
    )
    if solved.x is None:
        return None if solved.status == INFEASIBLE else ()
    numbers = tuple(round(value) for value in solved.x)
    is_exact = all(sum(a * n for a, n in zip(row, numbers, strict=True)) == 0 for row in rows)
    return whole(tuple(map(Fraction, numbers))) if is_exact else ()


def _whole_row(row: list[Fraction]) -> list[int]:
    times = lcm(*(value.denominator for value in row))
    return [int(value * times) for value in row]


def _fix_by_moving_one(equation: Equation, matrix: list[list[Fraction]]) -> tuple[str, ...]:
    found = []
    for column, species in enumerate(equation.species):
        moved = [[-value if i == column else value for i, value in enumerate(row)] for row in matrix]
        if _smallest_positive(moved, seconds=0.1) is not None:
            found.append(species.label)
    return tuple(found)
