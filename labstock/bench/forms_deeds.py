"""What is typed for the rarer acts: lost, found, moved, empty, reversed, disposed of, assayed."""

from typing import Any

from django import forms
from django.utils import timezone

from labstock.bench.forms import ActForm, Button, by_eye, choose, usual_devices
from labstock.bench.forms_pouring import ContainerField
from labstock.bench.landing import place_scanned
from labstock.chemistry.devices import DEVICES
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.ledger import LOSSES
from labstock.stock.forms.fields import QuantityField
from labstock.stock.models import Container, Kind, Location, State
from labstock.stock.models.container import MILLION, MOVES
from labstock.stock.places import last_places


class LossForm(ActForm):
    """An amount that went otherwise than into a flask, or that is there and not in the book."""

    focus = "amount"
    kind = forms.ChoiceField(
        choices=[*((kind, kind.label) for kind in Kind if kind in LOSSES), (Kind.FOUND, "Found more")],
        widget=forms.RadioSelect,
        label="What happened?",
    )
    amount = QuantityField(label="How much?")
    device = forms.ChoiceField(widget=forms.RadioSelect, label="How do you know?")
    reason = forms.CharField(required=False, max_length=300, label="Where, and what was done")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        _measured(self)


class ReasonedForm(ActForm):
    """An act that wants a reason: one of the usual ones by a tap, or in one's own words."""

    buttons_before = "reason"
    buttons_words = "One tap says why, and records it"
    because = forms.CharField(required=False, max_length=120, widget=forms.HiddenInput)
    reason = forms.CharField(required=False, max_length=300)

    def clean(self) -> dict[str, Any]:
        """Take the reason in words, else the one that was tapped."""
        said = super().clean()
        said["reason"] = said.get("reason", "").strip() or said.get("because", "").strip()
        if not said["reason"] and not self.errors and self.needs_reason(said):
            self.add_error("reason", self.fields["reason"].error_messages["required"])
        return said

    def needs_reason(self, said: dict[str, Any]) -> bool:
        """Say whether nothing else that was given is reason enough."""
        return True


def usual(*reasons: str) -> tuple[Button, ...]:
    """Return the buttons of usual reasons."""
    return tuple(Button("because", reason, reason.capitalize()) for reason in reasons)


class FoundForm(ReasonedForm):
    """More is in it than the book says."""

    focus = "amount"
    buttons = usual("measured again", "no reason known")
    amount = QuantityField(label="How much more is in it?")
    device = forms.ChoiceField(widget=forms.RadioSelect, label="How do you know?")
    reason = forms.CharField(required=False, max_length=300, label="Or in your words: why is there more?")
    field_order = ("amount", "device", "reason")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        _measured(self)


class MoveForm(ActForm):
    """It stands here now: scan the place, or choose it."""

    focus = "place"
    buttons_before = "to"
    buttons_words = "Where you and it were last: one tap"
    tapped = forms.ModelChoiceField(Location.objects.all(), required=False, widget=forms.HiddenInput)
    place = forms.CharField(
        required=False,
        max_length=300,
        label="Scan the place",
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "characters", "data-takes-codes": ""}
        ),
    )
    to = forms.ModelChoiceField(
        Location.objects.order_by("path"), label="Or choose it", required=False, empty_label=None
    )
    reason = forms.CharField(required=False, max_length=300, label="Why")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.initial.setdefault("to", self.container.location_id)
        self.buttons = tuple(
            Button("tapped", str(place.pk), str(place)) for place in last_places(self.container, self.person)
        )

    def clean(self) -> dict[str, Any]:
        """Take the place that was tapped or scanned, else the one that was chosen."""
        said = super().clean()
        if said.get("tapped"):
            said["to"] = said["tapped"]
        elif said.get("place"):
            try:
                said["to"] = place_scanned(said["place"])
            except LabError as error:
                self.add_error("place", error.message)
        elif not said.get("to") and not self.errors:
            self.add_error("place", "Scan the label of the place, or choose it below.")
        return said


class StateForm(ActForm):
    """Blocked, freed, not seen, empty."""

    buttons_before = "to"
    buttons_words = "One tap records it"
    quick = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)
    to = forms.ChoiceField(widget=forms.RadioSelect, required=False, label="It is now")
    reason = forms.CharField(
        required=False, max_length=300, label="Why? The next person reads it on this page"
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        states = next_states(self.container, self.person)
        choose(self.fields["to"], [(state, STATE_WORDS[state]) for state in states])
        self.buttons = tuple(
            Button("quick", state, words) for state, (words, _) in AT_ONCE.items() if state in states
        )

    def clean(self) -> dict[str, Any]:
        """Take the state and the reason of the button, else those that were chosen and written."""
        said = super().clean()
        tapped = next((one.value for one in self.buttons if one.value == said.get("quick")), "")
        if tapped:
            said |= {"to": tapped, "reason": said.get("reason", "").strip() or AT_ONCE[tapped][1]}
        for name in ("to", "reason"):
            if not said.get(name) and name not in self.errors:
                self.add_error(name, self.fields[name].error_messages["required"])
        return said


class ReasonForm(ReasonedForm):
    """A correction, with its reason."""

    buttons = usual("wrong amount", "recorded twice", "not used after all", "poured back")
    reason = forms.CharField(required=False, max_length=300, label="Or in your words: what was wrong?")


class ReverseForm(ReasonForm):
    """A correction of something that was taken out: perhaps out of another bottle."""

    focus = "other"
    buttons_before = "reason"
    other = ContainerField(label="Wrong bottle? Scan the one it came out of", required=False)
    field_order = ("other", "reason")

    def needs_reason(self, said: dict[str, Any]) -> bool:
        """Say whether nothing else that was given is reason enough: the other bottle is."""
        return said.get("other") is None


class DisposeForm(ReasonedForm):
    """The end of a container."""

    buttons = usual("used up and rinsed", "out of date, to waste", "spoilt, to waste", "no longer needed")
    reason = forms.CharField(
        required=False, max_length=300, label="Or in your words: where does it go, and why?"
    )


class AssayForm(ActForm):
    """A measurement of how much of the substance is in it."""

    percent = forms.DecimalField(label="Found", max_digits=8, decimal_places=4)
    expanded = forms.DecimalField(label="± (k = 2)", max_digits=7, decimal_places=4)
    method = forms.CharField(max_length=120, label="How was it measured?")
    measured_on = forms.DateField(
        label="On", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.initial.setdefault("measured_on", timezone.localdate())
        for name in ("percent", "expanded"):
            self.fields[name].widget = forms.TextInput(
                attrs={"inputmode": "decimal", "autocomplete": "off", "data-unit": "%"}
            )


STATE_WORDS: dict[str, str] = {
    State.IN_USE: "In use: seen, and free to draw from",
    State.BLOCKED: "Blocked: nobody draws from it",
    State.NOT_SEEN: "Not seen where it should be",
    State.EMPTY: "Empty",
}


# What is said with one tap: the words on the button, and the reason it writes down.
AT_ONCE: dict[str, tuple[str, str]] = {
    State.EMPTY: ("Empty: used up", "used up"),
    State.NOT_SEEN: ("Not seen where it should be", "not where it should be"),
    State.IN_USE: ("Here and fit for use", "seen and looked at"),
}


def next_states(container: Container, person: User) -> list[str]:
    """Return the states this person may move a container to; disposal has a page of its own."""
    moves = sorted(MOVES[container.state] - {State.DISPOSED}, key=list(STATE_WORDS).index)
    if container.state == State.BLOCKED and not may(person, Act.BLOCK):
        return [state for state in moves if state == State.BLOCKED]
    return moves


def _measured(form: forms.Form) -> None:
    """Let a small amount be judged by eye first, then measured."""
    assert isinstance(form, LossForm | FoundForm)
    container = form.container
    field = form.fields["amount"]
    assert isinstance(field, QuantityField)
    field.default_unit = container.unit
    field.widget.attrs["data-unit"] = container.unit
    rows = usual_devices(container, max(container.capacity / MILLION / 10, 1e-6))
    first = by_eye(container)
    rows = [DEVICES[first], *(row for row in rows if row.code != first)][:4]
    choose(form.fields["device"], [(row.code, row.name) for row in rows])
    form.initial.setdefault("device", rows[0].code)
