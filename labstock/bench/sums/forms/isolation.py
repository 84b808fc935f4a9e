"""What is asked for isolation and greenness."""

from typing import Any

from django import forms

from labstock.bench.sums.fields import ListField, NumberField, QuantityField, Typed, parts_of
from labstock.chemistry.quantities import parse_quantity

MASSES = "reaction mixture; 120.4 g"


def named_mass(line: str) -> tuple[str, Typed]:
    """Return the name and the mass of one line."""
    name, mass = parts_of(line, 2, 2, f"“{MASSES}”")
    return name, Typed(parse_quantity(mass, dimensions=("mass",), default_unit="g"), name)


class RecrystalliseForm(forms.Form):
    """A recrystallisation and its washing."""

    mass = QuantityField("Crude product", "mass", unit="g")
    solvent = QuantityField(
        "Solvent", "volume", unit="mL", required=False, help_text="Left out: the least that dissolves it hot."
    )
    hot = QuantityField("Solubility hot", "mass concentration", unit="g/100 mL")
    cold = QuantityField("Solubility cold", "mass concentration", unit="g/100 mL")
    washes = QuantityField("Cold washes, in all", "volume", unit="mL", required=False)


class DryingForm(forms.Form):
    """A loss on drying."""

    wet = QuantityField("Before drying, with the vessel", "mass", unit="g")
    dry = QuantityField("After drying, with the vessel", "mass", unit="g")
    vessel = QuantityField("The empty vessel", "mass", unit="g", zero=True, required=False)


class BalanceForm(forms.Form):
    """Everything in, everything out."""

    batch = forms.CharField(required=False, widget=forms.HiddenInput, max_length=12)
    went_in = ListField(
        "What went in", named_mass, help_text=f"One line each: {MASSES}. ± where it is not sure."
    )
    came_out = ListField(
        "What came out", named_mass, help_text="Product, kept sample, waste, recovered solvent."
    )
    ask_above = NumberField("Ask above, %", 0.1, 50, initial="5")


class MeltingForm(forms.Form):
    """A melting range against literature and reference."""

    low = QuantityField("First drop", "temperature", unit="°C")
    high = QuantityField("Clear melt", "temperature", unit="°C")
    book_low = QuantityField("Literature from", "temperature", unit="°C")
    book_high = QuantityField("Literature to", "temperature", unit="°C", required=False)
    reference_low = QuantityField("Reference sample from", "temperature", unit="°C", required=False)
    reference_high = QuantityField("Reference sample to", "temperature", unit="°C", required=False)


class GreenForm(forms.Form):
    """How much of what goes in ends up in the product."""

    batch = forms.CharField(required=False, widget=forms.HiddenInput, max_length=12)
    equation = forms.CharField(
        label="Equation", max_length=4000, help_text="With coefficients where they are not all 1."
    )
    wanted = forms.CharField(
        label="Product you want", max_length=200, help_text="As it stands in the equation."
    )
    product = QuantityField("Product isolated", "mass", unit="g")
    reactants = ListField(
        "Reactants used",
        named_mass,
        help_text=f"One line each: {MASSES.replace('reaction mixture', 'aniline')}. Excess included.",
    )
    others = ListField(
        "Everything else that went in",
        named_mass,
        required=False,
        help_text="Solvents, water, washes, drying agent.",
    )
    percent_yield = NumberField(
        "Yield, %", 0.01, 110, required=False, help_text="For the check against atom economy."
    )

    def clean(self) -> dict[str, Any]:
        """Ask for at least one reactant."""
        typed = super().clean() or {}
        if "reactants" in typed and not typed["reactants"]:
            self.add_error(
                "reactants", "No reactant is given: write one line each, such as “aniline; 5.00 g”."
            )
        return typed
