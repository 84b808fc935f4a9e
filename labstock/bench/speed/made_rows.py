"""The rows of some containers, made without a database, so that several processes can make them."""

import random
import uuid
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any, NamedTuple

from django.db.models import Model

from batches.retained.models import KeptFor, RetainedSample
from labstock.bench.speed.loading import Values, row_writer
from labstock.chemistry.devices import device
from labstock.chemistry.remaining import Band
from labstock.stock.codes import make_code
from labstock.stock.models import (
    Container,
    Entry,
    HoldState,
    Kind,
    Purpose,
    Reservation,
    ReservationEvent,
    State,
    StateChange,
)
from labstock.stock.models.container import MILLION
from labstock.stock.models.facts import said_of
from labstock.stock.search_text import normalised

ENTRIES_EACH = 10
ONE_SAMPLE_IN, ONE_HELD_IN, ONE_BLOCKED_IN, ONE_OF_THE_GIANT_IN, ONE_BY_THE_BUSIEST_IN = 10, 20, 500, 10, 10
DEVICE = "cylinder-50-b"
FULL, HEEL, HELD = 500 * MILLION, 5 * MILLION, 5 * MILLION
HELD_LINE = 3

Rows = dict[type[Model], list[Values]]


@dataclass(frozen=True)
class Meeting:
    """A session as the makers of rows need it."""

    pk: int
    owner: int
    starts_at: datetime
    is_over: bool


class OnShelf(NamedTuple):
    """A lot as the makers of rows need it."""

    pk: int
    substance: int
    name: str
    words: str
    ends_on: date


@dataclass(frozen=True)
class Shelf:
    """Everything around the containers: keys and words of what is in the database already."""

    prefix: str
    containers: int
    first_day: datetime
    days: int
    groups: tuple[int, ...]
    people: tuple[tuple[int, str], ...]
    places: tuple[int, ...]
    lots: tuple[tuple[OnShelf, ...], ...]  # of each substance; the first is the giant
    meetings: tuple[Meeting, ...]


class Maker:
    """Makes the rows of containers, one after the other; what is made depends on the container's row number alone."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.names = dict(shelf.people)
        self.write: dict[type[Model], Any] = defaultdict()
        for model in (Container, Entry, Reservation, ReservationEvent, RetainedSample, StateChange):
            self.write[model] = row_writer(model)

    def made(self, first: int, numbers: Sequence[int]) -> Rows:
        """Return the rows of containers from row number `first` on, with these running numbers."""
        rows: Rows = defaultdict(list)
        for pk, number in enumerate(numbers, first):
            for row in self._around(pk, number):
                rows[type(row)].append(self.write[type(row)](row))
        return dict(rows)

    def _around(self, pk: int, number: int) -> Iterator[Model]:
        chance = random.Random(pk)  # noqa: S311  # the same lab every time
        lot = self._lot(pk, chance)
        container = self._container(pk, number, lot, chance)
        hold = self._hold(container) if pk % ONE_HELD_IN == 0 else None
        # each line is written before the next is made: it is one and the same object, filled anew
        yield from self._ledger(container, hold, chance)
        if pk % ONE_BLOCKED_IN == 0:
            yield self._blocked(container)
        yield container
        if hold is not None:
            yield from self._promised(hold)
        if container.purpose == Purpose.RETAINED:
            yield self._sample(container, lot, chance)

    def _lot(self, pk: int, chance: random.Random) -> OnShelf:
        usual = len(self.shelf.lots) - 1
        which = 0 if pk % ONE_OF_THE_GIANT_IN == 1 else 1 + pk % usual
        return chance.choice(self.shelf.lots[which])

    def _container(self, pk: int, number: int, lot: OnShelf, chance: random.Random) -> Container:
        code = make_code(self.shelf.prefix, number)
        received = self.shelf.first_day + timedelta(days=self.shelf.days * pk // (2 * self.shelf.containers))
        return Container(
            id=pk, code=code, number=number, substance_id=lot.substance, lot_id=lot.pk,
            purpose=Purpose.RETAINED if pk % ONE_SAMPLE_IN == 0 else Purpose.REAGENT,
            unit="mL", capacity=FULL, heel=HEEL, received_on=received.date(), location_id=chance.choice(self.shelf.places),
            owner_group_id=chance.choice(self.shelf.groups), ends_on=lot.ends_on, search_text=normalised(f"{code} {lot.words}"),
            created_by_id=self._person(chance), created_at=received,
        )  # fmt: skip

    def _person(self, chance: random.Random) -> int:
        busiest = chance.randrange(ONE_BY_THE_BUSIEST_IN) == 0
        return self.shelf.people[0 if busiest else chance.randrange(1, len(self.shelf.people))][0]

    def _ledger(
        self, container: Container, hold: Reservation | None, chance: random.Random
    ) -> Iterator[Entry]:
        band, entry = Band.at_receipt(1.0), Entry(container_id=container.pk)
        step = timedelta(days=self.shelf.days) / (ENTRIES_EACH * 2)
        for seq in range(1, ENTRIES_EACH + 1):
            amount = 500 if seq == 1 else chance.randrange(1, 30)
            at = container.created_at + step * (seq - 1) + timedelta(seconds=chance.randrange(25_000))
            entry.id = (container.pk - 1) * ENTRIES_EACH + seq
            entry.seq = container.last_seq = seq
            entry.key = uuid.UUID(int=entry.id << 80 | chance.getrandbits(72))
            entry.by_id, entry.reservation_id = self._person(chance), None
            if seq == 1:
                entry.kind, entry.change, entry.device, entry.u_random, entry.u_common = (
                    Kind.RECEIVED,
                    FULL,
                    "",
                    MILLION,
                    0,
                )
                container.received = FULL
            else:
                doubt = _doubt(amount)
                band = band.after_removal(amount, DEVICE, *doubt)
                entry.kind, entry.change, entry.device = Kind.DRAWN, -amount * MILLION, DEVICE
                entry.u_random, entry.u_common = (round(part * MILLION) for part in doubt)
                container.opened_on = container.opened_on or at.date()
            if hold is not None and seq == HELD_LINE and hold.state == HoldState.USED:
                entry.reservation_id, entry.by_id = hold.pk, hold.made_by_id
                hold.amount = hold.drawn = -entry.change
            entry.by_name, entry.typed = self.names[entry.by_id], f"{amount} mL"
            entry.done_at = entry.recorded_at = at
            container.remaining += entry.change
            band = replace(band, at=int(at.timestamp()))  # none of these substances evaporates
            container.band = band.as_json()
            entry.after, entry.u_after = container.remaining, round(band.u * MILLION)
            entry.about, entry.previous_hash = said_of(container), container.last_hash
            entry.hash = container.last_hash = entry.digest()
            yield entry

    def _hold(self, container: Container) -> Reservation:
        meeting = self.shelf.meetings[container.pk // ONE_HELD_IN % len(self.shelf.meetings)]
        return Reservation(
            id=container.pk // ONE_HELD_IN, session_id=meeting.pk, container_id=container.pk, amount=HELD, drawn=0,
            state=HoldState.USED if meeting.is_over else HoldState.HELD, made_by_id=meeting.owner,
            made_at=meeting.starts_at - timedelta(days=1),
        )  # fmt: skip

    def _promised(self, hold: Reservation) -> Iterator[Model]:
        yield hold
        events = [("held", hold.amount)] + ([("drawn", hold.drawn)] if hold.state == HoldState.USED else [])
        for n, (what, amount) in enumerate(events):
            event = ReservationEvent(
                id=2 * hold.pk - 1 + n, reservation=hold, what=what, amount=amount, by_id=hold.made_by_id,
                at=hold.made_at + timedelta(days=n),
            )  # fmt: skip
            event.seal = event.digest()
            yield event

    def _blocked(self, container: Container) -> StateChange:
        container.state, container.state_because = State.BLOCKED, "label cannot be read"
        change = StateChange(
            id=container.pk // ONE_BLOCKED_IN, container_id=container.pk, what="state", before=State.IN_USE,
            after=State.BLOCKED, reason=container.state_because, by_id=self.shelf.people[0][0], at=container.created_at,
        )  # fmt: skip
        change.seal = change.digest()
        return change

    def _sample(self, container: Container, lot: OnShelf, chance: random.Random) -> RetainedSample:
        year, maker = chance.randrange(1890, 2026), f"maker {chance.randrange(40)}"
        return RetainedSample(
            id=container.pk // ONE_SAMPLE_IN, container_id=container.pk, substance_id=container.substance_id, name=lot.name,
            kept_for=KeptFor.HISTORY, date_as_written=str(year), date_edtf=str(year), earliest_on=date(year, 1, 1),
            latest_on=date(year, 12, 31), sorted_on=date(year, 1, 1), maker=maker, catalogued_by_id=self.shelf.people[0][0],
            catalogued_at=container.created_at, search_text=normalised(f"{lot.name} {container.code} {maker} {year}"),
        )  # fmt: skip


@lru_cache
def _doubt(amount_mL: int) -> tuple[float, float]:
    """Return the random and the common part of the doubt of one draw [mL]."""
    read = device(DEVICE).uncertainty(float(amount_mL), vessel=FULL / MILLION)
    return read.random, read.common


# ---------------------------------------------------------------- in a process that branched off

_maker: list[Maker] = []


def take_over(maker: Maker) -> None:
    """Keep the maker that this process was born with."""
    _maker[:] = [maker]


def make(first: int, numbers: Sequence[int]) -> Rows:
    """Make rows with it."""
    return _maker[0].made(first, numbers)
