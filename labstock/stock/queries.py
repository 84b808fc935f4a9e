"""Questions about the stock that more than one page asks."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F, Q, QuerySet, Sum
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import probability_enough, sure_amount
from labstock.people.models import User
from labstock.stock.models import Container, Entry, HoldState, Kind, Location, Reservation, Session, State
from labstock.stock.models.container import MILLION


def holding(at: datetime | None = None) -> Q:
    """Return the condition under which a reservation still holds something back."""
    now = at or timezone.now()
    return Q(
        state=HoldState.HELD, session__ends_at__gt=now, session__cancelled_at=None, drawn__lt=F("amount")
    )


def holds_on(container: Container, at: datetime | None = None) -> QuerySet[Reservation]:
    """Return the live reservations of a container, earliest session first."""
    return (
        Reservation.objects.filter(holding(at), container=container)
        .select_related("session__owner", "session__place", "container")
        .order_by("session__starts_at", "id")
    )


def held_by_container(containers: Iterable[int], at: datetime | None = None) -> dict[int, int]:
    """Return how much of each container is promised [millionths of its unit]."""
    rows = (
        Reservation.objects.filter(holding(at), container__in=list(containers))
        .values("container")
        .annotate(promised=Sum(F("amount") - F("drawn")))
    )
    return {row["container"]: row["promised"] for row in rows}


@dataclass(frozen=True)
class Availability:
    """How much of a container one person can count on [all in the container's unit].

    The book amount and what may be taken by it know nothing of evaporation; `sure` and `probability` count with it.
    """

    book: float
    u: float
    heel: float
    held_by_others: float
    held_for_you: float
    drift: float
    spread: float

    @property
    def likely(self) -> float:
        """Return the book amount less what a model expects to have evaporated [container's unit]."""
        return max(self.book - self.drift, 0.0)

    @property
    def usable(self) -> float:
        """Return book amount less heel and other people's holds [container's unit]."""
        return max(self.book - self.heel - self.held_by_others, 0.0)

    @property
    def free(self) -> float:
        """Return what nobody has been promised [container's unit]."""
        return max(self.usable - self.held_for_you, 0.0)

    @property
    def sure(self) -> float:
        """Return what is there with 95 % certainty, rounded down by the caller [container's unit]."""
        return max(sure_amount(self.likely, self.spread) - self.heel - self.held_by_others, 0.0)

    def probability(self, need: float) -> float:
        """Return the chance that `need` can be taken [need in the container's unit; chance 0 to 1]."""
        return probability_enough(self.likely - self.heel - self.held_by_others, self.spread, need)


def availability(
    container: Container,
    person: User | None,
    *,
    holds: Iterable[Reservation] | None = None,
    at: datetime | None = None,
) -> Availability:
    """Return what a person can count on in a container, now or at a moment to come."""
    others = yours = 0
    for hold in holds_on(container) if holds is None else holds:
        if person is not None and hold.session.owner_id == person.pk:
            yours += hold.left
        else:
            others += hold.left
    doubt = container.doubt_at(at or timezone.now())
    return Availability(
        book=container.remaining / MILLION,
        u=doubt.u,
        heel=container.heel / MILLION,
        held_by_others=others / MILLION,
        held_for_you=yours / MILLION,
        drift=doubt.drift,
        spread=doubt.spread,
    )


def running_hold(container: Container, person: User, at: datetime) -> Reservation | None:
    """Return the person's live reservation of this container whose session is running, if there is one."""
    return (
        Reservation.objects.filter(
            holding(at), container=container, session__owner=person, session__starts_at__lte=at
        )
        .order_by("session__ends_at", "id")
        .first()
    )


def get_container(code: str, *also: str, is_shown: bool = True) -> Container:
    """Return the container with this (already read) code, or refuse in words.

    A page shows it with its substance, lot, place and group and what else the caller names; an act needs none of them.
    """
    rows = Container.objects.filter(code=code)
    if is_shown:
        rows = rows.select_related("substance", "lot__substance", "location", "owner_group", *also)
    found = rows.first()
    if found is None:
        raise LabError(
            "unknown-code",
            "{code} is written like one of our codes, but no container has it. Compare it with the label; "
            "if it is printed like that, ask a steward.",
            code=code,
        )
    return found


def usable_containers(substance_id: int) -> QuerySet[Container]:
    """Return the containers of a substance that people may draw from."""
    return (
        Container.objects.filter(substance_id=substance_id, state=State.IN_USE, remaining__gt=0)
        .select_related("lot__substance", "substance", "location", "owner_group")
        .order_by("ends_on", "number")
    )


def at_or_below(place: Location) -> list[int]:
    """Return the keys of a place and of every place inside it."""
    inside = Q(pk=place.pk) | Q(path__startswith=f"{place.path}, ")
    return list(Location.objects.filter(inside).values_list("pk", flat=True))


def sessions_on(day_start: datetime, day_end: datetime) -> QuerySet[Session]:
    """Return the sessions that touch a stretch of time, with their reservations."""
    return (
        Session.objects.filter(starts_at__lt=day_end, ends_at__gt=day_start, cancelled_at=None)
        .select_related("owner__group", "place")
        .prefetch_related("reservations__container__substance")
    )


LEGS = (Kind.TRANSFERRED_OUT, Kind.TRANSFERRED_IN, Kind.RECEIVED)


def find_other_leg(entry: Entry) -> Entry | None:
    """Return the line that the same transfer wrote in the other container's ledger.

    The line that takes out carries a key made from that of the line that brings in.
    """
    if entry.kind not in LEGS:
        return None
    nearby = timedelta(minutes=5)
    together = (
        Entry.objects.filter(
            by=entry.by_id,
            recorded_at__range=(entry.recorded_at - nearby, entry.recorded_at + nearby),
            done_at=entry.done_at,
            kind__in=LEGS,
        )
        .exclude(container=entry.container_id)
        .select_related("container")
    )
    for line in together:
        if entry.key == key_of_out(line.key) or line.key == key_of_out(entry.key):
            return line
    return None


def key_of_out(key_of_in: uuid.UUID) -> uuid.UUID:
    """Return the key of the line that takes out what the line with this key brings in."""
    return uuid.uuid5(key_of_in, "out")


def came_under(product_number: str) -> QuerySet[Container]:
    """Return what was received under a maker's product number, the last first; not what was poured off it since."""
    return (
        Container.objects.filter(
            lot__product_number=product_number, entries__seq=1, entries__kind=Kind.RECEIVED
        )
        .select_related("lot__substance")
        .order_by("-pk")
    )
