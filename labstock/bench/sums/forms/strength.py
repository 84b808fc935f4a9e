"""What is asked for the strength of a moisture-sensitive bottle."""

from datetime import date
from typing import Any

from django import forms

from labstock.bench.sums.fields import (
    KindField,
    NumberField,
    PurityField,
    QuantityField,
    choices_of,
)
from labstock.chemistry.moisture import CLASSES, EVENT_WATER_G, LEAK_G_PER_MONTH

NO_MODEL = "takes up no water"


class StrengthForm(forms.Form):
    """A bottle: what is claimed, what was measured, what happened to it."""

    container = forms.CharField(required=False, widget=forms.HiddenInput, max_length=20)
    kind = KindField()
    water = forms.ChoiceField(
        label="With water it is", choices=choices_of([*CLASSES, NO_MODEL]), initial="anhydride"
    )
    claim = PurityField("The label or certificate says", required=False)
    assay = PurityField(
        "Newest assay", required=False, help_text="Such as 97.1 ± 0.4 %. A valid assay goes before the label."
    )
    assayed_on = forms.DateField(
        label="Assayed on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    opened_on = forms.DateField(
        label="Opened, or counted, since", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    content = QuantityField("Content, on average", "mass", unit="g", required=False)
    openings = NumberField("Times opened", 0, 10_000, required=False)
    headspace = QuantityField("Air above it, on average", "volume", unit="mL", zero=True, required=False)
    temperature = QuantityField("Room", "temperature", unit="°C", required=False, initial="23 °C")
    humidity = QuantityField("Relative humidity", "fraction", unit="%", required=False, initial="50 ± 20 %")
    cap = forms.ChoiceField(label="Cap", choices=choices_of(list(LEAK_G_PER_MONTH)))
    events = forms.MultipleChoiceField(
        label="Mishaps",
        choices=choices_of(list(EVENT_WATER_G)),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    planned = NumberField("Planned equivalents, with the label", 0.01, 100, required=False)
    dispensed = QuantityField(
        "Mass you will take",
        "mass",
        unit="g",
        required=False,
        help_text="For the base that the acid in it will eat.",
    )

    def clean(self) -> dict[str, Any]:
        """Ask for what the model needs, and for something to start from."""
        typed = super().clean() or {}
        if self.errors:
            return typed
        if not typed["claim"] and not typed["assay"]:
            raise forms.ValidationError(
                "Nothing says how strong it was: enter what the label says, or an assay."
            )
        if typed["water"] != NO_MODEL:
            self._ask_for_the_model(typed)
        if typed["assayed_on"] and typed["assayed_on"] > date.today():
            self.add_error(
                "assayed_on", f"{typed['assayed_on']:%d %b %Y} lies ahead: give the day it was measured."
            )
        return typed

    def _ask_for_the_model(self, typed: dict[str, Any]) -> None:
        missing = {"content": "its content in g", "opened_on": "since when it is counted"}
        for name, words in missing.items():
            if not typed.get(name):
                self.add_error(name, f"The moisture model needs {words}: enter it, or choose “{NO_MODEL}”.")
        if typed.get("opened_on") and typed["opened_on"] > date.today():
            self.add_error("opened_on", f"{typed['opened_on']:%d %b %Y} lies ahead: give a day up to today.")
