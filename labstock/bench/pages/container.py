"""Everything one container's page shows, gathered in a few queries."""

import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Prefetch
from django.urls import reverse
from django.utils import timezone

from batches.models import BatchLine
from labstock.bench.forms import UseForm
from labstock.bench.memory import Habit
from labstock.bench.pages.amounts import decimals_of, plain, rounded_down, tied
from labstock.bench.pages.answer import Answer, answer_for
from labstock.bench.pages.dates import Dates, dates_of
from labstock.bench.pages.ledger import Ledger, ledger_of
from labstock.bench.pages.record import Record, can_record, new_form, record_of
from labstock.bench.pages.strength import Strength, strength_of
from labstock.bench.pages.substance import About, about
from labstock.bench.pages.threads import Threads, threads_of
from labstock.bench.pages.trouble import Troubles, troubles_of
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.keeping import may_be_undone
from labstock.stock.actions.reversing import UNDO_SECONDS
from labstock.stock.alike import Name, alike
from labstock.stock.models import Container, Reservation, State, StateChange
from labstock.stock.models.container import MILLION
from labstock.stock.opening import opening_note
from labstock.stock.queries import Availability, availability, holds_on
from labstock.stock.signs import TAKEN_BACK


@dataclass(frozen=True)
class HoldRow:
    """One promise, as the reader sees it."""

    hold: Reservation
    is_yours: bool
    left: str
    drawn: str
    batch: str
    is_running: bool
    may_let_go: bool


@dataclass(frozen=True)
class Undo:
    """What one tap still takes back, and until when."""

    url: str
    words: str
    until: datetime


@dataclass(frozen=True)
class ContainerPage:
    """One container, as one person sees it now."""

    container: Container
    left: Availability
    sure: str
    usable: str
    heel: str
    held: str
    answer: Answer
    record: Record | None
    ledger: Ledger
    holds: tuple[HoldRow, ...]
    held_in_all: str
    dates: Dates
    strength: Strength
    about: About
    threads: Threads
    trouble: Troubles
    changes: tuple[StateChange, ...]
    head: str
    undo_key: uuid.UUID
    undos: tuple[Undo, ...]
    opening: str
    alike: tuple[Name, ...]

    @property
    def capacity(self) -> float:
        """Return the size [container's unit]."""
        return self.container.capacity / MILLION

    @property
    def book(self) -> tuple[float, float]:
        """Return the book amount with its standard uncertainty [container's unit]."""
        return self.left.book, self.left.u

    @property
    def held_note(self) -> str:
        """Return how many hold how much."""
        many = f"{len(self.holds)} sessions" if len(self.holds) > 1 else "One session"
        return f"{many}, {tied(self.held_in_all, self.container.unit)}"

    @property
    def may_find_more(self) -> bool:
        """Say whether more can be found in it: a blocked or closed container is not measured."""
        return self.container.state in (State.IN_USE, State.NOT_SEEN, State.EMPTY)

    @property
    def state_link(self) -> str:
        """Name the way to the page where its state is changed."""
        return {State.IN_USE: "Empty, not seen, block", State.BLOCKED: "Free it"}.get(
            State(self.container.state), "It is here after all"
        )


def container_page(
    container: Container,
    person: User,
    habit: Habit,
    *,
    form: UseForm | None = None,
    refusal: LabError | None = None,
    now: datetime | None = None,
    all_lines: bool = False,
) -> ContainerPage:
    """Gather the page; a refused form comes back with what was typed."""
    now = now or timezone.now()
    today = timezone.localdate(now)
    holds = list(holds_on(container, now).prefetch_related(_plan_lines()))
    left = availability(container, person, holds=holds)
    dates, strength = dates_of(container, today), strength_of(container, today)
    trouble = troubles_of(container)
    decimals = decimals_of(container)
    changes = tuple(container.state_changes.select_related("by").order_by("-id")[:4])
    ledger = ledger_of(container, person, left, holds, now=now, all_lines=all_lines)
    record = None
    if may(person, Act.DRAW) and (can_record(container) or form is not None):
        running = _running(holds, person, now)
        record = record_of(
            container, form or new_form(container, person, running, habit), running, habit, refusal
        )
    return ContainerPage(
        container=container,
        left=left,
        sure=rounded_down(left.sure, decimals),
        usable=plain(left.usable, decimals),
        heel=plain(-left.heel, decimals),
        held=plain(-left.held_by_others, decimals),
        answer=answer_for(container, left, dates, strength, trouble),
        record=record,
        ledger=ledger,
        holds=tuple(_hold_row(hold, person, now, decimals) for hold in holds),
        held_in_all=plain(sum(hold.left for hold in holds) / MILLION, decimals),
        dates=dates,
        strength=strength,
        about=about(container),
        threads=threads_of(container),
        trouble=trouble,
        changes=changes,
        head=" ".join(container.last_hash[i : i + 4] for i in range(0, 12, 4)),
        undo_key=uuid.uuid4(),
        opening=opening_note(container),
        alike=tuple(alike(container)),
        undos=tuple(_undos(container, ledger, trouble, changes, person, now)),
    )


def _undos(
    container: Container,
    ledger: Ledger,
    trouble: Troubles,
    changes: Sequence[StateChange],
    person: User,
    now: datetime,
) -> Iterator[Undo]:
    """Yield what this person recorded here within the minute: a line, a place or state, a look."""
    since, code = now - timedelta(seconds=UNDO_SECONDS), container.code
    if ledger.undoable and ledger.undo_until:
        seq = ledger.undoable.seq
        yield Undo(reverse("entry-undo", args=[code, seq]), f"Undo line {seq}", ledger.undo_until)
    newest = changes[0] if changes else None
    if newest and newest.by_id == person.pk and newest.at > since and may_be_undone(newest):
        words = "Undo the move" if newest.what == "moved" else f"Undo “{newest.after}”"
        yield Undo(
            reverse("change-undo", args=[code, newest.pk]), words, newest.at + timedelta(seconds=UNDO_SECONDS)
        )
    look = trouble.last
    if look and look.by_id == person.pk and look.at > since and not look.words.startswith(TAKEN_BACK):
        yield Undo(
            reverse("look-undo", args=[code]), "Undo the look", look.at + timedelta(seconds=UNDO_SECONDS)
        )


def _plan_lines() -> Prefetch:
    return Prefetch("plan_lines", BatchLine.objects.select_related("batch"))


def _running(holds: Sequence[Reservation], person: User, now: datetime) -> Reservation | None:
    """Pick the hold a draw would count against, as `queries.running_hold` does."""
    yours = [hold for hold in holds if hold.session.owner_id == person.pk and hold.session.starts_at <= now]
    return min(yours, key=lambda hold: (hold.session.ends_at, hold.pk), default=None)


def _hold_row(hold: Reservation, person: User, now: datetime, decimals: int) -> HoldRow:
    is_yours = hold.session.owner_id == person.pk
    batches = [line.batch.number for line in hold.plan_lines.all()]
    drawn = (
        f"{plain(hold.drawn / MILLION, decimals)} of {plain(hold.amount / MILLION, decimals)} already drawn"
    )
    return HoldRow(
        hold=hold,
        is_yours=is_yours,
        left=plain(hold.left / MILLION, decimals),
        drawn=drawn if hold.drawn else "",
        batch=batches[0] if batches else "",
        is_running=hold.session.starts_at <= now,
        may_let_go=(is_yours and may(person, Act.RESERVE)) or may(person, Act.CORRECT),
    )
