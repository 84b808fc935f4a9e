"""The ledger as a container's page shows it: newest first, every line readable, the picture above."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from django.utils import timezone
from django.utils.safestring import SafeString

from labstock.bench.pages.amounts import exactly, plain
from labstock.bench.pages.clock import sent_words
from labstock.chemistry.devices import DEVICES
from labstock.chemistry.quantities import LEDGER_UNITS
from labstock.look.drawing.content import Content
from labstock.look.drawing.key import key_of
from labstock.look.drawing.ledger_chart import Hold, Step, ledger_chart
from labstock.look.drawing.strokes import decimals_for
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.actions.reversing import UNDO_SECONDS, parts_of
from labstock.stock.models import Container, Entry, Kind, Reservation
from labstock.stock.models.container import MILLION
from labstock.stock.queries import Availability

SHOWN_AT_ONCE = 6
MOST_LINES = 60
SEEN_TO_GROW, GROWS_IN = 1.01, 8
# lines that a reversal would make no sense of: the container's beginning, a reversal, and what goes with one
NEVER_REVERSED = frozenset({Kind.RECEIVED, Kind.REVERSED, Kind.STANDS})


@dataclass(frozen=True)
class LedgerRow:
    """One line, with what was done to it later and what the reader may do to it."""

    entry: Entry
    change: str
    left: tuple[float, float]
    device: str
    batch: str
    typed: str
    came: str
    reversed_by: int | None
    reverses: int | None
    may_reverse: bool

    @property
    def is_undone(self) -> bool:
        """Say whether a later line cancels it."""
        return self.reversed_by is not None


@dataclass(frozen=True)
class Ledger:
    """The newest lines, the older ones behind a fold, and the line that may still be undone."""

    newest: tuple[LedgerRow, ...]
    older: tuple[LedgerRow, ...]
    hidden: int
    undoable: Entry | None
    undo_until: datetime | None
    picture: SafeString
    key: SafeString


def ledger_of(
    container: Container,
    person: User,
    left: Availability,
    holds: Sequence[Reservation],
    *,
    now: datetime,
    all_lines: bool = False,
) -> Ledger:
    """Read the ledger once and shape it for the page."""
    newest_first = container.entries.select_related(
        "by", "for_person", "batch_input__batch", "reversed_by", "reverses", "queued"
    ).order_by("-seq")
    entries = list(newest_first if all_lines else newest_first[:MOST_LINES])
    may_correct = may(person, Act.CORRECT)
    rows = tuple(_row(entry, person, may_correct) for entry in entries)
    undoable = _undoable(entries[0] if entries else None, person, now)
    return Ledger(
        newest=rows[:SHOWN_AT_ONCE],
        older=rows[SHOWN_AT_ONCE:],
        hidden=entries[-1].seq - 1 if entries else 0,
        undoable=undoable,
        undo_until=undoable.recorded_at + timedelta(seconds=UNDO_SECONDS) if undoable else None,
        picture=_picture(container, entries, left, holds, person, now),
        key=_key(entries, left),
    )


def _row(entry: Entry, person: User, may_correct: bool) -> LedgerRow:
    later = getattr(entry, "reversed_by", None)
    is_mine = entry.by_id == person.pk
    went_into = getattr(entry, "batch_input", None)
    return LedgerRow(
        entry=entry,
        change=_change(entry),
        left=(entry.after / MILLION, entry.u_after / MILLION),
        device=DEVICES[entry.device].name if entry.device in DEVICES else entry.device,
        batch=went_into.batch.number if went_into else "",
        typed=_typed_otherwise(entry),
        came=sent_words(entry.queued) if getattr(entry, "queued", None) else "",
        reversed_by=later.seq if later else None,
        reverses=entry.reverses.seq if entry.reverses else None,
        may_reverse=later is None
        and _makes_sense_reversed(entry)
        and (may_correct or (is_mine and may(person, Act.DRAW))),
    )


def _makes_sense_reversed(entry: Entry) -> bool:
    """Say whether a line can be cancelled: a beginning only if it is that of a solution made here, parts and all."""
    return entry.kind not in NEVER_REVERSED or bool(parts_of(entry))


def _change(entry: Entry) -> str:
    """Write the change with the digits its doubt leaves standing; a reversal with those of the line it cancels."""
    measured = entry.reverses or entry
    u = (measured.u_random**2 + measured.u_common**2) ** 0.5 / MILLION
    decimals = decimals_for(u) if u > 0 else len(exactly(entry.change).partition(".")[2])
    sign = "+" if entry.change > 0 else ""
    return sign + plain(entry.change / MILLION, decimals)


def _typed_otherwise(entry: Entry) -> str:
    """Return what was typed where it is not simply the change: another unit, or a gross mass."""
    if entry.gross_ug is not None and entry.kind != Kind.RECEIVED:
        return f"gross {entry.typed}{'' if entry.typed.endswith('g') else ' g'}"
    last = entry.typed.split()[-1] if " " in entry.typed else ""
    return entry.typed if last and last not in LEDGER_UNITS else ""


def _undoable(newest: Entry | None, person: User, now: datetime) -> Entry | None:
    if newest is None or newest.by_id != person.pk or not _makes_sense_reversed(newest):
        return None
    return newest if (now - newest.recorded_at).total_seconds() < UNDO_SECONDS else None


def _picture(
    container: Container,
    newest_first: Sequence[Entry],
    left: Availability,
    holds: Sequence[Reservation],
    person: User,
    now: datetime,
) -> SafeString:
    if not newest_first:
        return SafeString()
    local = timezone.localtime
    promised = [
        Hold(
            local(hold.session.starts_at),
            local(hold.session.ends_at),
            hold.left / MILLION,
            hold.session.owner_id == person.pk,
        )
        for hold in holds
    ]
    return SafeString(
        ledger_chart(_steps(container, newest_first, now), local(now), _content(container, left), promised)
    )


def _steps(container: Container, newest_first: Sequence[Entry], now: datetime) -> list[Step]:
    """Return the steps, and after the last one how the doubt grew by what may have evaporated."""
    steps = steps_of_ledger(newest_first)
    last = steps[-1]
    if container.doubt_at(now).u > last.u * SEEN_TO_GROW and now > last.at:
        moments = [last.at + (now - last.at) * part / GROWS_IN for part in range(1, GROWS_IN + 1)]
        steps += [Step(timezone.localtime(at), last.m, container.doubt_at(at).u, "") for at in moments]
    return steps


def steps_of_ledger(newest_first: Sequence[Entry]) -> list[Step]:
    """Put the lines in the order they were done: a late one stands where it belongs, and the sums follow it."""
    first = newest_first[-1]
    begins = min(entry.done_at for entry in newest_first)
    amount, steps = first.after - first.change, []
    in_order = sorted(
        newest_first, key=lambda entry: (begins if entry is first else entry.done_at, entry.seq)
    )
    for entry in in_order:
        amount += entry.change
        at = begins if entry is first else entry.done_at
        steps.append(
            Step(timezone.localtime(at), max(amount, 0) / MILLION, entry.u_after / MILLION, entry.kind)
        )
    newest = newest_first[0]
    steps[-1] = replace(steps[-1], u=newest.u_after / MILLION)
    return steps


def _content(container: Container, left: Availability) -> Content:
    return Content(
        left.book,
        left.u,
        container.capacity / MILLION,
        left.heel,
        left.held_by_others,
        left.held_for_you,
        container.unit,
    )


def _key(entries: Sequence[Entry], left: Availability) -> SafeString:
    kinds = {entry.kind for entry in entries}
    return SafeString(
        key_of(left.u > 0, left.held_by_others > 0, left.held_for_you > 0, left.heel > 0, kinds)
    )
