"""From the front door to a session: plan and session in one act, and amounts held without any plan."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils import timezone

from batches.actions.plans import is_in_use, plan_batch
from batches.candidates import Candidate, candidates_to_hold
from batches.drafts import Draft
from batches.finding import Wanted
from batches.models import Batch
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.actions.reservations import Want, move_session, plan_session, reserve
from labstock.stock.models import Container, Location, Reservation, Session, Substance
from labstock.writing import writing


@dataclass(frozen=True)
class When:
    """A session that exists, or where and when a new one is."""

    session: Session | None = None
    place: Location | None = None
    starts_at: datetime | None = None
    ends_at: datetime | None = None


def prepare(
    *,
    title: str,
    owner: User,
    equation: str,
    drafts: list[Draft],
    scale: str,
    scale_line: int,
    when: When,
    key: UUID | None = None,
    at: datetime | None = None,
) -> Batch:
    """Plan a batch and the session it is made in, both or neither; sent twice it makes one of each."""
    with writing():
        session = session_for(title=title, owner=owner, when=when, key=key, at=at)
        return plan_batch(
            title=title, owner=owner, equation=equation, drafts=drafts, scale=scale, scale_line=scale_line,
            session=session, at=at, key=key,
        )  # fmt: skip


def hold_amount(
    *,
    title: str,
    owner: User,
    container: Container,
    quantity: Quantity,
    when: When,
    key: UUID | None = None,
    at: datetime | None = None,
) -> Reservation:
    """Hold an amount of one container for a session, without a plan; the session is made if it is new."""
    with writing():
        session = session_for(title=title, owner=owner, when=when, key=key, at=at)
        want = Want(container, in_ledger_unit(container, quantity))
        return reserve(session=session, wants=[want], by=owner, at=at, key=key)[0]


def session_for(
    *, title: str, owner: User, when: When, key: UUID | None = None, at: datetime | None = None
) -> Session:
    """Return the session that was chosen, or plan a new one."""
    if when.session is not None:
        return when.session
    if when.place is None or when.starts_at is None or when.ends_at is None:
        raise LabError("no-session", "Say where you work, from when to when, or choose one of your sessions.")
    return plan_session(
        title=title,
        owner=owner,
        place=when.place,
        starts_at=when.starts_at,
        ends_at=when.ends_at,
        at=at,
        key=key,
    )


def move(*, session: Session, by: User, when: When, title: str, at: datetime | None = None) -> Session:
    """Give a session another time or place."""
    if when.place is None or when.starts_at is None or when.ends_at is None:
        raise LabError("no-session", "Say where you work, from when to when.")
    return move_session(
        session=session,
        by=by,
        place=when.place,
        starts_at=when.starts_at,
        ends_at=when.ends_at,
        title=title,
        at=at,
    )


def give_session(*, batch: Batch, by: User, when: When, at: datetime | None = None) -> Batch:
    """Put a plan into another session; only while nothing is held for it or drawn into it."""
    with writing():
        locked = Batch.objects.select_for_update(of=("self",)).get(pk=batch.pk)
        if locked.owner_id != by.pk and not may(by, Act.CORRECT):
            raise LabError(
                "not-yours", "Batch {number} is {owner}'s.", number=batch.number, owner=batch.owner
            )
        if not locked.is_open:
            raise LabError("frozen", "Batch {number} is closed: plan a new one.", number=batch.number)
        if is_in_use(locked, at or timezone.now()):
            raise LabError(
                "plan-in-use",
                "Reagents are held for this plan in its session, or drawn into it: let the holds go first, or move the session.",
            )
        locked.session = session_for(title=locked.title, owner=by, when=when, at=at)
        locked.save(update_fields=["session"])
        return locked


def container_for(wanted: Wanted, quantity: Quantity, pick: str = "") -> Container:
    """Return the container that was named or picked, else the best that has enough."""
    if wanted.container is not None:
        return wanted.container
    assert wanted.substance is not None
    if pick.isdecimal() and len(pick) < 19:
        picked = wanted.substance.containers.filter(pk=int(pick)).first()
        if picked is not None:
            return picked
    return best_to_hold(wanted.substance, quantity)


def best_to_hold(substance: Substance, quantity: Quantity, at: datetime | None = None) -> Container:
    """Return the container an amount is best held in, or say why there is none."""
    found = candidates_to_hold(substance, quantity, at or timezone.now())
    enough = [candidate for candidate in found if candidate.is_offered and not candidate.short]
    if enough:
        return enough[0].container
    offered = [candidate for candidate in found if candidate.is_offered]
    if not offered:
        raise _nothing_of_it(substance, quantity, found)
    # refused by the reservation itself, which says who holds it and what else would do
    return max(offered, key=lambda candidate: candidate.availability.usable).container


def _nothing_of_it(substance: Substance, quantity: Quantity, found: list[Candidate]) -> LabError:
    if any(candidate.container.is_usable for candidate in found):
        return LabError(
            "wrong-dimension",
            "'{typed}' of {name} cannot be held: its containers are kept in {units}, and no density is on record "
            "to go from one to the other. Give the amount in {units}.",
            typed=quantity.typed,
            name=substance.name,
            units=" or ".join(sorted({candidate.container.unit for candidate in found})),
        )
    return LabError(
        "none-on-the-shelf",
        "{amount} of {name} is wanted and no container of it may be used{closed}. Ask a steward to order it.",
        amount=show(quantity.value, quantity.unit.symbol),
        name=substance.name,
        closed=f" ({len(found)} blocked or not seen)" if found else "",
    )
