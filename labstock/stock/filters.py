"""What the stock list and the list of substances are narrowed by."""

from typing import Any

import django_filters
from django import forms
from django.db.models import F, QuerySet, Value

from labstock.people.models import LabGroup
from labstock.stock.forms.fields import DayField
from labstock.stock.models import Container, Location, State, Substance
from labstock.stock.queries import at_or_below
from labstock.stock.search_text import normalised
from labstock.stock.word_index import Holding, holding, most_hits

MOST_WORDS = 8
ANY = "any"
STATES = [*State.choices, (ANY, "any state")]


def holding_words(queryset: QuerySet[Any], text: str) -> Holding:
    """Keep the rows whose search text holds every word."""
    return holding(queryset, normalised(text.replace("\x00", " ")).split()[:MOST_WORDS])


class DayFilter(django_filters.Filter):
    """A filter by a day."""

    field_class = DayField


class ContainerFilter(django_filters.FilterSet):
    """The stock list: in use unless another state is asked for."""

    q = django_filters.CharFilter(method="by_words", label="Name, code, lot, supplier", max_length=200)
    location = django_filters.ModelChoiceFilter(
        queryset=Location.objects.order_by("path"),
        method="by_place",
        label="In or below",
        empty_label="anywhere",
    )
    owner_group = django_filters.ModelChoiceFilter(
        queryset=LabGroup.objects.all(), label="Owned by", empty_label="anybody"
    )
    state = django_filters.ChoiceFilter(choices=STATES, method="by_state", label="State", empty_label=None)
    opened = django_filters.ChoiceFilter(
        choices=[("yes", "opened"), ("no", "sealed")],
        method="by_opening",
        label="Opened",
        empty_label="either",
    )
    ends_before = DayFilter(field_name="ends_on", lookup_expr="lt", label="Ends before")
    flag = django_filters.ChoiceFilter(
        choices=[("moisture", "moisture-sensitive"), ("peroxide", "peroxide formers")],
        method="by_flag", label="Only", empty_label="everything",
    )  # fmt: skip
    substance = django_filters.ModelChoiceFilter(
        queryset=Substance.objects.all(), widget=forms.HiddenInput, label="Substance"
    )

    is_counted = True  # not so where very many fit and no index knows how many

    class Meta:
        model = Container
        fields: list[str] = []

    def __init__(self, data: Any = None, *args: Any, **options: Any) -> None:
        asked = data.copy() if data is not None else None
        if asked is not None and not asked.get("state"):
            asked["state"] = State.IN_USE
        super().__init__(asked, *args, **options)

    @property
    def is_one_state(self) -> bool:
        """Say whether one state is asked for: only then an index gives the order by end date."""
        return self.form.is_valid() and self.form.cleaned_data["state"] != ANY

    def by_words(self, queryset: QuerySet[Container], name: str, text: str) -> QuerySet[Container]:
        """Every word must be there."""
        held = holding_words(queryset, text)
        self.is_counted = self.is_counted and held.are_few
        return held.rows

    def by_place(self, queryset: QuerySet[Container], name: str, place: Location) -> QuerySet[Container]:
        """The place and everything in it.

        Each place's own containers lie in the order of their ends in an index; those of very many places together do
        not, and are met sooner by walking along the ends of all.
        """
        inside = at_or_below(place)
        if len(inside) == 1:
            return queryset.filter(location=inside[0])
        most = most_hits(queryset)
        if Container.objects.filter(location__in=inside).order_by()[: most + 1].count() <= most:
            return queryset.filter(location__in=inside)
        self.is_counted = False
        # a sum keeps the engine from looking all of them up by their places first
        return queryset.alias(stands_in=F("location") + Value(0)).filter(stands_in__in=inside)

    def by_state(self, queryset: QuerySet[Container], name: str, state: str) -> QuerySet[Container]:
        """One state, or any.

        By code, "in use" is asked for as "none of the others": nearly all are in use, so walking along the codes
        finds a page at once, where looking the state up first would sort them all.
        """
        if state == State.IN_USE and "code" in self.data.get("sort", ""):
            return queryset.exclude(state__in=[other for other in State if other != state])
        return queryset if state == ANY else queryset.filter(state=state)

    def by_opening(self, queryset: QuerySet[Container], name: str, opened: str) -> QuerySet[Container]:
        """Sealed means that nothing was drawn yet."""
        return queryset.filter(opened_on__isnull=opened == "no")

    def by_flag(self, queryset: QuerySet[Container], name: str, flag: str) -> QuerySet[Container]:
        """What the substance is flagged as."""
        column = "is_moisture_sensitive" if flag == "moisture" else "is_peroxide_former"
        return queryset.filter(**{f"substance__{column}": True})


class SubstanceFilter(django_filters.FilterSet):
    """The list of substances."""

    q = django_filters.CharFilter(method="by_words", label="Name, CAS number, formula", max_length=200)
    flag = django_filters.ChoiceFilter(
        choices=[("moisture", "moisture-sensitive"), ("peroxide", "peroxide formers")],
        method="by_flag", label="Only", empty_label="everything",
    )  # fmt: skip

    class Meta:
        model = Substance
        fields: list[str] = []

    def by_words(self, queryset: QuerySet[Substance], name: str, text: str) -> QuerySet[Substance]:
        """Every word must be there."""
        return holding_words(queryset, text).rows

    def by_flag(self, queryset: QuerySet[Substance], name: str, flag: str) -> QuerySet[Substance]:
        """What it is flagged as."""
        return queryset.filter(
            **{"is_moisture_sensitive" if flag == "moisture" else "is_peroxide_former": True}
        )
