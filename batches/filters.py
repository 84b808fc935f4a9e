"""What narrows the list of batches."""

from typing import Any

import django_filters
from django import forms
from django.db.models import Exists, OuterRef, Q, QuerySet

from batches.models import Batch, BatchLine, BatchState
from labstock.people.models import User
from labstock.stock.search_text import normalised


class BatchFilter(django_filters.FilterSet):
    """By words, state, person and year."""

    q = django_filters.CharFilter(method="with_words", label="Title, number or substance")
    state = django_filters.ChoiceFilter(choices=BatchState, label="State", empty_label="every state")
    owner = django_filters.ModelChoiceFilter(
        queryset=User.objects.filter(is_active=True), label="By", empty_label="everybody"
    )
    year = django_filters.NumberFilter(
        method="in_year",
        label="Year",
        widget=forms.TextInput(attrs={"inputmode": "numeric", "maxlength": 4}),
        min_value=1900,
        max_value=2999,
    )

    class Meta:
        model = Batch
        fields = ["q", "state", "owner", "year"]

    def with_words(self, rows: QuerySet[Batch], name: str, text: str) -> QuerySet[Batch]:
        """Keep batches in which every word is in the title, the number or a substance of the plan."""
        for word in text.split():
            lines = BatchLine.objects.filter(
                Q(name__icontains=word) | Q(substance__search_text__contains=normalised(word)),
                batch=OuterRef("pk"),
            )
            rows = rows.filter(Q(title__icontains=word) | Q(number__icontains=word) | Exists(lines))
        return rows

    def in_year(self, rows: QuerySet[Batch], name: str, year: Any) -> QuerySet[Batch]:
        """Keep batches planned in a year of the lab's calendar."""
        return rows.filter(planned_at__year=int(year))
