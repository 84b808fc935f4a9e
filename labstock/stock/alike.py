"""Names that are easily taken for one another, and where they differ."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.core.cache import cache
from django.db.models import Exists, OuterRef
from rapidfuzz import process
from rapidfuzz.distance import JaroWinkler

from labstock.stock.models import Container, State, Substance

# Alike from this on: a shared beginning counts most, as it does for a hurried reader. A rule of this project.
ALIKE = 0.88
MOST = 3
KEPT_SECONDS = 300


@dataclass(frozen=True)
class Name:
    """A name in three parts; the middle one is where it differs."""

    before: str
    differs: str
    after: str


def alike(container: Container) -> list[Name]:
    """Return the names in stock that this one is easily taken for, parted where they differ from it."""
    name = container.name
    others = [other for other in names_in_stock() if other.casefold() != name.casefold()]
    found = process.extract(
        name, others, scorer=JaroWinkler.normalized_similarity, score_cutoff=ALIKE, limit=MOST
    )
    return [difference(name, other) for other, _, _ in found]


def names_in_stock() -> Sequence[str]:
    """Return the names of what can be taken off a shelf; a new one counts after a few minutes."""
    on_a_shelf = Container.objects.filter(substance=OuterRef("pk"), state__in=[State.IN_USE, State.NOT_SEEN])
    found = cache.get_or_set(
        "names-in-stock",
        lambda: list(Substance.objects.filter(Exists(on_a_shelf)).values_list("name", flat=True)),
        KEPT_SECONDS,
    )
    return found or []


def difference(one: str, other: str) -> Name:
    """Part the other name where it differs: at whole words, or inside the word where there is but one.

    >>> difference("acetic anhydride", "acetic acid")
    Name(before='acetic ', differs='acid', after='')
    >>> difference("acetonitrile", "acetone")
    Name(before='aceton', differs='e', after='')
    """
    start = _shared(one, other)
    if " " in one[:start]:
        start = one[:start].rindex(" ") + 1
    end = min(_shared(one[::-1], other[::-1]), len(one) - start, len(other) - start)
    tail = one[len(one) - end :] if end else ""
    end = len(tail) - tail.index(" ") if " " in tail else 0
    return Name(other[:start], other[start : len(other) - end], other[len(other) - end :] if end else "")


def _shared(one: str, other: str) -> int:
    number = 0
    for left, right in zip(one, other, strict=False):
        if left != right:
            break
        number += 1
    return number
