"""Bottle, amount, done: recording with a fixed scanner and printed cards, without touching anything."""

import time
import uuid
from dataclasses import asdict, dataclass
from typing import Any

from django.http import HttpRequest

from labstock.bench.actions import record_use
from labstock.bench.forms import usual_devices
from labstock.bench.landing import find_typed, retired_words
from labstock.bench.memory import habit_of
from labstock.bench.pages.after import cut_into, said_after
from labstock.bench.pages.amounts import exactly, left_words
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.people.models import User
from labstock.stock.actions import ledger, reversing
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, Entry, State

KEPT = "hands free"
OVER_AFTER_SECONDS = 60


@dataclass(frozen=True)
class Step:
    """Where a person is: which bottle, which line was just written, what was said; `key` makes an amount count once."""

    bottle: str = ""
    seen_seq: int = 0
    key: str = ""
    done_seq: int = 0
    said: str = ""
    warned: str = ""
    refused: str = ""
    at: float = 0.0


def step_of(request: HttpRequest) -> Step:
    """Return the step a person is at; after a minute, the start."""
    step = Step(**request.session.get(KEPT, {}))
    return step if time.time() - step.at < OVER_AFTER_SECONDS else Step()


def keep_step(request: HttpRequest, step: Step) -> None:
    """Remember a step for the next scan."""
    request.session[KEPT] = asdict(step) | {"at": time.time()}


def show_bottle(container: Container) -> Step:
    """Take a bottle in hand, or say at once why nothing may be drawn from it."""
    if container.state == State.DISPOSED:
        raise LabError("code-retired", "{why}", why=retired_words(container))
    ledger.check_may_take(container)
    return Step(bottle=container.code, seen_seq=container.last_seq, key=str(uuid.uuid4()))


def take(request: HttpRequest, step: Step, card: str, person: User) -> Step:
    """Record the amount on a card from the bottle in hand."""
    if not step.bottle or step.done_seq:
        raise LabError(
            "no-bottle", "No bottle is in hand: scan the bottle first, then the card “{card}”.", card=card
        )
    container = find_typed(step.bottle)
    amount = _amount(container, card)
    entry = record_use(
        container=container,
        amount=amount,
        device_code=_device(request, container, amount),
        doing=Doing(by=person, key=uuid.UUID(step.key), seen_seq=step.seen_seq),
    )
    return _after(entry, person)


def undo(step: Step, person: User) -> Step:
    """Take back the line just written."""
    if not step.done_seq:
        raise LabError(
            "nothing-to-undo",
            "Nothing was recorded here in the last minute, so there is nothing to undo. "
            "Older lines are reversed on the bottle’s page.",
        )
    container = find_typed(step.bottle)
    entry = container.entries.select_related("container").get(seq=step.done_seq)
    reversal = reversing.undo(entry=entry, doing=Doing(by=person, key=uuid.UUID(step.key)))
    return Step(said=f"Taken back. {said_after(reversal)}")


def _after(entry: Entry, person: User) -> Step:
    return Step(
        bottle=entry.container.code,
        done_seq=entry.seq,
        key=str(uuid.uuid4()),
        said=said_after(entry),
        warned=cut_into(entry.container, person),
    )


def _amount(container: Container, card: str) -> Quantity:
    if card != "all":
        return parse_quantity(card)
    if container.remaining <= 0:
        raise LabError("nothing-left", "By the book nothing is left in it, so “all” is nothing.")
    return parse_quantity(f"{exactly(container.remaining)} {container.unit}")


def _device(request: HttpRequest, container: Container, amount: Quantity) -> str:
    """Return the device this person used last if it suits the amount, else the handiest one."""
    unit = {"volume": "mL", "mass": "g"}.get(amount.dimension, container.unit)
    last = habit_of(request, container.unit).device
    offered = [row.code for row in usual_devices(container, float(amount.in_unit(unit)), unit, last)]
    return last if last in offered else offered[0]


def facts(container: Container) -> dict[str, Any]:
    """Return what the screen says of the bottle in hand."""
    return {"bottle": container, "left": left_words(container)}
