"""What the pages of sessions show: who works where and when, and what is promised to them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Case, Count, IntegerField, Prefetch, Q, QuerySet, Value, When
from django.utils import timezone

from batches.models import Batch
from batches.pages_when import held_words, in_words
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.models import Container, HoldState, Reservation, ReservationEvent, Session
from labstock.stock.queries import sessions_on

MOST_TODAY = 40


@dataclass(frozen=True)
class SessionRow:
    """One session of today."""

    session: Session
    holds: Sequence[tuple[Container, str]]
    is_yours: bool
    state: str


@dataclass(frozen=True)
class HoldRow:
    """One promise with what became of it."""

    hold: Reservation
    amount: str
    drawn: str
    left: str
    state: str
    batch: Batch | None
    events: Sequence[ReservationEvent]
    may_let_go: bool


@dataclass(frozen=True)
class SessionPage:
    """One session, as one person sees it now."""

    session: Session
    batches: Sequence[Batch]
    holds: Sequence[HoldRow]
    sign: str
    word: str
    why: str
    is_yours: bool
    may_change: bool


def state_of(session: Session, now: datetime) -> str:
    """Return where a session stands: to come, running, over or cancelled."""
    if session.cancelled_at is not None:
        return "cancelled"
    if session.ends_at <= now:
        return "over"
    return "running" if session.starts_at <= now else "to come"


def today_rows(person: User, now: datetime) -> list[SessionRow]:
    """Return the sessions of today, the person's own first."""
    midnight = _midnight(now)
    rows = [
        SessionRow(
            session,
            [(hold.container, held_words(hold.left, hold.container.unit)) for hold in _live(session)],
            session.owner_id == person.pk,
            state_of(session, now),
        )
        for session in sessions_on(midnight, midnight + timedelta(days=1))[:MOST_TODAY]
    ]
    return sorted(rows, key=lambda row: (not row.is_yours, row.session.starts_at))


def _live(session: Session) -> list[Reservation]:
    return [hold for hold in session.reservations.all() if hold.state == HoldState.HELD and hold.left]


def coming_after_today(person: User, now: datetime) -> QuerySet[Session]:
    """Return the sessions that begin tomorrow or later, the person's own first."""
    rows = Session.objects.filter(starts_at__gte=_midnight(now) + timedelta(days=1), cancelled_at=None)
    return _own_first(rows, person, "starts_at", "id")


def past(person: User, now: datetime) -> QuerySet[Session]:
    """Return the sessions that ended before today or were cancelled, the person's own first, the latest on top."""
    rows = Session.objects.filter(Q(ends_at__lte=_midnight(now)) | Q(cancelled_at__isnull=False))
    return _own_first(rows, person, "-starts_at", "-id")


def _midnight(now: datetime) -> datetime:
    return timezone.localtime(now).replace(hour=0, minute=0, second=0, microsecond=0)


def _own_first(rows: QuerySet[Session], person: User, *order: str) -> QuerySet[Session]:
    lapsed = Count("reservations", filter=Q(reservations__state=HoldState.LAPSED))
    others_last = Case(When(owner=person, then=Value(0)), default=Value(1), output_field=IntegerField())
    return (
        rows.select_related("owner", "place")
        .annotate(place_in_list=others_last, held=Count("reservations"), lapsed=lapsed)
        .order_by("place_in_list", *order)
    )


def get_session(pk: int) -> Session | None:
    """Return a session with who and where, or None."""
    return Session.objects.select_related("owner__group", "place").filter(pk=pk).first()


def session_page(session: Session, person: User, now: datetime) -> SessionPage:
    """Gather the page of one session."""
    is_yours = session.owner_id == person.pk
    state = state_of(session, now)
    may_change = (
        (is_yours or may(person, Act.CORRECT))
        and may(person, Act.RESERVE)
        and state in ("to come", "running")
    )
    rows = (
        session.reservations.select_related("container__substance", "container__location")
        .prefetch_related(
            Prefetch("events", ReservationEvent.objects.select_related("by")), "plan_lines__batch"
        )
        .order_by("id")
    )
    holds = [_hold_row(row, may_change) for row in rows]
    sign, word, why = _answer(state, holds, session, is_yours)
    return SessionPage(
        session=session,
        batches=list(session.batches.order_by("id")),
        holds=holds,
        sign=sign,
        word=word,
        why=why,
        is_yours=is_yours,
        may_change=may_change,
    )


def _hold_row(hold: Reservation, may_change: bool) -> HoldRow:
    unit = hold.container.unit
    lines = list(hold.plan_lines.all())
    return HoldRow(
        hold=hold,
        amount=held_words(hold.amount, unit),
        drawn=held_words(hold.drawn, unit) if hold.drawn else "nothing",
        left=held_words(hold.left, unit) if hold.left else "nothing",
        state=hold.get_state_display(),
        batch=lines[0].batch if lines else None,
        events=list(hold.events.all()),
        may_let_go=may_change and hold.state == HoldState.HELD,
    )


def _answer(state: str, holds: Sequence[HoldRow], session: Session, is_yours: bool) -> tuple[str, str, str]:
    live = [row for row in holds if row.hold.state == HoldState.HELD]
    lapsed = [row for row in holds if row.hold.state == HoldState.LAPSED]
    who = "you" if is_yours else str(session.owner)
    if state == "cancelled":
        return "no", "Cancelled: nothing is held for it", ""
    if state == "over":
        why = f"{_amounts(len(lapsed))} lapsed unused when it ended" if lapsed else ""
        return "no", "Over: it holds nothing any more", why
    if live:
        word = (
            f"Running: {_amounts(len(live))} held for {who}"
            if state == "running"
            else f"{_amounts(len(live))} held for {who}"
        )
        return "yes", word, "What is not drawn by the end lapses by itself"
    used = any(row.hold.state == HoldState.USED for row in holds)
    return ("yes", "All that was held is drawn", "") if used else ("ask", "Nothing is held for it yet", "")


def _amounts(count: int) -> str:
    return f"{in_words(count)} amount{'s' if count != 1 else ''}"
