"""Sessions, and promises of amounts that two people cannot both get."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.utils import timezone

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.threads import check_strength_known
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    HoldState,
    Location,
    Reservation,
    ReservationEvent,
    Session,
    State,
)
from labstock.stock.models.container import MILLION
from labstock.stock.queries import held_by_container, holds_on, usable_containers
from labstock.stock.signs import doubtful_among
from labstock.writing import writing

LONGEST_SESSION = timedelta(days=14)


def plan_session(
    *,
    title: str,
    owner: User,
    place: Location,
    starts_at: datetime,
    ends_at: datetime,
    at: datetime | None = None,
    key: UUID | None = None,
) -> Session:
    """Write down who works where, from when to when. The same key makes one session, however often it is sent."""
    _check_times(place, starts_at, ends_at, at or timezone.now())
    with writing():
        about = {"title": title.strip(), "place": place, "starts_at": starts_at, "ends_at": ends_at}
        if key is None:
            return Session.objects.create(owner=owner, **about)
        # two sendings at once: the second finds what the first made
        return Session.objects.get_or_create(key=key, owner=owner, defaults=about)[0]


def move_session(
    *,
    session: Session,
    by: User,
    place: Location,
    starts_at: datetime,
    ends_at: datetime,
    title: str = "",
    at: datetime | None = None,
) -> Session:
    """Give a session that is not over another time or place; what it holds goes with it."""
    now = at or timezone.now()
    _check_times(place, starts_at, ends_at, now)
    with writing():
        locked = lock_session(session)
        _check_session(locked, by, now)
        locked.place, locked.starts_at, locked.ends_at = place, starts_at, ends_at
        locked.title = title.strip() or locked.title
        locked.save(update_fields=["place", "starts_at", "ends_at", "title"])
        return locked


def lock_session(session: Session) -> Session:
    """Return the session as it stands, locked until the change is written."""
    return Session.objects.select_for_update(of=("self",)).select_related("owner").get(pk=session.pk)


def _check_times(place: Location, starts_at: datetime, ends_at: datetime, now: datetime) -> None:
    if not place.is_workplace:
        raise LabError(
            "not-a-workplace", "{place} is no bench or hood: choose where you will work.", place=place
        )
    if ends_at <= starts_at:
        raise LabError(
            "ends-before-it-starts",
            "The session would end {end} and start {start}: the end comes after the start.",
            start=_clock(starts_at),
            end=_clock(ends_at),
        )
    if ends_at <= now:
        raise LabError(
            "in-the-past",
            "The session would end {end}, and it is now {now}: choose a time that is still to come.",
            end=_clock(ends_at),
            now=_clock(now),
        )
    if ends_at - starts_at > LONGEST_SESSION:
        raise LabError(
            "too-long",
            "From {start} to {end} is more than {days} days: reagents are not held that long. Plan shorter sessions.",
            start=_clock(starts_at),
            end=_clock(ends_at),
            days=LONGEST_SESSION.days,
        )


@dataclass(frozen=True)
class Want:
    """An amount of one container that a session asks for [millionths of its unit]."""

    container: Container
    amount: int


def reserve(
    *,
    session: Session,
    wants: Sequence[Want],
    by: User,
    at: datetime | None = None,
    key: UUID | None = None,
) -> list[Reservation]:
    """Promise all of it or nothing, under the containers' locks. The same key promises once."""
    now = at or timezone.now()
    keys = [uuid5(key, str(number)) if key else None for number in range(len(wants))]
    with writing():
        _check_session(lock_session(session), by, now)
        locked = {
            container.pk: container
            for container in Container.objects.select_for_update(of=("self",))
            .select_related("substance", "lot__substance")
            .filter(pk__in={want.container.pk for want in wants})
            .order_by("pk")
        }
        # asked for after the locks: a second sending waits there until the first is written
        done = list(Reservation.objects.filter(key__in=[one for one in keys if one], session=session))
        if done:
            return done
        for container in doubtful_among(locked):
            check_strength_known(container)
        held = held_by_container(locked, now)
        made = []
        for want, own_key in zip(wants, keys, strict=True):
            container = locked[want.container.pk]
            _check_want(container, want.amount, held.get(container.pk, 0), now)
            held[container.pk] = held.get(container.pk, 0) + want.amount
            row = Reservation.objects.create(
                session=session, container=container, amount=want.amount, made_by=by, made_at=now, key=own_key
            )
            ReservationEvent.objects.create(reservation=row, what="held", amount=want.amount, by=by, at=now)
            made.append(row)
        return made


def release(
    *, reservation: Reservation, by: User, at: datetime | None = None, reason: str = ""
) -> Reservation:
    """Let a promise go; what was drawn under it stays drawn."""
    now = at or timezone.now()
    with writing():
        row = (
            Reservation.objects.select_for_update(of=("self",))
            .select_related("session")
            .get(pk=reservation.pk)
        )
        if row.session.owner_id != by.pk and not may(by, Act.CORRECT):
            raise LabError(
                "not-yours",
                "This amount is held for {owner}: only {owner} or a steward can let it go. Ask {owner}.",
                owner=row.session.owner,
            )
        if row.state != HoldState.HELD:
            raise LabError(
                "not-held", "This hold is {state} already: nothing to let go.", state=row.get_state_display()
            )
        _close(row, HoldState.RELEASED, by, now, reason)
        return row


def cancel_session(*, session: Session, by: User, at: datetime | None = None) -> Session:
    """Call a session off and let all its holds go."""
    now = at or timezone.now()
    if session.owner_id != by.pk and not may(by, Act.CORRECT):
        raise LabError(
            "not-yours", "This is {owner}'s session: ask {owner} to cancel it.", owner=session.owner
        )
    with writing():
        locked = lock_session(session)
        if locked.cancelled_at is not None:
            return locked
        if locked.ends_at <= now:
            raise LabError(
                "over",
                "The session ended {end}: there is nothing left to cancel, and what it held has lapsed.",
                end=_clock(locked.ends_at),
            )
        for row in locked.reservations.select_for_update(of=("self",)).filter(state=HoldState.HELD):
            _close(row, HoldState.RELEASED, by, now, "session cancelled")
        locked.cancelled_at = now
        locked.save(update_fields=["cancelled_at"])
        return locked


def lapse_due(*, at: datetime | None = None) -> int:
    """Close every promise whose session is over. They stopped holding anything when it ended; this says so."""
    now = at or timezone.now()
    due = Reservation.objects.filter(state=HoldState.HELD, session__ends_at__lte=now)
    # those held are few, sessions long over are many: the question begins with the few
    holding = set(
        Reservation.objects.filter(state=HoldState.HELD).order_by().values_list("session", flat=True)
    )
    if not holding or not Session.objects.filter(pk__in=holding, ends_at__lte=now).exists():
        return 0
    with writing():
        rows = list(due.select_for_update(of=("self",)))
        for row in rows:
            _close(row, HoldState.LAPSED, None, now, "the session is over")
        return len(rows)


def _close(row: Reservation, state: HoldState, by: User | None, at: datetime, reason: str) -> None:
    left = row.left
    row.state = state
    row.save(update_fields=["state"])
    ReservationEvent.objects.create(
        reservation=row, what=state.label, amount=left, by=by, at=at, reason=reason
    )


def _check_session(session: Session, by: User, now: datetime) -> None:
    if session.cancelled_at is not None:
        raise LabError("cancelled", "This session was cancelled: plan a new one.")
    if session.ends_at <= now:
        raise LabError(
            "in-the-past",
            "The session ended {end}: nothing can be held for it any more. Plan a new one.",
            end=_clock(session.ends_at),
        )
    if session.owner_id != by.pk and not may(by, Act.CORRECT):
        raise LabError("not-yours", "This is {owner}'s session: plan your own.", owner=session.owner)


def _check_want(container: Container, amount: int, held: int, now: datetime) -> None:
    if amount <= 0:
        raise LabError(
            "nothing",
            "Nothing was asked of {code}: give an amount above zero.",
            code=show_code(container.code),
        )
    if container.state != State.IN_USE:
        raise LabError(
            "not-usable",
            "{code} is {state}: it cannot be held. Choose another container.",
            code=show_code(container.code),
            state=container.get_state_display(),
        )
    free = container.remaining - container.heel - held
    if amount > free:
        raise _not_enough(container, amount, max(free, 0), now)


def _not_enough(container: Container, amount: int, free: int, now: datetime) -> LabError:
    """Say who holds it, how much, until when, and what else would do."""
    unit = container.unit
    holders = [
        f"{hold.session.owner} holds {show(hold.left / MILLION, unit)} until {_clock(hold.session.ends_at)}"
        for hold in holds_on(container, now)
    ]
    others = other_choices(container, amount, now)
    elsewhere = [
        f"{show_code(other.code)} has {show(left / MILLION, other.unit)} free"
        + (f" ({other.location})" if other.location else "")
        for other, left in others[:3]
    ]
    return LabError(
        "not-enough",
        "{wanted} of {name} is wanted and {free} of {code} is free. {holders}{elsewhere}",
        wanted=show(amount / MILLION, unit),
        name=container.name,
        free=show(free / MILLION, unit),
        code=show_code(container.code),
        holders=("; ".join(holders) + ". ") if holders else "",
        elsewhere=("What else would do: " + "; ".join(elsewhere) + ".")
        if elsewhere
        else "No other container has enough: scale down, share, or ask for more to be ordered.",
        others=[other.pk for other, _ in others],
        container=container.pk,
    )


def other_choices(container: Container, amount: int, at: datetime) -> list[tuple[Container, int]]:
    """Return other containers of the same substance and unit with enough free, most free first."""
    if container.substance_id is None:
        return []
    rows = [
        c
        for c in usable_containers(container.substance_id)
        if c.pk != container.pk and c.unit == container.unit
    ]
    held = held_by_container([c.pk for c in rows], at)
    free = [(c, c.remaining - c.heel - held.get(c.pk, 0)) for c in rows]
    return sorted((pair for pair in free if pair[1] >= amount), key=lambda pair: -pair[1])


def _clock(moment: datetime) -> str:
    return timezone.localtime(moment).strftime("%a %d %b %Y %H:%M")
