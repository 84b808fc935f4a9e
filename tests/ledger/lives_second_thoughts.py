"""Second thoughts in a random life: any line is cancelled, and the last form is sent again."""

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from labstock.stock.actions import reversing
from labstock.stock.found import share_left, weighings_after
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.models.ledger import TAKES_OUT
from labstock.stock.queries import find_other_leg
from tests.ledger.lives_hand import (
    PEOPLE,
    STEWARD,
    AtHand,
)


class SecondThoughts(AtHand):
    """Reversals, whatever came after the line."""

    def legs(self, entry: Entry) -> list[Entry]:
        other = find_other_leg(entry)
        assert (other is None) == (entry.kind not in (Kind.TRANSFERRED_IN, Kind.TRANSFERRED_OUT))
        return [entry] if other is None else [entry, other]

    def stands(self, entry: Entry) -> int:
        """Return what weighings and counts since had put right of a line: none of it, all of it, or a part."""
        later = weighings_after(entry.container, entry.seq)
        much = round(entry.change * (1 - share_left(later)))
        assert min(0, entry.change) <= much <= max(0, entry.change)
        assert later or much == 0
        return much

    def stays(self, entry: Entry) -> bool:
        """Say whether a line cannot be cancelled."""
        mine = self.shelf.bottles[entry.container_id]
        return (
            entry.kind in (Kind.REVERSED, Kind.STANDS)
            or Entry.objects.filter(reverses=entry).exists()
            or (mine.state == State.DISPOSED and entry.kind != Kind.DISPOSED)
            or mine.left - entry.change + self.stands(entry) < 0
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
        doing, stands = self.doing(who), [self.stands(leg) for leg in legs]
        if self.does(lambda: reversing.reverse(entry=entry, doing=doing), refused_if=refused):
            for leg, much in zip(legs, stands, strict=True):
                self.shelf.change(leg.container_id, -leg.change)
                if much:
                    self.shelf.change(leg.container_id, much)
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
