"""What one person does at the bench in one act, across the ledger and the batch record."""

from dataclasses import replace

from batches.actions.record import attach_draw
from batches.models import Batch, BatchLine, BatchState
from labstock.chemistry.quantities import Quantity
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, Entry
from labstock.stock.queries import running_hold
from labstock.writing import writing


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


def _line_held_by(reservation: int) -> BatchLine | None:
    return (
        BatchLine.objects.filter(
            reservations=reservation, batch__state__in=[BatchState.PLANNED, BatchState.RUNNING]
        )
        .select_related("batch")
        .first()
    )
