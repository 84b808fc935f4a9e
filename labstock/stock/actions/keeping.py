"""Looking after containers: where they stand, whether they may be used, how they end."""

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import Band
from labstock.people.roles import Act, may, refusal
from labstock.stock.actions.lines import Doing, add_line, already_done, lock, note_change
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    HoldState,
    Kind,
    Location,
    Reservation,
    ReservationEvent,
    State,
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
            locked.state, locked.state_because = State.IN_USE, ""
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
