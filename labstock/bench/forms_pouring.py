"""What is typed when something goes from one container into another: decanted, poured together, dissolved."""

from datetime import timedelta
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.utils import timezone

from labstock.bench.forms import ActForm, Button, device_choices, usual_devices
from labstock.chemistry.devices import DEVICES
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.stock.actions.dissolving import Part, Solution
from labstock.stock.actions.transferring import Vessel
from labstock.stock.codes import read_code
from labstock.stock.forms.fields import QuantityField
from labstock.stock.models import Container, Location, VesselKind
from labstock.stock.models.container import MILLION
from labstock.stock.queries import get_container

LONGEST_USE = timedelta(days=10 * 365)
FLASKS_ML = (5, 10, 25, 50, 100, 250, 500, 1000)
FLASK, CYLINDER, MARKS = "flask", "cylinder", "beaker-marks"
MADE_UP_IN = [
    (FLASK, "volumetric flask, to the mark"),
    (CYLINDER, "cylinder"),
    (MARKS, "by the marks of a beaker or bottle"),
]


class ContainerField(forms.CharField):
    """A container by the code on its label, typed or scanned."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**({"max_length": 300} | options))
        self.widget.attrs.update(
            {
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "placeholder": "TQ 4817 K",
                "data-takes-codes": "",
            }
        )

    def clean(self, value: Any) -> Any:
        """Return the container, or None where nothing was typed and nothing is needed."""
        text = super().clean(value)
        if not text:
            return None
        try:
            return get_container(read_code(text, settings.LABSTOCK_CODE_PREFIX))
        except LabError as error:
            raise ValidationError(error.message, code=error.code) from error


class PouredForm(ActForm):
    """An amount out of this container, and what it was measured with."""

    focus = "amount"
    amount = QuantityField(label="How much?")
    device = forms.ChoiceField(widget=forms.RadioSelect, label="With what?")
    other_device = forms.ChoiceField(required=False, label="Another device")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        field, devices = self.fields["amount"], self.fields["device"]
        assert isinstance(field, QuantityField)
        assert isinstance(devices, forms.ChoiceField)
        field.default_unit = field.widget.attrs["data-unit"] = self.container.unit
        rows = usual_devices(self.container, max(self.container.remaining / MILLION / 4, 1e-6))
        devices.choices = [(row.code, row.name) for row in rows]
        self.initial.setdefault("device", rows[0].code)
        rarer = self.fields["other_device"]
        assert isinstance(rarer, forms.ChoiceField)
        rarer.choices = [("", "as chosen above"), *device_choices(self.container)]

    @property
    def device_code(self) -> str:
        """Return what it was measured with."""
        return str(self.cleaned_data["other_device"] or self.cleaned_data["device"])


class DecantForm(PouredForm):
    """Into an empty vessel, which gets its own code."""

    capacity = QuantityField(label="Size of the new vessel", required=False)
    vessel = forms.ChoiceField(choices=VesselKind, label="It is a", initial=VesselKind.BOTTLE)
    location = forms.ModelChoiceField(
        Location.objects.order_by("path"), label="It stands in", required=False, empty_label="the same place"
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["capacity"]
        assert isinstance(field, QuantityField)
        field.default_unit = field.widget.attrs["data-unit"] = self.container.unit
        field.help_text = "Leave it empty if it is full."

    def into(self) -> Vessel:
        """Return the vessel; without a size it is as large as what was poured in."""
        said = self.cleaned_data
        return Vessel(
            capacity=said["capacity"] or said["amount"], vessel=said["vessel"], location=said["location"]
        )


class TopUpForm(PouredForm):
    """Onto another container of the same substance."""

    focus = "into"
    into = ContainerField(label="Poured onto: scan that container")
    field_order = ("into", "amount", "device", "other_device")


class SolutionForm(PouredForm):
    """Dissolved or diluted into a new container."""

    buttons_before = "volume"
    buttons_words = "In a flask, to the mark: one tap makes it"
    flask = QuantityField(required=False, default_unit="mL", widget=forms.HiddenInput)
    volume = QuantityField(label="Or made up to", default_unit="mL", required=False)
    made_in = forms.ChoiceField(widget=forms.RadioSelect, choices=MADE_UP_IN, label="In a", initial=FLASK)
    other_1 = ContainerField(label="In what: scan the solvent", required=False)
    amount_1 = QuantityField(label="How much of it?", required=False, default_unit="mL")
    other_2 = ContainerField(label="And another", required=False)
    amount_2 = QuantityField(label="How much of that?", required=False, default_unit="mL")
    use_by = forms.DateField(
        required=False, label="Use by", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    name = forms.CharField(required=False, max_length=200, label="Name on the label")
    vessel = forms.ChoiceField(choices=VesselKind, label="It is kept in a", initial=VesselKind.BOTTLE)
    location = forms.ModelChoiceField(
        Location.objects.order_by("path"), label="It stands in", required=False, empty_label="the same place"
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.buttons = tuple(
            Button("flask", f"{size} mL", f"{size}\N{NO-BREAK SPACE}mL") for size in FLASKS_ML
        )
        self.fields["amount"].label = f"How much {self.container.name}?"
        self.fields["name"].help_text = "Left empty, it is called by what is in it and how strong it is."
        self.fields["use_by"].help_text = "Never longer than what it was made from."
        for name in ("volume", "amount_1", "amount_2"):
            self.fields[name].widget.attrs["data-unit"] = "mL"

    def clean(self) -> dict[str, Any]:
        """Need an amount with every further container, and the other way round."""
        said = super().clean()
        if said.get("flask"):
            said |= {"volume": said["flask"], "made_in": FLASK}
        elif not said.get("volume") and "volume" not in self.errors:
            self.add_error("volume", "Tap the flask it was made up in, or give the volume.")
        for number in ("1", "2"):
            other, amount = said.get(f"other_{number}"), said.get(f"amount_{number}")
            broken = {f"other_{number}", f"amount_{number}"} & set(self.errors)
            if broken or (other is None) == (amount is None):
                continue
            empty, words = (
                ("amount", "Say how much of it went in.")
                if other
                else ("other", "Scan which container it came from.")
            )
            self.add_error(f"{empty}_{number}", words)
        self._check_use_by(said.get("use_by"))
        if isinstance(said.get("volume"), Quantity) and "made_in" in said:
            try:
                said["volume_device"] = vessel_for(said["made_in"], said["volume"])
            except LabError as error:
                self.add_error("made_in" if error.code == "no-such-flask" else "volume", error.message)
        return said

    def _check_use_by(self, day: Any) -> None:
        today = timezone.localdate()
        if day is not None and not today <= day <= today + LONGEST_USE:
            self.add_error(
                "use_by", f"{day:%d %b %Y} cannot be: give a day from today to ten years from now."
            )

    def parts(self) -> list[Part]:
        """Return what went in, this container first; solvents are measured as the first one usual for the amount."""
        said = self.cleaned_data
        found = [Part(self.container, said["amount"], self.device_code)]
        for number in ("1", "2"):
            other, amount = said[f"other_{number}"], said[f"amount_{number}"]
            if other is not None:
                found.append(Part(other, amount, usual_for(other, amount)))
        return found

    def solution(self) -> Solution:
        """Return what was made."""
        said = self.cleaned_data
        return Solution(
            volume=said["volume"],
            volume_device=said["volume_device"],
            use_by=said["use_by"],
            name=said["name"],
            vessel=said["vessel"],
            location=said["location"],
        )


def usual_for(container: Container, amount: Quantity) -> str:
    """Return the device that an amount of a solvent is usually measured with."""
    unit = "g" if amount.dimension == "mass" else "mL"
    return usual_devices(container, float(amount.in_unit(unit)), unit)[0].code


def vessel_for(made_in: str, volume: Quantity) -> str:
    """Return the device that decides how sure a volume is that something was made up to."""
    if volume.dimension != "volume":
        raise LabError(
            "no-volume",
            "'{typed}' is no volume: give what it was made up to, such as 100 mL.",
            typed=volume.typed,
        )
    much = float(volume.in_unit("mL"))
    kind = {FLASK: "volumetric flask", CYLINDER: "cylinder"}.get(made_in)
    if kind is None:
        return MARKS
    rows = [
        row
        for row in DEVICES.values()
        if row.kind == kind and row.code.endswith("-b") and "astm" not in row.code
    ]
    if kind == "volumetric flask":
        rows = [row for row in rows if row.capacity == much]
    fit = sorted(
        (row for row in rows if row.capacity and row.capacity >= much), key=lambda row: row.capacity or 0
    )
    if not fit:
        raise LabError(
            "no-such-flask",
            "There is no {kind} for {typed}: choose another vessel, or give the volume it was really made up to.",
            kind=kind,
            typed=volume.typed,
        )
    return fit[0].code
