"""What is typed at a container. Amounts are read here; whether they may be taken is the ledger's to say."""

import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from batches.models import Batch
from labstock.chemistry.devices import DEVICES, Device, choices
from labstock.chemistry.quantities import Quantity
from labstock.people.models import User
from labstock.people.queries import who_may
from labstock.people.roles import Act
from labstock.stock.actions.lines import Doing
from labstock.stock.forms.fields import read_quantity, said_by_the_field
from labstock.stock.models import Container, Kind
from labstock.stock.models.container import MILLION

BROKEN = "This form lost a part of itself on the way: open the container again and enter it anew."
NO_DEVICE = "Choose what you measured with: it decides how sure the rest is."
# A flask contains, it does not deliver; "as filled" is said of a delivery, not of a draw.
NOT_DRAWN_WITH = ("volumetric flask", "as filled")
# What may have happened to an amount that was not used, in the words of its buttons.
OTHERWISE = [
    (Kind.SPILT, "Spilt"),
    (Kind.PURGED, "Purged"),
    (Kind.EVAPORATED, "Evaporated"),
    (Kind.WASTED, "To waste"),
    (Kind.BROKEN, "Broken"),
    (Kind.FOUND, "Found more"),
]
UNITS = {"g": ("g", "mg", "kg"), "mL": ("mL", "µL", "L"), "piece": ("piece",)}


@dataclass(frozen=True)
class Button:
    """One way to finish a form with one tap: what it sends, and the words on it."""

    name: str
    value: str
    words: str


class ActForm(forms.Form):
    """What every act carries: the key that makes sending it twice harmless, and the last line the person saw.

    `focus` names the field where the cursor waits, so that the number is typed without a tap. `buttons` finish the
    form with one tap; they stand before the field that `buttons_before` names.
    """

    error_css_class = "is-wrong"
    focus: ClassVar[str] = ""
    buttons: tuple[Button, ...] = ()
    buttons_before: ClassVar[str] = ""
    buttons_words: ClassVar[str] = ""
    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )
    seen_seq = forms.IntegerField(required=False, min_value=0, widget=forms.HiddenInput)

    def __init__(self, *args: Any, container: Container, person: User, **options: Any) -> None:
        super().__init__(*args, **options)
        self.container, self.person = container, person
        self.initial.setdefault("seen_seq", container.last_seq)
        if self.focus:
            self.fields[self.focus].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        """Say it where a person reads it when a hidden part is broken."""
        said = super().clean() or {}
        if {"key", "seen_seq"} & set(self.errors):
            self.add_error(None, BROKEN)
        return said

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal; a new one where the old one was unreadable."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())

    def doing(self) -> Doing:
        """Return who does it, and what makes it this one act."""
        said = self.cleaned_data
        return Doing(
            by=self.person,
            key=said["key"],
            at=said.get("at") or timezone.now(),
            seen_seq=said.get("seen_seq"),
            reason=said.get("reason", "").strip(),
            for_person=said.get("for_person"),
        )


class UseForm(ActForm):
    """One number: the amount used, or the gross mass now."""

    way = forms.ChoiceField(choices=[("amount", "Amount used"), ("mass", "Gross mass now")], required=False)
    amount = forms.CharField(required=False, max_length=80, label="The amount")
    unit = forms.ChoiceField(required=False)
    gross = forms.CharField(required=False, max_length=80, label="The gross mass")
    device = forms.ChoiceField(required=False, label="The device")
    balance = forms.ChoiceField(required=False, label="The balance")
    other_device = forms.ChoiceField(required=False, label="Another device")
    batch = forms.ModelChoiceField(Batch.objects.none(), required=False, label="For batch")
    for_person = forms.ModelChoiceField(
        User.objects.none(),
        required=False,
        label="Who took it",
        empty_label="I did",
        error_messages={"invalid_choice": "Nobody of the lab who works here was chosen: choose who took it."},
    )
    at = forms.DateTimeField(
        required=False,
        label="Done earlier, at",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    reason = forms.CharField(required=False, max_length=300, label="What happened?")
    what = forms.ChoiceField(required=False, choices=[("", "Used"), *OTHERWISE], label="Not used, but")

    def __init__(self, *args: Any, batches: Any = None, **options: Any) -> None:
        super().__init__(*args, auto_id="%s", **options)
        for name, rows in (("device", device_choices(self.container)), ("balance", _balances())):
            choose(self.fields[name], rows)
        choose(self.fields["other_device"], [("", "as above"), *device_choices(self.container)])
        choose(self.fields["unit"], [(unit, unit) for unit in units_for(self.container)])
        people = self.fields["for_person"]
        assert isinstance(people, forms.ModelChoiceField)
        people.queryset = who_may(Act.DRAW).exclude(pk=self.person.pk)
        if batches is not None:
            field = self.fields["batch"]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = batches

    def clean(self) -> dict[str, Any]:
        """Decide which number was meant and read it."""
        said = super().clean()
        if said.get("what"):
            return self._clean_by_eye(said)
        name = "gross" if self._is_by_mass(said) else "amount"
        said["is_by_mass"] = name == "gross"
        if name in self.errors:
            return said
        unit = "g" if name == "gross" else said.get("unit") or self.container.unit
        device_field = "balance" if name == "gross" else "device"
        said["device_code"] = said.get("other_device") or said.get(device_field, "")
        if not said["device_code"] and device_field not in self.errors:
            self.add_error(device_field, NO_DEVICE)
        try:
            said["quantity"] = self._read(said.get(name, ""), unit)
        except ValidationError as error:
            self.add_error(name, error)
        return said

    def _clean_by_eye(self, said: dict[str, Any]) -> dict[str, Any]:
        """Read what was lost or found in one tap: nobody measures a puddle. A measured one has a page of its own."""
        said |= {"is_by_mass": False, "device_code": by_eye(self.container)}
        try:
            said["quantity"] = self._read(said.get("amount", ""), said.get("unit") or self.container.unit)
        except ValidationError as error:
            self.add_error("amount", error)
        return said

    def used(self) -> dict[str, str]:
        """Return the unit and device to remember for the next time."""
        said = self.cleaned_data
        if said["what"]:
            return {}
        if said["is_by_mass"]:
            return {"balance": said["device_code"]}
        return {"unit": said.get("unit", ""), "device": said["device_code"]}

    def _is_by_mass(self, said: dict[str, Any]) -> bool:
        """Say which of the two fields counts; a browser that shows both may leave the choice untouched."""
        if said.get("amount") and not said.get("gross"):
            return False
        return said.get("way") == "mass" or bool(said.get("gross") and not said.get("amount"))

    def _read(self, text: str, unit: str) -> Quantity:
        if not text:
            raise ValidationError(
                f"Give one number: what you took, such as 5.0 {unit}, or what it weighs now."
            )
        with said_by_the_field():
            return read_quantity(text, unit)


def units_for(container: Container) -> tuple[str, ...]:
    """Return the units people give amounts of this container in; mass and volume meet through a density."""
    own = UNITS[container.unit]
    density = container.lot.density if container.lot else None
    if density is None or container.unit == "piece":
        return own
    return own + (("g", "mg") if container.unit == "mL" else ("mL",))


def device_choices(container: Container) -> list[tuple[str, str]]:
    """Return every device that measures amounts of this container's size, by code and name."""
    measured = {"g", "mL"} if len(units_for(container)) > len(UNITS[container.unit]) else {container.unit}
    room = 2 * container.capacity / MILLION
    return [
        (row.code, row.name)
        for row in DEVICES.values()
        if row.unit in measured
        and row.kind not in NOT_DRAWN_WITH
        and (row.kind == "balance" or row.capacity is None or row.capacity <= room)
    ]


def usual_devices(container: Container, amount: float, unit: str = "", last: str = "") -> list[Device]:
    """Return the four devices to offer for an amount; the one used last takes the last place if it is not among them."""
    offered = choices(unit or container.unit, amount, container.capacity / MILLION)
    known = DEVICES.get(last)
    if known is None or known in offered or known.unit != (unit or container.unit):
        return offered
    return [*offered[:3], known]


def by_eye(container: Container) -> str:
    """Return the device of an amount that was judged, not measured; pieces are counted."""
    judged = {"mL": "by-eye", "g": "by-eye-g"}.get(container.unit)
    return judged or usual_devices(container, max(container.capacity / MILLION / 10, 1e-6))[0].code


def _balances() -> list[tuple[str, str]]:
    return [(row.code, row.name) for row in DEVICES.values() if row.kind == "balance"]


def choose(field: forms.Field, rows: list[tuple[str, str]]) -> None:
    """Offer these choices, and say in words when something else was sent."""
    assert isinstance(field, forms.ChoiceField)
    field.choices = lambda: (
        rows
    )  # read only when it is asked for: four long lists cost more than the draw itself
    field.error_messages["invalid_choice"] = "“%(value)s” is not one of the choices here: choose one of them."


def as_local(moment: datetime) -> str:
    """Return a moment as a datetime-local field takes it."""
    return timezone.localtime(moment).strftime("%Y-%m-%dT%H:%M")
