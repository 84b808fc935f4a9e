"""What a person chooses to print, and on what."""

import uuid
from typing import Any

from django import forms
from django.http import QueryDict

from labstock.chemistry.errors import LabError
from labstock.labels.actions import MOST_BLANKS
from labstock.labels.papers import ONE_PER_PAGE, SHEETS, check_start, is_sheet, own_size
from labstock.labels.queries import find_containers, split_codes
from labstock.labels.sheets import MOST_LABELS
from labstock.stock.models import Container, Location

KINDS_OWN_SIZE = "One label per page, in the size of its kind, for a label printer"
OWN_ROLL, OWN_SHEET = "own-roll", "own-sheet"
SIZES = [
    (ONE_PER_PAGE, KINDS_OWN_SIZE),
    (OWN_ROLL, "One label per page, in the size given below, for a roll"),
    *((name, sheet.words) for name, sheet in SHEETS.items()),
    (OWN_SHEET, "A4 to cut, labels in the size given below"),
]


class PaperForm(forms.Form):
    """What the labels are printed on, and where on it to begin."""

    size = forms.ChoiceField(
        required=False, choices=SIZES, initial=ONE_PER_PAGE, label="Paper", widget=forms.RadioSelect
    )
    width = forms.DecimalField(
        required=False,
        max_digits=5,
        decimal_places=2,
        label="Width of a label, mm",
        help_text="Along the lines of text.",
    )
    height = forms.DecimalField(
        required=False,
        max_digits=5,
        decimal_places=2,
        label="Height of a label, mm",
        help_text="Across them.",
    )
    start = forms.IntegerField(
        required=False,
        initial=1,
        label="First free place on the first sheet",
        help_text="Counted from 1, row by row: a sheet that was begun can be used up.",
        widget=forms.NumberInput(attrs={"min": 1, "max": 400}),
    )

    def clean_start(self) -> int:
        """Return the first place; nothing typed is the first."""
        start = self.cleaned_data["start"]
        return 1 if start is None else start

    def clean(self) -> dict[str, Any]:
        """Put a size of one's own together, and see that the place to begin is on the sheet."""
        said = super().clean() or {}
        if "size" not in said:
            return said
        said["size"] = self._whole_size(said)
        self._check_paper(said)
        return said

    def _whole_size(self, said: dict[str, Any]) -> str:
        size = said["size"] or ONE_PER_PAGE
        if size not in (OWN_ROLL, OWN_SHEET):
            return str(size)
        for name in ("width", "height"):
            if said.get(name) is None and name not in self.errors:
                self.add_error(name, f"Give the {name} of a label in millimetres, such as 57.")
        if self.errors.get("width") or self.errors.get("height"):
            return ONE_PER_PAGE
        return f"{said['width'].normalize():f}x{said['height'].normalize():f}{'-sheet' if size == OWN_SHEET else ''}"

    def _check_paper(self, said: dict[str, Any]) -> None:
        try:
            if is_sheet(said["size"]):
                if "start" in said:
                    check_start(said["size"], said["start"])
            else:
                own_size(said["size"])
        except LabError as error:
            self.add_error("start" if error.code == "start-off-sheet" else "width", error.message)


class OtherForm(PaperForm):
    """Labels of what is no container: how many blanks, which places; sent once by its key."""

    key = forms.UUIDField(initial=uuid.uuid4, widget=forms.HiddenInput)
    count = forms.IntegerField(
        required=False,
        initial=24,
        label="How many blank labels",
        help_text=f"1 to {MOST_BLANKS}. Each takes a number of its own for good.",
    )
    places = forms.ModelMultipleChoiceField(
        Location.objects.select_related("parent").order_by("path"),
        required=False,
        label="Places",
        widget=forms.CheckboxSelectMultiple,
    )
    box = forms.ModelChoiceField(
        Location.objects.order_by("path"), required=False, label="Rack, tray or box", empty_label="choose"
    )

    def __init__(self, data: QueryDict | None = None, box: str = "") -> None:
        super().__init__(data and _with_defaults(data), initial={"box": box})
        size = self.fields["size"]
        size.error_messages["invalid_choice"] = "“%(value)s” is no paper for labels: choose one of these."


class LabelForm(PaperForm):
    """Ticked and typed codes, a search to tick more from, the sheet and where on it to begin."""

    q = forms.CharField(required=False, max_length=100, label="Find containers to tick")
    typed = forms.CharField(
        required=False,
        label="Codes typed or scanned",
        help_text="One on each line, like TQ 4817 K; a handheld scanner makes the lines itself.",
        widget=forms.Textarea(
            attrs={"rows": 3, "autocapitalize": "characters", "spellcheck": "false", "data-takes-codes": ""}
        ),
    )
    is_coloured = forms.BooleanField(required=False, label="Red hazard frames, on a colour printer")
    is_full = forms.BooleanField(
        required=False,
        label="Full labels: pictures, signal word and hazard statements at their legal size, or refused",
        help_text="For what leaves the bench, not the house: without precautionary statements and the maker’s address. "
        "The label’s size goes by what the container holds.",
    )
    is_for_shift = forms.BooleanField(
        required=False,
        label="For this shift, by me alone: name, my name and the time, no hazards",
        help_text="Only for what you poured yourself and use up before you go.",
    )

    def __init__(self, data: QueryDict | None = None) -> None:
        super().__init__(data and _with_defaults(data))
        size = self.fields["size"]
        size.error_messages["invalid_choice"] = "“%(value)s” is no paper for labels: choose one of these."
        self.containers: list[Container] = []
        self.ticked = [] if data is None else split_codes(",".join(data.getlist("codes")))

    def clean(self) -> dict[str, Any]:
        """Find the containers meant; every code that cannot be read is named at once."""
        said = super().clean() or {}
        if said.get("is_full") and said.get("is_for_shift"):
            self.add_error(
                "is_for_shift", "A full label names every hazard and this one none: tick one of the two."
            )
        pieces = [*self.ticked, *split_codes(said.get("typed", ""))]
        if len(pieces) > MOST_LABELS:
            self.add_error(
                None,
                f"{len(pieces)} labels were chosen; at most {MOST_LABELS} are printed at once. "
                "Choose fewer, then print the rest.",
            )
            return said
        self.containers, refusals = find_containers(pieces)
        for error in refusals:
            self.add_error("typed", error.message)
        return said


def _with_defaults(data: QueryDict) -> QueryDict:
    """Fill in what an address leaves out, so that the page shows what it goes by."""
    filled = data.copy()
    filled.setdefault("size", ONE_PER_PAGE)
    filled.setdefault("start", "1")
    return filled
