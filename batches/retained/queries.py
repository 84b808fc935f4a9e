"""Finding samples, and what stands around one."""

from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import Any

from django.conf import settings
from django.db.models import Model, Q, QuerySet
from rapidfuzz import fuzz, process

from batches.retained.models import RetainedSample
from labstock.chemistry.errors import LabError
from labstock.stock.codes import read_code
from labstock.stock.filters import holding_words
from labstock.stock.models import Location, Substance, Synonym
from labstock.stock.search_text import normalised
from labstock.stock.word_index import Holding

LIKE_ENOUGH = 75  # of 100; below it a "did you mean" is more puzzle than help; our choice
MOST_NAMES = 20_000  # names looked through for a "did you mean"


def samples() -> QuerySet[RetainedSample]:
    """Return all samples with what a list shows, the oldest first."""
    return RetainedSample.objects.select_related(
        "container__location", "container__substance", "container__lot", "batch"
    ).order_by("sorted_on", "id")


def find_samples(rows: QuerySet[RetainedSample], text: str) -> Holding:
    """Keep samples that have every word somewhere in theirs; a whole code is that one sample."""
    try:
        code = read_code(text, settings.LABSTOCK_CODE_PREFIX)
    except LabError:  # not a code: words
        return holding_words(rows, text)
    return Holding(rows.filter(container__code=code), are_few=True)


def made_between(first_year: int | None, last_year: int | None) -> Q:
    """Return the condition that a sample may have been made in these years.

    An end that nobody limits reaches as far as one asks; a sample without any date is in no range of years.
    """
    condition = ~Q(date_edtf="")
    if first_year is not None:
        condition &= Q(latest_on__gte=date(first_year, 1, 1)) | Q(latest_on=None)
    if last_year is not None:
        condition &= Q(earliest_on__lte=date(last_year, 12, 31)) | Q(earliest_on=None)
    return condition


def inside(place: Location) -> Q:
    """Return the condition that a sample stands in this place or in one inside it."""
    here = Location.objects.filter(Q(pk=place.pk) | Q(path__startswith=f"{place.path}, "))
    return Q(container__location__in=here)


def did_you_mean(text: str) -> list[str]:
    """Return up to three known names that read like what was typed and do find something."""
    wanted = normalised(text)
    names = _names_by_spelling(_newest_names())
    scorer = (
        fuzz.WRatio if len(names) < MOST_NAMES else fuzz.ratio
    )  # ten times as fast, blind to parts of a name
    alike = process.extract(wanted, names.keys(), scorer=scorer, score_cutoff=LIKE_ENOUGH, limit=6)
    meant = [names[found] for found, _, _ in alike if found != wanted]
    return [name for name in meant if find_samples(samples(), name).rows.exists()][:3]


def _newest_names() -> tuple[Any, ...]:
    """Return what changes when a name is added."""
    tables: tuple[type[Model], ...] = (Substance, Synonym, RetainedSample)
    return tuple(model._default_manager.order_by("-pk").values_list("pk", "name").first() for model in tables)


@lru_cache(maxsize=1)
def _names_by_spelling(newest: tuple[Any, ...]) -> dict[str, str]:
    """Return all known names by how they are compared; gathered anew when `newest` is another."""
    return {normalised(name): name for name in _known_names()}


def _known_names() -> Iterable[str]:
    yield from Substance.objects.order_by().values_list("name", flat=True)
    yield from Synonym.objects.order_by().values_list("name", flat=True)
    yield from RetainedSample.objects.order_by().values_list("name", flat=True).distinct()[:MOST_NAMES]
    yield from RetainedSample.objects.order_by().values_list("maker", flat=True).distinct()[:MOST_NAMES]


def others_of_the_substance(sample: RetainedSample) -> list[RetainedSample]:
    """Return other samples of the same substance, the oldest first."""
    if sample.substance_id is None:
        return []
    return list(samples().filter(substance=sample.substance_id).exclude(pk=sample.pk)[:12])


def get_sample(code: str) -> RetainedSample:
    """Return the sample in the container with this code, or refuse in words."""
    found = (
        RetainedSample.objects.select_related(
            "container__location", "container__owner_group", "container__substance", "container__lot__substance",
            "batch__owner", "substance", "catalogued_by",
        )
        .filter(container__code=code)
        .first()
    )  # fmt: skip
    if found is None:
        raise LabError(
            "no-such-sample",
            "{code} is no retained sample: find it by its name, or open the container by its code under Scan.",
            code=code,
        )
    return found
