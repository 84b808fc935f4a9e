"""What is typed in a stock check."""

import uuid
from typing import Any

from django import forms
from django.utils import timezone

from labstock.chemistry.devices import DEVICES
from labstock.people.models import User
from labstock.stock.actions.lines import Doing
from labstock.stock.forms.fields import QuantityField
from labstock.stock.models import Container, LedgerUnit, Location
from labstock.stock.models.container import MILLION

BROKEN = "This form lost a part of itself on the way: open the page again and enter it anew."
DIMENSIONS = {"g": ("mass", "volume"), "mL": ("volume", "mass"), "piece": ("count",)}
CAUSES = (
    "a draw was not written down",
    "spilt, broken or poured away",
    "evaporated or dried up",
    "a wrong amount was written down",
    "another bottle was written down",
    "more came in than was written down",
    "not found out",
)


class KeyedForm(forms.Form):
    """A form that makes one thing however often it is sent."""

    error_css_class = "is-wrong"
    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal; a new one where the old one was unreadable."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())

    def clean(self) -> dict[str, Any]:
        """Say it where a person reads it when the hidden part is broken."""
        said = super().clean() or {}
        if "key" in self.errors:
            self.add_error(None, BROKEN)
        return said

    def doing(self, by: User, **about: Any) -> Doing:
        """Return who does it, now."""
        return Doing(by=by, key=self.cleaned_data["key"], at=timezone.now(), **about)


class StartForm(KeyedForm):
    """Which place is checked."""

    place = forms.ModelChoiceField(
        Location.objects.order_by("path"),
        label="Which place?",
        empty_label="choose",
        help_text="With all that is inside it.",
        error_messages={"invalid_choice": "That is no place on the list: choose one."},
    )


class ListForm(KeyedForm):
    """Which containers are checked."""

    codes = forms.CharField(max_length=4000, widget=forms.HiddenInput)


class CountForm(KeyedForm):
    """How much is in it, found without looking at the book: by mass, or in any other way."""

    seen_seq = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)
    way = forms.ChoiceField(choices=[("amount", "amount"), ("mass", "mass")], required=False)
    amount = QuantityField(required=False, allow_zero=True, label="How much is in it?")
    device = forms.ChoiceField(required=False, label="How do you know?")
    gross = QuantityField(required=False, dimensions=("mass",), default_unit="g", label="The gross mass")
    balance = forms.ChoiceField(required=False, label="The balance")

    def __init__(self, *args: Any, container: Container, **options: Any) -> None:
        super().__init__(*args, **({"auto_id": "%s"} | options))
        self.container = container
        field = self.fields["amount"]
        assert isinstance(field, QuantityField)
        field.default_unit, field.dimensions = container.unit, DIMENSIONS[container.unit]
        for name, rows in (("device", ways_to_count(container)), ("balance", balances())):
            choice = self.fields[name]
            assert isinstance(choice, forms.ChoiceField)
            choice.choices = rows
            choice.error_messages["invalid_choice"] = (
                "“%(value)s” is not one of the choices here: choose one of them."
            )

    @property
    def is_by_mass(self) -> bool:
        """Say which of the two fields counts; a browser that shows both may leave the choice untouched."""
        amount, gross = self["amount"].value(), self["gross"].value()
        return bool(self["way"].value() == "mass" and (gross or not amount)) or bool(gross and not amount)

    def clean(self) -> dict[str, Any]:
        """Take the number that was meant, and what it was measured with."""
        said = super().clean()
        name, tool = ("gross", "balance") if self.is_by_mass else ("amount", "device")
        other = {"gross": "amount", "amount": "gross"}[name]
        self.errors.pop(other, None)
        said["found"], said["device_code"] = said.get(name), said.get(tool)
        if said["found"] is None and name not in self.errors:
            like = "286.40 g" if name == "gross" else f"40 {self.container.unit}, or 0"
            self.add_error(name, f"Give one number: what you found, such as {like}.")
        if not said["device_code"] and tool not in self.errors:
            self.add_error(tool, "Choose how you know: it decides how sure the number is.")
        return said


class ExplainForm(KeyedForm):
    """Why a count is further from the book than chance."""

    cause = forms.ChoiceField(
        choices=[(cause, cause) for cause in CAUSES],
        widget=forms.RadioSelect,
        label="What is the cause?",
        error_messages={"required": "Choose a cause; “not found out” is one, if you looked for it."},
    )
    words = forms.CharField(required=False, max_length=200, label="In your words")

    def said(self) -> str:
        """Return the cause with what was added to it."""
        words = self.cleaned_data["words"].strip()
        return f"{self.cleaned_data['cause']}: {words}" if words else str(self.cleaned_data["cause"])


class FinishForm(forms.Form):
    """Whether everything was looked for."""

    rest = forms.ChoiceField(
        choices=[
            ("whole", "I looked everywhere: what is listed here is not seen"),
            ("part", "Not everything was looked at: leave the rest as it is"),
        ],
        widget=forms.RadioSelect,
        label="What about the rest?",
        error_messages={
            "required": "Say whether everything was looked for: not looked is not the same as not seen."
        },
    )

    @property
    def is_whole(self) -> bool:
        """Say whether everything was looked for."""
        return bool(self.cleaned_data["rest"] == "whole")


def ways_to_count(container: Container) -> list[tuple[str, str]]:
    """Return how an amount can be judged: by eye, by strip, poured out, weighed without its vessel, counted."""
    if container.unit == LedgerUnit.PIECE:
        return [("counted", DEVICES["counted"].name)]
    ending = "-g" if container.unit == LedgerUnit.GRAM else ""
    codes = [f"by-eye{ending}", f"fill-strip{ending}"]
    codes += ["balance-0.01g", "balance-1mg"] if ending else _cylinders(container.capacity / MILLION)
    return [(code, DEVICES[code].name) for code in codes]


def balances() -> list[tuple[str, str]]:
    """Return every balance, by code and name."""
    return [(row.code, row.name) for row in DEVICES.values() if row.kind == "balance"]


def _cylinders(capacity: float) -> list[str]:
    """Return the two cylinders that a container of this size is poured into best."""
    sizes = [10, 25, 50, 100, 250, 500, 1000]
    fitting = next((size for size in sizes if size >= capacity), sizes[-1])
    smaller = sizes[max(sizes.index(fitting) - 1, 0)]
    return [f"cylinder-{size}-b" for size in dict.fromkeys((fitting, smaller))]
