"""What is asked for amounts and devices."""

from django import forms

from labstock.bench.sums.fields import KindField, PurityField, QuantityField
from labstock.chemistry.devices import DEVICES


class ReadForm(forms.Form):
    """One amount, and what it was measured with."""

    amount = QuantityField(
        "Amount", help_text="Such as 5 mL, 1,5 g ± 0.03 g, 2 x 500 mL, 6 drops, 0.5 mol/L, 98 % w/w."
    )
    device = forms.ChoiceField(label="Measured with", required=False)
    vessel = QuantityField(
        "Capacity of the vessel",
        "volume",
        "mass",
        unit="mL",
        required=False,
        help_text="Only for what is judged by eye.",
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        device = self.fields["device"]
        assert isinstance(device, forms.ChoiceField)
        device.choices = [("", "show what fits")] + [(row.code, row.name) for row in DEVICES.values()]


class TurnForm(forms.Form):
    """One portion of one substance, to be given as mass, volume and amount of substance."""

    portion = QuantityField(
        "Portion", "mass", "volume", "amount", help_text="g, mL, mmol or drops; ± where it is not sure."
    )
    kind = KindField()
    purity = PurityField(required=False)
    density = QuantityField(
        "Density", "density", unit="g/mL", required=False, help_text="Left out: the list’s, if there is one."
    )
    density_at = QuantityField("The density is for", "temperature", unit="°C", required=False)
    temperature = QuantityField("Measured at", "temperature", unit="°C", required=False)
    expansion = forms.FloatField(
        label="Expansion, 1/K",
        required=False,
        min_value=0,
        max_value=0.01,
        help_text="Cubic expansion; about 0.001 for organic liquids.",
    )
    concentration = QuantityField(
        "Concentration, for a solution", "concentration", unit="mol/L", required=False
    )
