"""An uncertainty budget for a simple expression of named inputs."""

from functools import reduce
from math import inf, isinf
from typing import Any

from labstock.bench.sums.forms.doubt import EXPRESSIONS, Term
from labstock.bench.sums.worked import Figure, Table, Worked, budget_table, figure, table
from labstock.chemistry.display import show, show_number
from labstock.chemistry.errors import LabError
from labstock.chemistry.propagation import Statement, statement
from labstock.chemistry.uncertain import UFloat, normal
from labstock.look.words import with_doubt

SUMS = ("sum", "difference", "mean")
GUM = (
    "propagation: JCGM 100:2008, 5.1.2; independent inputs",
    "coverage: Student’s t with effective degrees of freedom (Welch–Satterthwaite, JCGM 100:2008, G.4)",
)


def budget(typed: dict[str, Any]) -> Worked:
    """Work out the expression, its coverage interval and the budget."""
    terms: list[Term] = typed["terms"]
    unit = _unit(typed["expression"], terms)
    values = [_value(typed["expression"], terms, each) for each in terms]
    result = _result(typed["expression"], values)
    degrees = {
        value: each.degrees for value, each in zip(values, terms, strict=True) if each.degrees and value.s
    }
    stated = statement(result, degrees, float(typed["coverage"]))
    return Worked(
        "yes",
        show(stated.value, unit, stated.u, stated.k),
        (
            f"{dict(EXPRESSIONS)[typed['expression']]}; covers {float(typed['coverage']):.0%}".replace(
                "%", "\u00a0%"
            ),
        ),
        tuple(_figures(result, stated, unit)),
        (_inputs(terms, values), *budget_table(result, unit, "the result")),
        sources=GUM,
    )


def _value(expression: str, terms: list[Term], term: Term) -> UFloat:
    """Return one input: in the first line's unit for sums; a percentage in a product is a plain fraction."""
    if expression in SUMS:
        return term.typed.value(terms[0].typed.quantity.unit.symbol)
    unit = term.typed.quantity.unit
    value = term.typed.value(unit.symbol)
    if unit.dimension != "fraction":
        return value
    factor = float(unit.factor) / 100
    return normal(value.n * factor, value.s * factor, term.name)


def _unit(expression: str, terms: list[Term]) -> str:
    units = [each.typed.quantity.unit for each in terms]
    if expression in SUMS:
        return units[0].symbol
    symbols = ["" if unit.dimension == "fraction" else unit.symbol for unit in units]
    split = 1 if expression == "quotient" else len(symbols) - (expression == "over last")
    above, below = (list(filter(None, part)) for part in (symbols[:split], symbols[split:]))
    if not below:
        return "·".join(above)
    return f"{'·'.join(above) or '1'}/{'·'.join(below) if len(below) == 1 else '(' + '·'.join(below) + ')'}"


def _result(expression: str, values: list[UFloat]) -> UFloat:
    first, *rest = values
    if expression in ("quotient", "over last") and any(
        value.n == 0 for value in (rest if expression == "quotient" else values[-1:])
    ):
        raise LabError("zero-below", "A line below the fraction line is 0: nothing can be divided by it.")
    if expression == "product":
        return reduce(lambda a, b: a * b, values)
    if expression == "quotient":
        return reduce(lambda a, b: a / b, rest, first)
    if expression == "over last":
        return reduce(lambda a, b: a * b, values[:-1]) / values[-1]
    if expression == "difference":
        return reduce(lambda a, b: a - b, rest, first)
    whole = reduce(lambda a, b: a + b, values)
    return whole / len(values) if expression == "mean" else whole


def _figures(result: UFloat, stated: Statement, unit: str) -> list[Figure]:
    low, high = stated.interval
    degrees = "taken as known" if isinf(stated.degrees) else f"{stated.degrees:.1f}"
    return [
        figure("Result, ± for k = 2", result, unit),
        Figure("Standard uncertainty", show(float(f"{stated.u:.3g}"), unit)),
        Figure(
            "Effective degrees of freedom",
            degrees,
            "" if stated.degrees == inf else "cut to a whole number for t",
        ),
        Figure("Coverage factor k", f"{stated.k:.2f}"),
        Figure("Interval", f"{show_number(low)} to {show(high, unit)}"),
    ]


def _inputs(terms: list[Term], values: list[UFloat]) -> Table:
    rows = [
        (
            each.name,
            each.typed.quantity.typed,
            with_doubt(show_number(value)),
            f"{100 * value.s / abs(value.n):.2g}\u00a0%" if value.n else "none",
            f"{each.degrees:g}" if each.degrees else "known",
        )
        for each, value in zip(terms, values, strict=True)
    ]
    return table(
        "Inputs",
        ("Input", "As typed", "Read as#", "u, relative#", "Degrees#"),
        rows,
        "A ± without k is a rectangle’s half width, u = a/√3; with (k=2) an expanded uncertainty, u = U/2.",
    )
