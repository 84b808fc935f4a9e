"""What is asked of the account: a container, a lot, a substance or a person, and from when to when."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from labstock.bench.landing import find_typed
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.account_lines import Scope
from labstock.stock.models import Container, Lot, Substance

USUAL_DAYS = 30
ONE_OF = ("container", "lot", "substance", "person")


class WhereForm(forms.Form):
    """The question as it stands in the address; lots and substances are chosen on their own pages."""

    container = forms.CharField(
        required=False,
        max_length=300,
        label="Container code",
        widget=forms.TextInput(attrs={"data-takes-codes": ""}),
    )
    person = forms.ModelChoiceField(
        User.objects.order_by("last_name", "first_name"), required=False, empty_label="anybody"
    )
    lot = forms.ModelChoiceField(
        Lot.objects.select_related("substance"), required=False, widget=forms.HiddenInput
    )
    substance = forms.ModelChoiceField(Substance.objects, required=False, widget=forms.HiddenInput)
    # left out of the form itself: a new question begins on page 1
    page = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        for name, label in (("from", "From"), ("to", "To and including")):
            widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
            self.fields[name] = forms.DateField(required=False, label=label, widget=widget)
        code = self.fields["container"].widget
        code.attrs |= {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}

    def clean_container(self) -> Container | None:
        """Find the container whose code was typed."""
        typed = self.cleaned_data["container"].strip()
        if not typed:
            return None
        try:
            return find_typed(typed)
        except LabError as error:
            raise ValidationError(error.message, code=error.code) from error

    def clean(self) -> dict[str, Any]:
        """Refuse two subjects at once, and a time that ends before it begins."""
        said = super().clean() or {}
        for name in {"lot", "substance"} & set(self.errors):  # they came with the address, not by hand
            self.add_error(
                None, f"There is no {name} {self.data[name]}: open its page again and ask from there."
            )
        if "page" in self.errors:
            self.add_error(
                None,
                f"There is no page {self.data['page']}: page 1 has the newest lines, page 2 those before.",
            )
        asked = [name for name in ONE_OF if said.get(name)]
        if len(asked) > 1:
            raise ValidationError(
                f"One account is of one thing: this asks for a {asked[0]} and a {asked[1]}. Empty one of the two."
            )
        first, last = said.get("from"), said.get("to")
        if first and last and last < first:
            self.add_error("to", f"{last:%d %b %Y} lies before {first:%d %b %Y}: give the later day here.")
        return said

    def page_asked(self) -> int:
        """Return which page of the lines is asked for; 1 has the newest."""
        return self.cleaned_data["page"] or 1

    def scope(self) -> Scope:
        """Return what is asked; of a person or of everything it is the last 30 days unless days are given."""
        said = self.cleaned_data
        subject = {name: said.get(name) for name in ONE_OF}
        first, last = said.get("from"), said.get("to")
        if not first and not last and not any(subject[name] for name in ("container", "lot", "substance")):
            first = timezone.localdate() - timedelta(days=USUAL_DAYS)
        return Scope(
            **subject,
            since=_midnight(first) if first else None,
            until=_midnight(last + timedelta(days=1)) if last else None,
        )


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))
