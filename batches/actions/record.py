"""The record as it happens: what went in, what was seen, what came out."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from batches.actions.rows import check_open, lock
from batches.digests import digest
from batches.models import (
    Batch,
    BatchInput,
    BatchLine,
    BatchState,
    LineRole,
    Observation,
)
from batches.results import Outcome, outcome_of
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import User
from labstock.stock.models import (
    Entry,
)
from labstock.stock.strength import effective_purity
from labstock.writing import writing


def attach_draw(*, batch: Batch, entry: Entry, line: BatchLine | None = None) -> BatchInput:
    """Write a ledger line into the batch it was drawn for; the first one starts the batch."""
    with writing():
        done = BatchInput.objects.filter(entry=entry).first()
        if done is not None:
            return done
        locked = Batch.objects.select_for_update().get(pk=batch.pk)
        check_open(locked)
        container = entry.container
        strength = effective_purity(container, timezone.localdate(entry.done_at))
        if locked.state == BatchState.PLANNED:
            locked.state, locked.started_at = BatchState.RUNNING, entry.done_at
            locked.save(update_fields=["state", "started_at"])
        return BatchInput.objects.create(
            batch=locked,
            line=line
            or locked.lines.filter(substance=container.substance_id).exclude(role=LineRole.PRODUCT).first(),
            entry=entry,
            fraction=strength.fraction.nominal_value,
            fraction_u=strength.fraction.std_dev,
            fraction_from=strength.words,
        )


def observe(
    *,
    batch: Batch,
    by: User,
    text: str,
    at: datetime | None = None,
    is_departure: bool = False,
    key: UUID | None = None,
    recorded_at: datetime | None = None,
) -> Observation:
    """Write down what was seen or done. After the finish it is an addition and says so.

    `recorded_at` is for the invented history of the demo alone.
    """
    if not text.strip():
        raise LabError("nothing-written", "Nothing was written: say what you saw or did.")
    now = timezone.now()
    when = at or now
    if when > now + timedelta(minutes=5):
        raise LabError(
            "in-the-future",
            "The observation is timed {when:%d %b %H:%M}, which is still to come: give the time it was seen.",
            when=timezone.localtime(when),
        )
    with writing():
        # locked, so that nothing slips in while somebody finishes the record, and a second sending finds the first
        is_late = not Batch.objects.select_for_update().get(pk=batch.pk).is_open
        done = Observation.objects.filter(key=key, by=by).first() if key else None
        if done is not None:
            return done
        return Observation.objects.create(
            batch=batch, at=when, recorded_at=recorded_at or now, by=by, text=text.strip(),
            is_departure=is_departure, is_addition=is_late, key=key,
        )  # fmt: skip


@dataclass(frozen=True)
class Result:
    """What came out of a batch, as the person gives it.

    `mass_common_g` is the part of `mass_u_g` that everything weighed on `device_code` shares; `note` says how the
    purity is known and is written into the record with the result.
    """

    mass: Quantity
    mass_u_g: float
    percent: float
    percent_u: float
    mass_common_g: float = 0.0
    device_code: str = ""
    note: str = ""


def finish(*, batch: Batch, by: User, result: Result, at: datetime | None = None) -> Batch:
    """Work out the yield from what really went in, then freeze the record."""
    now = at or timezone.now()
    with writing():
        done = Batch.objects.filter(pk=batch.pk, owner=by, product_typed=result.mass.typed)
        if sent_twice := done.filter(state=BatchState.FINISHED, product_percent=result.percent).first():
            return sent_twice
        locked = lock(batch, by)
        outcome = outcome_of(
            locked,
            result.mass.as_uncertain("g").nominal_value,
            result.mass_u_g,
            result.percent,
            result.percent_u,
            mass_common_g=result.mass_common_g,
            device_code=result.device_code,
        )
        if outcome is None:
            raise LabError(
                "nothing-went-in",
                "No amount of a reactant is on record for this batch, so there is no theory to compare with: "
                "record what was drawn first.",
            )
        if result.note.strip():
            observe(batch=locked, by=by, text=result.note, at=at)
        _write_outcome(locked, result, outcome)
        locked.started_at = locked.started_at or now
        locked.finished_at = now
        locked.state = BatchState.FINISHED
        locked.digest = digest(locked)
        locked.save()
        return locked


def abandon(*, batch: Batch, by: User, reason: str, at: datetime | None = None) -> Batch:
    """Close a batch that comes to nothing; what went in stays written."""
    if not reason.strip():
        raise LabError("no-reason", "Say in a few words why it ends here: failures are results too.")
    with writing():
        locked = lock(batch, by)
        observe(batch=locked, by=by, text=f"Abandoned: {reason.strip()}", at=at)
        locked.state = BatchState.ABANDONED
        locked.finished_at = at or timezone.now()
        locked.save(update_fields=["state", "finished_at"])
        return locked


def _write_outcome(batch: Batch, result: Result, outcome: Outcome) -> None:
    batch.product_typed = result.mass.typed
    batch.product_mass_g = float(outcome.product_g.nominal_value)
    batch.product_mass_u_g = float(outcome.product_g.std_dev)
    batch.product_percent, batch.product_percent_u = result.percent, result.percent_u
    batch.theoretical_g = float(outcome.theoretical_g.nominal_value)
    batch.theoretical_u_g = float(outcome.theoretical_g.std_dev)
    batch.yield_percent = float(outcome.yield_percent.nominal_value)
    batch.yield_u_percent = float(outcome.yield_percent.std_dev)
    batch.limiting_line = outcome.limiting_position
