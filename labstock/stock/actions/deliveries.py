"""A delivery: several equal containers of one lot, in one act."""

import uuid
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.stock.actions.catalogue import add_lot
from labstock.stock.actions.ledger import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import Container
from labstock.writing import writing

MOST_AT_ONCE = 50


def receive_delivery(
    *,
    arrival: Arrival,
    count: int,
    doing: Doing,
    gross: Sequence[Quantity] = (),
    new_lot: dict[str, Any] | None = None,
) -> list[Container]:
    """Receive equal containers, each with its own code, ledger and key; sending it twice receives them once."""
    _check_count(count, gross)
    with writing():
        if new_lot is not None:
            arrival = replace(arrival, lot=add_lot(by=doing.by, substance=arrival.substance, **new_lot))
        masses: Sequence[Quantity | None] = gross or [None] * count
        return [
            receive(
                arrival=replace(arrival, gross=mass),
                doing=replace(doing, key=uuid.uuid5(doing.key, f"container {place}")),
            )
            for place, mass in enumerate(masses)
        ]


def _check_count(count: int, gross: Sequence[Quantity]) -> None:
    if not 1 <= count <= MOST_AT_ONCE:
        raise LabError(
            "bad-count",
            "{count} containers at once cannot be received: give 1 to {most}, and the rest afterwards.",
            count=count,
            most=MOST_AT_ONCE,
        )
    if gross and len(gross) != count:
        raise LabError(
            "masses-do-not-match",
            "{masses} for {containers}: give one gross mass for each, in the order of the labels, or none.",
            masses="1 gross mass" if len(gross) == 1 else f"{len(gross)} gross masses",
            containers="1 container" if count == 1 else f"{count} containers",
        )
