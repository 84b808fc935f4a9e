"""Acts at a container in a random life."""

from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from labstock.stock.actions import counting, keeping, ledger, transferring, weighing
from labstock.stock.actions.ledger import LOSSES
from labstock.stock.models import Entry, Kind, State
from labstock.stock.models.container import MOVES
from labstock.stock.queries import running_hold
from tests.builders import amount
from tests.ledger.lives_hand import (
    DEVICE,
    HOW_MUCH,
    MOST,
    PEOPLE,
    PICK,
    STEWARD,
    TENTH,
    AtHand,
    tried,
)
from tests.ledger.model import Bottle


class Acts(AtHand):
    """Taking, pouring, weighing, counting, and saying what state it is in."""

    @rule(pick=PICK, who=PEOPLE, tenths=HOW_MUCH, kind=st.sampled_from([Kind.DRAWN, *sorted(LOSSES)]))
    def take(self, pick: int, who: str, tenths: int, kind: Kind) -> None:
        bottle = self.bottle(pick)
        typed, much = self.amount_of(bottle, tenths)
        doing = self.doing(who)
        what: dict[str, Any] = {
            "container": bottle,
            "amount": amount(typed),
            "device_code": DEVICE[bottle.unit],
            "doing": doing,
        }
        hold = running_hold(bottle, self.person(who), self.at) if kind == Kind.DRAWN else None
        refused = self.is_closed_to_use(bottle) or much > self.shelf.bottles[bottle.pk].left
        if kind == Kind.DRAWN:
            done = self.does(lambda: ledger.draw(**what, reservation=hold), refused_if=refused)
        else:
            done = self.does(lambda: ledger.record_loss(**what, kind=kind), refused_if=refused)
        if done:
            self.touched(bottle, -much)
            if hold is not None:
                self.shelf.promises[hold.pk].left -= much

    @rule(pick=PICK, who=PEOPLE, tenths=HOW_MUCH)
    def find_more(self, pick: int, who: str, tenths: int) -> None:
        bottle = self.bottle(pick)
        typed, much = self.amount_of(bottle, tenths)
        mine, doing = self.shelf.bottles[bottle.pk], self.doing(who)
        refused = mine.state == State.DISPOSED or mine.left + much > bottle.capacity * 1.1
        if self.does(
            lambda: ledger.found_more(
                container=bottle, amount=amount(typed), device_code=DEVICE[bottle.unit], doing=doing
            ),
            refused_if=refused,
        ):
            self.touched(bottle, much)
            if mine.state == State.EMPTY:
                mine.state = State.IN_USE

    @rule(who=PEOPLE, off_by=st.integers(-60, 60))
    def weigh_back(self, who: str, off_by: int) -> None:
        bottle = self.bottle(0)
        gone = bottle.received - bottle.remaining + off_by * TENTH
        gross = f"{286.40 - gone / 1_000_000 * 1.082:.2f} g"
        doing, drift = self.doing(who), round(bottle.doubt_at(self.at).drift * 1_000_000)
        absurd = bottle.received - gone
        if self.is_closed_to_use(bottle) or absurd < 3_000_000 or absurd > 98_000_000:
            return
        entry = self.does(
            lambda: weighing.weigh(
                container=bottle, gross=amount(gross), device_code="balance-0.01g", doing=doing
            ),
            refused_if=False,
        )
        likely = bottle.remaining - drift
        between = sorted([likely, bottle.remaining - off_by * TENTH])
        assert between[0] - 20_000 <= entry.after <= between[1] + 20_000
        self.touched(bottle, entry.change)

    @rule(pick=PICK, who=PEOPLE, tenths=st.integers(0, 700), says_why=st.booleans())
    def count(self, pick: int, who: str, tenths: int, says_why: bool) -> None:
        bottle = self.bottle(pick)
        found = f"{tenths // 10} pieces" if bottle.unit == "piece" else f"{tenths / 10} {bottle.unit}"
        doing = self.doing(who, reason="two were broken" if says_why else "")
        mine = self.shelf.bottles[bottle.pk]
        likely = mine.left - round(bottle.doubt_at(self.at).drift * 1_000_000)
        entry, refusal = tried(
            lambda: counting.count(
                container=bottle, found=amount(found), device_code=DEVICE[bottle.unit], doing=doing
            )
        )
        if entry is None:
            assert not says_why or mine.state == State.DISPOSED or "cannot be in" in refusal
            return
        assert mine.state != State.DISPOSED
        seen = amount(found).millionths(bottle.unit)
        assert min(likely, seen) - 1 <= entry.after <= max(likely, seen) + 1
        self.touched(bottle, entry.change)
        if mine.state == State.EMPTY and entry.after > 0:
            mine.state = State.IN_USE

    @precondition(lambda self: len(self.shelf.bottles) < MOST)
    @rule(pick=PICK, who=PEOPLE, tenths=HOW_MUCH)
    def decant(self, pick: int, who: str, tenths: int) -> None:
        bottle = self.bottle(pick)
        typed, much = self.amount_of(bottle, tenths)
        into = transferring.Vessel(capacity=amount(f"100 {bottle.unit}"))
        doing = self.doing(who)

        def act() -> Entry:
            return transferring.decant(
                container=bottle,
                amount=amount(typed),
                device_code=DEVICE[bottle.unit],
                into=into,
                doing=doing,
            ).entries.get(seq=1)

        refused = self.is_closed_to_use(bottle) or much > self.shelf.bottles[bottle.pk].left
        if entry := self.does(act, refused_if=refused):
            self.touched(bottle, -much)
            child = entry.container
            assert (child.lot, child.substance) == (bottle.lot, bottle.substance)
            self.shelf.bottles[child.pk] = Bottle(much, child.heel)

    @rule(pick=PICK, other=PICK, who=PEOPLE, tenths=HOW_MUCH, mixes=st.booleans())
    def pour_together(self, pick: int, other: int, who: str, tenths: int, mixes: bool) -> None:
        bottle, target = self.bottle(pick), self.bottle(other)
        typed, much = self.amount_of(bottle, tenths)
        mine, its = self.shelf.bottles[bottle.pk], self.shelf.bottles[target.pk]
        doing = self.doing(who)
        refused = (
            bottle.pk == target.pk
            or (bottle.lot_id != target.lot_id and not (mixes and bottle.substance_id == target.substance_id))
            or self.is_closed_to_use(bottle)
            or its.state in (State.BLOCKED, State.DISPOSED)
            or much > mine.left
            or its.left + much > target.capacity * 1.1
        )

        def act() -> Entry:
            transferring.transfer(
                container=bottle,
                into=target,
                amount=amount(typed),
                device_code=DEVICE[bottle.unit],
                doing=doing,
                mixes=mixes,
            )
            return Entry.objects.get(key=doing.key)

        if self.does(act, refused_if=refused):
            self.touched(bottle, -much)
            self.shelf.change(target.pk, much)
            its.state = State.IN_USE

    @rule(
        pick=PICK, who=PEOPLE, frees=st.booleans(), to=st.sampled_from(sorted(set(State) - {State.DISPOSED}))
    )
    def say_state(self, pick: int, who: str, to: State, frees: bool) -> None:
        bottle = self.bottle(pick)
        mine = self.shelf.bottles[bottle.pk]
        if frees and mine.state != State.IN_USE:  # else all would soon be blocked, and nothing more happen
            who, to = STEWARD, State.IN_USE
        may = mine.state != State.BLOCKED or to == State.BLOCKED or who == STEWARD
        doing = self.doing(who)
        _, refusal = tried(lambda: keeping.change_state(container=bottle, to=State(to), doing=doing))
        if to == mine.state:
            return  # a second sending is let through, another's repetition is refused; neither changes anything
        assert bool(refusal) == (not may or to not in MOVES[mine.state])
        if not refusal:
            mine.state = to

    @rule(pick=PICK, who=PEOPLE, is_sure=st.booleans())
    def dispose(self, pick: int, who: str, is_sure: bool) -> None:
        bottle = self.bottle(pick)
        if not is_sure and who == STEWARD:
            return
        mine, doing = self.shelf.bottles[bottle.pk], self.doing(who)

        def act() -> Entry:
            keeping.dispose(container=bottle, doing=doing)
            return Entry.objects.get(key=doing.key)

        if self.does(act, refused_if=who != STEWARD or mine.state == State.DISPOSED):
            self.shelf.change(bottle.pk, -mine.left)
            mine.state = State.DISPOSED
            self.shelf.let_go(bottle=bottle.pk)
