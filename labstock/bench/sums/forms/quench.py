"""What is asked for a quench."""

from typing import Any

from django import forms

from batches.stoichiometry.quench import NEUTRALISERS
from labstock.bench.sums.fields import NumberField, QuantityField


class QuenchForm(forms.Form):
    """What may be left of a reactive reagent, and how it is to be quenched."""

    batch = forms.CharField(required=False, widget=forms.HiddenInput, max_length=12)
    reagent = forms.CharField(
        label="Reactive reagent",
        max_length=120,
        help_text="Name or CAS number: acetic anhydride, 75-36-5, sodium hydride.",
    )
    charged = QuantityField("It went in", "mass", "volume", "amount", help_text="g, mL or mmol.")
    product = QuantityField(
        "Product found so far",
        "amount",
        unit="mmol",
        zero=True,
        required=False,
        help_text="Left out: all of the reagent is taken as left.",
    )
    per_product = NumberField("Reagent per product, mol/mol", 0.01, 100, initial="1")
    density = QuantityField(
        "Density of the reagent", "density", unit="g/mL", required=False, help_text="Left out: the list’s."
    )
    mixture = QuantityField("Volume of the mixture you dose", "volume", unit="mL", required=False)
    volumes = NumberField(
        "Volumes of water", 0.1, 1000, initial="10", help_text="Per volume of reagent left."
    )
    neutraliser = forms.ChoiceField(
        label="Neutralise with",
        required=False,
        choices=[("", "nothing"), *((name, name) for name in NEUTRALISERS)],
    )
    cooling = QuantityField(
        "Cooling",
        "power",
        unit="W",
        required=False,
        help_text="An ice bath takes about 20 to 50 W out of a small flask (common practice, no source): measure yours.",
    )
    start = QuantityField("Water starts at", "temperature", unit="°C", initial="20 °C")

    def clean_reagent(self) -> Any:
        """Return the reagent's name without blanks."""
        return " ".join(self.cleaned_data["reagent"].split())
