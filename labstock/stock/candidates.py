"""Which missing container an unknown bottle might be. A likeness is a likeness: only a person may claim one."""

from dataclasses import dataclass

from labstock.stock.likeness import Looks, next_look, weigh
from labstock.stock.models import Container, Form, Location, State, UnknownFind
from labstock.stock.models.container import MILLION

MOST_SHOWN = 10
NEXT_LOOK = {
    "form": "Is it a liquid or a solid, through the closed glass? That would tell them apart best.",
    "level": "How full is it, through the closed glass? That would tell them apart best.",
    "": "",
}


@dataclass(frozen=True)
class Likeness:
    """A missing container with what speaks for and against it."""

    container: Container
    score: float
    reasons: tuple[str, ...]

    @property
    def capacity(self) -> float:
        """Return its size [container's unit]."""
        return self.container.capacity / MILLION


def candidates_for(find: UnknownFind) -> list[Likeness]:
    """Return the containers that are not seen where they should be and last stood nearby, the likeliest first."""
    place = find.container.location
    found = [_likeness(container, find, place) for container in _missing_near(place)] if place else []
    return sorted(found, key=lambda one: (-one.score, one.container.number))[:MOST_SHOWN]


def what_to_look_at(find: UnknownFind, candidates: list[Likeness]) -> str:
    """Return the one harmless look that would best tell the candidates apart, in words; nothing where none would."""
    place = find.container.location
    if place is None:
        return ""
    known = [(_by_the_book(one.container), _nearness(one.container, place)) for one in candidates]
    return NEXT_LOOK[next_look(_as_found(find), known)]


def _missing_near(place: Location) -> list[Container]:
    missing = (
        Container.objects.filter(state=State.NOT_SEEN, location__path__startswith=_room(place))
        .select_related("substance", "lot", "location__parent")
        .order_by("number")
    )
    return [row for row in missing if row.location is not None and _room(row.location) == _room(place)]


def _room(place: Location) -> str:
    return place.path.split(", ")[0]


def _likeness(container: Container, find: UnknownFind, place: Location) -> Likeness:
    nearness = _nearness(container, place)
    weighed = weigh(_as_found(find), _by_the_book(container), nearness)
    last = container.location
    stood = {
        "same": "last stood in this very place",
        "next": f"last stood next to it, in {last.name if last else ''}",
        "room": f"last stood in {last}",
    }
    return Likeness(container, weighed.score, (stood[nearness], *weighed.reasons))


def _nearness(container: Container, place: Location) -> str:
    last = container.location
    if last is None:
        return "room"
    is_next = last.parent_id is not None and last.parent_id == place.parent_id
    return "same" if last.pk == place.pk else "next" if is_next else "room"


def _as_found(find: UnknownFind) -> Looks:
    found = find.container
    is_liquid = {Form.LIQUID: True, Form.SOLID: False}.get(Form(find.form)) if find.form else None
    level = None if find.level_percent is None else find.level_percent / 100
    return Looks(found.capacity, found.vessel, is_liquid, level)


def _by_the_book(container: Container) -> Looks:
    """Return what is on record; a size in grams is compared as it stands, for a jar of 500 g looks like one of 500 mL."""
    substance, size = container.substance, container.capacity
    is_liquid = substance.is_liquid if substance else None
    return Looks(
        size, container.vessel, is_liquid, container.remaining / size, container.doubt.u * MILLION / size
    )
