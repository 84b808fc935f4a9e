"""Bottle, what happened, how much, done: recording with a fixed scanner and printed cards, without touching anything."""

import re
import time
import uuid
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

from django.http import HttpRequest

from labstock.bench.actions import USE, WEIGH, record_otherwise, record_use
from labstock.bench.forms import by_eye, usual_devices
from labstock.bench.landing import find_typed, retired_words
from labstock.bench.memory import habit_of
from labstock.bench.pages.after import cut_into, said_after, stands_and_is
from labstock.bench.pages.amounts import exactly, left_words
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.labels.codes_read import ACTS
from labstock.people.models import User
from labstock.stock.actions import keeping, reversing
from labstock.stock.actions.lines import Doing, check_may_take
from labstock.stock.actions.weighing import weigh
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.models.container import MILLION
from labstock.stock.opening import opening_note

KEPT = "hands free"
OVER_AFTER_SECONDS = 60
ALL = "all"
KIND_OF = {
    "spilt": Kind.SPILT,
    "wasted": Kind.WASTED,
    "purged": Kind.PURGED,
    "evaporated": Kind.EVAPORATED,
    "found": Kind.FOUND,
}
# What a balance types over its cable: perhaps a sign that it stands still, a plus, the figure, its unit.
FIGURE = re.compile(r"(?:[A-Z]{1,2}[ ,]+)*\+?\s*(\d+(?:[.,]\d+)?)\s*(g|mg|kg|ml|l|µl|ul)?", re.IGNORECASE)
UNIT_OF = {"ml": "mL", "l": "L", "µl": "µL", "ul": "µL"}


@dataclass(frozen=True)
class Step:
    """Where a person is: the bottle in hand, what happened to it, the amounts that wait for “done”, what was said.

    `key` makes one step count once; `done_seq` or `done_change` is what undo takes back. `prior` is the bottle before,
    where it was recorded because this one was scanned.
    """

    bottle: str = ""
    seen_seq: int = 0
    key: str = ""
    act: str = USE
    amounts: tuple[str, ...] = ()
    done_seq: int = 0
    done_change: int = 0
    prior: str = ""
    prior_seq: int = 0
    said: str = ""
    warned: str = ""
    refused: str = ""
    at: float = 0.0

    @property
    def is_open(self) -> bool:
        """Say whether a bottle is in hand that nothing was recorded of yet."""
        return bool(self.bottle) and not (self.done_seq or self.done_change)

    @property
    def act_words(self) -> str:
        """Return what the card of the act says."""
        return ACTS[self.act.upper()]

    @property
    def total(self) -> str:
        """Return the sum of the amounts that wait, as it will be recorded."""
        return "" if not self.amounts else "all of it" if self.amounts == (ALL,) else _sum(self.amounts)

    @property
    def sum_words(self) -> str:
        """Return how the sum came about, where it is one."""
        return " + ".join(self.amounts) if len(self.amounts) > 1 else ""


def step_of(request: HttpRequest) -> Step:
    """Return the step a person is at; after a minute the start, with what was not recorded named."""
    kept = dict(request.session.get(KEPT, {}))
    step = Step(**kept | {"amounts": tuple(kept.get("amounts", ()))})
    if time.time() - step.at < OVER_AFTER_SECONDS:
        return step
    if not (step.is_open and step.amounts):
        return Step()
    return Step(
        refused=f"{step.total} of {show_code(step.bottle)}, {step.act_words}, waited a minute for “done” and was not "
        "recorded. Scan the bottle again.",
        at=time.time(),
    )


def keep_step(request: HttpRequest, step: Step) -> None:
    """Remember a step for the next scan."""
    request.session[KEPT] = asdict(step) | {"at": time.time()}


def take_bottle(request: HttpRequest, step: Step, container: Container, person: User) -> Step:
    """Take a bottle in hand; what waited for the one before is recorded first. Refused at once if it is closed."""
    if step.is_open and step.amounts:
        if container.code == step.bottle:
            return replace(step, refused="", warned="")
        new = _in_hand(container)
        done = _record(request, step, person)
        return replace(
            new,
            said=done.said,
            warned=f"{done.warned} {new.warned}".strip(),
            prior=done.bottle,
            prior_seq=done.done_seq,
        )
    return _in_hand(container)


def _in_hand(container: Container) -> Step:
    if container.state == State.DISPOSED:
        raise LabError("code-retired", "{why}", why=retired_words(container))
    check_may_take(container)
    return Step(
        bottle=container.code,
        seen_seq=container.last_seq,
        key=str(uuid.uuid4()),
        warned=opening_note(container),
    )


def take_amount(step: Step, card: str) -> Step:
    """Add an amount; a figure of the balance takes the place of the one before."""
    _need_bottle(step, card)
    if step.act == WEIGH:
        if card == ALL or parse_quantity(card).dimension != "mass":
            raise LabError("no-mass", "“{card}” is no mass: let the balance type it, in g.", card=card)
        return replace(step, amounts=(card,), **CLEAN)
    if ALL in (*step.amounts, card) and step.amounts:
        raise LabError(
            "all-and-more",
            "“{card}” cannot be added to {total}: scan “done” to record it, or “undo” to take it off.",
            card=card,
            total=step.total,
        )
    _sum((*step.amounts, card))
    return replace(step, amounts=(*step.amounts, card), **CLEAN)


def take_act(request: HttpRequest, step: Step, act: str, person: User) -> Step:
    """Do what a card says: choose what happened, finish, or take back."""
    finish: dict[str, Callable[[HttpRequest, Step, User], Step]] = {
        "done": _done,
        "undo": _undo,
        "empty": _empty,
    }
    if act in finish:
        return finish[act](request, step, person)
    _need_bottle(step, ACTS[act.upper()])
    is_other_measure = WEIGH in (act, step.act) and act != step.act
    return replace(step, act=act, amounts=() if is_other_measure else step.amounts, **CLEAN)


def figure_in(text: str, step: Step) -> str:
    """Return the amount that a balance or a keyboard typed, with its unit; "" where the text is none."""
    found = FIGURE.fullmatch(text.strip())
    if found is None or not step.is_open:
        return ""
    number, unit = found[1].replace(",", "."), (found[2] or "").lower()
    usual = "g" if step.act == WEIGH else find_typed(step.bottle).unit
    return f"{number} {UNIT_OF.get(unit, unit) or usual}"


CLEAN: dict[str, Any] = {"said": "", "warned": "", "refused": ""}


def _need_bottle(step: Step, card: str) -> None:
    if not step.is_open:
        raise LabError(
            "no-bottle", "No bottle is in hand: scan the bottle first, then the card “{card}”.", card=card
        )


def _done(request: HttpRequest, step: Step, person: User) -> Step:
    if not step.is_open:
        return Step()
    if not step.amounts:
        return Step(said="The bottle is laid back. Nothing was recorded.")
    return _record(request, step, person)


def _record(request: HttpRequest, step: Step, person: User) -> Step:
    container = find_typed(step.bottle)
    doing = Doing(by=person, key=uuid.UUID(step.key), seen_seq=step.seen_seq)
    amount = _amount(container, step)
    if step.act == WEIGH:
        entry = _weigh(request, container, amount, doing)
    elif step.act == USE:
        device = _device(request, container, amount)
        entry = record_use(container=container, amount=amount, device_code=device, doing=doing)
    else:
        entry = record_otherwise(
            container=container,
            kind=KIND_OF[step.act],
            amount=amount,
            device_code=by_eye(container),
            doing=doing,
        )
    return _after(entry, person)


def _weigh(request: HttpRequest, container: Container, gross: Quantity, doing: Doing) -> Entry:
    last = habit_of(request, container.unit).balance
    offered = [row.code for row in usual_devices(container, float(gross.in_unit("g")), "g", last)]
    code = last if last in offered else offered[0]
    try:
        return weigh(container=container, gross=gross, device_code=code, doing=doing)
    except LabError as error:
        if error.code != "difference-to-explain":
            raise
        raise LabError(
            error.code, "{why} Say it on the bottle’s page: no card can.", why=error.message
        ) from error


def _empty(request: HttpRequest, step: Step, person: User) -> Step:
    """Record what waits, then that the bottle is empty."""
    _need_bottle(step, ACTS["EMPTY"])
    before = _record(request, step, person) if step.amounts else step
    container = find_typed(step.bottle)
    keeping.change_state(
        container=container, to=State.EMPTY, doing=Doing(by=person, reason="used up, by card")
    )
    change = container.state_changes.latest("pk")
    return Step(
        bottle=step.bottle,
        done_change=change.pk,
        key=str(uuid.uuid4()),
        said=f"{before.said} It is empty.".strip(),
        warned=before.warned,
    )


def _undo(request: HttpRequest, step: Step, person: User) -> Step:
    """Take off the last amount that waits, or take back what was just recorded."""
    if step.is_open and step.amounts:
        return replace(step, amounts=step.amounts[:-1], **CLEAN)
    if step.is_open and step.prior_seq:
        back = _undo_line(step.prior, step.prior_seq, uuid.uuid5(uuid.UUID(step.key), "undo"), person)
        return replace(step, prior="", prior_seq=0, said=f"Taken back. {back}", warned="", refused="")
    if not step.done_seq and not step.done_change:
        raise LabError(
            "nothing-to-undo",
            "Nothing was recorded here in the last minute, so there is nothing to undo. "
            "Older lines are reversed on the bottle’s page.",
        )
    key = uuid.UUID(step.key)
    if step.done_change:
        container = find_typed(step.bottle)
        change = container.state_changes.select_related("container", "by").get(pk=step.done_change)
        undone = keeping.undo_change(change=change, doing=Doing(by=person, key=key))
        return Step(said=f"Taken back: {stands_and_is(undone)}.")
    return Step(said=f"Taken back. {_undo_line(step.bottle, step.done_seq, key, person)}")


def _undo_line(bottle: str, seq: int, key: uuid.UUID, person: User) -> str:
    entry = find_typed(bottle).entries.select_related("container").get(seq=seq)
    return said_after(reversing.undo(entry=entry, doing=Doing(by=person, key=key)))


def _after(entry: Entry, person: User) -> Step:
    return Step(
        bottle=entry.container.code,
        done_seq=entry.seq,
        key=str(uuid.uuid4()),
        said=said_after(entry),
        warned=cut_into(entry.container, person) if entry.kind != Kind.WEIGHED_BACK else "",
    )


def _amount(container: Container, step: Step) -> Quantity:
    if step.amounts != (ALL,):
        return parse_quantity(step.total)
    if container.remaining <= 0:
        raise LabError("nothing-left", "By the book nothing is left in it, so “all” is nothing.")
    return parse_quantity(f"{exactly(container.remaining)} {container.unit}")


def _sum(amounts: tuple[str, ...]) -> str:
    """Add amounts up in the unit of the first; grams and millilitres do not add."""
    if amounts == (ALL,):
        return ""
    read = [parse_quantity(amount) for amount in amounts]
    first = read[0]
    if any(one.dimension != first.dimension for one in read):
        raise LabError(
            "not-alike",
            "{last} cannot be added to {first}: scan “done” first, then record the other.",
            last=amounts[-1],
            first=amounts[0],
        )
    unit = amounts[0].split()[-1]
    return f"{sum(one.in_unit(unit) for one in read):f} {unit}"


def _device(request: HttpRequest, container: Container, amount: Quantity) -> str:
    """Return the device this person used last if it suits the amount, else the handiest one."""
    unit = {"volume": "mL", "mass": "g"}.get(amount.dimension, container.unit)
    last = habit_of(request, container.unit).device
    offered = [row.code for row in usual_devices(container, float(amount.in_unit(unit)), unit, last)]
    return last if last in offered else offered[0]


def facts(container: Container) -> dict[str, Any]:
    """Return what the screen says of the bottle in hand."""
    return {
        "bottle": container,
        "left": left_words(container),
        "capacity": container.capacity / MILLION,
    }
