"""What one person does at the bench in one act, across the ledger and the batch record."""

from dataclasses import replace
from uuid import uuid5

from batches.actions.record import attach_draw
from batches.models import Batch, BatchInput, BatchLine, BatchState
from labstock.bench.pages.amounts import exactly
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.stock.actions.ledger import LOSSES, draw, found_more, record_loss
from labstock.stock.actions.lines import Doing, lock
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.weighing import weigh
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind
from labstock.stock.queries import running_hold
from labstock.writing import writing

NO_REASON = "no reason given"
USE, WEIGH = "use", "weigh"  # any other act is the name of a kind of line


def record_use(
    *, container: Container, amount: Quantity, device_code: str, doing: Doing, batch: Batch | None = None
) -> Entry:
    """Draw from a container; a hold of the person's running session decides the batch without asking."""
    hold = running_hold(container, doing.for_person or doing.by, doing.at)
    line = _line_held_by(hold.pk) if hold else None
    with writing():
        target = batch or (line.batch if line else None)
        if target is not None:
            # the batch before the container, as a plan that holds does: in the other order the two wait for each other
            Batch.objects.select_for_update().get(pk=target.pk)
            doing = replace(doing, purpose=f"batch {target.number}")
        elif hold is not None:
            doing = replace(doing, purpose=hold.session.title[:120])
        entry = draw(
            container=container, amount=amount, device_code=device_code, doing=doing, reservation=hold
        )
        if target is not None:
            attach_draw(batch=target, entry=entry, line=line if line and line.batch_id == target.pk else None)
        return entry


def record_act(
    *,
    container: Container,
    act: str,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    batch: Batch | None = None,
) -> Entry:
    """Write the one number that a person gives at a bottle: what was used, its gross mass, or what was lost or found."""
    if act == USE:
        return record_use(
            container=container, amount=amount, device_code=device_code, doing=doing, batch=batch
        )
    if act == WEIGH:
        return weigh(container=container, gross=amount, device_code=device_code, doing=doing)
    return record_otherwise(
        container=container, kind=Kind(act), amount=amount, device_code=device_code, doing=doing
    )


def record_otherwise(
    *, container: Container, kind: Kind, amount: Quantity, device_code: str, doing: Doing
) -> Entry:
    """Record what was lost, or found: nobody is asked to explain a find."""
    if kind == Kind.FOUND:
        doing = replace(doing, reason=doing.reason or NO_REASON)
        return found_more(container=container, amount=amount, device_code=device_code, doing=doing)
    return record_loss(container=container, kind=kind, amount=amount, device_code=device_code, doing=doing)


def book_on_another(*, entry: Entry, other: Container, doing: Doing) -> Entry:
    """Cancel a line that was booked on the wrong container and book it on the right one, for whoever took it.

    Both ledgers say so, and the batch it went into keeps the line that was wrong beside the one that is right.
    """
    _check_booked(entry, other)
    into = BatchInput.objects.filter(entry=entry).select_related("batch", "line").first()
    wrong, right = plain_code(entry.container), plain_code(other)
    took = entry.for_person or (entry.by if entry.by_id != doing.by.pk else None)
    with writing():
        if into is not None:
            Batch.objects.select_for_update().get(pk=into.batch_id)
        for pk in sorted({entry.container_id, other.pk}):
            lock(Container(pk=pk))
        reverse(
            entry=entry, doing=replace(doing, reason=doing.reason or f"wrong bottle: it came out of {right}")
        )
        again = Doing(
            by=doing.by,
            key=uuid5(doing.key, "on the right one"),
            at=entry.done_at,
            for_person=took,
            purpose=entry.purpose,
            reason=f"first booked on {wrong}, line {entry.seq}",
        )
        amount = parse_quantity(f"{exactly(-entry.change)} {entry.container.unit}")
        if entry.kind != Kind.DRAWN:
            return record_loss(
                container=other, kind=Kind(entry.kind), amount=amount, device_code=entry.device, doing=again
            )
        line = draw(
            container=other,
            amount=amount,
            device_code=entry.device,
            doing=again,
            reservation=running_hold(other, took or doing.by, entry.done_at),
        )
        if into is not None:
            attach_draw(batch=into.batch, entry=line, line=into.line)
        return line


def can_be_booked_on_another(entry: Entry) -> bool:
    """Say whether a line is something that was used or lost."""
    return entry.kind in {Kind.DRAWN, *LOSSES}


def _check_booked(entry: Entry, other: Container) -> None:
    if not can_be_booked_on_another(entry):
        raise LabError(
            "not-taken-out",
            "Line {seq} is “{kind}”: only what was used or lost can be booked on another bottle. Reverse it instead, "
            "and record anew what happened.",
            seq=entry.seq,
            kind=entry.get_kind_display().lower(),
        )
    if entry.container_id == other.pk:
        raise LabError(
            "same-container",
            "{code} is the bottle it stands on already: scan the one it really came out of.",
            code=show_code(other.code),
        )


def plain_code(container: Container) -> str:
    """Return the code as people search for it, with plain spaces."""
    return show_code(container.code).replace("\N{NO-BREAK SPACE}", " ")


def _line_held_by(reservation: int) -> BatchLine | None:
    return (
        BatchLine.objects.filter(
            reservations=reservation, batch__state__in=[BatchState.PLANNED, BatchState.RUNNING]
        )
        .select_related("batch")
        .first()
    )
