"""Whether a place gives a container what it needs, and which place does."""

from dataclasses import dataclass

from django.db.models import Q

from labstock.people.models import User
from labstock.stock.models import Container, Location, Need, StateChange
from labstock.stock.models.location import WORKPLACES

MOST_NAMED = 2


@dataclass(frozen=True)
class Misfit:
    """What a container needs and its place does not offer, and the nearest places that offer all of it."""

    missing: tuple[str, ...]
    better: tuple[Location, ...]

    @property
    def words(self) -> str:
        """Return both in one sentence."""
        needs = " and ".join(self.missing)
        if not self.better:
            return f"It needs {needs}, and no place on the list offers that: ask a steward."
        where = " or ".join(str(place) for place in self.better)
        return f"It needs {needs}, which this place does not offer. Put it into {where}."


def misfit(container: Container, place: Location) -> Misfit | None:
    """Return what is wrong with a place for a container, or None where the place offers all it needs."""
    needs = set(container.needs)
    if not needs:
        return None
    places = Location.objects.in_bulk()
    missing = needs - offered(place, places)
    if not missing:
        return None
    words = tuple(need.label for need in Need if need in missing)
    fit = [one for one in places.values() if one.kind not in WORKPLACES and needs <= offered(one, places)]
    return Misfit(words, tuple(sorted(fit, key=lambda one: _distance(one, place))[:MOST_NAMED]))


def last_places(container: Container, person: User, most: int = 6) -> list[Location]:
    """Return where this container stood and where this person put things, the newest first, without where it stands."""
    moves = StateChange.objects.filter(Q(container=container) | Q(by=person), what="moved").order_by("-id")
    paths = dict.fromkeys(path for move in moves[: 5 * most] for path in (move.after, move.before))
    there = {place.path: place for place in Location.objects.filter(path__in=paths)}
    found = [there[path] for path in paths if path in there]
    return [place for place in found if place.pk != container.location_id][:most]


def offered(place: Location, places: dict[int, Location]) -> set[str]:
    """Return what a place offers: its own and what every place around it offers."""
    offers, at = set(place.offers), place
    while at.parent_id is not None:
        at = places[at.parent_id]
        offers |= set(at.offers)
    return offers


def _distance(place: Location, from_place: Location) -> tuple[int, str]:
    """Sort by how much of the way from the room is shared."""
    here, there = from_place.path.split(", "), place.path.split(", ")
    shared = 0
    for one, other in zip(here, there, strict=False):
        if one != other:
            break
        shared += 1
    return -shared, place.path
