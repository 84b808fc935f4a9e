"""Corrections: the line that cancels an earlier one. Both stay readable."""

import uuid
from dataclasses import replace

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import Band
from labstock.people.roles import Act, may, refusal
from labstock.stock.actions.lines import (
    Doing,
    add_line,
    already_done,
    count_against,
    lock,
    need_reason,
    note_change,
)
from labstock.stock.codes import show_code
from labstock.stock.found import share_left, weighings_after
from labstock.stock.lots_in import worst_end
from labstock.stock.models import Container, Entry, Kind, Purpose, State, Went
from labstock.stock.models.container import MILLION
from labstock.stock.models.ledger import TAKES_OUT
from labstock.stock.queries import find_other_leg
from labstock.stock.replaying import band_without
from labstock.writing import writing

UNDO_SECONDS = 60


def undo(*, entry: Entry, doing: Doing) -> Entry:
    """Take back one's own line within a minute of recording it."""
    age = (doing.at - entry.recorded_at).total_seconds()
    # sent again after the answer was lost, perhaps minutes later: it is done, and not too late
    is_done = Entry.objects.filter(key=doing.key, by=doing.by, reverses=entry).exists()
    if entry.by_id != doing.by.pk or (age > UNDO_SECONDS and not is_done):
        raise LabError(
            "too-late-to-undo",
            "Undo is for the person who recorded it, within {limit} s; this line is {age:.0f} s old and by {who}. "
            "Reverse it with a reason instead.",
            limit=UNDO_SECONDS,
            age=age,
            who=entry.by_name,
        )
    return reverse(entry=entry, doing=Doing(**{**vars(doing), "reason": "undone at once"}))


def reverse(*, entry: Entry, doing: Doing) -> Entry:
    """Write the line that cancels an earlier one. Both stay readable."""
    need_reason(doing)
    if entry.by_id != doing.by.pk and not may(doing.by, Act.CORRECT):
        raise LabError("not-yours", "{refusal}", refusal=refusal(doing.by, Act.CORRECT))
    with writing():
        other = find_other_leg(entry)
        parts = parts_of(entry)
        legs = [*parts, *([other] if other else [])]
        for pk in sorted({entry.container_id, *(leg.container_id for leg in legs)}):
            lock(Container(pk=pk))
        locked = lock(entry.container)
        if done := already_done(locked, doing, Kind.REVERSED, entry.typed):
            return done
        line = _cancel(locked, entry, doing)
        if other is not None and not hasattr(other, "reversed_by"):
            _cancel(lock(other.container), other, replace(doing, key=uuid.uuid5(doing.key, "other leg")))
        for part in parts:
            _cancel(lock(part.container), part, replace(doing, key=uuid.uuid5(doing.key, f"part {part.pk}")))
        for leg in (entry, other):
            if leg is not None and leg.kind == Kind.TRANSFERRED_IN and leg.seq > 1:
                # the worst date no longer rules once what brought it is out again
                Container.objects.filter(pk=leg.container_id).update(ends_on=worst_end(leg.container))
        return line


def parts_of(entry: Entry) -> list[Entry]:
    """Return the lines that took out what a solution was made of, where this line is its beginning."""
    if entry.kind != Kind.RECEIVED or entry.container.purpose != Purpose.SOLUTION:
        return []
    made_of = entry.container.came_from.filter(what=Went.DISSOLVED, entry__reversed_by=None)
    return [link.entry for link in made_of.select_related("entry__container").order_by("entry_id")]


def _cancel(locked: Container, entry: Entry, doing: Doing) -> Entry:
    """Write the reversal, and with it what a later weighing had already put right: the weighing stands."""
    weighings = weighings_after(locked, entry.seq)
    stands = round(entry.change * (1 - share_left(weighings)))
    _check_reversible(locked, entry, stands)
    if entry.kind == Kind.DISPOSED:
        _back_on_the_shelf(locked, doing)
    band = band_without(locked, entry, doing.at)
    # what adds comes first, so that the book never goes below nothing in between
    if stands > 0:
        _let_stand(locked, entry, stands, weighings[-1].entry, band, doing)
    line = add_line(
        locked, doing, kind=Kind.REVERSED, change=-entry.change, band=band,
        reverses=entry, typed=entry.typed, device=entry.device, reservation=entry.reservation,
    )  # fmt: skip
    if stands < 0:
        _let_stand(locked, entry, stands, weighings[-1].entry, band, doing)
    if entry.reservation is not None and entry.kind in TAKES_OUT:
        count_against(entry.reservation, entry.change, doing)
    return line


def _let_stand(
    locked: Container, entry: Entry, change: int, weighing: Entry, band: Band, doing: Doing
) -> None:
    """Write that what is left is what the weighing found, whatever was wrong in the lines before it."""
    words = f"as found in line {weighing.seq}, which had put line {entry.seq} right"
    doing = replace(doing, key=uuid.uuid5(doing.key, f"stands {entry.seq}"), purpose=words)
    add_line(locked, doing, kind=Kind.STANDS, change=change, band=band)


def _back_on_the_shelf(locked: Container, doing: Doing) -> None:
    """Give a container that was disposed of by mistake the state it had before."""
    ended = locked.state_changes.filter(what="state", after=State.DISPOSED).order_by("-id").first()
    before = State(ended.before) if ended is not None else State.IN_USE
    note_change(locked, doing, "state", locked.state, before)
    locked.state, locked.state_because = before, "" if before == State.IN_USE else doing.reason


def _check_reversible(locked: Container, entry: Entry, stands: int) -> None:
    if entry.kind == Kind.STANDS:
        raise LabError(
            "goes-with-a-reversal",
            "Line {seq} goes with a reversal and says that a weighing stands: weigh again if the amount is wrong.",
            seq=entry.seq,
        )
    if entry.kind == Kind.REVERSED:
        raise LabError(
            "already-a-reversal",
            "Line {seq} is itself a reversal: record the amount again instead.",
            seq=entry.seq,
        )
    if Entry.objects.filter(reverses=entry).exists():
        raise LabError(
            "already-reversed", "Line {seq} was reversed before: nothing is left to reverse.", seq=entry.seq
        )
    if locked.state == State.DISPOSED and entry.kind != Kind.DISPOSED:
        raise LabError(
            "disposed", "{code} was disposed of: its ledger is closed.", code=show_code(locked.code)
        )
    left = locked.remaining - entry.change + stands
    if left < 0:
        raise LabError(
            "below-nothing",
            "Reversing line {seq} would leave {left} in {code}: later lines used that amount. Reverse those first.",
            seq=entry.seq,
            left=show(left / MILLION, locked.unit),
            code=show_code(locked.code),
        )
