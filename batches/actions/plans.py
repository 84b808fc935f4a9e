"""Planning a batch: its lines, and what is held for them."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from uuid import UUID

from django.db.models import Q
from django.utils import timezone

from batches.actions.rows import lock
from batches.candidates import amount_from, amount_to_hold
from batches.drafts import Draft
from batches.models import (
    Batch,
    BatchLine,
    BatchSeries,
    LineRole,
)
from batches.planning import work_out_lines
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    Reservation,
    Session,
)
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
        locked = lock(batch, by)
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
        locked = lock(batch, by)
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
