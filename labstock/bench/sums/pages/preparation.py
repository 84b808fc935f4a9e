"""Limiting reagent, equivalents, theoretical and percent yield, with their doubt."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from typing import Any, cast

from batches.stoichiometry.lines import Dimension, Fixed, LineInput
from batches.stoichiometry.plan import Actual, actual
from batches.stoichiometry.yields import percent_yield, yield_problem
from labstock.bench.sums.fields import fraction_or_pure
from labstock.bench.sums.forms.preparation import Portion
from labstock.bench.sums.worked import Figure, Table, Worked, budget_table, figure, table
from labstock.chemistry.display import show, show_number
from labstock.chemistry.equation import Equation, Species, accept, parse_equation
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import UFloat, normal
from labstock.look.words import with_doubt

SOURCES = (
    "limiting reagent: the least effective amount per coefficient (OpenStax, Chemistry 2e, Reaction Yields)",
    "atomic weights: CIAAW 2021; elements that two substances share stay correlated",
    "propagation by JCGM 100:2008, 5.1.2 and 5.2.2; ± is two standard uncertainties",
)


def outcome(typed: dict[str, Any]) -> Worked:
    """Work out what the yield is, from what really went in."""
    equation = accept(parse_equation(typed["equation"]))
    portions: list[Portion] = typed["portions"]
    product = _product(equation, typed["wanted"])
    found = actual([*(_line(equation, each) for each in portions), _product_line(product)])
    if found.limiting_key is None or found.limiting_amount_mmol is None or found.theoretical_mass_g is None:
        raise LabError("no-amount", "{why}", why="; ".join(problem.message for problem in found.problems))
    limiting = _species(equation, found.limiting_key)
    ratio = (product.coefficient or Fraction(1)) / (limiting.coefficient or Fraction(1))
    purity = fraction_or_pure(typed["purity"])
    purity = normal(purity.n, purity.s, "purity of the product")
    percent = percent_yield(
        typed["mass"].value("g"), purity, found.limiting_amount_mmol, ratio, product.formula.molar_mass
    )
    problem = yield_problem(percent)
    return Worked(
        "caution" if problem else "yes",
        f"Yield {show(percent, '%')}",
        tuple(words for words in (problem, *(each.message for each in found.problems)) if words),
        tuple(_figures(found, percent, typed)),
        (_equivalents(found, portions), *budget_table(percent, "%", "the yield")),
        sources=SOURCES,
    )


def _species(equation: Equation, key: str) -> Species:
    return next(each for each in equation.left if each.formula.hill == key)


def _product(equation: Equation, name: str) -> Species:
    for species in equation.right:
        if name.strip() in (species.label, species.formula.hill):
            return species
    raise LabError(
        "not-a-product",
        "'{name}' is not on the right of the equation: choose one of {products}.",
        name=name.strip(),
        products=", ".join(species.label for species in equation.right),
    )


def _product_line(product: Species) -> LineInput:
    return LineInput("product", product.label, "product", product.formula.molar_mass, product.coefficient)


def _line(equation: Equation, portion: Portion) -> LineInput:
    hill = portion.kind.formula.hill if portion.kind.formula else parse_formula(portion.name).hill
    species = next((each for each in equation.left if each.formula.hill == hill), None)
    if species is None:
        raise LabError(
            "not-a-reactant",
            "{name} is not on the left of the equation: reactants there are {reactants}.",
            name=portion.name,
            reactants=", ".join(each.label for each in equation.left),
        )
    dimension = portion.amount.quantity.dimension
    value = portion.amount.value({"mass": "g", "volume": "mL", "amount": "mmol"}[dimension])
    fraction = fraction_or_pure(portion.purity)
    line = LineInput(hill, portion.name, "reactant", species.formula.molar_mass, species.coefficient)
    return replace(
        line,
        fixed=Fixed(value, cast(Dimension, dimension)),
        fraction=normal(fraction.n, fraction.s, f"purity of {portion.name}"),
        density_g_per_mL=_density(portion),
    )


def _density(portion: Portion) -> UFloat | None:
    if portion.density is not None:
        return portion.density.value("g/mL")
    listed = portion.kind.substance.density if portion.kind.substance else None
    return None if listed is None else normal(listed.n, listed.s, f"density of {portion.name}")


def _figures(found: Actual, percent: UFloat, typed: dict[str, Any]) -> Iterator[Figure]:
    assert found.limiting_amount_mmol is not None
    assert found.theoretical_mass_g is not None
    yield figure("Percent yield", percent, "%")
    yield figure("Theoretical yield", found.theoretical_mass_g, "g", "pure product at 100 %")
    yield figure(
        "Effective amount of the limiting reagent",
        found.limiting_amount_mmol,
        "mmol",
        _name(found.limiting_key, typed),
    )
    yield figure(
        "Product isolated",
        typed["mass"].value("g"),
        "g",
        typed["purity"].words if typed["purity"] else "taken as pure",
    )


def _name(key: str | None, typed: dict[str, Any]) -> str:
    names = [each.name for each in typed["portions"] if each.kind.formula and each.kind.formula.hill == key]
    return f"{names[0]} limits" if names else ""


def _equivalents(found: Actual, portions: list[Portion]) -> Table:
    rows = []
    for each in portions:
        key = each.kind.formula.hill if each.kind.formula else parse_formula(each.name).hill
        amount = found.amounts_mmol.get(key)
        rows.append(
            (
                each.name,
                each.amount.quantity.typed,
                each.purity.words if each.purity else "taken as pure",
                with_doubt(show_number(amount)) if amount is not None else "not known",
                with_doubt(show_number(found.equivalents[key])) if key in found.equivalents else "not known",
            )
        )
    heads = ("Reactant", "Taken#", "Purity", "Effective, mmol", "Equivalents#")
    return table(
        "What went in", heads, rows, "Equivalents count per coefficient; 1.00 is the equation itself."
    )
