"""A stock check: somebody says what is in a container without having been told what the book says.

The rule is the stock-check tolerance z = |count - book| / √(u_book² + u_count²): up to 2 the book follows, up to 3 it
follows and the line says so, beyond 3 a cause has to be given (labstock.chemistry.differences).
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from math import hypot

from labstock.chemistry.devices import device
from labstock.chemistry.differences import Verdict
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import RECEIPT, SETTLES_WITHIN, Band, WeighBack, settle_weighing
from labstock.stock.actions.amounts import density_of, in_unit
from labstock.stock.actions.checking import check_goes_on, see
from labstock.stock.actions.ledger import doubt_of_reading
from labstock.stock.actions.lines import (
    Doing,
    add_line,
    already_done,
    check_not_closed,
    check_time,
    lock,
    use_again,
)
from labstock.stock.actions.weighing import amount_by_mass
from labstock.stock.codes import show_code
from labstock.stock.models import CheckCount, CheckSettled, Container, Entry, Kind, State, StockCheck
from labstock.stock.models.container import MILLION
from labstock.stock.models.ledger import TAKES_OUT
from labstock.writing import writing

NOTED_FROM = 2.0
# A correction of the book after these is still the one that was counted: they only took out or put in.
MOVES_AMOUNTS = TAKES_OUT | {Kind.FOUND, Kind.TRANSFERRED_IN}


@dataclass(frozen=True)
class Reading:
    """What was found in a container, and how: by weighing it as it stands, or in any other way."""

    typed: str
    device: str
    amount: int  # millionths of the container's unit
    random: float  # [container's unit]
    common: float  # [container's unit]
    gross_ug: int | None = None

    @property
    def kind(self) -> Kind:
        """Return the kind of line it makes."""
        return Kind.COUNTED if self.gross_ug is None else Kind.WEIGHED_BACK

    @property
    def shared(self) -> str:
        """Return the part of the doubt that book and reading share: a weighing starts from the receipt too."""
        return "" if self.gross_ug is None else RECEIPT

    @property
    def s(self) -> float:
        """Return its standard uncertainty [container's unit]."""
        return hypot(self.random, self.common)


def count(*, container: Container, found: Quantity, device_code: str, doing: Doing) -> Entry:
    """Record what a stock check found; the book follows it, weighed by how sure both are.

    The refusal does not tell what the book says, so that the second count is as blind as the first.
    """
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, Kind.COUNTED, found.typed):
            return done
        check_time(locked, doing)
        check_not_closed(locked)
        reading = _read(locked, found, device_code, is_gross=False)
        settled, _ = _settle(locked, reading, doing)
        if not settled.is_settled and not doing.reason.strip():
            raise LabError(
                "difference-to-explain",
                "{found} in {code} is further from the book than the devices used explain. Count once more "
                "without looking at the book; if it stays {found}, say what happened.",
                found=found.typed,
                code=show_code(locked.code),
            )
        if not settled.is_settled:
            return _believe(locked, reading, doing, doing.at, reading.amount)
        return _average(locked, reading, doing)


def count_blind(
    *,
    stock_check: StockCheck,
    container: Container,
    found: Quantity,
    device_code: str,
    is_gross: bool,
    doing: Doing,
) -> CheckCount:
    """Keep a count of a stock check. The book follows it at once, unless the difference needs a cause first."""
    with writing():
        check_goes_on(stock_check)
        locked = lock(container)
        if done := _counted_before(stock_check, locked, found, doing):
            return done
        check_time(locked, doing)
        check_not_closed(locked)
        _check_nothing_since(locked, doing)
        reading = _read(locked, found, device_code, is_gross=is_gross)
        doubt = locked.doubt_at(doing.at)
        row = CheckCount.objects.create(
            stock_check=stock_check,
            container=locked,
            key=doing.key,
            typed=reading.typed,
            device=device_code,
            gross_ug=reading.gross_ug,
            amount=reading.amount,
            u_random=round(reading.random * MILLION),
            u_common=round(reading.common * MILLION),
            book=locked.remaining,
            evaporated=round(doubt.drift * MILLION),
            u_book=round(doubt.u_without(reading.shared) * MILLION),
            seq_before=locked.last_seq,
            by=doing.by,
            at=doing.at,
        )
        see(stock_check, locked, None, doing)
        if row.difference.verdict is not Verdict.EXPLAIN:
            entry = _average(locked, reading, replace(doing, reason="count"))
            CheckSettled.objects.create(count=row, entry=entry, by=doing.by, at=doing.at)
        return row


def explain(*, count: CheckCount, cause: str, doing: Doing) -> CheckSettled:
    """Settle a difference that is too large for chance: the cause is kept, and the count is believed."""
    if not cause.strip():
        raise LabError(
            "no-cause", "Say what the cause is; “not found out” is a cause too, if you looked for it."
        )
    with writing():
        locked = lock(count.container)
        if done := CheckSettled.objects.filter(count=count).select_related("by").first():
            return _settled_before(done, cause, doing)
        check_not_closed(locked)
        _check_newest(count)
        reading = Reading(
            count.typed, count.device, count.amount, count.u_random / MILLION, count.u_common / MILLION, count.gross_ug
        )  # fmt: skip
        since = list(locked.entries.filter(seq__gt=count.seq_before).order_by("seq"))
        after = locked.remaining + count.amount - count.book
        if after < 0 or any(line.kind not in MOVES_AMOUNTS for line in since):
            raise LabError(
                "measured-since",
                "Since {typed} was counted in {code}, lines were written that do not go with it: count it once more.",
                typed=count.typed,
                code=show_code(locked.code),
            )
        entry = _believe(locked, reading, replace(doing, reason=cause.strip()), count.at, after, since)
        return CheckSettled.objects.create(
            count=count, entry=entry, cause=cause.strip(), by=doing.by, at=doing.at
        )


def _read(locked: Container, found: Quantity, device_code: str, *, is_gross: bool) -> Reading:
    if is_gross:
        amount, s = amount_by_mass(locked, found, device_code)
        gross_ug = found.millionths("g")
        return Reading(found.typed, device_code, round(amount * MILLION), s, 0.0, gross_ug)
    amount_found, random, common = _by_amount(locked, found, device_code)
    return Reading(found.typed, device_code, amount_found, random, common)


def _by_amount(locked: Container, found: Quantity, device_code: str) -> tuple[int, float, float]:
    """Return the amount found [millionths] with the random and the common part of its doubt [container's unit]."""
    amount = in_unit(found, locked.unit, density_of(locked), show_code(locked.code))
    if amount < 0 or amount > locked.capacity * 1.1:
        raise LabError(
            "beyond-capacity",
            "{found} cannot be in {code}, which holds {capacity}. Check the amount, the unit and the code.",
            found=found.typed,
            code=show_code(locked.code),
            capacity=show(locked.capacity / MILLION, locked.unit),
        )
    if amount == 0:
        # nothing is seen by eye: the doubt is what the device does not resolve at one hundredth of the vessel
        least = locked.capacity / MILLION / 100
        read = device(device_code).uncertainty(least, vessel=locked.capacity / MILLION)
        return 0, read.random, read.common
    random, common = doubt_of_reading(locked, found, amount, device_code)
    return amount, random, common


def _settle(locked: Container, reading: Reading, doing: Doing) -> tuple[WeighBack, Band]:
    doubt = locked.doubt_at(doing.at)
    return settle_weighing(locked.amount, doubt, reading.amount / MILLION, reading.s, reading.shared)


def _average(locked: Container, reading: Reading, doing: Doing) -> Entry:
    """Write the line of a reading that agrees with the book: both are averaged by how sure they are."""
    settled, band = _settle(locked, reading, doing)
    words = "stock check, to be watched" if NOTED_FROM < settled.z <= SETTLES_WITHIN else "stock check"
    return _write(locked, reading, replace(doing, purpose=words), round(settled.m * MILLION), band)


def _believe(
    locked: Container,
    reading: Reading,
    doing: Doing,
    read_at: datetime,
    after: int,
    since: Iterable[Entry] = (),
) -> Entry:
    """Write the line of a reading that is believed instead of the book; what was taken since widens its doubt."""
    band = locked.doubt_at(read_at).replaced_by_weighing(reading.s, reading.shared)
    band = replace(band, at=int(read_at.timestamp()))
    for line in since:
        random, common = line.u_random / MILLION, line.u_common / MILLION
        band = band.after_removal(abs(line.change) / MILLION, line.device, random, common)
    return _write(locked, reading, replace(doing, purpose="stock check"), after, band)


def _write(locked: Container, reading: Reading, doing: Doing, after: int, band: Band) -> Entry:
    if locked.state == State.EMPTY and after > 0:
        use_again(locked, doing)
    return add_line(
        locked,
        doing,
        kind=reading.kind,
        change=max(after, 0) - locked.remaining,
        band=band,
        typed=reading.typed,
        device=reading.device,
        u_random=round(reading.random * MILLION),
        u_common=round(reading.common * MILLION),
        gross_ug=reading.gross_ug,
    )


def _counted_before(
    stock_check: StockCheck, locked: Container, found: Quantity, doing: Doing
) -> CheckCount | None:
    """Return the count this key made before; with another container, person or amount it is no second sending."""
    row = CheckCount.objects.filter(key=doing.key).select_related("container", "by").first()
    if row is None:
        return None
    if (row.stock_check_id, row.container_id, row.by_id, row.typed) == (
        stock_check.pk, locked.pk, doing.by.pk, found.typed,
    ):  # fmt: skip
        return row
    raise LabError(
        "key-used",
        "This form was already sent: {typed} in {code}, counted by {who}. Scan the bottle again and count anew.",
        typed=row.typed,
        code=show_code(row.container.code),
        who=row.by,
    )


def _check_nothing_since(locked: Container, doing: Doing) -> None:
    """Refuse a count that may be from before another line; say nothing of amounts, the count is blind."""
    if doing.seen_seq is None or doing.seen_seq == locked.last_seq:
        return
    raise LabError(
        "changed-meanwhile",
        "Since you opened this page something was recorded on {code}. Look once more how much is in it now, and "
        "press again.",
        code=show_code(locked.code),
    )


def _settled_before(done: CheckSettled, cause: str, doing: Doing) -> CheckSettled:
    if (done.by_id, done.cause) == (doing.by.pk, cause.strip()):
        return done
    raise LabError(
        "already-settled",
        "{who} settled this difference before: {cause}. If that is wrong, count once more.",
        who=done.by,
        cause=done.cause or "within the tolerance",
    )


def _check_newest(count: CheckCount) -> None:
    newer = CheckCount.objects.filter(container=count.container_id, pk__gt=count.pk)
    if other := newer.select_related("by").order_by("-pk").first():
        raise LabError(
            "counted-since",
            "{who} counted it once more: {typed}. Settle that count instead.",
            who=other.by,
            typed=other.typed,
        )
