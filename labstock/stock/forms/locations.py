"""A place inside another place."""

from django import forms

from labstock.stock.models import Location, Need
from labstock.stock.models.location import LocationKind


class LocationForm(forms.Form):
    """A new place."""

    name = forms.CharField(max_length=80, label="Name", help_text="As on its door: cupboard 4, tray B.")
    kind = forms.ChoiceField(choices=LocationKind, label="What it is")
    parent = forms.ModelChoiceField(
        Location.objects.order_by("path"),
        required=False,
        label="It stands in",
        empty_label="nothing: it is a room",
    )
    offers = forms.MultipleChoiceField(
        choices=Need, required=False, widget=forms.CheckboxSelectMultiple, label="What it offers",
        help_text="What stands in it has this too.",
    )  # fmt: skip
