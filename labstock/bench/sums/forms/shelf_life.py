"""What is asked for a shelf life: rows as they stand in a spreadsheet."""

import re
from typing import Any

from django import forms

from labstock.bench.sums.fields import ListField
from labstock.chemistry.errors import LabError

Row = tuple[str, float, float]
LIKE = "“b2; 12; 97.4”"
HEADINGS = ("month", "batch", "time", "value", "assay", "lot")
NUMBER = re.compile(r"[-+−]?\d+(?:[.,]\d+)?")


def row(line: str) -> Row | None:
    """Return batch, month and value of one line; a line of headings says nothing."""
    parts = _parts(line)
    if len(parts) == 3 and NUMBER.fullmatch(parts[1]) and NUMBER.fullmatch(parts[2]):
        return parts[0], _number(parts[1]), _number(parts[2])
    if any(word in line.lower() for word in HEADINGS) and not any(map(NUMBER.fullmatch, parts)):
        return None
    raise LabError(
        "shelf-life-row",
        "'{line}' is not read as batch, month and value: write three parts, like {like}, or paste three columns.",
        line=line.strip()[:60],
        like=LIKE,
    )


def _parts(line: str) -> list[str]:
    for sign in ("\t", ";"):
        if sign in line:
            return [part.strip() for part in line.split(sign)]
    spaced = line.split()
    if len(spaced) == 3:
        return [part.rstrip(",") for part in spaced]
    return [part.strip() for part in line.split(",")]


def _number(text: str) -> float:
    return float(text.replace(",", ".").replace("−", "-"))


class ShelfLifeForm(forms.Form):
    """Measured values of batches over time, and the limit they have to keep."""

    rows = ListField(
        "Batch, month, value", row, help_text=f"One line each, {LIKE}, or pasted from a spreadsheet."
    )
    limit = forms.CharField(label="Limit", max_length=20, help_text="In the unit of the values.")
    unit = forms.CharField(label="Unit of the values", max_length=20, initial="%", required=False)
    side = forms.ChoiceField(
        label="The value must stay", choices=[("lower", "above the limit"), ("upper", "below the limit")]
    )
    limits = forms.ChoiceField(
        label="Confidence limits", choices=[("one", "one-sided, 95 %"), ("two", "two-sided, 95 %")]
    )
    storage = forms.ChoiceField(
        label="Kept in",
        choices=[("room", "a room"), ("refrigerator", "a refrigerator"), ("freezer", "a freezer")],
    )

    def clean_rows(self) -> list[Row]:
        """Return the rows without headings."""
        return [each for each in self.cleaned_data["rows"] if each is not None]

    def clean_limit(self) -> float:
        """Return the limit as a number."""
        text: Any = self.cleaned_data["limit"].strip()
        if not NUMBER.fullmatch(text):
            raise forms.ValidationError(f"‘{text}’ is no number: give the limit as a figure, such as 95.")
        return _number(text)
