"""Composition of a formula; balance of an equation."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from django.utils.html import format_html
from django.utils.safestring import SafeString

from batches.drafts import substances_of
from labstock.bench.sums.fields import Kind
from labstock.bench.sums.worked import Figure, Sign, Table, Worked, budget_table, figure, table
from labstock.chemistry.atomic_weights import atomic_weight
from labstock.chemistry.display import NO_BREAK, show_number
from labstock.chemistry.drawing import draw
from labstock.chemistry.equation import (
    Balance,
    Equation,
    balance,
    complete,
    imbalance,
    number_text,
    parse_equation,
    totals,
)
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula
from labstock.look.words import formula as set_formula
from labstock.look.words import with_doubt

CIAAW = "CIAAW, Standard Atomic Weights 2021: intervals read as rectangles (Pure Appl. Chem. 90 (2018) 395)"
QUAM = "within one element the doubts add, between elements their squares: EURACHEM/CITAC QUAM, example A2"
CONSERVED = "conservation of atoms and charge, solved exactly with fractions"


def composition(typed: dict[str, Any]) -> Worked:
    """Say what a formula is made of, its molar mass and its mass fractions."""
    kind: Kind = typed["kind"]
    if kind.formula is None:
        raise LabError(
            "needs-formula", "{name} is no formula: write one, for instance C4H6O3.", name=kind.name
        )
    mass = kind.formula.molar_mass
    known = substances_of(kind.formula)
    return Worked(
        "yes",
        figure("", mass, "g/mol").shown,
        (f"{kind.name} is {kind.formula.hill}", *_named(known)),
        tuple(_facts(kind.formula)),
        (_elements(kind.formula), *budget_table(mass, "g/mol", "the molar mass")),
        sources=(CIAAW, QUAM),
        picture=_structure(known),
        picture_title="Structure on the list",
    )


def _named(known: list[Any]) -> Iterator[str]:
    if known:
        names = ", ".join(substance.name for substance in known)
        yield f"on the substance list with this composition: {names}"


def _structure(known: list[Any]) -> SafeString:
    """Draw the structure if exactly one substance has the composition; of several none is chosen."""
    if len(known) != 1 or not known[0].smiles:
        return SafeString()
    try:
        return SafeString(draw(known[0].smiles, 220, 150, known[0].name))
    except LabError:  # the list may hold a structure that cannot be drawn; the numbers stand without it
        return SafeString()


def _facts(formula: Formula) -> Iterator[Figure]:
    yield Figure("Formula", set_formula(formula.typed or formula.hill))
    yield Figure("In the order of Hill", formula.hill)
    yield figure("Molar mass", formula.molar_mass, "g/mol", CIAAW)
    atoms = sum((number for _, number in formula.counts), start=Fraction(0))
    yield Figure("Atoms", number_text(atoms))
    if formula.charge:
        yield Figure("Charge", f"{formula.charge:+d}".replace("-", "−"))


def _elements(formula: Formula) -> Table:
    mass = formula.molar_mass
    rows = []
    for element, number in formula.counts:
        part = float(number) * atomic_weight(element)
        rows.append(
            (
                element,
                number_text(number),
                with_doubt(show_number(atomic_weight(element))),
                with_doubt(show_number(part)),
                with_doubt(show_number(100 * part / mass)),
            )
        )
    heads = ("Element", "Atoms#", "Weight, g/mol", "Brings, g/mol", "Mass, %")
    return table(
        "Element by element",
        heads,
        rows,
        "± for 95 %; the weight’s doubt is the spread of ordinary materials.",
    )


def check(typed: dict[str, Any]) -> Worked:
    """Check the coefficients that were given, or find what conservation decides."""
    equation = parse_equation(typed["equation"])
    given = [species.coefficient is not None for species in equation.species]
    found = balance(equation)
    if not imbalance(equation) and (any(given) or found.kind == "many"):
        return _result("yes", "It conserves atoms and charge as written", equation, found, _accepted(found))
    if any(given):
        return _partly_given(equation, found, all(given))
    sign: Sign = {"one": "yes", "many": "ask", "none": "no", "wrong side": "no"}[found.kind]  # type: ignore[assignment]
    shown = equation.with_coefficients(found.coefficients) if found.coefficients else equation
    word = shown.text if found.kind == "one" else _KINDS[found.kind]
    return _result(sign, word, shown, found, [found.words])


_KINDS = {
    "many": "More than one balance: the coefficients are yours to give",
    "none": "No balance exists",
    "wrong side": "A substance stands on the wrong side",
}


def _accepted(found: Balance) -> list[str]:
    if found.kind == "many":
        return [f"conservation allows {found.nullity} independent balances; yours is one of them"]
    return ["its coefficients conserve; nothing was changed"]


def _partly_given(equation: Equation, found: Balance, is_all_given: bool) -> Worked:
    wrong = [problem.message for problem in imbalance(equation)]
    if is_all_given:
        return _result("no", "It does not conserve", equation, found, [*wrong, found.words])
    try:
        whole = complete(equation)
    except LabError as error:
        return _result("ask", "The coefficients given do not decide it", equation, found, [error.message])
    return _result(
        "yes", whole.text, whole, found, ["the coefficients left out were worked out; yours were kept"]
    )


def _result(sign: Sign, word: str, equation: Equation, found: Balance, why: list[str]) -> Worked:
    return Worked(
        sign,
        word,
        tuple(why),
        tuple(_verdict(equation, found)),
        (_both_sides(equation),),
        sources=(CONSERVED,),
    )


def _verdict(equation: Equation, found: Balance) -> Iterator[Figure]:
    body = " + ".join("{}{}" for _ in equation.left), " + ".join("{}{}" for _ in equation.right)
    pieces: list[Any] = []
    for species in equation.species:
        number = species.coefficient
        front = "" if number in (None, 1) else f"{number_text(number or 1)}{NO_BREAK}"
        pieces += [front, set_formula(species.formula.typed or species.formula.hill)]
    yield Figure("Equation", format_html(" → ".join(body), *pieces))
    yield Figure("Independent balances", str(found.nullity), "dimension of the null space")
    if found.kind == "many" and found.coefficients:
        yield Figure(
            "Smallest balance", equation.with_coefficients(found.coefficients).text, "proposed, not decided"
        )


def _both_sides(equation: Equation) -> Table:
    pairs = list(zip([each.formula for each in equation.species], equation.coefficients, strict=True))
    left, right = totals(pairs[: len(equation.left)]), totals(pairs[len(equation.left) :])
    names = sorted({*left, *right}, key=lambda name: (name == "charge", name))
    zero = Fraction(0)
    rows = []
    for name in names:
        a, b = left.get(name, zero), right.get(name, zero)
        if name != "charge" or any(each.formula.charge for each in equation.species):
            rows.append((name, number_text(a), number_text(b), "same" if a == b else "differs"))
    return table(
        "Left and right",
        ("Element or charge", "Left#", "Right#", "Verdict"),
        rows,
        "With the coefficients as shown; one left out counts as 1.",
    )
