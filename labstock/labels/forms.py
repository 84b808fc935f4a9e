"""What a person chooses to print, and on what."""

from typing import Any

from django import forms
from django.http import QueryDict

from labstock.chemistry.errors import LabError
from labstock.labels.queries import find_containers, split_codes
from labstock.labels.sheets import MOST_LABELS, ONE_PER_PAGE, SHEETS, check_start
from labstock.stock.models import Container

OWN_SIZE = "One label per page of its own size, for a label printer"
SIZES = [(ONE_PER_PAGE, OWN_SIZE), *((name, sheet.words) for name, sheet in SHEETS.items())]


class LabelForm(forms.Form):
    """Ticked and typed codes, a search to tick more from, the sheet and where on it to begin."""

    q = forms.CharField(required=False, max_length=100, label="Find containers to tick")
    typed = forms.CharField(
        required=False,
        label="Codes typed or scanned",
        help_text="One on each line, like TQ 4817 K; a handheld scanner makes the lines itself.",
        widget=forms.Textarea(attrs={"rows": 3, "autocapitalize": "characters", "spellcheck": "false"}),
    )
    size = forms.ChoiceField(
        required=False, choices=SIZES, initial=ONE_PER_PAGE, label="Paper", widget=forms.RadioSelect
    )
    start = forms.IntegerField(
        required=False,
        initial=1,
        label="First free place on the first sheet",
        help_text="Counted from 1, row by row: a sheet that was begun can be used up.",
        widget=forms.NumberInput(attrs={"min": 1, "max": 100}),
    )
    is_coloured = forms.BooleanField(required=False, label="Red hazard frames, on a colour printer")

    def __init__(self, data: QueryDict | None = None) -> None:
        super().__init__(data and _with_defaults(data))
        size = self.fields["size"]
        size.error_messages["invalid_choice"] = "“%(value)s” is no paper for labels: choose one of these."
        self.containers: list[Container] = []
        self.ticked = [] if data is None else split_codes(",".join(data.getlist("codes")))

    def clean_size(self) -> str:
        """Return the size; nothing chosen is a label printer."""
        return self.cleaned_data["size"] or ONE_PER_PAGE

    def clean_start(self) -> int:
        """Return the first place; nothing typed is the first."""
        start = self.cleaned_data["start"]
        return 1 if start is None else start

    def clean(self) -> dict[str, Any]:
        """Find the containers meant; every code that cannot be read is named at once."""
        said = super().clean() or {}
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
        if said.get("size", ONE_PER_PAGE) != ONE_PER_PAGE and "start" in said:
            try:
                check_start(said["size"], said["start"])
            except LabError as error:
                self.add_error("start", error.message)
        return said


def _with_defaults(data: QueryDict) -> QueryDict:
    """Fill in what an address leaves out, so that the page shows what it goes by."""
    filled = data.copy()
    filled.setdefault("size", ONE_PER_PAGE)
    filled.setdefault("start", "1")
    return filled
