"""Which missing container an unknown bottle might be. A likeness is a likeness: only a person may claim one."""

from dataclasses import dataclass

from labstock.stock.models import Container, Location, State, UnknownFind

MOST_SHOWN = 10
# Sizes within this share of each other look alike on the shelf; common practice, no source.
SAME_SIZE_WITHIN = 0.1


@dataclass(frozen=True)
class Likeness:
    """A missing container with what speaks for it."""

    container: Container
    points: int
    reasons: tuple[str, ...]


def candidates_for(find: UnknownFind) -> list[Likeness]:
    """Return the containers that are not seen where they should be and last stood nearby, the likeliest first."""
    place = find.container.location
    if place is None:
        return []
    missing = (
        Container.objects.filter(state=State.NOT_SEEN, location__path__startswith=_room(place))
        .select_related("substance", "lot", "location__parent")
        .order_by("number")
    )
    found = [_likeness(container, find, place) for container in missing if _is_in_room(container, place)]
    return sorted(found, key=lambda one: (-one.points, one.container.number))[:MOST_SHOWN]


def _room(place: Location) -> str:
    return place.path.split(", ")[0]


def _is_in_room(container: Container, place: Location) -> bool:
    return container.location is not None and _room(container.location) == _room(place)


def _likeness(container: Container, find: UnknownFind, place: Location) -> Likeness:
    last, found = container.location, find.container
    reasons: list[tuple[int, str]] = []
    if last is not None and last.pk == place.pk:
        reasons.append((4, "last stood in this very place"))
    elif last is not None and last.parent_id is not None and last.parent_id == place.parent_id:
        reasons.append((2, f"last stood next to it, in {last.name}"))
    else:
        reasons.append((1, f"last stood in {last}"))
    if container.unit == found.unit:
        gap = abs(container.capacity - found.capacity) / found.capacity
        if gap <= SAME_SIZE_WITHIN:
            reasons.append((3, "same size"))
        reasons.append((1, "kept as a liquid too" if found.unit == "mL" else "kept by mass too"))
    if container.vessel == found.vessel:
        reasons.append((1, f"a {container.get_vessel_display()} too"))
    return Likeness(container, sum(points for points, _ in reasons), tuple(words for _, words in reasons))
