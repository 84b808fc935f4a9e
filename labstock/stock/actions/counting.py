"""A stock check: somebody says what is in a container without having been told what the book says.

The rule is the stock-check tolerance z = |count - book| / √(u_book² + u_count²): up to 2 the book follows, up to 3 it
follows and the line says so, beyond 3 a cause has to be given (common practice, no source).
"""

from dataclasses import replace

from labstock.chemistry.devices import device
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import SETTLES_WITHIN, weigh_back
from labstock.stock.actions.amounts import density_of, in_unit
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
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.models.container import MILLION
from labstock.writing import writing

NOTED_FROM = 2.0


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
        amount, random, common = _reading(locked, found, device_code)
        s = float((random**2 + common**2) ** 0.5)
        book, u = locked.remaining / MILLION, locked.doubt.u
        settled = weigh_back(book, u, amount / MILLION, s)
        if not settled.is_settled and not doing.reason.strip():
            raise LabError(
                "difference-to-explain",
                "{found} in {code} is further from the book than the devices used explain. Count once more "
                "without looking at the book; if it stays {found}, say what happened.",
                found=found.typed,
                code=show_code(locked.code),
            )
        after = round(settled.m * MILLION) if settled.is_settled else amount
        band = (
            locked.doubt.after_weigh_back(s) if settled.is_settled else locked.doubt.replaced_by_weighing(s)
        )
        if locked.state == State.EMPTY and after > 0:
            use_again(locked, doing)
        words = "stock check, to be watched" if NOTED_FROM < settled.z <= SETTLES_WITHIN else "stock check"
        return add_line(
            locked,
            replace(doing, purpose=words),
            kind=Kind.COUNTED,
            change=max(after, 0) - locked.remaining,
            band=band,
            typed=found.typed,
            device=device_code,
            u_random=round(random * MILLION),
            u_common=round(common * MILLION),
        )


def _reading(locked: Container, found: Quantity, device_code: str) -> tuple[int, float, float]:
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
