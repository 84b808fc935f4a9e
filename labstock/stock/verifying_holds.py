"""Do the promises agree with their own history and with the ledger?"""

from collections.abc import Iterator, Sequence

from django.db.models import Prefetch, Sum

from labstock.stock.codes import show_code
from labstock.stock.models import HoldState, Reservation, ReservationEvent

CLOSED = {HoldState.RELEASED.label: HoldState.RELEASED, HoldState.LAPSED.label: HoldState.LAPSED}


def wrong_holds(using: str) -> Iterator[tuple[str, str]]:
    """Yield which promise is wrong, and how."""
    events = ReservationEvent.objects.using(using).order_by("pk")
    rows = (
        Reservation.objects.using(using)
        .select_related("container")
        .prefetch_related(Prefetch("events", events))
        .annotate(taken=Sum("entries__change", default=0))
        .order_by("pk")
    )
    for row in rows.iterator(chunk_size=1000):
        for what in _wrong_with(row, list(row.events.all()), -int(row.taken)):
            yield f"{show_code(row.container.code)}, hold {row.pk}", what


def _wrong_with(row: Reservation, events: Sequence[ReservationEvent], taken: int) -> Iterator[str]:
    for number, event in enumerate(events, 1):
        if event.seal != event.digest():
            yield f"it or line {number} of its history ({event.what}) was changed after it was written"
    if not events or (events[0].what, events[0].amount) != ("held", row.amount):
        yield "its history does not begin with what was promised"
    noted = sum(event.amount for event in events if event.what in ("drawn", "given back"))
    for said, amount in (("its history", noted), ("the ledger", taken)):
        if row.drawn != amount:
            yield f"says {row.drawn / 1e6:.13g} was drawn under it, {said} says {amount / 1e6:.13g}"
    if (state := _state_after(row.amount, events)) != row.state:
        yield f"is {row.state}, its history ends with {state}"


def _state_after(promised: int, events: Sequence[ReservationEvent]) -> str:
    drawn = 0
    for event in events:
        if event.what in CLOSED:
            return CLOSED[event.what]
        drawn += event.amount if event.what != "held" else 0
    return HoldState.USED if drawn >= promised else HoldState.HELD
