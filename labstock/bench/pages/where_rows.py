"""The lines of an account as they are read: exact to the last digit, reversals beside what they reverse."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from labstock.chemistry.devices import DEVICES
from labstock.chemistry.display import MINUS, with_unit
from labstock.chemistry.evaporation import words_for_loss
from labstock.look.drawing.strokes import decimals_for
from labstock.stock.account_lines import BY_OTHERS, EARLIER, PAIRED, group_of
from labstock.stock.account_sums import Group
from labstock.stock.accounts import Account
from labstock.stock.models import Entry
from labstock.stock.models.container import MILLION

WORDS_OF = {
    "came in": "came in",
    "drawn": "drawn",
    "lost": "lost",
    "passed on": "transferred or disposed of",
    "earlier": "corrections",
    "reversed": "reversed and cancelled",
    "found": "differences found",
}


@dataclass(frozen=True)
class Row:
    """One line of the table; one without an entry is the sum of lines that are not shown."""

    entry: Entry | None
    words: str
    change: str
    so_far: str
    code: str = ""
    batch: str = ""
    batch_title: str = ""
    device: str = ""
    is_undone: bool = False
    pair: str = ""


@dataclass(frozen=True)
class Weighing:
    """One difference that was found, against what tolerance allows."""

    entry: Entry
    found: str
    tolerance: str
    z: str
    taken: str
    at: datetime
    evaporated: str


def exact(millionths: int, places: int | None, *, sign: bool = False) -> str:
    """Write an amount exactly, with so many places; None keeps two digits of a doubt."""
    amount = Decimal(millionths) / MILLION
    if places is None:
        places = decimals_for(millionths / MILLION / 2)
    text = f"{abs(amount):,.{places}f}".replace(",", "\u202f")
    if millionths < 0:
        return f"{MINUS}{text}"
    return f"+{text}" if sign and millionths > 0 else text


def short(millionths: int, *, sign: bool = False) -> str:
    """Write an amount exactly, without zeros that say nothing."""
    return exact(millionths, _places(millionths), sign=sign)


def places_of(account: Account) -> int:
    """Return how many decimals show every amount of an account to its last digit."""
    amounts = [account.opening, account.closing, *(group.change for group in account.kinds.values())]
    amounts += [rest.change for rest in (*account.earlier.values(), *account.later.values())]
    amounts += [line.change for line in account.lines]
    return max(_places(amount) for amount in amounts)


def _places(millionths: int) -> int:
    return next(places for places in range(7) if millionths * 10**places % MILLION == 0)


def rows_of(account: Account, places: int, *, is_one: bool) -> Iterator[Row]:
    """Yield the rows between opening and closing, each with what it has come to so far."""
    so_far = account.opening
    by_others = account.groups.get(BY_OTHERS, Group())
    before = [(f"{_many(by_others)} by others in the same containers", by_others)]
    before += [(_rest_in_words("earlier", *rest), rest[1]) for rest in account.earlier.items()]
    after = [(_rest_in_words("later", *rest), rest[1]) for rest in account.later.items()]
    for words, rest in before:
        so_far += rest.change
        yield from _rest(words, rest, so_far, places)
    for line in in_pairs(account.lines):
        so_far += line.change
        yield _row(line, so_far, places, is_one)
    for words, rest in after:
        so_far += rest.change
        yield from _rest(words, rest, so_far, places)


def _rest(words: str, rest: Group, so_far: int, places: int) -> Iterator[Row]:
    """Yield the row of lines that are summed and not shown, if there are any."""
    if rest.lines:
        yield Row(None, words, exact(rest.change, places, sign=True), exact(so_far, places))


def _rest_in_words(when: str, sort: str, rest: Group) -> str:
    return f"{_many(rest, f'{when} ')}: {WORDS_OF[sort]}"


def _many(rest: Group, which: str = "") -> str:
    many = f"{rest.lines:,}".replace(",", "\u202f")
    return f"{many} {which}line{'' if rest.lines == 1 else 's'}"


def in_pairs(lines: Sequence[Entry]) -> Iterator[Entry]:
    """Yield lines in order of time, but each reversal right after what it reverses."""
    by_reversed = {line.reverses_id: line for line in lines if line.reverses_id is not None}
    there = {line.pk for line in lines}
    for line in lines:
        if line.reverses_id in there:
            continue
        yield line
        if line.pk in by_reversed:
            yield by_reversed[line.pk]


def _row(line: Entry, so_far: int, places: int, is_one: bool) -> Row:
    went_into = getattr(line, "batch_input", None)
    later = getattr(line, "reversed_by", None)
    return Row(
        entry=line,
        words=line.get_kind_display(),
        change=exact(line.change, places, sign=True),
        so_far=exact(so_far, places),
        code="" if is_one else line.container.code,
        batch=went_into.batch.number if went_into else "",
        batch_title=went_into.batch.title if went_into else "",
        device=_device(line),
        is_undone=group_of(line) == PAIRED and later is not None,
        pair=_pair(line, later),
    )


def _device(line: Entry) -> str:
    """Return what it was measured with and how sure that is."""
    if not line.device:
        return ""
    name = DEVICES[line.device].name if line.device in DEVICES else line.device
    u = (line.u_random**2 + line.u_common**2) ** 0.5
    return f"{name}, ±\u00a0{with_unit(exact(round(2 * u), None), line.container.unit)}" if u else name


def _pair(line: Entry, later: Entry | None) -> str:
    if group_of(line) == EARLIER and line.reverses is not None:
        return f"cancels line {line.reverses.seq}, written before this account begins"
    if line.reverses is not None:
        return f"cancels line {line.reverses.seq}"
    return f"reversed by line {later.seq}" if later is not None and group_of(line) == PAIRED else ""


def weighings_of(account: Account) -> Iterator[Weighing]:
    """Yield every weighing and count with the whole difference it found."""
    for found in account.found:
        difference, line = found.difference, found.entry
        yield Weighing(
            entry=line,
            found=_signed(difference.found_less_book, difference.u),
            tolerance=exact(round(2 * difference.u * MILLION), None) if difference.u else "0",
            z=f"{abs(difference.z):.1f}" if difference.u else "–",
            taken=exact(line.change, _places(line.change), sign=True),
            at=line.done_at,
            evaporated=words_for_loss(found.drift, line.container.unit),
        )


def _signed(amount: float, u: float) -> str:
    text = f"{abs(amount):.{decimals_for(u) if u else 2}f}"
    return f"{MINUS if amount < 0 else '+'}{text}"
