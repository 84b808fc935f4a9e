"""A delivery: several equal containers of one lot, in one act."""

import uuid
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.stock.actions.catalogue import add_lot
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, number_on_label, receive, received_before
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
    labels: Sequence[str] = (),
) -> list[Container]:
    """Receive equal containers, each with its own code, ledger and key; sending it twice receives them once.

    `labels` are the codes of blank labels that already stick on them, in the order of the containers.
    """
    _check_count(count, gross)
    with writing():
        if done := _received_before(doing):
            return done
        numbers = _numbers(labels, count)
        if new_lot is not None:
            arrival = replace(arrival, lot=add_lot(by=doing.by, substance=arrival.substance, **new_lot))
        masses: Sequence[Quantity | None] = gross or [None] * count
        return [
            receive(
                arrival=replace(arrival, gross=mass, number=number),
                doing=_doing_of(doing, place),
            )
            for place, (mass, number) in enumerate(zip(masses, numbers, strict=True))
        ]


def _doing_of(doing: Doing, place: int) -> Doing:
    return replace(doing, key=uuid.uuid5(doing.key, f"container {place}"))


def _received_before(doing: Doing) -> list[Container]:
    """Return what this key received before."""
    found: list[Container] = []
    while (row := received_before(_doing_of(doing, len(found)))) is not None:
        found.append(row)
    return found


def _numbers(labels: Sequence[str], count: int) -> list[int | None]:
    """Return the number on each label that already sticks on a container; None where one is still to be printed."""
    if not labels:
        return [None] * count
    if len(labels) != count:
        raise LabError(
            "labels-do-not-match",
            "{labels} for {containers}: scan one blank label for each container, or none.",
            labels="1 label" if len(labels) == 1 else f"{len(labels)} labels",
            containers="1 container" if count == 1 else f"{count} containers",
        )
    numbers = [number_on_label(label) for label in labels]
    if twice := next((label for label, n in zip(labels, numbers, strict=True) if numbers.count(n) > 1), None):
        raise LabError(
            "label-twice",
            "{label} was scanned for two containers: each needs its own label.",
            label=twice,
        )
    return list(numbers)


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
