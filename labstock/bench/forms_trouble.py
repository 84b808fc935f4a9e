"""What is typed when something looks wrong: signs on a container, and bottles without a label."""

import uuid
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from labstock.bench.forms import BROKEN, ActForm
from labstock.bench.forms_pouring import ContainerField
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.unknown import Find
from labstock.stock.forms.fields import QuantityField
from labstock.stock.models import Container, Form, Location, Trouble, VesselKind
from labstock.stock.photos import drawn_anew

NOT_LOOKED, NO, SEEN = "", "no", "seen"
THREE = [(NOT_LOOKED, "not looked"), (NO, "no"), (SEEN, "seen")]

LEVELS = [
    ("10", "nearly empty"),
    ("25", "a quarter"),
    ("50", "half"),
    ("75", "three quarters"),
    ("100", "full"),
    ("", "cannot see"),
]


class LookForm(ActForm):
    """Six questions with three answers each; not looked is the one that is set. One sign alone is one tap."""

    one = forms.ChoiceField(required=False, choices=[("", ""), *Trouble.choices], widget=forms.HiddenInput)
    reason = forms.CharField(required=False, max_length=300, label="In your words")

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for sign in Trouble:
            self.fields[sign] = forms.ChoiceField(
                choices=THREE, required=False, label=sign.label, widget=forms.RadioSelect
            )
            self.fields[sign].error_messages["invalid_choice"] = (
                "“%(value)s” is no answer here: choose not looked, no or seen."
            )

    @property
    def looks(self) -> list[forms.BoundField]:
        """Return the six questions."""
        return [self[sign] for sign in Trouble]

    def answers(self) -> dict[str, bool]:
        """Return what was looked for, and whether it was seen."""
        said = self.cleaned_data
        return {sign.value: said[sign] == SEEN for sign in Trouble if said[sign]} | (
            {said["one"]: True} if said["one"] else {}
        )


class UnknownForm(forms.Form):
    """A bottle without a readable label, seen from outside; what says to stay away is asked first.

    The photo comes last: when it is too large, what comes after it in the form is lost on the way.
    """

    field_order = ("signs", "place", "appearance", "form", "level", "size", "vessel", "neighbours", "photo")
    error_css_class = "is-wrong"
    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )
    place = forms.ModelChoiceField(
        Location.objects.order_by("path"), label="Where does it stand?", empty_label="choose"
    )
    appearance = forms.CharField(max_length=180, label="What is in it, through the glass?")
    form = forms.ChoiceField(
        choices=[*Form.choices, ("", "cannot see")],
        required=False,
        label="Liquid or solid?",
        widget=forms.RadioSelect,
    )
    level = forms.ChoiceField(choices=LEVELS, required=False, label="How full?", widget=forms.RadioSelect)
    signs = forms.MultipleChoiceField(
        choices=[(sign, sign.label) for sign in Trouble if sign != Trouble.SMELL],
        required=False,
        label="Do you see any of these, from where you stand?",
        widget=forms.CheckboxSelectMultiple,
    )
    size = QuantityField(label="What does it hold?", default_unit="mL")
    vessel = forms.ChoiceField(choices=VesselKind, label="It is a", initial=VesselKind.BOTTLE)
    neighbours = forms.CharField(max_length=300, required=False, label="What stands beside it?")
    photo = forms.FileField(
        required=False,
        label="Photo",
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
        error_messages={"empty": "The photo arrived empty: send it again, or leave it out."},
    )

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["appearance"].help_text = "Colour, and whatever else you see. Do not open it to look."
        self.fields["size"].help_text = "A guess will do: 500 mL, 1 L, 100 g."

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())

    def clean_photo(self) -> bytes:
        """Draw the photo anew, or say why it cannot be taken."""
        sent = self.cleaned_data["photo"]
        if not sent:
            return b""
        try:
            return drawn_anew(sent, sent.size)
        except LabError as error:
            raise ValidationError(error.message, code=error.code) from error

    def clean(self) -> dict[str, Any]:
        """Say it where a person reads it when the hidden part is broken."""
        said = super().clean() or {}
        if "key" in self.errors:
            self.add_error(None, BROKEN)
        return said

    def find(self) -> Find:
        """Return what can be said of the bottle."""
        said = self.cleaned_data
        return Find(
            size=said["size"],
            appearance=said["appearance"],
            place=said["place"],
            vessel=said["vessel"],
            photo=said["photo"],
            form=said["form"],
            level_percent=int(said["level"]) if said["level"] else None,
            neighbours=said["neighbours"],
            signs=dict.fromkeys(said["signs"], True),
        )

    def doing(self, by: User) -> Doing:
        """Return who found it, and what makes it this one find."""
        return Doing(by=by, key=self.cleaned_data["key"])


class ClaimForm(forms.Form):
    """Which missing container it is, and why."""

    error_css_class = "is-wrong"
    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )
    container = ContainerField(label="It is: code of the missing container")
    reason = forms.CharField(max_length=300, label="What makes you sure?")

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())

    def claimed(self) -> Container:
        """Return the container that was named."""
        found: Container = self.cleaned_data["container"]
        return found

    def doing(self, by: User) -> Doing:
        """Return who says so, and why."""
        return Doing(by=by, key=self.cleaned_data["key"], reason=self.cleaned_data["reason"].strip())
