"""A machine that lives the life of a shelf: several people, any order of acts, each checked against the model."""

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, TypeVar

from django.db import transaction
from django.utils import timezone
from hypothesis import note
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.actions import counting, keeping, ledger, reservations, reversing, transferring, weighing
from labstock.stock.actions.ledger import LOSSES
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import Container, Entry, Kind, Reservation, Session, State
from labstock.stock.models.container import MOVES
from labstock.stock.models.ledger import TAKES_OUT
from labstock.stock.queries import availability, find_other_leg, holds_on, running_hold
from labstock.stock.verifying import find_faults
from tests.builders import ACETANILIDE, ANHYDRIDE, amount, container, hood, lot, person
from tests.ledger.model import Bottle, Promise, Shelf

PEOPLE = st.sampled_from(["marit", "tobias", "wren"])
STEWARD = "wren"
JUST = 1_000
# a few tenths of a unit, or just what there is, or a tenth more than there is
HOW_MUCH = st.one_of(st.integers(1, 300), st.sampled_from([JUST, JUST + 1]))
PICK = st.integers(0, 50)
DEVICE = {"mL": "cylinder-50-b", "g": "balance-0.01g", "piece": "counted"}
TENTH = 100_000
MOST = 5


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


class Lives(RuleBasedStateMachine):
    """Acts on three kinds of container; the clock starts a month ago and moves on."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.shelf = Shelf()
        self.cast: dict[str, User] = {}
        self.at = timezone.now() - timedelta(days=30)
        self.steps = 0
        self.last: tuple[Callable[[], Entry], int] | None = None

    def teardown(self) -> None:
        """Verify all of it once more and leave the database as it was found."""
        try:
            self.verify()
        finally:
            self.leave()

    def leave(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    # ------------------------------------------------------------ what is at hand

    def person(self, who: str) -> User:
        """Return one of the cast, asked of the database once in a life."""
        if who not in self.cast:
            self.cast[who] = person(who)
        return self.cast[who]

    @initialize()
    def stock_the_shelf(self) -> None:
        """Receive three bottles and plan a session for two people."""
        for made in (
            container({**ANHYDRIDE}, "100 mL", gross="286.40 g"),
            container({**ACETANILIDE}, "50 g"),
            chips(),
        ):
            self.shelf.bottles[made.pk] = Bottle(made.remaining, made.heel)
        for who in ("marit", "tobias"):
            self.plan_a_session_of(who, -1, 20)

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

    # ------------------------------------------------------------ acts at a container

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
        doing = self.doing(who)
        absurd = bottle.received - gone
        if self.is_closed_to_use(bottle) or absurd < 3_000_000 or absurd > 98_000_000:
            return
        entry = self.does(
            lambda: weighing.weigh(
                container=bottle, gross=amount(gross), device_code="balance-0.01g", doing=doing
            ),
            refused_if=False,
        )
        between = sorted([bottle.remaining, bottle.remaining - off_by * TENTH])
        assert between[0] - 20_000 <= entry.after <= between[1] + 20_000
        self.touched(bottle, entry.change)

    @rule(pick=PICK, who=PEOPLE, tenths=st.integers(0, 700), says_why=st.booleans())
    def count(self, pick: int, who: str, tenths: int, says_why: bool) -> None:
        bottle = self.bottle(pick)
        found = f"{tenths // 10} pieces" if bottle.unit == "piece" else f"{tenths / 10} {bottle.unit}"
        doing = self.doing(who, reason="two were broken" if says_why else "")
        mine = self.shelf.bottles[bottle.pk]
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
        assert min(mine.left, seen) - 1 <= entry.after <= max(mine.left, seen) + 1
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

    @rule(pick=PICK, other=PICK, who=PEOPLE, tenths=HOW_MUCH)
    def pour_together(self, pick: int, other: int, who: str, tenths: int) -> None:
        bottle, target = self.bottle(pick), self.bottle(other)
        typed, much = self.amount_of(bottle, tenths)
        mine, its = self.shelf.bottles[bottle.pk], self.shelf.bottles[target.pk]
        doing = self.doing(who)
        refused = (
            bottle.pk == target.pk
            or bottle.lot_id != target.lot_id
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

    # ------------------------------------------------------------ second thoughts

    def legs(self, entry: Entry) -> list[Entry]:
        other = find_other_leg(entry)
        assert (other is None) == (entry.kind not in (Kind.TRANSFERRED_IN, Kind.TRANSFERRED_OUT))
        return [entry] if other is None else [entry, other]

    def stays(self, entry: Entry) -> bool:
        """Say whether a line cannot be cancelled."""
        mine = self.shelf.bottles[entry.container_id]
        return (
            entry.kind == Kind.REVERSED
            or Entry.objects.filter(reverses=entry).exists()
            or (mine.state == State.DISPOSED and entry.kind != Kind.DISPOSED)
            or mine.left - entry.change < 0
        )

    @rule(back=st.one_of(st.integers(0, 3), st.integers(0, 400)), who=PEOPLE)
    def reverse(self, back: int, who: str) -> None:
        entries = Entry.objects.order_by("-id").select_related("container", "reservation", "by")
        self.cancels(entries[back % entries.count()], who)

    @rule()
    def think_better_of_the_last_line(self) -> None:
        entry = Entry.objects.order_by("-id").select_related("container", "reservation", "by")[0]
        self.cancels(entry, entry.by.username)

    def cancels(self, entry: Entry, who: str) -> None:
        legs = self.legs(entry)
        refused = (entry.by != self.person(who) and who != STEWARD) or any(map(self.stays, legs))
        doing = self.doing(who)
        if self.does(lambda: reversing.reverse(entry=entry, doing=doing), refused_if=refused):
            for leg in legs:
                self.shelf.change(leg.container_id, -leg.change)
                if leg.kind == Kind.DISPOSED:
                    now = Container.objects.get(pk=leg.container_id).state
                    assert now != State.DISPOSED
                    self.shelf.bottles[leg.container_id].state = now
            if entry.reservation is not None and entry.kind in TAKES_OUT:
                self.shelf.promises[entry.reservation.pk].left -= entry.change

    @precondition(lambda self: self.last is not None)
    @rule()
    def send_the_last_form_again(self) -> None:
        assert self.last is not None
        act, pk = self.last
        lines = Entry.objects.count()
        assert act().pk == pk
        assert Entry.objects.count() == lines

    # ------------------------------------------------------------ promises

    @precondition(lambda self: sum(end > self.at for end in self.shelf.ends.values()) < 3)
    @rule(who=PEOPLE, begins=st.integers(-1, 3), hours=st.integers(2, 30))
    def plan_a_session(self, who: str, begins: int, hours: int) -> None:
        self.plan_a_session_of(who, begins, hours)

    def plan_a_session_of(self, who: str, begins: int, hours: int) -> None:
        start = self.at + timedelta(hours=begins)
        made = reservations.plan_session(
            title="Acetanilide", owner=self.person(who), place=hood(), at=self.at,
            starts_at=start, ends_at=start + timedelta(hours=hours),
        )  # fmt: skip
        self.shelf.ends[made.pk] = made.ends_at

    def session(self, pick: int) -> Session:
        keys = sorted(self.shelf.ends)[-MOST:]
        return Session.objects.select_related("owner").get(pk=keys[pick % len(keys)])

    @precondition(lambda self: self.shelf.ends)
    @rule(which=PICK, wants=st.lists(st.tuples(PICK, HOW_MUCH), min_size=1, max_size=3), who=PEOPLE)
    def reserve(self, which: int, wants: list[tuple[int, int]], who: str) -> None:
        session, key = self.session(which), uuid.uuid4()
        asked = []
        for pick, tenths in wants:
            bottle = self.bottle(pick)
            free_now = self.shelf.free(bottle.pk, self.at)
            asked.append((bottle, self.amount_of(bottle, tenths, free_now)[1]))
        free = {bottle.pk: self.shelf.free(bottle.pk, self.at) for bottle, _ in asked}
        fits = True
        for bottle, much in asked:
            free[bottle.pk] -= much
            fits &= free[bottle.pk] >= 0 and self.shelf.bottles[bottle.pk].state == State.IN_USE
        may = session.owner == self.person(who) or who == STEWARD
        open_ = session.cancelled_at is None and session.ends_at > self.at

        def act() -> list[Reservation]:
            want = [reservations.Want(bottle, much) for bottle, much in asked]
            return reservations.reserve(session=session, wants=want, by=self.person(who), at=self.at, key=key)

        made, refusal = tried(act)
        assert bool(refusal) != (fits and may and open_), refusal
        if made is None:
            return
        assert {row.pk for row in act()} == {row.pk for row in made}  # sent again
        for row in made:
            self.shelf.promises[row.pk] = Promise(row.container_id, session.pk, row.amount)

    @rule(which=PICK, pick=PICK, over=st.integers(0, 1))
    def reserve_the_rest(self, which: int, pick: int, over: int) -> None:
        session, bottle, key = self.session(which), self.bottle(pick), uuid.uuid4()
        much = max(self.shelf.free(bottle.pk, self.at), 0) + over * TENTH
        refused = (
            over > 0
            or much <= 0
            or session.cancelled_at is not None
            or session.ends_at <= self.at
            or self.shelf.bottles[bottle.pk].state != State.IN_USE
        )
        want = [reservations.Want(bottle, much)]
        made, refusal = tried(
            lambda: reservations.reserve(session=session, by=session.owner, at=self.at, key=key, wants=want)
        )
        assert bool(refusal) == refused, refusal
        for row in made or []:
            self.shelf.promises[row.pk] = Promise(bottle.pk, session.pk, much)

    @precondition(lambda self: self.shelf.promises)
    @rule(pick=PICK, who=PEOPLE)
    def release(self, pick: int, who: str) -> None:
        keys = sorted(self.shelf.promises)[-MOST:]
        row = Reservation.objects.select_related("session__owner").get(pk=keys[pick % len(keys)])
        mine = self.shelf.promises[row.pk]
        may = row.session.owner == self.person(who) or who == STEWARD
        _, refusal = tried(lambda: reservations.release(reservation=row, by=self.person(who), at=self.at))
        assert bool(refusal) == (not may or not mine.is_held or mine.left <= 0)
        if not refusal:
            mine.is_held = False

    @precondition(lambda self: self.shelf.promises)
    @rule(pick=PICK, parts=st.integers(1, 2), thinks_better=st.booleans())
    def draw_what_is_held(self, pick: int, parts: int, thinks_better: bool) -> None:
        keys = sorted(self.shelf.promises)[-MOST:]
        row = Reservation.objects.select_related("session__owner", "container").get(pk=keys[pick % len(keys)])
        mine, bottle = self.shelf.promises[row.pk], row.container
        much, doing = mine.left // parts, self.doing(row.session.owner.username)
        if running_hold(bottle, row.session.owner, self.at) != row or much <= 0 or bottle.unit == "piece":
            return
        typed = f"{Decimal(much) / 1_000_000:f} {bottle.unit}"
        entry = self.does(
            lambda: ledger.draw(
                container=bottle,
                amount=amount(typed),
                device_code=DEVICE[bottle.unit],
                doing=doing,
                reservation=row,
            ),
            refused_if=self.is_closed_to_use(bottle) or much > self.shelf.bottles[bottle.pk].left,
        )
        if entry is None:
            return
        self.touched(bottle, -much)
        mine.left -= much
        if thinks_better:
            self.cancels(entry, row.session.owner.username)

    @precondition(lambda self: self.shelf.ends)
    @rule(which=PICK, who=PEOPLE)
    def call_a_session_off(self, which: int, who: str) -> None:
        session = self.session(which)
        may = session.owner == self.person(who) or who == STEWARD
        over = session.cancelled_at is None and session.ends_at <= self.at
        _, refusal = tried(
            lambda: reservations.cancel_session(session=session, by=self.person(who), at=self.at)
        )
        assert bool(refusal) == (not may or over)
        if not refusal:
            self.shelf.let_go(session=session.pk)

    @rule(hours=st.integers(1, 6), tells=st.booleans())
    def time_passes(self, hours: int, tells: bool) -> None:
        self.at = min(self.at + timedelta(hours=hours), timezone.now())
        if tells:
            reservations.lapse_due(at=self.at)
            for row in self.shelf.promises.values():
                row.is_held &= self.shelf.ends[row.session] > self.at or row.left <= 0

    # ------------------------------------------------------------ what always holds

    @invariant()
    def book_lines_and_model_agree(self) -> None:
        for pk, mine in self.shelf.bottles.items():
            bottle = Container.objects.get(pk=pk)
            lines = list(bottle.entries.order_by("seq"))
            assert [line.seq for line in lines] == list(range(1, mine.lines + 1))
            assert bottle.remaining == sum(line.change for line in lines) == mine.left
            assert min(line.after for line in lines) >= 0
            assert [line.previous_hash for line in lines] == ["", *(line.digest() for line in lines[:-1])]
            assert bottle.last_hash == lines[-1].digest() == lines[-1].hash
            assert bottle.state == mine.state
            self.what_is_free_is_book_less_heel_less_promises(bottle)

    def what_is_free_is_book_less_heel_less_promises(self, bottle: Container) -> None:
        mine, held = self.shelf.bottles[bottle.pk], self.shelf.held(bottle.pk, self.at)
        seen = availability(bottle, self.person("marit"), holds=holds_on(bottle, self.at))
        assert round((seen.held_by_others + seen.held_for_you) * 1_000_000) == held
        assert round(seen.free * 1_000_000) == max(mine.left - mine.heel - held, 0)

    @invariant()
    def the_whole_house_verifies(self) -> None:
        self.steps += 1
        if self.steps % 5 == 0:
            self.verify()

    def verify(self) -> None:
        assert [str(fault) for fault in find_faults()] == []
