"""Batches on the bench, ready to be written into. Amounts are those of the look's demo day; all of it is invented."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.utils import timezone

from batches.actions.plans import plan_batch
from batches.actions.products import put_in_container
from batches.actions.record import Result, attach_draw, finish
from batches.drafts import Draft, read_preparation
from batches.models import Batch, BatchInput
from labstock.people.models import User
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival
from labstock.stock.models import Container
from tests.builders import ACETANILIDE, ACETIC_ACID, ANHYDRIDE, ANILINE, amount, container, person, substance

RESULT = Result(amount("6.02 g"), 0.02, 99.1, 0.4)
EQUATION = "aniline + acetic anhydride -> acetanilide + acetic acid"


def planned(owner: User | None = None, scale: str = "60 mmol", title: str = "Acetanilide") -> Batch:
    """Return a planned acetanilide, 1.2 equivalents of anhydride."""
    for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID):
        substance(about)
    drafts = [
        Draft(**{**vars(draft), "equivalents": "1.2" if draft.name == "acetic anhydride" else ""})
        for draft in read_preparation(EQUATION)
    ]
    drafts.append(Draft("solvent", "acetic acid", "C2H4O2", substance(ACETIC_ACID), amount="12 mL"))
    return plan_batch(
        title=title,
        owner=owner or person(),
        equation=EQUATION,
        drafts=drafts,
        scale=scale,
        scale_line=1,
        session=None,
        at=timezone.now() - timedelta(hours=3),
    )


def aniline(**fields: Any) -> Container:
    """Return a bottle of aniline kept in g."""
    return container(ANILINE, holds="100 g", **fields)


def drawn_for(
    batch: Batch, bottle: Container, text: str, device: str, position: int | None = None, minutes: int = 120
) -> BatchInput:
    """Draw for a batch and write it into the record."""
    doing = Doing(by=batch.owner, at=timezone.now() - timedelta(minutes=minutes))
    entry = draw(container=bottle, amount=amount(text), device_code=device, doing=doing)
    line = batch.lines.get(position=position) if position else None
    return attach_draw(batch=batch, entry=entry, line=line)


def running(owner: User | None = None) -> Batch:
    """Return an acetanilide with both reactants in, the solvent still to come."""
    batch = planned(owner)
    drawn_for(batch, aniline(), "5.61 g", "balance-0.01g", 1)
    drawn_for(batch, container(ANHYDRIDE), "7.2 mL", "syringe-10", 2)
    batch.refresh_from_db()
    return batch


def finished(owner: User | None = None, mass: str = "6.02 g") -> Batch:
    """Return a finished acetanilide."""
    batch = running(owner)
    return finish(batch=batch, by=batch.owner, result=replace(RESULT, mass=amount(mass)))


def filled(batch: Batch, text: str = "6.02 g", size: str = "20 g") -> Container:
    """Put product into a jar and return it."""
    arrival = Arrival(unit="g", capacity=amount(size), amount=amount(text), vessel="jar")
    return put_in_container(
        batch=batch, product=substance(ACETANILIDE), arrival=arrival, doing=Doing(by=batch.owner)
    )
