"""Every amount taken out of a container, or found in it: one line each, the sums kept in step."""

from django.utils import timezone

from labstock.chemistry.devices import device
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.actions.lines import (
    Doing,
    add_line,
    already_done,
    check_may_take,
    check_not_closed,
    check_not_stale,
    check_time,
    count_against,
    lock,
    more_than_is_left,
    need_reason,
    use_again,
)
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind, Reservation, State
from labstock.stock.models.container import MILLION
from labstock.writing import writing

LOSSES = frozenset({Kind.SPILT, Kind.EVAPORATED, Kind.WASTED, Kind.PURGED, Kind.BROKEN})


def draw(
    *,
    container: Container,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    reservation: Reservation | None = None,
) -> Entry:
    """Record an amount taken out for use. The first one opens the container."""
    return _take(container, Kind.DRAWN, amount, device_code, doing, reservation)


def record_loss(
    *, container: Container, kind: Kind, amount: Quantity, device_code: str, doing: Doing
) -> Entry:
    """Record an amount spilt, evaporated, purged, poured to waste or lost with a broken vessel."""
    if kind not in LOSSES:
        raise LabError(
            "not-a-loss",
            "{kind} is no loss: choose spilt, evaporated, purged, poured to waste or broken.",
            kind=kind,
        )
    return _take(container, kind, amount, device_code, doing, None)


def _take(
    container: Container,
    kind: Kind,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    reservation: Reservation | None,
) -> Entry:
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, kind, amount.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_may_take(locked)
        _check_promise(locked, reservation)
        taken = in_ledger_unit(locked, amount)
        if taken > locked.remaining:
            raise more_than_is_left(locked, amount, taken)
        random, common = doubt_of_reading(locked, amount, taken, device_code)
        band = locked.doubt_at(doing.at)
        if kind == Kind.EVAPORATED:
            band = band.after_booking_evaporation(taken / MILLION)
        band = band.after_removal(taken / MILLION, device_code, random, common)
        if locked.opened_on is None:
            locked.opened_on = timezone.localdate(doing.at)
        entry = add_line(
            locked,
            doing,
            kind=kind,
            change=-taken,
            band=band,
            typed=amount.typed,
            device=device_code,
            u_random=round(random * MILLION),
            u_common=round(common * MILLION),
            reservation=reservation,
        )
        if reservation is not None:
            count_against(reservation, taken, doing)
        return entry


def found_more(*, container: Container, amount: Quantity, device_code: str, doing: Doing) -> Entry:
    """Record that more is in it than the book says: a normal correction, with a reason."""
    need_reason(doing)
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, Kind.FOUND, amount.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_not_closed(locked)
        more = in_ledger_unit(locked, amount)
        if locked.remaining + more > locked.capacity * 1.1:
            raise LabError(
                "beyond-capacity",
                "{more} more would make {total}, and {code} holds {capacity}. Check the amount and the unit.",
                more=amount.typed,
                total=show((locked.remaining + more) / MILLION, locked.unit),
                code=show_code(locked.code),
                capacity=show(locked.capacity / MILLION, locked.unit),
            )
        random, common = doubt_of_reading(locked, amount, more, device_code)
        band = locked.doubt_at(doing.at).after_removal(more / MILLION, device_code, random, common)
        if locked.state == State.EMPTY:
            use_again(locked, doing)
        return add_line(
            locked, doing, kind=Kind.FOUND, change=more, band=band, typed=amount.typed, device=device_code,
            u_random=round(random * MILLION), u_common=round(common * MILLION),
        )  # fmt: skip


def doubt_of_reading(
    locked: Container, amount: Quantity, changed: int, device_code: str
) -> tuple[float, float]:
    """Return the random and the common part of the doubt of a reading [container's unit].

    What the person typed behind "±" widens the random part, never narrows it. No reading is doubted more than
    by itself: a spill of about 1 mL was between none and 2 mL, whatever share of the bottle an eye can judge.
    """
    tool = device(device_code)
    in_container = changed / MILLION
    fits = tool.unit == ("g" if amount.dimension == "mass" else "mL")
    value = float(amount.in_unit(tool.unit)) if fits and amount.dimension != "count" else in_container
    read = tool.uncertainty(value, vessel=locked.capacity / MILLION)
    scale = in_container / value
    typed = 0.0 if amount.u is None else float(amount.u / amount.value) * in_container
    scale = min(scale, in_container / 3**0.5 / read.u) if read.u else scale
    return max(read.random * scale, typed), read.common * scale


def _check_promise(locked: Container, reservation: Reservation | None) -> None:
    if reservation is not None and reservation.container_id != locked.pk:
        raise LabError(
            "another-hold",
            "This hold is on {other}, and the amount was drawn from {code}: check the code on the bottle.",
            other=show_code(reservation.container.code),
            code=show_code(locked.code),
        )
