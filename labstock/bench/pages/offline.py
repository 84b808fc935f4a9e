"""What a phone keeps for when there is no signal: today's sessions of one person and what their forms need."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q
from django.utils import timezone

from batches.models import BatchLine, BatchState
from labstock.bench.forms import units_for, usual_devices
from labstock.bench.pages.amounts import exactly, left_words, tied
from labstock.bench.pages.record import taps_for
from labstock.bench.pages.substance import label_of
from labstock.chemistry.devices import Device
from labstock.chemistry.display import show
from labstock.look.drawing.content import Content
from labstock.look.drawing.vessel import vessel as draw_vessel
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.people.tablet import LOCK_AFTER_SECONDS
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, HoldState, Reservation, Session
from labstock.stock.models.container import MILLION
from labstock.stock.queries import held_by_container, sessions_on

MOST_CONTAINERS = 60
# As long as a log-in lasts, and no longer: what is kept is not shown after that.
KEPT_FOR = timedelta(hours=12)
OF_CONTAINER = ("substance", "lot__substance", "location")


def kept_for(person: User, now: datetime, *, tablet: str = "", opened: Sequence[str] = ()) -> dict[str, Any]:
    """Return everything that one person's device keeps, in plain types; `opened` are codes whose page was open there."""
    sessions = _sessions_of(person, now)
    holds = [hold for session in sessions for hold in session.reservations.all() if hold.left]
    batches = _batches_of(holds)
    containers = {hold.container_id: hold.container for hold in holds}
    for container in _used_lately(person, now, opened):
        containers.setdefault(container.pk, container)
    kept = list(containers.values())[:MOST_CONTAINERS]
    promised = held_by_container([row.pk for row in kept], now)
    return {
        "person": {"pk": person.pk, "name": str(person), "may_draw": may(person, Act.DRAW)},
        "now": now.isoformat(),
        "until": (now + KEPT_FOR).isoformat(),
        "tablet": tablet,
        "locks_after_s": LOCK_AFTER_SECONDS if tablet else 0,
        "sessions": [_session_row(session) for session in sessions],
        "containers": {
            row.code: _container_row(row, holds, batches, promised.get(row.pk, 0)) for row in kept
        },
    }


def _sessions_of(person: User, now: datetime) -> list[Session]:
    midnight = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    rows = sessions_on(midnight, midnight + timedelta(days=1)).filter(owner=person)
    return list(rows.prefetch_related(*(f"reservations__container__{relation}" for relation in OF_CONTAINER)))


def _used_lately(person: User, now: datetime, opened: Sequence[str]) -> list[Container]:
    """Return what this person recorded on within a day or had open: a bottle in use today is used again."""
    lines = Entry.objects.filter(by=person, recorded_at__gt=now - timedelta(days=1))
    used = Q(pk__in=lines.values("container")) | Q(code__in=opened)
    return list(Container.objects.filter(used).select_related(*OF_CONTAINER)[:MOST_CONTAINERS])


def _batches_of(holds: Sequence[Reservation]) -> dict[int, BatchLine]:
    """Return the open batch line that each hold was made for."""
    lines = (
        BatchLine.objects.filter(
            reservations__in=[hold.pk for hold in holds],
            batch__state__in=[BatchState.PLANNED, BatchState.RUNNING],
        )
        .select_related("batch")
        .prefetch_related("reservations")
    )
    return {hold.pk: line for line in lines for hold in line.reservations.all()}


def _session_row(session: Session) -> dict[str, Any]:
    first, last = timezone.localtime(session.starts_at), timezone.localtime(session.ends_at)
    return {
        "title": session.title,
        "when": f"{first:%H:%M} – {last:%H:%M} {last.tzname()}",
        "place": str(session.place),
        "codes": [
            hold.container.code
            for hold in session.reservations.all()
            if hold.state == HoldState.HELD and hold.left
        ],
    }


def _container_row(
    container: Container, holds: Sequence[Reservation], batches: dict[int, BatchLine], promised: int
) -> dict[str, Any]:
    label = label_of(container)
    yours = [hold for hold in holds if hold.container_id == container.pk]
    held = sum(hold.left for hold in yours) / MILLION
    others = max(promised - sum(hold.left for hold in yours), 0)
    likely = held or float(taps_for(container)[2])
    can_weigh = container.gross_at_receipt_ug is not None and (
        container.unit == "g" or (container.unit == "mL" and container.lot and container.lot.density)
    )
    return {
        "code": container.code,
        "shown": show_code(container.code),
        "drawn": _drawn(container, held),
        "name": container.name,
        "place": str(container.location) if container.location else "place not known",
        "state": "" if container.is_usable else f"{container.get_state_display()}: {container.state_because}",
        "left": left_words(container),
        "signal_word": label.signal_word,
        "hazards": [words for _, words in label.statements],
        "unit": container.unit,
        "units": list(units_for(container)),
        "taps": [*taps_for(container)],
        "everything": exactly(container.remaining),
        "devices": [{"code": row.code, "name": row.name} for row in usual_devices(container, likely)],
        "balances": [{"code": row.code, "name": row.name} for row in _balances(container)]
        if can_weigh
        else [],
        "gross": tied(exactly(container.gross_at_receipt_ug or 0), "g") if can_weigh else "",
        "held_by_others": show(others / MILLION, container.unit) if others else "",
        "holds": [_hold_row(hold, batches.get(hold.pk)) for hold in yours],
    }


def _drawn(container: Container, held: float) -> str:
    """Return the picture of the vessel as the book knows it now."""
    content = Content(
        container.amount,
        container.doubt.u,
        container.capacity / MILLION,
        container.heel / MILLION,
        0.0,
        held,
        container.unit,
    )
    return str(draw_vessel(container.vessel, content, "m", not container.is_opened))


def _balances(container: Container) -> list[Device]:
    return usual_devices(container, (container.gross_at_receipt_ug or 0) / MILLION, "g")


def _hold_row(hold: Reservation, line: BatchLine | None) -> dict[str, Any]:
    return {
        "amount": show(hold.left / MILLION, hold.container.unit),
        "number": exactly(hold.left),
        "session": hold.session.title,
        "starts_at": hold.session.starts_at.isoformat(),
        "ends_at": hold.session.ends_at.isoformat(),
        "batch": line.batch_id if line else None,
        "batch_number": line.batch.number if line else "",
    }
