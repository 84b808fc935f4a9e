"""What is typed to plan, to hold and to move a session. Whether it may be held is the reservation's to say."""

import re
import uuid
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from batches.drafts import Draft, read_preparation
from batches.finding import Wanted, find_wanted
from batches.models import BatchLine, LineRole
from batches.pages_when import span_of
from batches.planning import SCALE_DIMENSIONS, read_equivalents, read_fixed
from batches.reserving import When
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.people.models import User
from labstock.stock.models import Location, Session
from labstock.stock.models.location import WORKPLACES

BROKEN = "This form lost a part of itself on the way: open the page again and enter it anew."
BESIDE = (LineRole.SOLVENT, LineRole.CATALYST, LineRole.QUENCH, LineRole.WASH, LineRole.OTHER)
MOST_LINES = 24
EARLIEST_YEAR, LATEST_YEAR = 2000, 2200
FROM_THE_LIST = {"list": "names", "autocomplete": "off"}


def refuse(error: LabError) -> ValidationError:
    """Return a refusal as a form says it."""
    return ValidationError(error.message, code=error.code)


class KeyedForm(forms.Form):
    """A form that may be sent twice and counts once."""

    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal; a new one where the old one was unreadable."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())


class SessionField(forms.ModelChoiceField):
    """One of the person's sessions, by what, when and where."""

    def label_from_instance(self, obj: Any) -> str:
        """Return title, time and place."""
        return f"{obj.title or 'Session'}, {span_of(obj)}, {obj.place.name}"


class WhenForm(forms.Form):
    """Where, from when to when; or one of the person's own sessions that are still to come."""

    session = SessionField(
        Session.objects.none(), required=False, label="Session", empty_label="a new one, as below"
    )
    place = forms.ModelChoiceField(
        Location.objects.filter(kind__in=WORKPLACES).order_by("path"), required=False, label="Where",
        empty_label="choose a bench or hood",
    )  # fmt: skip
    on = forms.DateField(required=False, label="Day", widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))
    starts = forms.TimeField(required=False, label="From", widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    ends = forms.TimeField(required=False, label="To", widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    ends_on = forms.DateField(
        required=False, label="Ends on another day", widget=forms.DateInput({"type": "date"}, "%Y-%m-%d")
    )

    def __init__(self, *args: Any, person: User, **options: Any) -> None:
        super().__init__(*args, **options)
        self.person = person
        field = self.fields["session"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = coming_sessions(person)
        for name, value in (usual_times(timezone.localtime()) | usual_place(person)).items():
            self.initial.setdefault(name, value)

    def clean(self) -> dict[str, Any]:
        """Put day and times together; a chosen session goes before all of it."""
        said = super().clean() or {}
        if said.get("session"):
            said["when"] = When(session=said["session"])
            return said
        for name, ask in (("place", "Choose where you will work."), ("on", "Give the day."),
                          ("starts", "Give the time you begin."), ("ends", "Give the time you end.")):  # fmt: skip
            if not said.get(name) and name not in self.errors:
                self.add_error(name, ask)
        for name in ("on", "ends_on"):
            if said.get(name) and not EARLIEST_YEAR <= said[name].year <= LATEST_YEAR:
                self.add_error(name, f"{said[name]:%d %b %Y} is no day to work on: check the year.")
        if not self.errors.keys() & {"place", "on", "starts", "ends", "ends_on"}:
            starts_at, ends_at = (
                timezone.make_aware(datetime.combine(day, clock))
                for day, clock in (
                    (said["on"], said["starts"]),
                    (said.get("ends_on") or said["on"], said["ends"]),
                )
            )
            said["when"] = When(None, said["place"], starts_at, ends_at)
        return said


def coming_sessions(person: User) -> Any:
    """Return the person's own sessions that are not over."""
    return Session.objects.filter(owner=person, ends_at__gt=timezone.now(), cancelled_at=None).select_related(
        "place"
    )


def usual_place(person: User) -> dict[str, Any]:
    """Return where the person worked last."""
    last = Session.objects.filter(owner=person).order_by("-starts_at").values_list("place", flat=True).first()
    return {"place": last}


def usual_times(now: datetime) -> dict[str, Any]:
    """Return today, the next full hour and two hours on (the day after, where midnight lies between)."""
    start = (now + timedelta(hours=1)).replace(minute=0, second=0, microsecond=0)
    end = start + timedelta(hours=2)
    is_next_day = end.date() != start.date()
    return {
        "on": start.date(), "starts": start.time(), "ends": end.time(),
        "ends_on": end.date() if is_next_day else None,
    }  # fmt: skip


def chosen_substance(label: str) -> forms.CharField:
    """Return a box that takes one substance from the list."""
    return forms.CharField(required=False, max_length=200, label=label, widget=forms.TextInput(FROM_THE_LIST))


class PrepareForm(KeyedForm, WhenForm):
    """A preparation by its equation and scale, and the session it is made in."""

    title = forms.CharField(max_length=120, label="What do you make?")
    in_1 = chosen_substance("What goes in")
    in_2 = chosen_substance("and")
    in_3 = chosen_substance("and")
    out_1 = chosen_substance("What comes out")
    out_2 = chosen_substance("and")
    out_3 = chosen_substance("and")
    # after the chosen substances: it may be written from them
    equation = forms.CharField(
        max_length=300,
        required=False,
        label="Equation",
        widget=forms.Textarea({"rows": 2, "spellcheck": "false"}),
        help_text="Formulae or names on the substance list, with + and ->. Coefficients left out are worked out.",
    )
    scale = forms.CharField(
        max_length=60,
        label="Scale",
        help_text="In g, mL or mmol, such as 60 mmol. It counts for the first reactant unless you name another: 5 g acetanilide.",
    )
    again = forms.CharField(required=False, max_length=12, widget=forms.HiddenInput)
    suggestion = ""

    def clean_equation(self) -> str:
        """Read the equation; only one that conserves is taken."""
        text = str(self.cleaned_data["equation"]).strip() or self._from_choices()
        if not text:
            raise ValidationError(
                "Write the equation, or choose what goes in and what comes out.", code="required"
            )
        try:
            self.cleaned_data["drafts"] = read_preparation(text)
        except LabError as error:
            self.suggestion = str(error.parts.get("suggestion", ""))
            raise refuse(error) from error
        return text

    def _from_choices(self) -> str:
        """Return the equation of the substances that were chosen."""
        sides = (
            " + ".join(
                str(name) for number in (1, 2, 3) if (name := self.cleaned_data.get(f"{side}_{number}"))
            )
            for side in ("in", "out")
        )
        return " -> ".join(side for side in sides if side)

    @property
    def is_chosen(self) -> bool:
        """Say whether substances were chosen one by one."""
        return any(self[f"{side}_{number}"].value() for side in ("in", "out") for number in (1, 2, 3))

    def clean(self) -> dict[str, Any]:
        """Read the scale and the line it stands on."""
        said = super().clean()
        if said.get("scale") and said.get("drafts"):
            try:
                said["scale"], said["scale_line"] = read_scale(said["scale"], said["drafts"])
            except LabError as error:
                self.add_error("scale", refuse(error))
        return said


def read_scale(text: str, drafts: Sequence[Draft]) -> tuple[str, int]:
    """Return the amount and the number of the line that a scale names; the first line where it names none."""
    text = text.strip()
    try:  # "50 mg" is 50 mg, even where Mg stands in the equation
        parse_quantity(text, dimensions=SCALE_DIMENSIONS, allow_zero=False)
        return text, 1
    except LabError:
        named = _named_at_the_end(text, drafts)
        if not named:
            raise
    _, line, amount = max(named)
    amount = re.sub(r"\s+of\s*$", "", amount.strip())
    parse_quantity(amount, dimensions=SCALE_DIMENSIONS, allow_zero=False)
    return amount, line


def _named_at_the_end(text: str, drafts: Sequence[Draft]) -> list[tuple[int, int, str]]:
    return [
        (len(name), number, text[: -len(name)])
        for number, draft in enumerate(drafts, 1)
        for name in {draft.name, draft.formula}
        if name and re.search(rf"(?:\s|^){re.escape(name)}$", text, re.IGNORECASE)
    ]


class AmountForm(KeyedForm):
    """An amount of one substance or container."""

    what = forms.CharField(
        max_length=200,
        label="Of what?",
        help_text="A substance on the list, or the code of one container.",
        widget=forms.TextInput(FROM_THE_LIST),
    )
    amount = forms.CharField(max_length=60, label="How much?", help_text="With its unit, such as 12 mL.")

    def clean_what(self) -> str:
        """Find what was named."""
        try:
            self.cleaned_data["wanted"] = find_wanted(self.cleaned_data["what"])
        except LabError as error:
            raise refuse(error) from error
        return str(self.cleaned_data["what"])

    def clean_amount(self) -> str:
        """Read the amount; the unit is asked for, never guessed."""
        try:
            self.cleaned_data["quantity"] = parse_quantity(self.cleaned_data["amount"], allow_zero=False)
        except LabError as error:
            raise refuse(error) from error
        return str(self.cleaned_data["amount"])


class HoldForm(AmountForm, WhenForm):
    """An amount without a preparation, and the session it is for."""

    title = forms.CharField(max_length=120, required=False, label="For what?")

    @property
    def session_title(self) -> str:
        """Return what the session is for, in the person's words or ours."""
        wanted: Wanted = self.cleaned_data["wanted"]
        return str(self.cleaned_data.get("title") or wanted.name)[:120]


class ReplanForm(forms.Form):
    """The equation and the scale of a plan that exists."""

    equation = forms.CharField(
        max_length=300, label="Equation", widget=forms.Textarea({"rows": 1, "spellcheck": "false"})
    )
    scale = forms.CharField(max_length=60, label="Scale")
    seen = forms.IntegerField(required=False, widget=forms.HiddenInput)
    scale_line = forms.TypedChoiceField(coerce=int, label="of", choices=())

    def __init__(self, *args: Any, lines: Sequence[BatchLine], **options: Any) -> None:
        super().__init__(*args, **options)
        field = self.fields["scale_line"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [(line.position, line.name) for line in lines]

    def clean_equation(self) -> str:
        """Read the equation; only one that conserves is taken."""
        text = str(self.cleaned_data["equation"]).strip()
        try:
            self.cleaned_data["drafts"] = read_preparation(text)
        except LabError as error:
            raise refuse(error) from error
        return text

    def clean_scale(self) -> str:
        """Read the scale."""
        text = str(self.cleaned_data["scale"]).strip()
        try:
            parse_quantity(text, dimensions=SCALE_DIMENSIONS, allow_zero=False)
        except LabError as error:
            raise refuse(error) from error
        return text


class LineForm(forms.Form):
    """One line of a plan. What the equation says of it is shown, not typed."""

    role = forms.ChoiceField(required=False, choices=[(role, role.label) for role in BESIDE], label="Role")
    line: BatchLine | None = None  # the saved line behind it, set by the page
    name = forms.CharField(
        required=False, max_length=200, label="Substance", widget=forms.TextInput(FROM_THE_LIST)
    )
    equivalents = forms.CharField(required=False, max_length=20, label="Equivalents")
    amount = forms.CharField(required=False, max_length=40, label="or amount")

    def clean_equivalents(self) -> str:
        """Read the equivalents."""
        text = str(self.cleaned_data["equivalents"]).strip()
        try:
            read_equivalents(text, str(self.cleaned_data.get("name") or "this line"))
        except LabError as error:
            raise refuse(error) from error
        return text

    def clean_amount(self) -> str:
        """Read an amount given outright."""
        text = str(self.cleaned_data["amount"]).strip()
        try:
            read_fixed(text)
        except LabError as error:
            raise refuse(error) from error
        return text

    def clean(self) -> dict[str, Any]:
        """Refuse numbers that belong to nothing, and two ways to give one amount."""
        said = super().clean() or {}
        if said.get("equivalents") and said.get("amount"):
            self.add_error("amount", "Give equivalents or an amount, not both: clear one of the two.")
        if not said.get("name") and (said.get("equivalents") or said.get("amount")):
            self.add_error("name", "Say which substance this is, or clear the line.")
        return said


LineFormSet = forms.formset_factory(
    LineForm, extra=0, max_num=MOST_LINES, absolute_max=MOST_LINES, validate_max=True
)


def line_initial(lines: Sequence[BatchLine]) -> list[dict[str, str]]:
    """Return what the line forms show: the saved lines and some blank ones."""
    saved = [
        {
            "role": line.role,
            "name": line.name,
            "equivalents": line.equivalents_typed,
            "amount": line.amount_typed,
        }
        for line in lines
    ]
    blank = [{"role": str(role)} for role in (LineRole.SOLVENT, LineRole.QUENCH)]
    return saved + blank[: max(MOST_LINES - len(saved), 0)]
