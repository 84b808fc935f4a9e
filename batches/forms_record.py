"""What is typed into a batch record: observations, the result, where the product went."""

from typing import Any

from django import forms

from batches.actions.record import Result
from batches.fields import MomentField, PercentField, SentOnce
from labstock.chemistry.devices import DEVICES, device
from labstock.chemistry.errors import LabError
from labstock.chemistry.purity import Claim
from labstock.chemistry.quantities import Quantity
from labstock.people.models import LabGroup
from labstock.stock.actions.receiving import Arrival
from labstock.stock.forms.fields import QuantityField
from labstock.stock.models import Location, VesselKind

MEASURED, AT_LEAST, NOT_MEASURED = "measured", "at least", "not measured"
MEANINGS = [
    (MEASURED, "Measured: the number and its ±"),
    (AT_LEAST, "At least this, no more is known"),
    (NOT_MEASURED, "Not measured: count it as pure"),
]
BY_DIFFERENCE = 2**0.5  # product is a difference of two weighings: vessel with it, vessel without


def balances() -> list[tuple[str, str]]:
    """Return what a product may be weighed on."""
    return [(row.code, row.name) for row in DEVICES.values() if row.kind == "balance"]


class ObserveForm(SentOnce):
    """What was seen or done."""

    text = forms.CharField(
        label="What did you see or do?", max_length=4000, widget=forms.Textarea(attrs={"rows": 3})
    )
    at = MomentField(label="Seen earlier, at", help_text="Left empty, it is now.")
    is_departure = forms.BooleanField(required=False, label="This departs from the plan")


class FinishForm(SentOnce):
    """The product as it was weighed, and how pure it is."""

    mass = QuantityField(
        default_unit="g",
        dimensions=("mass",),
        allow_zero=True,
        label="Product, dried to constant mass",
        help_text="Such as 6.02 g. Nothing came out? Write 0 g.",
    )
    balance = forms.ChoiceField(choices=balances, initial="balance-0.01g", label="Weighed on")
    meaning = forms.ChoiceField(
        choices=MEANINGS, initial=MEASURED, widget=forms.RadioSelect, label="Its purity is"
    )
    percent = PercentField(
        required=False, label="Purity", help_text="Left empty only where it was not measured."
    )
    doubt = PercentField(required=False, label="± (k = 2)")
    how = forms.CharField(
        required=False,
        max_length=300,
        label="How was it measured?",
        help_text="Such as “titration”, “HPLC, 254 nm”.",
    )

    def clean(self) -> dict[str, Any]:
        """Check that the number says what its meaning needs."""
        said = super().clean() or {}
        if said.get("meaning") == NOT_MEASURED or "percent" in self.errors:
            return said
        if said.get("percent") is None:
            self.add_error(
                "percent", "Give the purity in %, such as 99.1, or choose that it was not measured."
            )
        elif said["percent"] > 100:
            self.add_error(
                "percent", f"{said['percent']:g} % is more than all of it: a purity is 100 % or less."
            )
        elif said.get("meaning") == MEASURED and not said.get("doubt") and "doubt" not in self.errors:
            self.add_error(
                "doubt", "A measured purity has a doubt: give ± in % (k = 2), or choose “at least”."
            )
        return said

    def result(self) -> Result:
        """Return what came out, with the doubt of balance and purity."""
        said = self.cleaned_data
        mass: Quantity = said["mass"]
        reading = device(said["balance"]).uncertainty(float(mass.in_unit("g")))
        random = max(reading.random * BY_DIFFERENCE, float(mass.to("g").u or 0))
        percent, u = self._purity()
        return Result(
            mass=mass,
            mass_u_g=(random**2 + reading.common**2) ** 0.5,
            percent=percent,
            percent_u=u,
            mass_common_g=reading.common,
            device_code=said["balance"],
            note=self._note(),
        )

    def _purity(self) -> tuple[float, float]:
        said = self.cleaned_data
        if said["meaning"] == NOT_MEASURED:
            return 100.0, 0.0
        kind = "assay" if said["meaning"] == MEASURED else "at least"
        u = said["doubt"] / 2 if kind == "assay" else None
        fraction = Claim(kind, said["percent"], u).fraction * 100
        return float(fraction.nominal_value), float(fraction.std_dev)

    def _note(self) -> str:
        said = self.cleaned_data
        weighed = f"Product {said['mass'].typed} on the {device(said['balance']).name}."
        how = f": {said['how'].strip()}" if said["how"].strip() else ""
        if said["meaning"] == NOT_MEASURED:
            return f"{weighed} Purity not measured, counted as pure{how}."
        if said["meaning"] == AT_LEAST:
            return f"{weighed} Purity at least {said['percent']:g} %{how}."
        return f"{weighed} Purity {said['percent']:g} ± {said['doubt']:g} % (k = 2){how}."


class AbandonForm(SentOnce):
    """The end of a batch that comes to nothing."""

    reason = forms.CharField(
        label="Why does it end here?",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What went in stays written, and failures are results too.",
    )


class KeepForm(SentOnce):
    """A container that something goes into: how much, in what, where."""

    amount = QuantityField(default_unit="g", label="How much goes in?")
    vessel = forms.ChoiceField(choices=VesselKind, label="Into a")
    location = forms.ModelChoiceField(
        Location.objects.order_by("path"), required=False, label="It stands at", empty_label="not decided yet"
    )


class ProductForm(KeepForm):
    """A container for the product."""

    capacity = QuantityField(
        required=False,
        default_unit="g",
        label="Holds when full",
        help_text="In g, judged by eye. Left empty, it is drawn full.",
    )
    owner_group = forms.ModelChoiceField(
        LabGroup.objects.all(), required=False, label="Owned by", empty_label="nobody named"
    )
    field_order = ["key", "amount", "vessel", "capacity", "location", "owner_group"]

    def arrival(self) -> Arrival:
        """Return the container as it comes in; the product's own doubt goes with it."""
        said = self.cleaned_data
        amount: Quantity = said["amount"]
        u = None if amount.u is None else float(amount.to("g").u or 0)
        return Arrival(
            unit="g",
            capacity=said["capacity"] or amount,
            amount=amount,
            vessel=said["vessel"],
            location=said["location"],
            owner_group=said["owner_group"],
            u_amount=u,
        )


def refuse(form: forms.Form, error: LabError) -> None:
    """Write an action's refusal on top of the form."""
    form.add_error(None, error.message)
