"""What is asked for solutions, dilutions, concentrated acids and titrations."""

from typing import Any

from django import forms

from labstock.bench.sums.fields import KindField, NumberField, PurityField, QuantityField


class MakeForm(forms.Form):
    """A solution from a weighed solid."""

    kind = KindField()
    concentration = QuantityField(
        "Concentration wanted", "concentration", "mass concentration", unit="mol/L", zero=False
    )
    volume = QuantityField("Volume", "volume", unit="mL")
    purity = PurityField(required=False)


class WeighedForm(forms.Form):
    """The concentration of what was weighed and made up."""

    kind = KindField()
    mass = QuantityField("Mass weighed", "mass", unit="g")
    volume = QuantityField("Made up to", "volume", unit="mL")
    purity = PurityField(required=False)


class DiluteForm(forms.Form):
    """A dilution with one number missing."""

    stock = QuantityField("Concentration of the stock", "concentration", unit="mol/L")
    taken = QuantityField("Volume of stock", "volume", unit="mL", required=False)
    wanted = QuantityField("Concentration wanted", "concentration", unit="mol/L", required=False)
    final = QuantityField("Final volume", "volume", unit="mL", required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for exactly two of the three."""
        typed = super().clean() or {}
        given = [name for name in ("taken", "wanted", "final") if typed.get(name)]
        if not self.errors and len(given) != 2:
            raise forms.ValidationError(
                "Leave out the one of the three that is wanted: volume of stock, concentration wanted or final volume. "
                f"{len(given)} of them are given."
            )
        return typed


class AcidForm(forms.Form):
    """A concentrated acid or base by its label."""

    kind = KindField("What is dissolved", initial="HCl")
    strength = QuantityField(
        "Strength",
        "fraction",
        "mass concentration",
        help_text="Say which percent: 37 % w/w, 25 % w/v, 96 % v/v.",
    )
    density = QuantityField(
        "Density of the solution; for % v/v of the pure liquid", "density", unit="g/mL", required=False
    )
    wanted = QuantityField("Dilute it to", "concentration", unit="mol/L", required=False)
    final = QuantityField("Volume wanted", "volume", unit="mL", required=False)


class ByMassForm(forms.Form):
    """A dilution by mass."""

    stock = QuantityField("Strength of the stock", "fraction", unit="% w/w")
    wanted = QuantityField("Strength wanted", "fraction", unit="% w/w")
    mass = QuantityField("Mass wanted", "mass", unit="g")


class TitreForm(forms.Form):
    """A titration."""

    titrant = QuantityField("Concentration of the titrant", "concentration", unit="mol/L")
    used = QuantityField("Titrant used", "volume", unit="mL")
    sample = QuantityField("Volume of the sample", "volume", unit="mL")
    ratio = NumberField(
        "Sample per titrant, mol/mol",
        1e-3,
        1e3,
        initial="1",
        help_text="Coefficient of the sample over that of the titrant; 2.5 for oxalic acid by permanganate.",
    )
