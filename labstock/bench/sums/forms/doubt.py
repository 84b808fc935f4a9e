"""What is asked for an uncertainty budget."""

from dataclasses import dataclass

from django import forms

from labstock.bench.sums.fields import ListField, Typed, parts_of
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity

EXPRESSIONS = [
    ("product", "the product of all lines"),
    ("quotient", "the first line divided by all others"),
    ("over last", "the product of all lines, divided by the last"),
    ("sum", "the sum of all lines"),
    ("difference", "the first line less all others"),
    ("mean", "the mean of all lines"),
]
LIKE = "“mass; 100.28 mg ± 0.1 mg (k=2); 9”"


@dataclass(frozen=True)
class Term:
    """One input of the budget."""

    name: str
    typed: Typed
    degrees: float | None


def term(line: str) -> Term:
    """Return one input: name; quantity with ±; degrees of freedom where few readings stand behind it."""
    name, quantity, degrees = parts_of(line, 2, 3, LIKE)
    number = None
    if degrees:
        try:
            number = float(degrees)
        except ValueError:
            number = -1.0
        if not number >= 1:
            raise LabError(
                "degrees-below-one",
                "'{degrees}' degrees of freedom for {name} cannot be: n readings give n − 1, at least 1. "
                "Leave it out where the ± is taken as known.",
                degrees=degrees,
                name=name,
            )
    return Term(name, Typed(parse_quantity(quantity), name), number)


class DoubtForm(forms.Form):
    """An expression of a closed list, and its inputs."""

    expression = forms.ChoiceField(label="The result is", choices=EXPRESSIONS)
    terms = ListField(
        "Inputs",
        term,
        help_text=f"One line each: {LIKE}; the last part, degrees of freedom, may be left out.",
    )
    coverage = forms.ChoiceField(label="Coverage", choices=[("0.95", "95 %"), ("0.99", "99 %")])

    def clean_terms(self) -> list[Term]:
        """Ask for at least two inputs with names of their own."""
        terms: list[Term] = self.cleaned_data["terms"]
        names = [each.name for each in terms]
        doubled = next((name for name in names if names.count(name) > 1), None)
        if len(terms) < 2:
            raise forms.ValidationError(f"{len(terms)} input is no budget: give at least two lines.")
        if doubled is not None:
            raise forms.ValidationError(
                f"Two lines are called {doubled}: give each its own name, the budget tells them apart by it."
            )
        return terms
