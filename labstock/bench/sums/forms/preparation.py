"""What is asked for a yield: an equation, what went in, what came out."""

from dataclasses import dataclass

from django import forms

from labstock.bench.sums.fields import (
    Kind,
    ListField,
    Purity,
    PurityField,
    QuantityField,
    Typed,
    parts_of,
    read_kind,
    read_purity,
)
from labstock.chemistry.quantities import parse_quantity

LIKE = "“C4H6O3; 5.5 mL ± 0.05 mL; ≥ 99 %; 1.082 g/mL”"


@dataclass(frozen=True)
class Portion:
    """One reactant as it was taken."""

    name: str
    kind: Kind
    amount: Typed
    purity: Purity | None
    density: Typed | None


def portion(line: str) -> Portion:
    """Return one reactant: formula or name; amount; purity; density."""
    name, amount, purity, density = parts_of(line, 2, 4, LIKE)
    quantity = parse_quantity(amount, dimensions=("mass", "volume", "amount"))
    dense = parse_quantity(density, dimensions=("density",), default_unit="g/mL") if density else None
    return Portion(
        name,
        read_kind(name),
        Typed(quantity, f"amount of {name}"),
        read_purity(purity) if purity else None,
        Typed(dense, f"density of {name}") if dense else None,
    )


class PreparationForm(forms.Form):
    """A preparation as it was done."""

    equation = forms.CharField(
        label="Equation", max_length=4000, help_text="Formulae, with coefficients where they are not all 1."
    )
    portions = ListField(
        "What went in",
        portion,
        help_text=f"One line for each reactant: {LIKE}; purity and density may be left out.",
    )
    wanted = forms.CharField(label="Product", max_length=200, help_text="As it stands in the equation.")
    mass = QuantityField("Product isolated", "mass", unit="g", zero=True)
    purity = PurityField("Purity of the product", required=False)
