"""A machine that lives the life of a shelf: several people, any order of acts, each checked against the model."""

from django.utils import timezone
from hypothesis.stateful import initialize, invariant

from labstock.chemistry.remaining import Band
from labstock.stock.models import Container, Entry
from labstock.stock.queries import availability, holds_on
from labstock.stock.verifying import find_faults
from tests.builders import ACETANILIDE, ANHYDRIDE, container
from tests.ledger.lives_acts import Acts
from tests.ledger.lives_checks import BlindCounts
from tests.ledger.lives_hand import (
    chips,
)
from tests.ledger.lives_promises import Promises
from tests.ledger.model import Bottle


class Lives(Acts, BlindCounts, Promises):
    """Acts on four containers of three kinds, second thoughts about them, and what always holds."""

    def teardown(self) -> None:
        """Verify all of it once more and leave the database as it was found."""
        try:
            self.verify()
        finally:
            self.leave()

    @initialize()
    def stock_the_shelf(self) -> None:
        """Receive two lots of a liquid that evaporates, a solid and pieces, and plan a session for two people."""
        volatile = {**ANHYDRIDE, "name": "a volatile liquid", "cas": "", "boiling_point_celsius": 40.0}
        for made in (
            container(volatile, "100 mL", gross="286.40 g", at=self.at),
            container(volatile, "60 mL", at=self.at),
            container({**ACETANILIDE}, "50 g", at=self.at),
            chips(),
        ):
            self.shelf.bottles[made.pk] = Bottle(made.remaining, made.heel)
        self.begin_a_check()
        for who in ("marit", "tobias"):
            self.plan_a_session_of(who, -1, 20)

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
            self.doubt_is_that_of_the_last_line_and_grows(bottle, lines[-1])
            self.what_is_free_is_book_less_heel_less_promises(bottle)

    def doubt_is_that_of_the_last_line_and_grows(self, bottle: Container, last: Entry) -> None:
        kept, now, later = (
            Band.from_json(bottle.band),
            bottle.doubt_at(self.at),
            bottle.doubt_at(timezone.now()),
        )
        assert last.u_after == round(kept.u * 1_000_000)
        assert 0 <= kept.drift <= now.drift <= later.drift <= bottle.remaining / 1_000_000
        assert kept.spread <= now.spread * (1 + 1e-9) <= later.spread * (1 + 2e-9)

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
