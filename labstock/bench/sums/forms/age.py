"""What is asked for dates: EDTF, the day of looking, a label's text."""

from datetime import date

from django import forms

from batches.retained.edtf import EdtfDate, read_edtf
from labstock.stock.forms.fields import said_by_the_field

LIKE = (
    "1934, 1934~ about, 1984? perhaps, 193X the 1930s, 1934-06, 1931/1936, ../1939, [1894-11-12, 1899-11-12]"
)


class EdtfField(forms.CharField):
    """A date in EDTF."""

    def __init__(self, label: str, **kwargs: object) -> None:
        super().__init__(label=label, max_length=200, **kwargs)  # type: ignore[arg-type]
        self.widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}

    def clean(self, value: object) -> EdtfDate:
        """Return the date with its strict bounds."""
        with said_by_the_field():
            return read_edtf(super().clean(value))


class AgeForm(forms.Form):
    """One date, and the day of looking."""

    edtf = EdtfField("Date in EDTF", help_text=LIKE)
    on = forms.DateField(
        label="Age on",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Left out: today.",
    )

    def clean_on(self) -> date:
        """Return the day of looking."""
        return self.cleaned_data["on"] or date.today()


class OrderForm(forms.Form):
    """Two dates."""

    first = EdtfField("First date", help_text=LIKE)
    second = EdtfField("Second date")


class LabelForm(forms.Form):
    """What stands on a label."""

    label = forms.CharField(
        label="As written on the label",
        max_length=120,
        help_text="12. XI. 1894, ca. 1930, Sept. 31, vor 1920",
    )
