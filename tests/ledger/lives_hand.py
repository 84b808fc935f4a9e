"""What is at hand in a random life: the cast, the shelf, the clock, and what an act is foreseen to do."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import TypeVar

from django.db import transaction
from django.utils import timezone
from hypothesis import note
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import Container, Entry, State
from tests.builders import amount, lot, person
from tests.ledger.model import Shelf

PEOPLE = st.sampled_from(["marit", "tobias", "wren"])
STEWARD = "wren"
JUST = 1_000
# a few tenths of a unit, or just what there is, or a tenth more than there is
HOW_MUCH = st.one_of(st.integers(1, 300), st.sampled_from([JUST, JUST + 1]))
PICK = st.integers(0, 50)
DEVICE = {"mL": "cylinder-50-b", "g": "balance-0.01g", "piece": "counted"}
TENTH = 100_000
MOST = 6


def chips() -> Container:
    """Receive thirty boiling chips: counted, not measured."""
    arrival = Arrival(
        unit="piece", capacity=amount("60 pieces"), amount=amount("30 pieces"), lot=lot({"name": "boiling chips"}),
        received_on=date(2026, 9, 3),
    )  # fmt: skip
    return receive(arrival=arrival, doing=Doing(by=person(STEWARD)))


Result = TypeVar("Result")


def tried(act: Callable[[], Result]) -> tuple[Result | None, str]:
    """Do an act; return what it gave, or the words it was refused with."""
    try:
        return act(), ""
    except LabError as refusal:
        assert len(refusal.message) > 30  # noqa: PT017  # every refusal explains itself
        return None, refusal.message


class AtHand(RuleBasedStateMachine):
    """What every act needs; the clock starts a month ago and moves on."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.shelf = Shelf()
        self.cast: dict[str, User] = {}
        self.at = timezone.now() - timedelta(days=30)
        self.steps = 0
        self.last: tuple[Callable[[], Entry], int] | None = None

    def leave(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    def person(self, who: str) -> User:
        """Return one of the cast, asked of the database once in a life."""
        if who not in self.cast:
            self.cast[who] = person(who)
        return self.cast[who]

    def bottle(self, pick: int) -> Container:
        keys = sorted(self.shelf.bottles)
        return Container.objects.get(pk=keys[pick % len(keys)])

    def doing(self, who: str, reason: str = "as it happened") -> Doing:
        return Doing(by=self.person(who), at=self.at, reason=reason)

    def amount_of(self, bottle: Container, tenths: int, there: int | None = None) -> tuple[str, int]:
        """Return what a person types, and what it is in millionths; `there` is what "just all" means."""
        step = 10 * TENTH if bottle.unit == "piece" else TENTH
        if tenths < JUST:
            much = tenths * TENTH // step * step + (step if bottle.unit == "piece" else 0)
        else:
            there = self.shelf.bottles[bottle.pk].left if there is None else there
            much = max(there, step) + (tenths - JUST) * step
        return f"{Decimal(much) / 1_000_000:f} {bottle.unit}", much

    def does(self, act: Callable[[], Entry], *, refused_if: bool) -> Entry | None:
        """Do an act that the model foresees: done, or refused in words."""
        note(f"foreseen: {'refusal' if refused_if else 'done'}")
        entry, refusal = tried(act)
        assert bool(refusal) == refused_if, refusal or "done, and should have been refused"
        if entry is not None:
            self.last = (act, entry.pk)
        return entry

    def is_closed_to_use(self, bottle: Container) -> bool:
        return self.shelf.bottles[bottle.pk].state not in (State.IN_USE, State.NOT_SEEN)

    def touched(self, bottle: Container, by: int) -> None:
        """Write a line in the model; a bottle in somebody's hand is seen."""
        self.shelf.change(bottle.pk, by)
        if self.shelf.bottles[bottle.pk].state == State.NOT_SEEN:
            self.shelf.bottles[bottle.pk].state = State.IN_USE
