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
from labstock.stock.lots_in import worst_end
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.models.container import MILLION
from labstock.stock.models.ledger import TAKES_OUT
from labstock.stock.queries import find_other_leg
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
        for pk in sorted({entry.container_id, other.container_id if other else entry.container_id}):
            lock(Container(pk=pk))
        locked = lock(entry.container)
        if done := already_done(locked, doing, Kind.REVERSED, entry.typed):
            return done
        line = _cancel(locked, entry, doing)
        if other is not None and not hasattr(other, "reversed_by"):
            _cancel(lock(other.container), other, replace(doing, key=uuid.uuid5(doing.key, "other leg")))
        for leg in (entry, other):
            if leg is not None and leg.kind == Kind.TRANSFERRED_IN and leg.seq > 1:
                # the worst date no longer rules once what brought it is out again
                Container.objects.filter(pk=leg.container_id).update(ends_on=worst_end(leg.container))
        return line


def _cancel(locked: Container, entry: Entry, doing: Doing) -> Entry:
    _check_reversible(locked, entry)
    if entry.kind == Kind.DISPOSED:
        _back_on_the_shelf(locked, doing)
    line = add_line(
        locked, doing, kind=Kind.REVERSED, change=-entry.change, band=_band_without(locked, entry),
        reverses=entry, typed=entry.typed, device=entry.device, reservation=entry.reservation,
    )  # fmt: skip
    if entry.reservation is not None and entry.kind in TAKES_OUT:
        count_against(entry.reservation, entry.change, doing)
    return line


def _band_without(locked: Container, entry: Entry) -> Band:
    """Return the doubt on what is left once a line is cancelled."""
    random, common = entry.u_random / MILLION, entry.u_common / MILLION
    if locked.entries.filter(seq__gt=entry.seq, kind__in=[Kind.WEIGHED_BACK, Kind.COUNTED]).exists():
        return locked.doubt.after_removal(0.0, entry.device, random, 0.0)
    if entry.kind in (Kind.WEIGHED_BACK, Kind.COUNTED, Kind.DISPOSED):
        return _as_before(locked, entry)
    return locked.doubt.without_removal(entry.device, random, common)


def _back_on_the_shelf(locked: Container, doing: Doing) -> None:
    """Give a container that was disposed of by mistake the state it had before."""
    ended = locked.state_changes.filter(what="state", after=State.DISPOSED).order_by("-id").first()
    before = State(ended.before) if ended is not None else State.IN_USE
    note_change(locked, doing, "state", locked.state, before)
    locked.state, locked.state_because = before, "" if before == State.IN_USE else doing.reason


def _as_before(locked: Container, weighing: Entry) -> Band:
    """Return the doubt as if a line that set it anew had not been: that of the line before, widened by what came after."""
    before = locked.entries.get(seq=weighing.seq - 1)
    band = Band((before.u_after / MILLION) ** 2)
    for line in locked.entries.filter(seq__gt=weighing.seq, reversed_by=None).exclude(kind=Kind.REVERSED):
        band = band.after_removal(
            -line.change / MILLION, line.device, line.u_random / MILLION, line.u_common / MILLION
        )
    return band


def _check_reversible(locked: Container, entry: Entry) -> None:
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
    if locked.remaining - entry.change < 0:
        raise LabError(
            "below-nothing",
            "Reversing line {seq} would leave {left} in {code}: later lines used that amount. Reverse those first.",
            seq=entry.seq,
            left=show((locked.remaining - entry.change) / MILLION, locked.unit),
            code=show_code(locked.code),
        )
