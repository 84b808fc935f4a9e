"""The product in containers of its own: never more than was made."""

from dataclasses import replace

from batches.actions.rows import check_owner
from batches.models import (
    Batch,
    BatchProduct,
    BatchState,
)
from batches.queries import not_put_away_ug
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import (
    Container,
    Lot,
    PurityKind,
    Purpose,
    Substance,
)
from labstock.stock.models.container import MILLION
from labstock.writing import writing


def put_in_container(*, batch: Batch, product: Substance | None, arrival: Arrival, doing: Doing) -> Container:
    """Give product a container, a lot of its own and a label. All containers together hold no more than was made."""
    with writing():
        done = Container.objects.filter(entries__key=doing.key).first()
        if done is not None:
            return done
        locked = (
            Batch.objects.select_for_update(of=("self",)).select_related("owner", "session").get(pk=batch.pk)
        )
        check_owner(locked, doing.by)
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
