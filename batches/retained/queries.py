"""Finding samples, and what stands around one."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.conf import settings
from django.db.models import Q, QuerySet
from rapidfuzz import fuzz, process

from batches.retained.models import RetainedSample
from labstock.chemistry.errors import LabError
from labstock.stock.codes import read_code
from labstock.stock.models import Location, Substance, Synonym
from labstock.stock.search_text import normalised

LIKE_ENOUGH = 75  # of 100; below it a "did you mean" is more puzzle than help; our choice
FEW = 400
MOST_NAMES = 20_000  # names looked through for a "did you mean"


def samples() -> QuerySet[RetainedSample]:
    """Return all samples with what a list shows, the oldest first."""
    return RetainedSample.objects.select_related("container__location", "batch").order_by("sorted_on", "id")


def find_samples(text: str) -> Q:
    """Return the condition that every word is somewhere in a sample's words; a whole code is that one sample."""
    try:
        return Q(container__code=read_code(text, settings.LABSTOCK_CODE_PREFIX))
    except LabError:
        pass  # not a code: words
    words = normalised(text).split()
    called_so = _substances_called(words)
    condition = Q()
    for word in words:
        # a sample keeps the names its substance had; the substance itself knows those it got later
        known = [pk for pk, names in called_so if word in names]
        condition &= (
            Q(search_text__contains=word) | Q(substance__in=known) if known else Q(search_text__contains=word)
        )
    return condition


def _substances_called(words: Sequence[str]) -> list[tuple[int, str]]:
    any_word = Q()
    for word in words:
        any_word |= Q(search_text__contains=word)
    return (
        list(Substance.objects.filter(any_word).order_by().values_list("pk", "search_text")) if words else []
    )


def compared_once(rows: QuerySet[RetainedSample]) -> QuerySet[RetainedSample]:
    """Return the same samples; few of them by number, so that counting and paging do not compare the words again."""
    found = list(rows.order_by().values_list("pk", flat=True)[: FEW + 1])
    return rows if len(found) > FEW else samples().filter(pk__in=found)


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
    names = {normalised(name): name for name in _known_names()}
    alike = process.extract(wanted, list(names), scorer=fuzz.WRatio, score_cutoff=LIKE_ENOUGH, limit=6)
    meant = [names[found] for found, _, _ in alike if found != wanted]
    return [name for name in meant if RetainedSample.objects.filter(find_samples(name)).exists()][:3]


def _known_names() -> Iterable[str]:
    yield from Substance.objects.values_list("name", flat=True)
    yield from Synonym.objects.values_list("name", flat=True)
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
