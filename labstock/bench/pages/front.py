"""What the front page gathers: today's sessions, what needs a look, what was just recorded."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils import timezone

from labstock.bench.pages.after import said_after
from labstock.bench.pages.differences import open_differences
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.reversing import UNDO_SECONDS
from labstock.stock.models import (
    Container,
    Entry,
    HoldState,
    Reservation,
    ReservationEvent,
    Session,
    State,
    StockCheck,
)
from labstock.stock.queries import sessions_on
from labstock.stock.queries_checks import open_checks

MOST_ROWS = 6
MOST_CHECKS = 3
DAYS_AHEAD = 14


@dataclass(frozen=True)
class SessionRow:
    """One session of today with the amounts still held for it."""

    session: Session
    holds: tuple[Reservation, ...]
    is_yours: bool
    when: str

    @property
    def from_to(self) -> str:
        """Return the hours of the day it takes; a day that is not today is named."""
        first, last = timezone.localtime(self.session.starts_at), timezone.localtime(self.session.ends_at)
        end = f"{last:%H:%M}" if last.date() == first.date() else f"{last:%a %H:%M}"
        return f"{first:%H:%M} – {end}"


@dataclass(frozen=True)
class LookRow:
    """One container that somebody should look at, and why."""

    container: Container
    sign: str
    what: str
    why: str


@dataclass(frozen=True)
class RecordedRow:
    """One fresh ledger line."""

    entry: Entry
    said: str
    is_yours: bool
    can_undo: bool
    for_whom: str
    undo_key: uuid.UUID


@dataclass(frozen=True)
class FrontPage:
    """Everything on the front page."""

    now: datetime
    sessions: Sequence[SessionRow]
    look: Sequence[LookRow]
    recorded: Sequence[RecordedRow]
    lapsed: Sequence[ReservationEvent]
    differences: int
    checks: Sequence[StockCheck]

    @property
    def yours(self) -> int:
        """Return how many of today's sessions are the reader's."""
        return sum(row.is_yours for row in self.sessions)


def front_page(person: User, now: datetime) -> FrontPage:
    """Gather the front page for one person."""
    return FrontPage(
        now,
        _sessions(person, now),
        _needs_a_look(timezone.localdate(now)),
        _recorded(person, now),
        _lapsed(person, now),
        open_differences(person).count() if may(person, Act.DRAW) else 0,
        list(open_checks()[:MOST_CHECKS]) if may(person, Act.COUNT) else [],
    )


def _sessions(person: User, now: datetime) -> list[SessionRow]:
    midnight = timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)
    rows = sessions_on(midnight, midnight + timedelta(days=1))
    return [
        SessionRow(
            session,
            tuple(hold for hold in session.reservations.all() if hold.state == HoldState.HELD and hold.left),
            session.owner_id == person.pk,
            _when(session, now),
        )
        for session in rows
    ]


def _when(session: Session, now: datetime) -> str:
    if session.ends_at <= now:
        return "over"
    if session.starts_at <= now:
        return "running"
    minutes = int((session.starts_at - now).total_seconds() // 60)
    return f"in {minutes} min" if minutes < 90 else ""


def _needs_a_look(today: date) -> list[LookRow]:
    """Return the worst first: dates that are over, bottles in doubt, dates that come, bottles not seen."""
    soon = today + timedelta(days=DAYS_AHEAD)
    rows = Container.objects.select_related("substance", "lot", "location").order_by("ends_on", "pk")
    # three questions, each answered by the index over state and end; one with OR or IN would read the whole stock
    due = rows.filter(state=State.IN_USE, ends_on__lte=soon, remaining__gt=0)[: 2 * MOST_ROWS]
    blocked, not_seen = (
        rows.filter(state=state)[: 2 * MOST_ROWS] for state in (State.BLOCKED, State.NOT_SEEN)
    )
    found = [_look(container, today) for container in (*due, *blocked, *not_seen)]
    order = {"stop": 0, "ask": 1, "caution": 2, "away": 3}
    return sorted(found, key=lambda row: order[row.sign])[:MOST_ROWS]


def _look(container: Container, today: date) -> LookRow:
    if container.state == State.BLOCKED:
        return LookRow(container, "ask", "Blocked.", sentence(container.state_because))
    if container.state == State.NOT_SEEN:
        return LookRow(
            container,
            "away",
            "Not seen.",
            f"{sentence(container.state_because)} Not the same as gone: it stays on the list.",
        )
    end = container.ends_on or today
    is_retest = bool(container.lot and container.lot.retest_on == end)
    what = "Retest" if is_retest else "Expiry"
    if end < today:
        days = (today - end).days
        sign = "stop" if container.substance and container.substance.is_peroxide_former else "caution"
        advice = "Do not distil or evaporate it before a test. " if sign == "stop" else ""
        crystals = (
            "Crystals at the cap: leave it, do not move it."
            if sign == "stop"
            else "Take another, or have it tested."
        )
        return LookRow(
            container, sign, f"{what} fell due {end:%a %d %b}, {days} days ago.", advice + crystals
        )
    return LookRow(
        container,
        "caution",
        f"{what} falls due {end:%a %d %b}.",
        "A pass moves the retest; nothing moves the expiry." if is_retest else "Plan to use it up.",
    )


def sentence(words: str) -> str:
    """Make a person's few words a sentence."""
    words = words.strip()
    return f"{words[:1].upper()}{words[1:].rstrip('.')}." if words else ""


def _recorded(person: User, now: datetime) -> list[RecordedRow]:
    rows = (
        Entry.objects.filter(recorded_at__lte=now + timedelta(minutes=1))
        .select_related("container__substance", "container__lot", "by", "for_person", "reverses")
        .order_by("-recorded_at", "-id")[:MOST_ROWS]
    )
    newest = list(rows)
    undone = set(Entry.objects.filter(reverses__in=newest).values_list("reverses_id", flat=True))
    return [
        RecordedRow(
            entry,
            said_after(entry),
            entry.by_id == person.pk,
            entry.by_id == person.pk
            and entry.pk not in undone
            and entry.reverses_id is None
            and (now - entry.recorded_at).total_seconds() < UNDO_SECONDS,
            "you" if entry.for_person_id == person.pk else str(entry.for_person or ""),
            uuid.uuid4(),
        )
        for entry in newest
    ]


def _lapsed(person: User, now: datetime) -> list[ReservationEvent]:
    """Return what lapsed unused for this person in the last day: it says so instead of vanishing."""
    return list(
        ReservationEvent.objects.filter(
            what=HoldState.LAPSED.label,
            amount__gt=0,
            at__gt=now - timedelta(days=1),
            reservation__session__owner=person,
        ).select_related("reservation__container__substance", "reservation__session")[:MOST_ROWS]
    )
