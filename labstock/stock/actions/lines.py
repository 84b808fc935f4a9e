"""What every act on a ledger shares: lock the container, check, write one line, keep the sums in step."""

import uuid
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.utils import timezone

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import Band
from labstock.people.models import User
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    Entry,
    HoldState,
    Kind,
    Reservation,
    ReservationEvent,
    State,
    StateChange,
)
from labstock.stock.models.container import MILLION
from labstock.stock.models.facts import said_of
from labstock.stock.models.ledger import CLOCK_TOLERANCE_SECONDS


@dataclass(frozen=True)
class Doing:
    """Who did something, when, and the key that makes sending it twice harmless."""

    by: User
    key: uuid.UUID = field(default_factory=uuid.uuid4)
    at: datetime = field(default_factory=timezone.now)
    seen_seq: int | None = None
    for_person: User | None = None
    purpose: str = ""
    reason: str = ""
    # only the invented history of the demo is recorded at another moment than now
    recorded_at: datetime | None = None


def lock(container: Container) -> Container:
    """Return the container again, locked until the transaction ends.

    What the caller has read of its lot and substance is kept: others wait while this one reads.
    """
    locked = Container.objects.select_for_update().get(pk=container.pk)
    for relation in (Container._meta.get_field("lot"), Container._meta.get_field("substance")):
        known = relation.get_cached_value(container, default=None)
        if known is not None and known.pk == getattr(locked, relation.attname):
            relation.set_cached_value(locked, known)
    return locked


def already_done(
    locked: Container, doing: Doing, kind: Kind | None = None, typed: str | None = None
) -> Entry | None:
    """Return the line this key made before, so that sending twice makes one line.

    A key that comes back with another act or another amount is no second sending: it is refused, not swallowed.
    """
    if not Entry.objects.filter(key=doing.key).exists():
        return None
    line = Entry.objects.get(key=doing.key)
    if line.container_id != locked.pk or line.by_id != doing.by.pk:
        raise LabError(
            "key-used",
            "This form was already sent for {code} by {who}. Open the container again and enter it anew.",
            code=show_code(line.container.code),
            who=line.by_name,
        )
    if kind not in (None, line.kind) or typed not in (None, line.typed):
        raise LabError(
            "key-used-otherwise",
            "This form was already sent and made line {seq} of {code}: {kind} {typed}. If this is something else, "
            "open the container again and enter it anew; if the line is wrong, reverse it.",
            seq=line.seq,
            code=show_code(line.container.code),
            kind=line.get_kind_display().lower(),
            typed=line.typed,
        )
    return line


def check_not_stale(locked: Container, doing: Doing) -> None:
    """Refuse when somebody else wrote a line since this person's page was opened."""
    if doing.seen_seq is None or doing.seen_seq == locked.last_seq:
        return
    newest = locked.entries.filter(seq__gt=doing.seen_seq).exclude(by=doing.by).order_by("-seq").first()
    if newest is None:
        return
    raise LabError(
        "changed-meanwhile",
        "Since you opened this page {who} recorded: {kind} {change}. {left} is left. "
        "Your entry is kept below: check it and press again.",
        who=newest.by_name,
        kind=newest.get_kind_display().lower(),
        change=show(newest.change / MILLION, locked.unit),
        left=show(locked.remaining / MILLION, locked.unit, locked.doubt.u),
    )


def check_time(locked: Container, doing: Doing) -> None:
    """Refuse a time that is still to come, or that lies before the container was there."""
    if (doing.at - timezone.now()).total_seconds() > CLOCK_TOLERANCE_SECONDS:
        raise LabError(
            "in-the-future",
            "{at:%d %b %Y %H:%M} is still to come: give the time it was done, or leave it empty for now.",
            at=timezone.localtime(doing.at),
        )
    if timezone.localdate(doing.at) < locked.received_on:
        raise LabError(
            "before-it-came",
            "{code} came on {received:%d %b %Y}, so nothing was done with it on {at:%d %b %Y}: check the day and the "
            "code.",
            code=show_code(locked.code),
            received=locked.received_on,
            at=timezone.localdate(doing.at),
        )


def check_may_take(locked: Container) -> None:
    """Refuse to touch a container whose state does not allow it."""
    state, because = State(locked.state), locked.state_because
    if state == State.NOT_SEEN:
        state, because = state_in_hand(locked)
    if state == State.IN_USE:
        return
    advice = {
        State.BLOCKED: "Take another container; a steward or the safety officer can free it.",
        State.EMPTY: "If there is something in it after all, record 'found more' first.",
        State.DISPOSED: "Check the code on the label: this container should not exist any more.",
    }
    raise LabError(
        f"is-{state}",
        "{code} is {state}{because}. {advice}",
        code=show_code(locked.code),
        state=state.label,
        because=f" ({because})" if because else "",
        advice=advice[state],
    )


def check_not_closed(locked: Container) -> None:
    """Refuse any change of amount after the disposal."""
    if locked.state == State.DISPOSED:
        raise LabError(
            "disposed",
            "{code} was disposed of: its ledger is closed. Check the code on the label; if it was disposed of by "
            "mistake, reverse that line first.",
            code=show_code(locked.code),
        )


def note_change(locked: Container, doing: Doing, what: str, before: str, after: str) -> None:
    """Write down a change of place or state."""
    StateChange.objects.create(
        container=locked, what=what, before=before, after=after, reason=doing.reason, by=doing.by, at=doing.at
    )


def use_again(locked: Container, doing: Doing) -> None:
    """Give a container that was empty or not seen the state it has in somebody's hand."""
    state, because = state_in_hand(locked)
    note_change(locked, doing, "state", locked.state, state)
    locked.state, locked.state_because = state, because


def state_in_hand(container: Container) -> tuple[State, str]:
    """Return the state that counts when it is there, and why: what was blocked before it was not seen is blocked still."""
    if container.state == State.EMPTY:
        return State.IN_USE, ""
    if container.state != State.NOT_SEEN:
        return State(container.state), container.state_because
    changes = StateChange.objects.filter(container=container, what="state").order_by("-pk")
    lost = changes.filter(after=State.NOT_SEEN).first()
    if lost is None or lost.before != State.BLOCKED:
        return State.IN_USE, ""
    blocked = changes.filter(after=State.BLOCKED, pk__lt=lost.pk).first()
    return State.BLOCKED, blocked.reason if blocked else ""


def add_line(
    locked: Container, doing: Doing, *, kind: Kind, change: int, band: Band, **fields: object
) -> Entry:
    """Write one line and bring the container's sums, band and chain in step with it.

    What evaporated until then is in the band that is kept: the caller asked for it with `doubt_at`, or it is added here.
    """
    band = locked.evaporated(band, doing.at) if band.at else replace(band, at=int(doing.at.timestamp()))
    locked.remaining += change
    locked.last_seq += 1
    # what was taken out had not evaporated
    band = replace(band, drift=min(band.drift, locked.remaining / MILLION))
    locked.band = band.as_json()
    if locked.last_seq == 1:
        locked.received = change
    if locked.state == State.NOT_SEEN and kind not in (Kind.REVERSED, Kind.STANDS, Kind.DISPOSED):
        use_again(locked, doing)
    entry = Entry(
        container=locked,
        seq=locked.last_seq,
        key=doing.key,
        kind=kind,
        change=change,
        after=locked.remaining,
        u_after=round(band.u * MILLION),
        done_at=doing.at,
        recorded_at=doing.recorded_at or timezone.now(),
        by=doing.by,
        by_name=str(doing.by),
        for_person=doing.for_person,
        purpose=doing.purpose,
        reason=doing.reason,
        about=said_of(locked),
        previous_hash=locked.last_hash,
        **fields,
    )
    entry.hash = locked.last_hash = entry.digest()
    entry.save(force_insert=True)
    locked.save(
        update_fields=[
            "remaining", "received", "band", "last_seq", "last_hash", "opened_on", "state", "state_because"
        ]
    )  # fmt: skip
    return entry


def more_than_is_left(locked: Container, amount: Quantity, taken: int) -> LabError:
    return LabError(
        "more-than-is-left",
        "{amount} is more than the {left} left in {code}. Nothing was recorded. If it did come out of this "
        "bottle, weigh it or record 'found more' first; if not, check the code and the unit.",
        amount=amount.typed or show(taken / MILLION, locked.unit),
        left=show(locked.remaining / MILLION, locked.unit, locked.doubt.u),
        code=show_code(locked.code),
    )


def count_against(reservation: Reservation, amount: int, doing: Doing) -> None:
    """Count a draw (or, negative, its reversal) against the promise it was made under."""
    row = Reservation.objects.select_for_update(of=("self",)).get(pk=reservation.pk)
    row.drawn = max(row.drawn + amount, 0)
    if row.state in (HoldState.HELD, HoldState.USED):
        row.state = HoldState.USED if row.drawn >= row.amount else HoldState.HELD
    row.save(update_fields=["drawn", "state"])
    what = "drawn" if amount > 0 else "given back"
    ReservationEvent.objects.create(reservation=row, what=what, amount=amount, by=doing.by, at=doing.at)


def need_reason(doing: Doing) -> None:
    """Refuse a correction that does not say what happened."""
    if not doing.reason.strip():
        raise LabError("no-reason", "A correction needs a reason: write in a few words what happened.")
