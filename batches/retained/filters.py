"""What old samples are found by."""

from typing import Any

import django_filters
from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet

from batches.retained.models import KeptFor, RetainedSample
from batches.retained.queries import find_samples, inside, made_between
from labstock.stock.filters import holding_words
from labstock.stock.models import Location

FIRST_YEAR, LAST_YEAR = 1, 9999


class YearField(forms.CharField):
    """A year of four digits."""

    def clean(self, value: Any) -> Any:
        """Return the year, or None."""
        text = super().clean(value).strip()
        if not text:
            return None
        if not (text.isdecimal() and len(text) == 4 and FIRST_YEAR <= int(text) <= LAST_YEAR):
            raise ValidationError(f"“{text[:20]}” is no year: write four digits, such as 1894.")
        return int(text)


class FindForm(forms.Form):
    """Checks what the single fields cannot: that the years are in order."""

    def clean(self) -> dict[str, Any]:
        """Refuse a range that ends before it begins."""
        said = super().clean() or {}
        first, last = said.get("made_from"), said.get("made_to")
        if first and last and first > last:
            self.add_error("made_to", f"{last} comes before {first}: exchange the two years.")
        return said


class YearFilter(django_filters.Filter):
    """One end of a range of years."""

    field_class = YearField


def _narrow() -> forms.TextInput:
    return forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 4})


class SampleFilter(django_filters.FilterSet):
    """One field for words, and what narrows it further."""

    q = django_filters.CharFilter(
        method="with_words",
        label="Name or part of it, maker, number, words on the label",
        widget=forms.TextInput(attrs={"type": "search", "enterkeyhint": "search"}),
    )
    made_from = YearFilter(method="in_years", label="Made from", widget=_narrow())
    made_to = YearFilter(method="in_years", label="to", widget=_narrow())
    maker = django_filters.CharFilter(method="by_maker", label="Maker")
    batch = django_filters.CharFilter(field_name="batch__number", lookup_expr="iexact", label="Batch")
    location = django_filters.ModelChoiceFilter(
        queryset=Location.objects.order_by("path"), method="in_place", label="Stands in", empty_label="every place"
    )  # fmt: skip
    kept_for = django_filters.ChoiceFilter(choices=KeptFor, label="Kept for", empty_label="every reason")

    is_counted = True  # not so where very many hold the words

    class Meta:
        model = RetainedSample
        form = FindForm
        fields = ["q", "made_from", "made_to", "maker", "batch", "location", "kept_for"]

    def with_words(self, rows: QuerySet[RetainedSample], name: str, text: str) -> QuerySet[RetainedSample]:
        """Keep samples that have every word somewhere."""
        held = find_samples(rows, text)
        self.is_counted = self.is_counted and held.are_few
        return held.rows

    def in_years(self, rows: QuerySet[RetainedSample], name: str, year: int) -> QuerySet[RetainedSample]:
        """Keep samples that may have been made on this side of the year."""
        return rows.filter(made_between(year, None) if name == "made_from" else made_between(None, year))

    def by_maker(self, rows: QuerySet[RetainedSample], name: str, text: str) -> QuerySet[RetainedSample]:
        """Keep samples whose maker is written so; the words field finds other spellings."""
        held = holding_words(rows, text)
        self.is_counted = self.is_counted and held.are_few
        return held.rows.filter(maker__icontains=text.strip())

    def in_place(
        self, rows: QuerySet[RetainedSample], name: str, place: Location
    ) -> QuerySet[RetainedSample]:
        """Keep samples in a place or inside it."""
        return rows.filter(inside(place))
