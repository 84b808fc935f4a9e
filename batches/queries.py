"""Questions about batches that more than one page asks."""

from dataclasses import dataclass

from django.db.models import Case, IntegerField, Max, QuerySet, Value, When

from batches.models import Batch, BatchLine, BatchProduct, BatchState, LineRole
from labstock.people.models import User
from labstock.stock.models import Container, Entry, Kind, Substance
from labstock.stock.models.container import MILLION

OPEN = (BatchState.PLANNED, BatchState.RUNNING)


def batches_for(person: User) -> QuerySet[Batch]:
    """Return all batches: the person's own open ones first, then other open ones, then the closed, newest first."""
    place = Case(
        When(owner=person, state__in=OPEN, then=Value(0)),
        When(state__in=OPEN, then=Value(1)),
        default=Value(2),
        output_field=IntegerField(),
    )
    return (
        Batch.objects.select_related("owner", "session__place")
        .annotate(place=place)
        .order_by("place", "-planned_at", "-id")
    )


def earlier_yields(batch: Batch) -> list[float]:
    """Return the yields of other finished batches of the same equation [%]."""
    if not batch.equation:
        return []
    others = Batch.objects.filter(equation=batch.equation, yield_percent__isnull=False).exclude(pk=batch.pk)
    return [
        float(percent) for percent in others.values_list("yield_percent", flat=True) if percent is not None
    ]


def largest_made_mmol(batch: Batch) -> float | None:
    """Return the largest scale at which the batch's owner finished the same equation before [mmol], if ever."""
    if not batch.equation:
        return None
    lines = BatchLine.objects.filter(
        batch__equation=batch.equation,
        batch__owner=batch.owner_id,
        batch__state=BatchState.FINISHED,
        is_limiting=True,
    ).exclude(batch=batch)
    found = lines.aggregate(largest=Max("amount_mmol"))["largest"]
    return None if found is None else float(found)


def main_product(batch: Batch) -> Substance | None:
    """Return the substance the batch was made for, if it is on the list."""
    line = batch.lines.filter(role=LineRole.PRODUCT).select_related("substance").order_by("position").first()
    return line.substance if line else None


@dataclass(frozen=True)
class Filled:
    """A container filled from a batch, and how much came into it [µg]."""

    container: Container
    mass_ug: int


def filled_from(batch: Batch) -> list[Filled]:
    """Return the containers a batch's product went into. A receipt that was reversed put nothing in."""
    rows = BatchProduct.objects.filter(batch=batch).select_related(
        "container__lot__substance", "container__substance", "container__location"
    )
    containers = [row.container for row in rows]
    receipts = Entry.objects.filter(container__in=containers, kind=Kind.RECEIVED, reversed_by=None)
    changes = {entry.container_id: entry.change for entry in receipts}
    return [Filled(one, _mass_ug(one, changes.get(one.pk, 0))) for one in containers]


def not_put_away_ug(batch: Batch) -> int:
    """Return how much of the product has no container yet [µg]."""
    made = round((batch.product_mass_g or 0.0) * MILLION)
    return max(made - sum(filled.mass_ug for filled in filled_from(batch)), 0)


def _mass_ug(container: Container, amount: int) -> int:
    density = container.lot.density if container.lot and container.unit == "mL" else None
    return round(amount * density.nominal_value) if density is not None else amount
