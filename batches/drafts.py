"""A preparation as a chemist writes it down: an equation by formulae or by names, and the lines beside it."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from batches.models import LineRole
from labstock.chemistry.equation import Equation, Species, balance, complete, imbalance, parse_equation
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula, parse_formula
from labstock.stock.models import Substance, Synonym
from labstock.stock.search_text import normalised

ARROW = re.compile(r"\s*(?:<[-–−=]+>|(?<=\s)[-–−]{2,3}>|[-–−]>|=+>|[→⟶⇌⇄]|(?<=\s)=(?=\s))\s*")
PLUS = re.compile(r"\s+\+\s+")
COEFFICIENT = re.compile(r"(\d+/\d+|\d*[.,]\d+|\d+)\s*(?=\S)")
LONGEST_EQUATION = 300


@dataclass(frozen=True)
class Draft:
    """One line as the person gave it; texts stay as typed."""

    role: str
    name: str
    formula: str = ""
    substance: Substance | None = None
    coefficient: Fraction | None = None
    equivalents: str = ""
    amount: str = ""


@dataclass(frozen=True)
class _Part:
    """One species as it was read."""

    name: str
    formula: Formula
    coefficient: Fraction | None = None
    substance: Substance | None = None
    is_named: bool = False


def read_preparation(text: str) -> list[Draft]:
    """Return one draft line for each species of an equation that conserves atoms and charge.

    A species is a formula or the name of a substance on the list. Coefficients left out are worked out
    where conservation decides them; where it does not, the person is asked.
    """
    left, right = _sides(text)
    equation = Equation(_species_of(left), _species_of(right), text.strip())
    numbered = _with_coefficients(equation)
    roles = [LineRole.REACTANT] * len(left) + [LineRole.PRODUCT] * len(right)
    return [
        Draft(role, part.name, part.formula.typed, part.substance, coefficient)
        for role, part, coefficient in zip(roles, [*left, *right], numbered.coefficients, strict=True)
    ]


def substance_called(name: str) -> Substance | None:
    """Return the substance with exactly this name or synonym, however it is capitalised."""
    name = name.strip()
    found = Substance.objects.filter(name__iexact=name).first() if name else None
    if found is not None or not name:
        return found
    synonym = Synonym.objects.filter(name__iexact=name).select_related("substance").first()
    return synonym.substance if synonym and normalised(synonym.name) == normalised(name) else None


def substances_of(formula: Formula) -> list[Substance]:
    """Return the substances on the list with this composition, however their formula is written."""
    rows = Substance.objects.exclude(formula="").values_list("pk", "formula")
    same = [pk for pk, written in rows if composition_of(written) == formula.hill]
    return list(Substance.objects.filter(pk__in=same).order_by("name"))


def _sides(text: str) -> tuple[list[_Part], list[_Part]]:
    if len(text) > LONGEST_EQUATION:
        raise LabError(
            "too-long",
            "The equation has {length} characters and at most {most} are read: shorten it.",
            length=len(text),
            most=LONGEST_EQUATION,
        )
    sides = ARROW.split(text.strip())
    if len(sides) != 2 or not all(sides):
        raise LabError(
            "no-arrow",
            "'{text}' is no equation yet: write what goes in, one arrow ->, and what comes out, "
            "like C6H7N + C4H6O3 -> C8H9NO + C2H4O2.",
            text=text.strip(),
        )
    left, right = ([part for token in PLUS.split(side) for part in _parts(token)] for side in sides)
    return left, right


def _parts(token: str) -> Iterator[_Part]:
    """Yield what one piece between two plus signs stands for; a piece without spaces may hold several."""
    named = _named(token.strip())
    if named is not None:
        yield named
        return
    try:
        both = parse_equation(f"{token} -> {token}")
    except LabError as error:
        raise _unknown(token.strip(), error) from error
    for species in both.left:
        known = substances_of(species.formula)
        # one match is a proposal the page shows by name; two are never chosen between
        substance = known[0] if len(known) == 1 else None
        name = substance.name if substance else species.formula.typed
        yield _Part(name, species.formula, species.coefficient, substance)


def _named(token: str) -> _Part | None:
    """Return the substance that a piece names, with the number before it; the whole piece is tried first."""
    found = COEFFICIENT.match(token)
    readings = [("", token)] + ([(found.group(1), token[found.end() :])] if found else [])
    for written, name in readings:
        substance = substance_called(name)
        if substance is not None:
            coefficient = Fraction(written.replace(",", ".")) if written else None
            return _Part(substance.name, _formula_of(substance), coefficient, substance, True)
    return None


def _unknown(token: str, why: LabError) -> LabError:
    rest = COEFFICIENT.sub("", token, count=1) if COEFFICIENT.match(token) else token
    try:
        parse_formula(rest)
        reason = why.message
    except LabError as error:
        reason = error.message
    return LabError(
        "unknown-species",
        "'{token}' is neither a name on the substance list nor a formula. As a formula: {why}",
        token=token,
        why=reason,
    )


def _formula_of(substance: Substance) -> Formula:
    if not substance.formula:
        raise LabError(
            "no-formula",
            "{name} has no formula on the substance list, so the equation cannot be checked: enter its formula there.",
            name=substance.name,
        )
    return parse_formula(substance.formula)


@lru_cache(maxsize=8192)
def composition_of(written: str) -> str:
    """Return the one spelling of a composition, or nothing where the text is no formula."""
    try:
        return parse_formula(written).hill
    except LabError:
        return ""


def _species_of(parts: Sequence[_Part]) -> tuple[Species, ...]:
    return tuple(
        Species(part.formula, part.coefficient, part.name if part.is_named else part.formula.typed)
        for part in parts
    )


def _with_coefficients(equation: Equation) -> Equation:
    """Take the coefficients as given if they conserve; work them out only where none were given."""
    problems = imbalance(equation)
    if not problems:
        return equation.with_coefficients(equation.coefficients)
    said = "; ".join(problem.message for problem in problems)
    found = balance(equation)
    if any(species.coefficient is not None for species in equation.species):
        raise LabError(
            "not-conserved",
            "The equation does not conserve: {problems}. {advice}",
            problems=said,
            advice=_advice(equation),
            suggestion=_suggestion(equation),
        )
    if found.kind == "one":
        return equation.with_coefficients(found.coefficients)
    raise LabError(
        f"balance-{found.kind}".replace(" ", "-"),
        "The equation does not conserve as written ({problems}). {words}",
        problems=said,
        words=found.words,
        suggestion=_written(equation.with_coefficients(found.coefficients)) if found.kind == "many" else "",
    )


def _advice(equation: Equation) -> str:
    suggestion = _suggestion(equation)
    if suggestion:
        return f"It would as {suggestion}."
    return f"Correct the coefficients, or leave them all out. {balance(equation).words}"


def _suggestion(equation: Equation) -> str:
    """Return the equation with what was left out filled in, or balanced anew; empty where neither is decided."""
    try:
        return _written(complete(equation))
    except LabError:
        found = balance(equation)
        return _written(equation.with_coefficients(found.coefficients)) if found.kind == "one" else ""


def _written(equation: Equation) -> str:
    """Write an equation as it could be typed, by the names or formulae the person used."""

    def side(many: Sequence[Species]) -> str:
        return " + ".join(
            f"{one.coefficient} {one.label}" if one.coefficient != 1 else one.label for one in many
        )

    return f"{side(equation.left)} -> {side(equation.right)}"
