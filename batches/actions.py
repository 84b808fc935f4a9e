"""Every change to a batch record."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from batches.candidates import amount_from, amount_to_hold
from batches.digests import digest as digest
from batches.drafts import Draft
from batches.models import (
    Batch,
    BatchInput,
    BatchLine,
    BatchProduct,
    BatchSeries,
    BatchState,
    LineRole,
    Observation,
)
from batches.planning import work_out_lines
from batches.queries import not_put_away_ug
from batches.results import Outcome, outcome_of
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    Entry,
    Lot,
    PurityKind,
    Purpose,
    Reservation,
    Session,
    Substance,
)
from labstock.stock.models.container import MILLION
from labstock.stock.queries import holding
from labstock.stock.strength import effective_purity
from labstock.writing import writing


def plan_batch(
    *,
    title: str,
    owner: User,
    equation: str,
    drafts: Sequence[Draft],
    scale: str,
    scale_line: int,
    session: Session | None,
    at: datetime | None = None,
    key: UUID | None = None,
) -> Batch:
    """Open a batch record from a plan. The same key makes one batch, however often it is sent."""
    now = at or timezone.now()
    lines, _ = work_out_lines(drafts, scale=scale, scale_line=scale_line, on=timezone.localdate(now))
    with writing():
        series = _lock_series(now.year)
        done = Batch.objects.filter(key=key, owner=owner).first() if key else None
        if done is not None:
            return done
        batch = Batch.objects.create(
            number=_take_number(series), title=title.strip(), owner=owner, equation=equation.strip(),
            scale=scale.strip(), scale_line=scale_line, session=session, planned_at=now, key=key,
        )  # fmt: skip
        _save_lines(batch, lines)
        return batch


def replan(
    *,
    batch: Batch,
    by: User,
    drafts: Sequence[Draft],
    scale: str,
    scale_line: int,
    equation: str | None = None,
    at: datetime | None = None,
) -> Batch:
    """Work a plan out again with other numbers. Only while nothing is held for it or drawn into it."""
    now = at or timezone.now()
    lines, _ = work_out_lines(drafts, scale=scale, scale_line=scale_line, on=timezone.localdate(now))
    with writing():
        locked = _lock(batch, by)
        if is_in_use(locked, now):
            raise LabError(
                "plan-in-use",
                "Reagents are held for this plan or drawn into it: let the holds go before changing it, "
                "or plan a new batch.",
            )
        locked.lines.all().delete()
        locked.scale, locked.scale_line = scale.strip(), scale_line
        locked.equation = locked.equation if equation is None else equation.strip()
        locked.save(update_fields=["scale", "scale_line", "equation"])
        _save_lines(locked, lines)
        return locked


def is_in_use(batch: Batch, at: datetime) -> bool:
    """Say whether anything is held for a plan now, or was drawn into it or under its holds."""
    held = Reservation.objects.filter(plan_lines__batch=batch)
    return batch.inputs.exists() or held.filter(holding(at) | Q(drawn__gt=0)).exists()


def hold_for_plan(
    *, batch: Batch, choices: Mapping[int, Container], by: User, at: datetime | None = None
) -> list[Reservation]:
    """Hold one container for each chosen line (by position), all in one act or none.

    A line that is held already is passed over, so sending the form twice holds once.
    """
    now = at or timezone.now()
    with writing():
        locked = _lock(batch, by)
        if locked.session is None:
            raise LabError(
                "no-session",
                "This plan has no session: say when and where you work before holding reagents.",
            )
        lines = {line.position: line for line in locked.lines.select_related("substance")}
        held = set(locked.lines.filter(_held_line(now)).values_list("position", flat=True))
        chosen = [
            (_line_to_hold(lines, position, container), container)
            for position, container in sorted(choices.items())
            if position not in held
        ]
        wants = [Want(container, _need(line, container, now)) for line, container in chosen]
        made = reserve(session=locked.session, wants=wants, by=by, at=now)
        for (line, _), reservation in zip(chosen, made, strict=True):
            line.reservations.add(reservation)
        return made


def _held_line(at: datetime) -> Q:
    return Q(reservations__in=Reservation.objects.filter(holding(at)))


def _line_to_hold(lines: Mapping[int, BatchLine], position: int, container: Container) -> BatchLine:
    line = lines.get(position)
    if line is None or line.role == LineRole.PRODUCT or line.substance_id != container.substance_id:
        raise LabError(
            "not-for-this-line",
            "{code} holds {name}, and line {position} of this plan does not ask for it: open the plan again and choose.",
            code=show_code(container.code),
            name=container.name,
            position=position,
        )
    return line


def _need(line: BatchLine, container: Container, at: datetime) -> int:
    need = amount_from(line, container, effective_purity(container, timezone.localdate(at)).fraction)
    if need is None:
        raise LabError(
            "no-amount",
            "{name}: the amount cannot be worked out in {unit} for this container. Enter the density of its lot, "
            "or choose another container.",
            name=line.name,
            unit=container.unit,
        )
    return amount_to_hold(need.nominal_value)


def attach_draw(*, batch: Batch, entry: Entry, line: BatchLine | None = None) -> BatchInput:
    """Write a ledger line into the batch it was drawn for; the first one starts the batch."""
    with writing():
        done = BatchInput.objects.filter(entry=entry).first()
        if done is not None:
            return done
        locked = Batch.objects.select_for_update().get(pk=batch.pk)
        _check_open(locked)
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
        locked = _lock(batch, by)
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
        locked = _lock(batch, by)
        observe(batch=locked, by=by, text=f"Abandoned: {reason.strip()}", at=at)
        locked.state = BatchState.ABANDONED
        locked.finished_at = at or timezone.now()
        locked.save(update_fields=["state", "finished_at"])
        return locked


def put_in_container(*, batch: Batch, product: Substance | None, arrival: Arrival, doing: Doing) -> Container:
    """Give product a container, a lot of its own and a label. All containers together hold no more than was made."""
    with writing():
        done = Container.objects.filter(entries__key=doing.key).first()
        if done is not None:
            return done
        locked = (
            Batch.objects.select_for_update(of=("self",)).select_related("owner", "session").get(pk=batch.pk)
        )
        _check_owner(locked, doing.by)
        if locked.state != BatchState.FINISHED:
            raise LabError(
                "not-finished", "Finish the batch first: the container takes its mass and purity from it."
            )
        _check_was_made(locked, product, arrival)
        arrival = replace(
            arrival,
            lot=_lot_of(locked, product) if product else None,
            described_as="" if product else locked.title,
            purpose=Purpose.PRODUCT,
            u_amount=locked.product_mass_u_g if arrival.u_amount is None else arrival.u_amount,
        )
        container = receive(arrival=arrival, doing=doing)
        BatchProduct.objects.create(container=container, batch=locked)
        return container


def _lot_of(batch: Batch, product: Substance) -> Lot:
    """Return a lot that claims what was measured; a purity nobody measured is not claimed."""
    percent, half_width = round(batch.product_percent or 0, 4), round(2 * (batch.product_percent_u or 0), 4)
    is_measured = bool(percent and half_width)
    return Lot.objects.create(
        substance=product,
        number=batch.number,
        supplier="made here",
        purity_kind=PurityKind.ASSAY if is_measured else PurityKind.UNKNOWN,
        purity_percent=percent if is_measured else None,
        purity_half_width=half_width if is_measured else None,
    )


def _check_was_made(batch: Batch, product: Substance | None, arrival: Arrival) -> None:
    wanted, left = _mass_ug(product, arrival), not_put_away_ug(batch)
    if wanted <= left:
        return
    raise LabError(
        "more-than-was-made",
        "{amount} is more than there is: batch {number} gave {made}, and {left} of it has no container yet. "
        "Put in {left} or less; if the product was weighed again, write an observation.",
        amount=arrival.amount.typed,
        number=batch.number,
        made=show(f"{batch.product_mass_g or 0:.7g}", "g"),
        left=show(f"{left / MILLION:.7g}", "g"),
    )


def _mass_ug(product: Substance | None, arrival: Arrival) -> int:
    amount = arrival.amount
    if amount.dimension == "volume" and product is not None and product.density is not None:
        return round(amount.millionths("mL") * product.density.nominal_value)
    if amount.dimension == "mass":
        return amount.millionths("g")
    raise LabError(
        "not-a-mass",
        "'{typed}' is a {dimension}, and the product was weighed: give the amount in g, or enter the density of "
        "the product on its substance page.",
        typed=amount.typed,
        dimension=amount.dimension,
    )


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


def _lock_series(year: int) -> BatchSeries:
    BatchSeries.objects.get_or_create(year=year)
    return BatchSeries.objects.select_for_update().get(year=year)


def _take_number(series: BatchSeries) -> str:
    series.last_number += 1
    series.save(update_fields=["last_number"])
    return f"{series.year % 100:02d}-{series.last_number:03d}"


def _save_lines(batch: Batch, lines: Iterable[BatchLine]) -> None:
    for line in lines:
        line.batch = batch
        line.save()


def _lock(batch: Batch, by: User) -> Batch:
    locked = Batch.objects.select_for_update(of=("self",)).select_related("owner", "session").get(pk=batch.pk)
    _check_open(locked)
    _check_owner(locked, by)
    return locked


def _check_owner(batch: Batch, by: User) -> None:
    if batch.owner_id != by.pk and not may(by, Act.CORRECT):
        raise LabError(
            "not-yours",
            "Batch {number} is {owner}'s: add an observation, or ask {owner}.",
            number=batch.number,
            owner=batch.owner,
        )


def _check_open(batch: Batch) -> None:
    if not batch.is_open:
        raise LabError(
            "frozen",
            "Batch {number} is {state} since {when:%d %b %Y} and cannot be changed: write an addition instead.",
            number=batch.number,
            state=batch.get_state_display(),
            when=batch.finished_at or batch.planned_at,
        )
