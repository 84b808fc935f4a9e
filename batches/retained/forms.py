"""What is typed about a retained sample."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from batches.fields import MomentField, SentOnce
from batches.forms_record import KeepForm, balances
from batches.models import Batch
from batches.queries import filled_from
from batches.retained.actions import Keeping, OldLabel, Statement
from batches.retained.edtf import Suggestion, read_edtf, suggest_edtf
from batches.retained.looking import Seen
from batches.retained.models import ConditionCheck, KeptFor, ProvenanceNote
from labstock.chemistry.devices import device
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import LabGroup, User
from labstock.stock.actions.receiving import Arrival
from labstock.stock.forms.fields import DayField, QuantityField
from labstock.stock.models import Container, Location, Substance, VesselKind

BY_EYE, NOT_KNOWN = "by eye", "not known"
NOBODY_KNOWS = "not known"  # what the ledger says was typed, when the amount is not known
EYE_SHARE = 0.3  # an amount judged by eye through old glass, as a half width; common practice, no source
DATE_HINT = "Such as 1934~ for about 1934, 193X for the 1930s, ../1939 for 1939 or before."


class EdtfField(forms.CharField):
    """A date in EDTF, strictly read."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        options.setdefault("help_text", DATE_HINT)
        super().__init__(max_length=120, **options)
        self.widget.attrs.update({"autocomplete": "off", "spellcheck": "false"})

    def clean(self, value: Any) -> Any:
        """Return the text as it was typed, if it can be read."""
        text = super().clean(value)
        if text:
            try:
                read_edtf(text)
            except LabError as error:
                raise ValidationError(error.message, code=error.code) from error
        return text


class RetainForm(KeepForm):
    """A portion of a product, put aside."""

    product = forms.ModelChoiceField(Container.objects.none(), label="From", empty_label=None)
    kept_for = forms.ChoiceField(choices=KeptFor, label="Kept for", widget=forms.RadioSelect)
    keep_until = DayField(label="Keep until")
    review_on = DayField(label="Look at it again on")
    field_order = [
        "key",
        "product",
        "amount",
        "vessel",
        "location",
        "kept_for",
        "keep_until",
        "review_on",
    ]

    def __init__(self, *args: Any, batch: Batch, **options: Any) -> None:
        super().__init__(*args, **options)
        made = [filled.container.pk for filled in filled_from(batch)]
        rows = Container.objects.filter(pk__in=made).select_related("substance").order_by("number")
        product = self.fields["product"]
        assert isinstance(product, forms.ModelChoiceField)
        product.queryset = rows
        if len(made) == 1:
            product.initial, product.widget = made[0], forms.HiddenInput()
        self.initial.setdefault("vessel", VesselKind.TUBE)
        self.initial.setdefault("kept_for", KeptFor.RETENTION)
        self.fields["amount"].label = "How much is put aside?"
        self.fields["amount"].help_text = "Such as 200 mg: enough for two full analyses."

    def keeping(self) -> Keeping:
        """Return how the sample is kept."""
        return keeping_of(self.cleaned_data)


class SampleForm(SentOnce):
    """A historic sample, as it lies in the hand."""

    name = forms.CharField(
        max_length=200,
        label="What is it?",
        help_text="In words of today, or what the label says, or “unknown”.",
        error_messages={"required": "A sample needs a name: write what the label says, or “unknown”."},
    )
    label_as_written = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        label="Label, as written",
        help_text="Line by line. ⟨…⟩ where it cannot be read, [4?] for a doubtful letter.",
    )
    substance = forms.ModelChoiceField(
        Substance.objects.order_by("name"), required=False, label="On the substance list as", empty_label="not on the list, or not known"
    )  # fmt: skip
    date_as_written = forms.CharField(required=False, max_length=120, label="Date, as written")
    date_edtf = EdtfField(label="Date, as understood (EDTF)")
    maker = forms.CharField(required=False, max_length=160, label="Maker")
    other_numbers = forms.CharField(required=False, max_length=160, label="Other numbers on it")
    amount = QuantityField(
        required=False,
        default_unit="g",
        dimensions=("mass", "volume"),
        label="How much is in it?",
        help_text="Such as 1.8 g. Do not open it to find out.",
    )
    known_by = forms.ChoiceField(label="How do you know?")
    capacity = QuantityField(
        required=False,
        default_unit="g",
        dimensions=("mass", "volume"),
        label="It would hold, when full",
        help_text="In the same unit, by eye. Needed where the amount is not known.",
    )
    vessel = forms.ChoiceField(choices=VesselKind, initial=VesselKind.TUBE, label="It is in a")
    location = forms.ModelChoiceField(
        Location.objects.order_by("path"), required=False, label="It stands at", empty_label="not decided yet"
    )
    owner_group = forms.ModelChoiceField(
        LabGroup.objects.all(), required=False, label="In the care of", empty_label="nobody named"
    )
    kept_for = forms.ChoiceField(
        choices=KeptFor, initial=KeptFor.HISTORY, widget=forms.RadioSelect, label="Kept for"
    )
    review_on = DayField(label="Look at it again on")
    keep_until = DayField(label="Keep until", help_text="Left empty, there is no end.")
    found = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        label="Where does it come from?",
        help_text="What is known: who found it, who had it, whose it was. More can be added later.",
    )
    evidence = forms.CharField(
        required=False,
        max_length=200,
        label="On what evidence?",
        help_text="A list, a card, a letter, somebody's word.",
    )

    def __init__(self, *args: Any, person: User, **options: Any) -> None:
        super().__init__(*args, **options)
        ways = [
            (BY_EYE, "Judged by eye, ± 30 %"),
            *((code, f"Weighed, {name}") for code, name in balances()),
        ]
        field = self.fields["known_by"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*ways, (NOT_KNOWN, "Not known: nobody looked")]
        self.initial.setdefault("owner_group", person.group_id)

    @property
    def suggestions(self) -> list[Suggestion]:
        """Return what the date as written may mean; a person takes one, the form never does."""
        return suggest_edtf(str(self["date_as_written"].value() or ""))[:4]

    def clean(self) -> dict[str, Any]:
        """Ask for the size where the amount is not known, and for the amount where it is."""
        said = super().clean() or {}
        is_unknown = said.get("known_by") == NOT_KNOWN
        if is_unknown and not said.get("capacity") and "capacity" not in self.errors:
            self.add_error(
                "capacity", "Nobody knows the amount: then say what it would hold when full, such as 5 g."
            )
        if is_unknown and said.get("amount"):
            self.add_error("amount", "An amount is written, and “not known” is chosen: clear one of the two.")
        if not is_unknown and not said.get("amount") and "amount" not in self.errors:
            self.add_error(
                "amount", "Give an amount such as 1.8 g, or choose “not known” below and the size."
            )
        if said.get("found", "").strip() == "" and said.get("evidence", "").strip():
            self.add_error("found", "There is evidence, but nothing it speaks for: write what is known.")
        return said

    def label(self) -> OldLabel:
        """Return what the label says and what it is taken to mean."""
        names = (
            "name",
            "label_as_written",
            "date_as_written",
            "date_edtf",
            "maker",
            "other_numbers",
            "substance",
        )
        return OldLabel(**{name: self.cleaned_data[name] for name in names})

    def arrival(self) -> Arrival:
        """Return the container with its amount and the doubt of it.

        An amount nobody knows is anything from nothing to full, all alike: half of it, with the standard uncertainty
        of that rectangle (JCGM 100:2008, 4.3.7), and the ledger says that it is not known.
        """
        said = self.cleaned_data
        amount, capacity = said["amount"], said["capacity"]
        if said["known_by"] == NOT_KNOWN:
            half = Quantity(capacity.value / 2, capacity.unit, None, 1, NOBODY_KNOWS)
            u = float(capacity.in_unit(_ledger_unit(capacity))) / 12**0.5
            return Arrival(unit=_ledger_unit(capacity), capacity=capacity, amount=half, u_amount=u)
        return Arrival(
            unit=_ledger_unit(amount),
            capacity=capacity or amount,
            amount=amount,
            u_amount=_doubt(amount, said["known_by"]),
        )

    def keeping(self) -> Keeping:
        """Return how the sample is kept."""
        return keeping_of(self.cleaned_data)

    def provenance(self) -> Statement | None:
        """Return what is said about where it comes from, if anything."""
        said = self.cleaned_data
        return Statement(said["found"], evidence=said["evidence"]) if said["found"].strip() else None


class ProvenanceForm(SentOnce):
    """One statement about a sample."""

    subject = forms.ChoiceField(
        choices=ProvenanceNote.Subject, initial=ProvenanceNote.Subject.CUSTODY, widget=forms.RadioSelect, label="About"
    )  # fmt: skip
    text = forms.CharField(max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), label="What is known?")
    date_edtf = EdtfField(label="When was that? (EDTF)")
    evidence = forms.CharField(
        required=False, max_length=200, label="On what evidence?", help_text="Left empty, the line is drawn dashed: nobody can show it."
    )  # fmt: skip
    understood_as = EdtfField(
        label="The sample's own date, read anew (EDTF)",
        help_text="Only if this is a new reading of the date. The reading before it stays in the record.",
    )


class ConditionForm(SentOnce):
    """What is seen of a sample from outside."""

    scale = forms.TypedChoiceField(
        choices=ConditionCheck.Scale, coerce=int, widget=forms.RadioSelect, label="How is it?",
        error_messages={"required": "Choose one of the five steps: 5 is as it was, 1 is lost."},
    )  # fmt: skip
    colour = forms.CharField(required=False, max_length=120, label="Colour", help_text="Such as dark red.")
    form = forms.CharField(
        required=False, max_length=120, label="Form", help_text="Such as fine crystals, caked at the glass."
    )
    closure = forms.ChoiceField(choices=ConditionCheck.Closure, required=False, label="Closure")
    label = forms.ChoiceField(choices=ConditionCheck.Label, required=False, label="Label")
    changed = forms.CharField(
        required=False, max_length=400, widget=forms.Textarea(attrs={"rows": 2}), label="What changed since the last look?"
    )  # fmt: skip
    remarks = forms.CharField(
        required=False, max_length=400, widget=forms.Textarea(attrs={"rows": 2}), label="Remarks"
    )
    at = MomentField(label="When?", help_text="Left empty: now.")
    next_on = DayField(
        label="Look again on", help_text="A year is usual, sooner for what changes. Empty: no day set."
    )

    def seen(self) -> Seen:
        """Return what was seen."""
        names = ("scale", "colour", "form", "closure", "label", "changed", "remarks")
        return Seen(**{name: self.cleaned_data[name] for name in names})


def keeping_of(said: dict[str, Any]) -> Keeping:
    """Return how a sample is kept, from either form."""
    names = ("kept_for", "location", "vessel", "keep_until", "review_on", "owner_group")
    return Keeping(**{name: said[name] for name in names if name in said})


def _ledger_unit(amount: Quantity) -> str:
    return "g" if amount.dimension == "mass" else "mL"


def _doubt(amount: Quantity, known_by: str) -> float:
    """Return the standard uncertainty of an amount [its ledger unit]; what was typed behind ± widens it."""
    unit = _ledger_unit(amount)
    value = float(amount.in_unit(unit))
    typed = float(amount.to(unit).u or 0)
    if known_by == BY_EYE:
        return typed or value * EYE_SHARE / 3**0.5
    return max(typed, device(known_by).uncertainty(value).u if unit == "g" else 0.0)
