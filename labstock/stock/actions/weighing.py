"""The remaining amount found by weighing the container."""

from labstock.chemistry.devices import device
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.evaporation import words_for_loss
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import RECEIPT, settle_weighing
from labstock.stock.actions.lines import (
    Doing,
    add_line,
    already_done,
    check_may_take,
    check_not_stale,
    check_time,
    lock,
)
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind
from labstock.stock.models.container import MILLION
from labstock.writing import writing

# What a bottle's own mass changes by between two weighings: film on the neck, a wet or worn label.
# Half width 0.3 g; common practice, no source.
HANDLING_U_G = 0.3 / 3**0.5


def weigh(*, container: Container, gross: Quantity, device_code: str, doing: Doing) -> Entry:
    """Record what the container weighs now and correct the book amount by it.

    Book and balance are averaged by their uncertainties (PRACTICE D5); when they differ by more than three
    standard uncertainties nothing is averaged: the person says what happened and the balance is believed.
    """
    with writing():
        locked = lock(container)
        if done := already_done(locked, doing, Kind.WEIGHED_BACK, gross.typed):
            return done
        check_not_stale(locked, doing)
        check_time(locked, doing)
        check_may_take(locked)
        found, s = amount_by_mass(locked, gross, device_code)
        doubt, book = locked.doubt_at(doing.at), locked.remaining / MILLION
        settled, band = settle_weighing(book, doubt, found, s, RECEIPT)
        lost = words_for_loss(doubt.drift, locked.unit)
        if not settled.is_settled and not doing.reason:
            raise LabError(
                "difference-to-explain",
                "By mass there is {found} in it, by the book {book}{drift}: too far apart for the devices used. "
                "Check that the cap is on and the code is right; if the mass is right, say what happened.",
                found=show(found, locked.unit, s),
                book=show(book, locked.unit, doubt.u),
                drift=f", of which {lost} may have evaporated" if lost else "",
            )
        new = settled.m if settled.is_settled else found
        if not settled.is_settled:
            band = doubt.replaced_by_weighing(s, RECEIPT)
        after = min(max(round(new * MILLION), 0), round(locked.capacity * 1.1))
        return add_line(
            locked,
            doing,
            kind=Kind.WEIGHED_BACK,
            change=after - locked.remaining,
            band=band,
            typed=gross.typed,
            device=device_code,
            u_random=round(s * MILLION),
            gross_ug=gross.millionths("g"),
        )


def amount_by_mass(locked: Container, gross: Quantity, device_code: str) -> tuple[float, float]:
    """Return amount and standard uncertainty from the gross mass now [container's unit]."""
    if locked.gross_at_receipt_ug is None:
        raise LabError(
            "no-gross-mass",
            "{code} was not weighed when it came, so a gross mass says nothing about what is left. "
            "Give the amount used instead.",
            code=show_code(locked.code),
        )
    lost_g = (locked.gross_at_receipt_ug - gross.millionths("g")) / MILLION
    balance = device(device_code).uncertainty(gross.millionths("g") / MILLION)
    u_g = (2 * balance.random**2 + balance.common**2 + HANDLING_U_G**2) ** 0.5
    density = 1.0
    if locked.unit != "g":
        of_lot = locked.lot.density if locked.lot else None
        if locked.unit != "mL" or of_lot is None:
            raise LabError(
                "no-density",
                "{code} is kept in {unit} and its lot has no density, so a mass cannot be turned into it. "
                "Enter the density of the lot or give the amount used in {unit}.",
                code=show_code(locked.code),
                unit=locked.unit,
            )
        density = float(of_lot.nominal_value)
    found, s = locked.received / MILLION - lost_g / density, u_g / density
    if found < -3 * s or found > locked.received / MILLION + 3 * s + 0.02 * locked.capacity / MILLION:
        raise LabError(
            "absurd-mass",
            "{gross} cannot be right for {code}: it weighed {receipt} when it came with {received} in it, so it "
            "would now hold {found}. Read the balance again, cap on, and check the code.",
            gross=gross.typed,
            code=show_code(locked.code),
            receipt=show(locked.gross_at_receipt_ug / MILLION, "g"),
            received=show(locked.received / MILLION, locked.unit),
            found=show(round(found, 1), locked.unit),
        )
    return max(found, 0.0), s
