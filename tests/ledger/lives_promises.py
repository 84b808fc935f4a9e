"""Sessions and promises in a random life."""

import uuid
from datetime import timedelta
from decimal import Decimal

from django.utils import timezone
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from labstock.stock.actions import ledger, reservations
from labstock.stock.models import Reservation, Session, State
from labstock.stock.queries import running_hold
from tests.builders import amount, hood
from tests.ledger.lives_hand import (
    DEVICE,
    HOW_MUCH,
    MOST,
    PEOPLE,
    PICK,
    STEWARD,
    TENTH,
    tried,
)
from tests.ledger.lives_second_thoughts import SecondThoughts
from tests.ledger.model import Promise


class Promises(SecondThoughts):
    """Planning, holding, drawing what is held, letting go."""

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
