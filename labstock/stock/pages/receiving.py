"""Receiving: which substance it is, and what the codes of the new containers are."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from labstock.chemistry.display import show
from labstock.stock.filters import holding_words
from labstock.stock.models import Container, Lot, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.queries import came_under

MOST_OFFERED = 20
MOST_LOOKED_AT = 200


@dataclass(frozen=True)
class Choosing:
    """The first question: what has come?"""

    typed: str
    found: tuple[Substance, ...]
    is_cut: bool
    before: tuple["CameBefore", ...] = ()


@dataclass(frozen=True)
class CameBefore:
    """A substance that came under the same maker's product number, and when it came last."""

    substance: Substance
    lot: Lot
    on: date | None


@dataclass(frozen=True)
class NewContainer:
    """One of the new containers."""

    container: Container

    @property
    def capacity(self) -> float:
        """Return the size [container's unit]."""
        return self.container.capacity / MILLION

    @property
    def amount(self) -> tuple[float, float]:
        """Return what is in it with its standard uncertainty [container's unit]."""
        return self.container.amount, self.container.doubt.u

    @property
    def gross_g(self) -> str:
        """Return the gross mass at receipt [g], or nothing where it was not weighed."""
        gross = self.container.gross_at_receipt_ug
        return "" if gross is None else show(gross / MILLION, "g")


@dataclass(frozen=True)
class Received:
    """What was received just now, ready for its labels."""

    rows: tuple["NewContainer", ...]
    print_url: str


def choosing(typed: str, product_number: str = "") -> Choosing:
    """Offer what came under the product number before, and the substances whose names hold what was typed."""
    rows = Substance.objects.order_by("name") if typed else Substance.objects.order_by("-pk")
    found = list(holding_words(rows, typed).rows[: MOST_OFFERED + 1])
    return Choosing(
        typed, tuple(found[:MOST_OFFERED]), len(found) > MOST_OFFERED, tuple(_before(product_number))
    )


def _before(product_number: str) -> Iterator[CameBefore]:
    """Yield each substance that came under a maker's product number, the last first."""
    told: set[int] = set()
    for row in came_under(product_number)[:MOST_LOOKED_AT] if product_number else ():
        if row.lot is not None and row.lot.substance_id not in told:
            told.add(row.lot.substance_id)
            yield CameBefore(row.lot.substance, row.lot, row.received_on)


def received(codes: str) -> Received | None:
    """Return the containers of a list of codes, or None where there are none."""
    wanted = [code.strip() for code in codes.split(",") if code.strip().isalnum()][:50]
    rows = tuple(
        Container.objects.filter(code__in=wanted)
        .select_related("substance", "lot", "location")
        .order_by("number")
    )
    if not rows:
        return None
    joined = ",".join(row.code for row in rows)
    return Received(tuple(map(NewContainer, rows)), f"{reverse('label-print')}?codes={joined}")
