"""Places: the tree, and what stands in one of them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Count, QuerySet
from django.http import HttpRequest

from labstock.stock.models import Container, Location, Need, State
from labstock.stock.pages.stock_list import container_table, containers_listed
from labstock.stock.places import offered
from labstock.stock.queries import at_or_below
from labstock.stock.tables import ContainerTable

HERE = (State.IN_USE, State.BLOCKED, State.NOT_SEEN)
MOST_CHECKED = 2_000
MOST_NAMED = 12


@dataclass(frozen=True)
class Branch:
    """A place in the tree, with how much stands in it and what is inside it."""

    place: Location
    own: int
    total: int
    offers: str
    inside: tuple["Branch", ...]


@dataclass(frozen=True)
class Misplaced:
    """A container whose place does not give what it needs."""

    container: Container
    missing: str


@dataclass(frozen=True)
class LocationPage:
    """One place, with what stands in it and below."""

    place: Location
    above: tuple[Location, ...]
    branch: Branch
    offers: str
    table: ContainerTable
    misplaced: tuple[Misplaced, ...]
    misplaced_count: int
    is_checked: bool

    @property
    def misplaced_words(self) -> str:
        """Say how many containers stand where they do not get what they need."""
        many = self.misplaced_count
        return "1 container needs another place" if many == 1 else f"{many} containers need another place"

    @property
    def total_words(self) -> str:
        """Say how many containers stand here."""
        many = self.branch.total
        return "1 container stands here" if many == 1 else f"{many:,} containers stand here"


def location_tree() -> tuple[Branch, ...]:
    """Return all places, rooms first, each with what is inside it."""
    return tuple(_branches(None, _children(), _counts()))


def location_page(request: HttpRequest, place: Location) -> LocationPage:
    """Gather one place."""
    children = _children()
    places = {row.pk: row for rows in children.values() for row in rows}
    containers = containers_listed().filter(location__in=at_or_below(place), state__in=HERE)
    branch = _branch(place, children, _counts())
    is_checked = branch.total <= MOST_CHECKED
    missing = _missing(containers, places) if is_checked else {}
    table = container_table(request, containers, by_end=True)
    table.empty_text, table.empty_why = (
        "Nothing stands here",
        "Receive a delivery to it, or move a container here from its own page.",
    )
    return LocationPage(
        place=place,
        above=tuple(_above(place, places)),
        branch=branch,
        offers=needs_words(offered(place, places)),
        table=table,
        misplaced=_named(missing),
        misplaced_count=len(missing),
        is_checked=is_checked,
    )


def needs_words(needs: Iterable[str]) -> str:
    """Write needs in words, in the order of the table."""
    wanted = set(needs)
    return ", ".join(need.label for need in Need if need in wanted)


def _missing(containers: QuerySet[Container], places: dict[int, Location]) -> dict[int, str]:
    """Return what each container needs and its place does not offer, in words, by the container's key."""
    offers = {pk: offered(place, places) for pk, place in places.items()}
    rows = containers.order_by("number").values_list("pk", "needs", "location")
    missing = {pk: set(needs) - offers[place] for pk, needs, place in rows if needs}
    return {pk: needs_words(needs) for pk, needs in missing.items() if needs}


def _named(missing: dict[int, str]) -> tuple[Misplaced, ...]:
    found = containers_listed().in_bulk(list(missing)[:MOST_NAMED])
    return tuple(Misplaced(found[pk], missing[pk]) for pk in missing if pk in found)


def _above(place: Location, places: dict[int, Location]) -> Iterator[Location]:
    """Yield the places around one, from the nearest outwards."""
    while place.parent_id is not None:
        place = places[place.parent_id]
        yield place


def _children() -> dict[int | None, list[Location]]:
    rows: dict[int | None, list[Location]] = {}
    for place in Location.objects.order_by("path"):
        rows.setdefault(place.parent_id, []).append(place)
    return rows


def _counts() -> dict[int | None, int]:
    rows = Container.objects.filter(state__in=HERE).order_by().values("location").annotate(count=Count("pk"))
    return {row["location"]: row["count"] for row in rows}


def _branches(
    parent: int | None, children: dict[int | None, list[Location]], counts: dict[int | None, int]
) -> Iterator[Branch]:
    for place in children.get(parent, []):
        yield _branch(place, children, counts)


def _branch(
    place: Location, children: dict[int | None, list[Location]], counts: dict[int | None, int]
) -> Branch:
    inside = tuple(_branches(place.pk, children, counts))
    own = counts.get(place.pk, 0)
    return Branch(place, own, own + sum(branch.total for branch in inside), needs_words(place.offers), inside)
