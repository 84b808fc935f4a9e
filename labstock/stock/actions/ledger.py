"""Every change of an amount. Each function locks the container, writes one line, and keeps the sums in step."""

import uuid
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.utils import timezone

from labstock.chemistry.devices import device
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import RECEIPT, Band, settle_weighing
from labstock.people.models import User
from labstock.people.roles import Act, may, refusal
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.codes import show_code
from labstock.stock.lots_in import worst_end
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
from labstock.stock.models.ledger import TAKES_OUT
from labstock.stock.queries import find_other_leg
from labstock.writing import writing

UNDO_SECONDS = 60
# Clocks of phones and servers differ by this much without anybody lying; common practice, no source.
CLOCK_TOLERANCE_SECONDS = 300
# What a bottle's own mass changes by between two weighings: film on the neck, a wet or worn label.
# Half width 0.3 g; common practice, no source.
HANDLING_U_G = 0.3 / 3**0.5
LOSSES = frozenset({Kind.SPILT, Kind.EVAPORATED, Kind.WASTED, Kind.PURGED, Kind.BROKEN})


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


def draw(
    *,
    container: Container,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    reservation: Reservation | None = None,
) -> Entry:
    """Record an amount taken out for use. The first one opens the container."""
    return _take(container, Kind.DRAWN, amount, device_code, doing, reservation)


def record_loss(
    *, container: Container, kind: Kind, amount: Quantity, device_code: str, doing: Doing
) -> Entry:
    """Record an amount spilt, evaporated, purged, poured to waste or lost with a broken vessel."""
    if kind not in LOSSES:
        raise LabError(
            "not-a-loss",
            "{kind} is no loss: choose spilt, evaporated, purged, poured to waste or broken.",
            kind=kind,
        )
    return _take(container, kind, amount, device_code, doing, None)


def _take(
    container: Container,
    kind: Kind,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    reservation: Reservation | None,
) -> Entry:
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, kind, amount.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_may_take(locked)
        _check_promise(locked, reservation)
        taken = in_ledger_unit(locked, amount)
        if taken > locked.remaining:
            raise more_than_is_left(locked, amount, taken)
        random, common = doubt_of_reading(locked, amount, taken, device_code)
        band = locked.doubt.after_removal(taken / MILLION, device_code, random, common)
        if locked.opened_on is None:
            locked.opened_on = timezone.localdate(doing.at)
        entry = add_line(
            locked,
            doing,
            kind=kind,
            change=-taken,
            band=band,
            typed=amount.typed,
            device=device_code,
            u_random=round(random * MILLION),
            u_common=round(common * MILLION),
            reservation=reservation,
        )
        if reservation is not None:
            _count_against(reservation, taken, doing)
        return entry


def weigh(*, container: Container, gross: Quantity, device_code: str, doing: Doing) -> Entry:
    """Record what the container weighs now and correct the book amount by it.

    Book and balance are averaged by their uncertainties (PRACTICE D5); when they differ by more than three
    standard uncertainties nothing is averaged: the person says what happened and the balance is believed.
    """
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, Kind.WEIGHED_BACK, gross.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_may_take(locked)
        found, s = _amount_by_mass(locked, gross, device_code)
        book, u = locked.remaining / MILLION, locked.doubt.u
        settled, band = settle_weighing(book, locked.doubt, found, s, RECEIPT)
        if not settled.is_settled and not doing.reason:
            raise LabError(
                "difference-to-explain",
                "By mass there is {found} in it, by the book {book}: too far apart for the devices used. "
                "Check that the cap is on and the code is right; if the mass is right, say what happened.",
                found=show(found, locked.unit, s),
                book=show(book, locked.unit, u),
            )
        new = settled.m if settled.is_settled else found
        if not settled.is_settled:
            band = locked.doubt.replaced_by_weighing(s, RECEIPT)
        after = min(max(round(new * MILLION), 0), round(locked.capacity * 1.1))
        return add_line(
            locked,
            doing,
            kind=Kind.WEIGHED_BACK,
            change=after - locked.remaining,
            band=band,
            typed=gross.typed,
            device=device_code,
            u_random=round(s * MILLION),
            gross_ug=gross.millionths("g"),
        )


def _amount_by_mass(locked: Container, gross: Quantity, device_code: str) -> tuple[float, float]:
    """Return amount and standard uncertainty from the gross mass now [container's unit]."""
    if locked.gross_at_receipt_ug is None:
        raise LabError(
            "no-gross-mass",
            "{code} was not weighed when it came, so a gross mass says nothing about what is left. "
            "Give the amount used instead.",
            code=show_code(locked.code),
        )
    lost_g = (locked.gross_at_receipt_ug - gross.millionths("g")) / MILLION
    balance = device(device_code).uncertainty(gross.millionths("g") / MILLION)
    u_g = (2 * balance.random**2 + balance.common**2 + HANDLING_U_G**2) ** 0.5
    density = 1.0
    if locked.unit != "g":
        of_lot = locked.lot.density if locked.lot else None
        if locked.unit != "mL" or of_lot is None:
            raise LabError(
                "no-density",
                "{code} is kept in {unit} and its lot has no density, so a mass cannot be turned into it. "
                "Enter the density of the lot or give the amount used in {unit}.",
                code=show_code(locked.code),
                unit=locked.unit,
            )
        density = float(of_lot.nominal_value)
    found, s = locked.received / MILLION - lost_g / density, u_g / density
    if found < -3 * s or found > locked.received / MILLION + 3 * s + 0.02 * locked.capacity / MILLION:
        raise LabError(
            "absurd-mass",
            "{gross} cannot be right for {code}: it weighed {receipt} when it came with {received} in it, so it "
            "would now hold {found}. Read the balance again, cap on, and check the code.",
            gross=gross.typed,
            code=show_code(locked.code),
            receipt=show(locked.gross_at_receipt_ug / MILLION, "g"),
            received=show(locked.received / MILLION, locked.unit),
            found=show(round(found, 1), locked.unit),
        )
    return max(found, 0.0), s


def found_more(*, container: Container, amount: Quantity, device_code: str, doing: Doing) -> Entry:
    """Record that more is in it than the book says: a normal correction, with a reason."""
    _need_reason(doing)
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, Kind.FOUND, amount.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_not_closed(locked)
        more = in_ledger_unit(locked, amount)
        if locked.remaining + more > locked.capacity * 1.1:
            raise LabError(
                "beyond-capacity",
                "{more} more would make {total}, and {code} holds {capacity}. Check the amount and the unit.",
                more=amount.typed,
                total=show((locked.remaining + more) / MILLION, locked.unit),
                code=show_code(locked.code),
                capacity=show(locked.capacity / MILLION, locked.unit),
            )
        random, common = doubt_of_reading(locked, amount, more, device_code)
        band = locked.doubt.after_removal(more / MILLION, device_code, random, common)
        if locked.state == State.EMPTY:
            use_again(locked, doing)
        return add_line(
            locked, doing, kind=Kind.FOUND, change=more, band=band, typed=amount.typed, device=device_code,
            u_random=round(random * MILLION), u_common=round(common * MILLION),
        )  # fmt: skip


def doubt_of_reading(
    locked: Container, amount: Quantity, changed: int, device_code: str
) -> tuple[float, float]:
    """Return the random and the common part of the doubt of a reading [container's unit].

    What the person typed behind "±" widens the random part, never narrows it. No reading is doubted more than
    by itself: a spill of about 1 mL was between none and 2 mL, whatever share of the bottle an eye can judge.
    """
    tool = device(device_code)
    in_container = changed / MILLION
    fits = tool.unit == ("g" if amount.dimension == "mass" else "mL")
    value = float(amount.in_unit(tool.unit)) if fits and amount.dimension != "count" else in_container
    read = tool.uncertainty(value, vessel=locked.capacity / MILLION)
    scale = in_container / value
    typed = 0.0 if amount.u is None else float(amount.u / amount.value) * in_container
    scale = min(scale, in_container / 3**0.5 / read.u) if read.u else scale
    return max(read.random * scale, typed), read.common * scale


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
    _need_reason(doing)
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
        _count_against(entry.reservation, entry.change, doing)
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


# ---------------------------------------------------------------- what all of them share


def lock(container: Container) -> Container:
    """Return the container again, locked until the transaction ends."""
    return (
        Container.objects.select_for_update(of=("self",))
        .select_related("lot__substance", "substance")
        .get(pk=container.pk)
    )


def already_done(
    locked: Container, doing: Doing, kind: Kind | None = None, typed: str | None = None
) -> Entry | None:
    """Return the line this key made before, so that sending twice makes one line.

    A key that comes back with another act or another amount is no second sending: it is refused, not swallowed.
    """
    line = Entry.objects.filter(key=doing.key).first()
    if line is None:
        return None
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
    if locked.state in (State.IN_USE, State.NOT_SEEN):
        return
    advice = {
        State.BLOCKED: "Take another container; a steward or the safety officer can free it.",
        State.EMPTY: "If there is something in it after all, record 'found more' first.",
        State.DISPOSED: "Check the code on the label: this container should not exist any more.",
    }
    raise LabError(
        f"is-{locked.state}".replace(" ", "-"),
        "{code} is {state}{because}. {advice}",
        code=show_code(locked.code),
        state=locked.get_state_display(),
        because=f" ({locked.state_because})" if locked.state_because else "",
        advice=advice[State(locked.state)],
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


def _check_promise(locked: Container, reservation: Reservation | None) -> None:
    if reservation is not None and reservation.container_id != locked.pk:
        raise LabError(
            "another-hold",
            "This hold is on {other}, and the amount was drawn from {code}: check the code on the bottle.",
            other=show_code(reservation.container.code),
            code=show_code(locked.code),
        )


def note_change(locked: Container, doing: Doing, what: str, before: str, after: str) -> None:
    """Write down a change of place or state."""
    StateChange.objects.create(
        container=locked, what=what, before=before, after=after, reason=doing.reason, by=doing.by, at=doing.at
    )


def use_again(locked: Container, doing: Doing) -> None:
    """Put a container that was empty or not seen back into use: it is in somebody's hand."""
    note_change(locked, doing, "state", locked.state, State.IN_USE)
    locked.state, locked.state_because = State.IN_USE, ""


def add_line(
    locked: Container, doing: Doing, *, kind: Kind, change: int, band: Band, **fields: object
) -> Entry:
    """Write one line and bring the container's sums, band and chain in step with it."""
    locked.remaining += change
    locked.last_seq += 1
    locked.band = band.as_json()
    if locked.last_seq == 1:
        locked.received = change
    if locked.state == State.NOT_SEEN and kind not in (Kind.REVERSED, Kind.DISPOSED):
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


def _count_against(reservation: Reservation, amount: int, doing: Doing) -> None:
    """Count a draw (or, negative, its reversal) against the promise it was made under."""
    row = Reservation.objects.select_for_update(of=("self",)).get(pk=reservation.pk)
    row.drawn = max(row.drawn + amount, 0)
    if row.state in (HoldState.HELD, HoldState.USED):
        row.state = HoldState.USED if row.drawn >= row.amount else HoldState.HELD
    row.save(update_fields=["drawn", "state"])
    what = "drawn" if amount > 0 else "given back"
    ReservationEvent.objects.create(reservation=row, what=what, amount=amount, by=doing.by, at=doing.at)


def more_than_is_left(locked: Container, amount: Quantity, taken: int) -> LabError:
    return LabError(
        "more-than-is-left",
        "{amount} is more than the {left} left in {code}. Nothing was recorded. If it did come out of this "
        "bottle, weigh it or record 'found more' first; if not, check the code and the unit.",
        amount=amount.typed or show(taken / MILLION, locked.unit),
        left=show(locked.remaining / MILLION, locked.unit, locked.doubt.u),
        code=show_code(locked.code),
    )


def _need_reason(doing: Doing) -> None:
    if not doing.reason.strip():
        raise LabError("no-reason", "A correction needs a reason: write in a few words what happened.")
