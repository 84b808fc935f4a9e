"""Entries that waited on a device without signal: take each once, or keep it as a difference that somebody settles."""

import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from batches.models import Batch, BatchState
from labstock.bench.actions import USE, WEIGH, record_act
from labstock.bench.forms import NO_DEVICE, OTHERWISE, by_eye
from labstock.bench.landing import find_typed
from labstock.bench.pages.clock import clock_time, duration
from labstock.chemistry.devices import device
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import show_code
from labstock.stock.forms.fields import read_quantity
from labstock.stock.models import Container, Entry, Kind, QueuedEntry, Settlement, Way
from labstock.stock.models.queued import CLOCK_TOLERANCE_MS
from labstock.writing import writing

ACTS: dict[str, str] = {
    USE: "Used",
    WEIGH: "Gross mass",
    **{str(kind.value): words for kind, words in OTHERWISE},
}


@dataclass(frozen=True)
class Told:
    """What a person says was done with a container: one act, one number."""

    act: str
    amount: str
    unit: str = ""
    device: str = ""
    reason: str = ""
    batch: int | None = None


@dataclass(frozen=True)
class Sent:
    """One entry as a device sends it."""

    key: uuid.UUID
    code: str
    told: Told
    done_by_device_at: datetime
    owner: int | None = None
    # device less server when the two last spoke before it was done; None if that is not known
    known_error_ms: int | None = None
    raw: dict[str, Any] = field(default_factory=dict)


def take(*, sent: Sent, device_at: datetime, by: User, now: datetime | None = None) -> QueuedEntry:
    """Write an entry of a device's queue into the book, once; what the book refuses is kept as a difference.

    Whoever sends another person's entry records it for them. The time of doing is corrected by how wrong the
    device's clock is while it sends.
    """
    received_at = now or timezone.now()
    if done := QueuedEntry.objects.filter(key=sent.key).first():
        return _same(done, sent)
    error = device_at - received_at
    try:
        with writing():
            return _take(sent, device_at, by, received_at, error)
    except IntegrityError:
        # the same queue came twice at once and the other was quicker
        return _same(QueuedEntry.objects.get(key=sent.key), sent)


def _take(sent: Sent, device_at: datetime, by: User, received_at: datetime, error: timedelta) -> QueuedEntry:
    owner = User.objects.filter(pk=sent.owner).first() if sent.owner else None
    row = QueuedEntry(
        key=sent.key,
        owner=owner,
        sent_by=by,
        code=sent.code[:80],
        sent=sent.raw,
        done_by_device_at=sent.done_by_device_at,
        device_at=device_at,
        clock_error_ms=round(error.total_seconds() * 1000),
        done_at=sent.done_by_device_at - error,
        received_at=received_at,
    )
    try:
        with transaction.atomic():
            if sent.owner and owner is None:
                raise _nobody(sent)
            row.container = find_typed(sent.code)
            check_clock(row, sent.known_error_ms)
            check_not_counted_since(row.container, sent.told, row.done_at)
            doing = Doing(
                by=by,
                key=sent.key,
                at=row.done_at,
                for_person=None if owner == by else owner,
                reason=sent.told.reason,
            )
            row.entry = record(container=row.container, told=sent.told, doing=doing)
    except LabError as refused:
        row.refusal_code, row.refusal = refused.code[:40], refused.message
    row.save(force_insert=True)
    return row


def _same(done: QueuedEntry, sent: Sent) -> QueuedEntry:
    """Return what this entry became before; another entry under its key is refused, not swallowed."""
    if done.code == sent.code[:80] and done.sent.get("told") == sent.raw.get("told"):
        return done
    raise LabError(
        "key-used-otherwise",
        "An entry with this key came before and said something else: {code}, {amount}. It is kept on the device; "
        "write it down anew.",
        code=done.code,
        amount=(done.sent.get("told") or {}).get("amount", ""),
    )


def _nobody(sent: Sent) -> LabError:
    return LabError(
        "unknown-person",
        "The device says that person number {number} did this, and nobody of the lab has that number. Settle it as "
        "whoever did it.",
        number=sent.owner,
    )


def record(*, container: Container, told: Told, doing: Doing) -> Entry:
    """Write what was told into the ledger, by the same actions as the container's page."""
    if told.act not in ACTS:
        raise LabError("no-such-act", "“{act}” is nothing that can be recorded here.", act=told.act)
    unit = "g" if told.act == WEIGH else told.unit or container.unit
    amount = read_quantity(told.amount, unit)
    is_measured = told.act in (USE, WEIGH)
    if is_measured and not told.device:
        raise LabError("no-device", NO_DEVICE)
    return record_act(
        container=container,
        act=told.act,
        amount=amount,
        # nobody measures a puddle: what nothing was chosen for was judged by eye
        device_code=device(told.device or by_eye(container)).code,
        doing=doing,
        batch=_open_batch(told.batch) if told.batch and told.act == USE else None,
    )


def _open_batch(pk: int) -> Batch:
    batch = Batch.objects.filter(pk=pk).first()
    if batch is None or batch.state not in (BatchState.PLANNED, BatchState.RUNNING):
        raise LabError(
            "batch-closed",
            "It was taken for {batch}, which takes no more inputs. Record it without the batch, and add an "
            "observation there.",
            batch=batch or "a batch that does not exist",
        )
    return batch


def check_clock(row: QueuedEntry, known_error_ms: int | None) -> None:
    """Refuse to guess the time of doing when the device's clock was put right or wrong in between."""
    if known_error_ms is None or abs(row.clock_error_ms - known_error_ms) <= CLOCK_TOLERANCE_MS:
        return
    other = row.done_by_device_at - timedelta(milliseconds=known_error_ms)
    raise LabError(
        "clock-changed",
        "The clock of the device was changed by {by} between the doing and the sending: it was done either at "
        "{first} or at {second}. Say which.",
        by=duration(row.clock_error_ms - known_error_ms),
        first=clock_time(min(other, row.done_at)),
        second=clock_time(max(other, row.done_at)),
    )


def check_not_counted_since(container: Container, told: Told, done_at: datetime) -> None:
    """Refuse a late entry that the book has overtaken: a mass from before a draw, a draw from before a weighing."""
    later = container.entries.filter(done_at__gt=done_at, reversed_by=None).exclude(
        kind__in=[Kind.REVERSED, Kind.STANDS, Kind.RECEIVED]
    )
    if told.act != WEIGH:
        later = later.filter(kind__in=[Kind.WEIGHED_BACK, Kind.COUNTED])
    line = later.order_by("done_at").first()
    if line is None:
        return
    parts = {
        "who": line.by_name,
        "what": line.get_kind_display().lower(),
        "when": clock_time(line.done_at),
        "seq": line.seq,
        "code": show_code(container.code),
    }
    if told.act == WEIGH:
        raise LabError(
            "changed-since",
            "{who} recorded “{what}” at {when} (line {seq}), after {code} stood on the balance: that mass no longer "
            "says what is left. Weigh it again.",
            **parts,
        )
    raise LabError(
        "counted-since",
        "{who} recorded “{what}” at {when} (line {seq}), after this was done: what went is in that line already, and "
        "recording it now would count it twice.",
        **parts,
    )


@dataclass(frozen=True)
class Again:
    """What is recorded when a difference is settled by a line: perhaps another amount, container or time."""

    container: Container
    told: Told
    at: datetime


def settle(*, queued: QueuedEntry, way: Way, reason: str, by: User, again: Again | None = None) -> Settlement:
    """Settle a difference: record it after all, or say why the book is right as it is. What was sent stays."""
    if not may_settle(queued, by):
        raise LabError(
            "not-yours",
            "This is for {who}, for whoever sent it, or for a steward to settle.",
            who=queued.owner or queued.sent_by,
        )
    if not reason.strip():
        raise LabError("no-reason", "Say in a few words why: it stays beside what was sent.")
    with writing():
        locked = QueuedEntry.objects.select_for_update(of=("self",)).get(pk=queued.pk)
        if done := Settlement.objects.filter(queued=locked).first():
            return _settled_before(done, way, by)
        if locked.entry_id is not None:
            raise LabError("no-difference", "It is in the book: there is nothing to settle.")
        entry = None
        if way == Way.RECORDED:
            if again is None:
                raise LabError("nothing-to-record", "Say what is to be recorded: container and amount.")
            entry = _record_again(locked, again, by, reason)
        return Settlement.objects.create(
            queued=locked, way=way, entry=entry, reason=reason.strip(), by=by, at=timezone.now()
        )


def _record_again(locked: QueuedEntry, again: Again, by: User, reason: str) -> Entry:
    doing = Doing(
        by=by,
        key=uuid.uuid5(locked.key, "settled"),
        at=again.at,
        for_person=None if locked.owner == by else locked.owner,
        reason=reason.strip(),
    )
    return record(container=again.container, told=again.told, doing=doing)


def _settled_before(done: Settlement, way: Way, by: User) -> Settlement:
    if (done.way, done.by_id) == (way, by.pk):
        return done
    raise LabError(
        "settled-before",
        "{who} settled it on {when}: {way}. If that is wrong, correct the book at the container.",
        who=done.by,
        when=clock_time(done.at),
        way=done.get_way_display(),
    )


def may_settle(queued: QueuedEntry, person: User) -> bool:
    """Say whether this person may settle a difference: whose it is, who sent it, and stewards."""
    return person.pk in (queued.owner_id, queued.sent_by_id) or may(person, Act.CORRECT)
