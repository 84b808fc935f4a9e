"""Looking after containers: where they stand, whether they may be used, how they end."""

from dataclasses import replace

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import Band
from labstock.people.roles import Act, may, refusal
from labstock.stock.actions.lines import Doing, add_line, already_done, lock, note_change, state_in_hand
from labstock.stock.actions.reversing import UNDO_SECONDS
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    HoldState,
    Kind,
    Location,
    Reservation,
    ReservationEvent,
    Sign,
    State,
    StateChange,
)
from labstock.stock.models.container import MOVES
from labstock.writing import writing


def move(*, container: Container, to: Location, doing: Doing) -> Container:
    """Say that a container stands here now."""
    with writing():
        locked = lock(container)
        if locked.location_id == to.pk and locked.state != State.NOT_SEEN:
            return locked
        note_change(locked, doing, "moved", locked.location.path if locked.location else "", to.path)
        locked.location = to
        if locked.state == State.NOT_SEEN:
            locked.state, locked.state_because = state_in_hand(locked)
        locked.save(update_fields=["location", "state", "state_because"])
        return locked


def change_state(*, container: Container, to: State, doing: Doing) -> Container:
    """Block a container, free it, say it was not seen or is empty; the table of moves decides."""
    if State.BLOCKED in (container.state, to) and to != State.BLOCKED and not may(doing.by, Act.BLOCK):
        raise LabError("not-yours", "{refusal}", refusal=refusal(doing.by, Act.BLOCK))
    with writing():
        locked = lock(container)
        if _is_sent_again(locked, to, doing):
            return locked
        _check_move(locked, to)
        if not doing.reason.strip():
            raise LabError("no-reason", "Say in a few words why: the next person reads it on this page.")
        note_change(locked, doing, "state", locked.state, to)
        locked.state, locked.state_because = to, doing.reason.strip()
        locked.save(update_fields=["state", "state_because"])
        return locked


def _is_sent_again(locked: Container, to: State, doing: Doing) -> bool:
    """Say whether the same person said just this last: the answer was lost and the form came again."""
    last = locked.state_changes.order_by("-id").first()
    return (
        locked.state == to
        and last is not None
        and (last.after, last.by_id, last.reason) == (to, doing.by.pk, doing.reason)
    )


def undo_change(*, change: StateChange, doing: Doing) -> Container:
    """Take back one's own word on place or state within a minute of giving it; both stay on record."""
    with writing():
        locked = lock(change.container)
        newest = locked.state_changes.order_by("-id").first()
        if newest is not None and newest.reason == undone(change) and newest.by_id == doing.by.pk:
            return locked
        _check_undo(change, newest, doing)
        note_change(locked, replace(doing, reason=undone(change)), change.what, change.after, change.before)
        if change.what == "moved":
            locked.location = Location.objects.filter(path=change.before).first()
        else:
            before = locked.state_changes.filter(what="state", pk__lt=change.pk).order_by("-id").first()
            locked.state = change.before
            locked.state_because = before.reason if before and change.before != State.IN_USE else ""
        locked.save(update_fields=["location", "state", "state_because"])
        return locked


def undone(change: StateChange) -> str:
    """Return the reason on the line that takes a change back."""
    return f"undone at once (change {change.pk})"


def _check_undo(change: StateChange, newest: StateChange | None, doing: Doing) -> None:
    age = (doing.at - change.at).total_seconds()
    if change.by_id != doing.by.pk or age > UNDO_SECONDS:
        raise LabError(
            "too-late-to-undo",
            "Undo is for the person who said it, within {limit} s; this is {age:.0f} s old and by {who}. "
            "Say what is true now instead: both stay on record.",
            limit=UNDO_SECONDS,
            age=age,
            who=change.by,
        )
    if newest is None or newest.pk != change.pk or not may_be_undone(change):
        raise LabError(
            "not-the-newest",
            "Something was recorded after it, or it follows from another record: nothing was undone. "
            "Look at the page again and say what is true now.",
        )


def may_be_undone(change: StateChange) -> bool:
    """Say whether a change was a person's own word; a block that a sign brought goes with the sign, a disposal with
    its ledger line."""
    if change.after == State.DISPOSED or change.before == State.DISPOSED:
        return False
    if change.reason.startswith("undone at once"):
        return False
    return not Sign.objects.filter(container=change.container_id, at=change.at, is_seen=True).exists()


def dispose(*, container: Container, doing: Doing) -> Container:
    """Write off what is left and close the ledger. The record stays for ever."""
    if not may(doing.by, Act.CORRECT):
        raise LabError("not-yours", "{refusal}", refusal=refusal(doing.by, Act.CORRECT))
    if not doing.reason.strip():
        raise LabError("no-reason", "Say where it goes and why: it is asked for at inspections.")
    with writing():
        locked = lock(container)
        if already_done(locked, doing, Kind.DISPOSED):
            return locked
        _check_move(locked, State.DISPOSED)
        for row in Reservation.objects.select_for_update().filter(container=locked, state=HoldState.HELD):
            row.state = HoldState.RELEASED
            row.save(update_fields=["state"])
            ReservationEvent.objects.create(
                reservation=row, what="let go", amount=row.amount - row.drawn, by=doing.by, at=doing.at,
                reason="the container was disposed of",
            )  # fmt: skip
        note_change(locked, doing, "state", locked.state, State.DISPOSED)
        locked.state, locked.state_because = State.DISPOSED, doing.reason.strip()
        add_line(locked, doing, kind=Kind.DISPOSED, change=-locked.remaining, band=Band())
        return locked


def _check_move(locked: Container, to: State) -> None:
    if to in MOVES[locked.state]:
        return
    allowed = (
        ", ".join(sorted(State(state).label for state in MOVES[locked.state])) or "nothing: it is the end"
    )
    raise LabError(
        "no-such-move",
        "{code} is {state} and cannot become {to}. From here: {allowed}.",
        code=show_code(locked.code),
        state=locked.get_state_display(),
        to=to.label,
        allowed=allowed,
    )
