"""A stock check in a random life: blind counts by several people, and causes given for what does not fit."""

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from labstock.stock.actions import checking, counting
from labstock.stock.models import CheckCount, CheckSettled, Container, Entry, State, StockCheck
from tests.builders import amount
from tests.ledger.lives_hand import DEVICE, PEOPLE, PICK, AtHand, tried

CAUSES = st.sampled_from(["", "spilt, nobody wrote it down", "not found out"])


class BlindCounts(AtHand):
    """Counting without knowing the book, by anybody, as often as they like."""

    check: StockCheck

    def begin_a_check(self) -> None:
        bottles = [Container.objects.get(pk=pk) for pk in self.shelf.bottles]
        self.check = checking.start_list(containers=bottles, title="the shelf", doing=self.doing("wren"))

    @rule(pick=PICK, who=PEOPLE, tenths=st.one_of(st.none(), st.integers(0, 700)))
    def count_blind(self, pick: int, who: str, tenths: int | None) -> None:
        bottle, doing = self.bottle(pick), self.doing(who)
        mine = self.shelf.bottles[bottle.pk]
        typed, seen = self.amount_of(bottle, tenths if tenths is not None else max(mine.left // 100_000, 1))
        likely = mine.left - round(bottle.doubt_at(self.at).drift * 1_000_000)
        first = not self.check.findings.filter(container=bottle).exists()
        count, refusal = tried(
            lambda: counting.count_blind(
                stock_check=self.check, container=bottle, found=amount(typed), device_code=DEVICE[bottle.unit],
                is_gross=False, doing=doing,
            )
        )  # fmt: skip
        if count is None:
            assert mine.state == State.DISPOSED or "cannot be in" in refusal
            return
        assert mine.state != State.DISPOSED
        assert (count.amount, count.book) == (seen, mine.left)
        if first and mine.state == State.NOT_SEEN:
            mine.state = Container.objects.get(pk=bottle.pk).state
            assert mine.state in (State.IN_USE, State.BLOCKED)
        settled = CheckSettled.objects.filter(count=count).select_related("entry").first()
        if settled is not None:
            after = settled.entry.after
            assert min(likely, seen) - 1 <= after <= max(likely, seen) + 1
            self.has_changed(bottle, settled.entry)

    @precondition(lambda self: CheckCount.objects.filter(settled=None).exists())
    @rule(back=st.integers(0, 5), who=PEOPLE, cause=CAUSES)
    def explain(self, back: int, who: str, cause: str) -> None:
        waiting = CheckCount.objects.filter(settled=None).select_related("container").order_by("-pk")
        count, doing = waiting[back % waiting.count()], self.doing(who)
        mine = self.shelf.bottles[count.container_id]
        newer = CheckCount.objects.filter(container=count.container, pk__gt=count.pk).exists()
        after = mine.left + count.amount - count.book
        settled, refusal = tried(lambda: counting.explain(count=count, cause=cause, doing=doing))
        if settled is None:
            foreseen = not cause or newer or mine.state == State.DISPOSED or after < 0
            assert foreseen or "Since" in refusal
            return
        assert cause
        assert not newer
        assert mine.state != State.DISPOSED
        assert settled.entry.after == after
        self.has_changed(count.container, settled.entry)

    def has_changed(self, bottle: Container, entry: Entry) -> None:
        """Follow the line that a count made; a bottle that was empty and is not is in use again."""
        self.touched(bottle, entry.change)
        mine = self.shelf.bottles[bottle.pk]
        if mine.state == State.EMPTY and entry.after > 0:
            mine.state = State.IN_USE
