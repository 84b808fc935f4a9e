"""Containers come in: a code, a first line in the ledger, a place."""

from dataclasses import dataclass, field
from datetime import date

from django.conf import settings
from django.utils import timezone

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.remaining import Band
from labstock.chemistry.uncertain import UFloat
from labstock.people.models import LabGroup
from labstock.stock.actions.amounts import in_unit
from labstock.stock.actions.lines import Doing, add_line
from labstock.stock.codes import make_code, next_number, read_code, show_code, split_code
from labstock.stock.models import (
    CodeSeries,
    Container,
    Entry,
    Kind,
    LedgerUnit,
    Location,
    Lot,
    Purpose,
    Substance,
    VesselKind,
)
from labstock.stock.models.container import MILLION
from labstock.stock.search_text import normalised
from labstock.writing import writing

# A filled bottle holds what its label says to within half a per cent; common practice, no source.
FILL_U_SHARE = 0.005 / 3**0.5
# What pouring or a pipette leaves in the vessel, as a share of its capacity (USP overfill table, PRACTICE D1).
HEEL_SHARE = 0.02
FIRST_NUMBER = 1000
OLDEST = date(1850, 1, 1)


@dataclass(frozen=True)
class Arrival:
    """A container as it comes in."""

    unit: str
    capacity: Quantity
    amount: Quantity
    substance: Substance | None = None
    lot: Lot | None = None
    described_as: str = ""
    purpose: str = Purpose.REAGENT
    vessel: str = VesselKind.BOTTLE
    heel: Quantity | None = None
    gross: Quantity | None = None
    location: Location | None = None
    owner_group: LabGroup | None = None
    needs: list[str] = field(default_factory=list)
    received_on: date | None = None
    opened_on: date | None = None
    number: int | None = None
    u_amount: float | None = None
    ends_on: date | None = None

    @property
    def density(self) -> UFloat | None:
        """Return the density of what is in it [g/mL], if it is known."""
        if self.lot is not None:
            return self.lot.density
        return self.substance.density if self.substance is not None else None


def receive(*, arrival: Arrival, doing: Doing, kind: Kind = Kind.RECEIVED) -> Container:
    """Give a container its code and its first ledger line, and return it."""
    with writing():
        series = _lock_series()
        if done := received_before(doing):
            return done
        amount, capacity, heel = _checked_amounts(arrival)
        today = timezone.localdate(doing.at)
        _check_days(arrival, today, is_decanted=kind == Kind.TRANSFERRED_IN)
        number = arrival.number or _take_number(series)
        lot = arrival.lot
        container = Container(
            code=make_code(settings.LABSTOCK_CODE_PREFIX, number),
            number=number,
            substance=arrival.substance or (lot.substance if lot else None),
            lot=lot,
            described_as=arrival.described_as.strip(),
            purpose=arrival.purpose,
            vessel=arrival.vessel,
            unit=arrival.unit,
            capacity=capacity,
            heel=heel,
            received_on=arrival.received_on or today,
            opened_on=arrival.opened_on,
            gross_at_receipt_ug=_checked_gross(arrival, amount),
            location=arrival.location,
            owner_group=arrival.owner_group,
            needs=list(arrival.needs),
            # never longer than the container it was filled from
            ends_on=min((day for day in (arrival.ends_on, ends_on(lot)) if day), default=None),
            created_by=doing.by,
        )
        container.search_text = words_to_search(container)
        container.save()
        u = _doubt(arrival, amount)
        add_line(
            container, doing, kind=kind, change=amount, band=Band.at_receipt(u),
            typed=arrival.amount.typed, u_random=round(u * MILLION),
            gross_ug=container.gross_at_receipt_ug,
        )  # fmt: skip
        return container


def words_to_search(container: Container) -> str:
    """Return everything a container is found by in the stock list."""
    lot = container.lot
    parts = [
        container.code,
        container.described_as,
        container.substance.search_text if container.substance else "",
        f"{lot.number} {lot.supplier} {lot.grade}" if lot else "",
    ]
    return normalised(" ".join(part for part in parts if part))


def ends_on(lot: Lot | None) -> date | None:
    """Return the earlier of a lot's expiry and retest: the day a list goes by."""
    dates = [day for day in (lot.expires_on, lot.retest_on) if day] if lot else []
    return min(dates) if dates else None


def received_before(doing: Doing) -> Container | None:
    """Return what this key received before, so that sending twice makes one container."""
    line = Entry.objects.filter(key=doing.key).select_related("container").first()
    if line is None:
        return None
    if line.by_id != doing.by.pk or line.seq != 1:
        raise LabError(
            "key-used",
            "This form was already sent by {who}. Open the page again and enter it anew.",
            who=line.by_name,
        )
    return line.container


def _lock_series() -> CodeSeries:
    """Return the last number given out, locked: whoever receives at the same time waits here."""
    prefix = settings.LABSTOCK_CODE_PREFIX
    CodeSeries.objects.get_or_create(prefix=prefix, defaults={"last_number": FIRST_NUMBER})
    return CodeSeries.objects.select_for_update().get(prefix=prefix)


def _take_number(series: CodeSeries) -> int:
    number = next_number(series.prefix, series.last_number)
    while Container.objects.filter(number=number).exists():
        number = next_number(series.prefix, number)
    series.last_number = number
    series.save(update_fields=["last_number"])
    return number


def reserve_numbers(count: int) -> list[int]:
    """Take numbers for labels whose containers are still to come; nobody else is given them."""
    with writing():
        series = _lock_series()
        return [_take_number(series) for _ in range(count)]


def number_on_label(typed: str) -> int:
    """Return the number on a label that was printed before its container came, or say why it cannot be used."""
    code = read_code(typed, settings.LABSTOCK_CODE_PREFIX)
    number = split_code(code)[1]
    last_number = _lock_series().last_number
    if taken := Container.objects.filter(number=number).first():
        raise LabError(
            "label-taken",
            "{code} is already the label of {name}. Take a blank one, or leave this empty and print a new label.",
            code=show_code(code),
            name=taken.name,
        )
    if number > last_number:
        raise LabError(
            "label-never-printed",
            "{code} was never printed as a blank label here. Compare it with the label, or leave this empty and "
            "print a new one.",
            code=show_code(code),
        )
    return number


def _doubt(arrival: Arrival, amount: int) -> float:
    """Return the standard uncertainty of what came in [ledger unit]."""
    if arrival.u_amount is not None:
        return arrival.u_amount
    if arrival.unit == LedgerUnit.PIECE:
        return 0.0
    typed, through = arrival.amount, 0.0
    of_label = float(typed.u / typed.value) if typed.u is not None and typed.value else FILL_U_SHARE
    if typed.unit.dimension != ("mass" if arrival.unit == "g" else "volume") and arrival.density is not None:
        through = float(arrival.density.std_dev / arrival.density.nominal_value)
    return float(amount / MILLION * (of_label**2 + through**2) ** 0.5)


def _checked_amounts(arrival: Arrival) -> tuple[int, int, int]:
    if arrival.lot is None and arrival.substance is None and not arrival.described_as.strip():
        raise LabError(
            "nameless", "A container needs a name: choose a substance, or say in words what it is."
        )
    if arrival.unit not in LedgerUnit.values:
        raise LabError(
            "unknown-unit", "'{unit}' is no ledger unit: choose g, mL or piece.", unit=arrival.unit
        )
    amount, capacity = (_in(arrival, quantity) for quantity in (arrival.amount, arrival.capacity))
    if capacity <= 0:
        raise LabError(
            "no-capacity",
            "A capacity of {typed} holds nothing: give the size on the label.",
            typed=arrival.capacity.typed,
        )
    if amount > capacity * 1.1:
        raise LabError(
            "beyond-capacity",
            "{amount} does not fit into {capacity}: check both numbers and their units.",
            amount=arrival.amount.typed,
            capacity=arrival.capacity.typed,
        )
    return amount, capacity, _checked_heel(arrival, capacity)


def _checked_heel(arrival: Arrival, capacity: int) -> int:
    if arrival.heel is not None:
        heel = _in(arrival, arrival.heel)
    else:
        heel = round(capacity * HEEL_SHARE) if arrival.unit == LedgerUnit.MILLILITRE else 0
    if heel >= capacity:
        raise LabError(
            "heel-too-big",
            "A heel of {heel} leaves nothing of {capacity}: check the two.",
            heel=show(heel / MILLION, arrival.unit),
            capacity=arrival.capacity.typed,
        )
    return heel


def _checked_gross(arrival: Arrival, amount: int) -> int | None:
    """Return the gross mass at receipt [µg]; it cannot be less than the contents alone."""
    if arrival.gross is None:
        return None
    gross = arrival.gross.millionths("g")
    density = arrival.density.nominal_value if arrival.density is not None else None
    contents = {"g": amount, "mL": amount * density if density else None}.get(arrival.unit)
    if gross <= 0 or (contents is not None and gross < contents):
        raise LabError(
            "gross-too-small",
            "{gross} cannot be the gross mass: the contents alone weigh {contents}. Weigh the whole bottle, cap on.",
            gross=arrival.gross.typed,
            contents=show(round(contents / MILLION, 1), "g") if contents else "more",
        )
    return gross


def _check_days(arrival: Arrival, today: date, *, is_decanted: bool) -> None:
    came = arrival.received_on or today
    for day, deed in ((came, "received"), (arrival.opened_on, "opened")):
        if day is not None and not OLDEST <= day <= today:
            raise LabError(
                "bad-day",
                "It cannot have been {deed} on {day:%d %b %Y}: give a day from {oldest:%Y} to today.",
                deed=deed,
                day=day,
                oldest=OLDEST,
            )
    if arrival.opened_on is not None and arrival.opened_on < came and not is_decanted:
        raise LabError(
            "opened-before-it-came",
            "Opened {opened:%d %b %Y} lies before received {came:%d %b %Y}: check the two days.",
            opened=arrival.opened_on,
            came=came,
        )


def _in(arrival: Arrival, quantity: Quantity) -> int:
    return in_unit(quantity, arrival.unit, arrival.density, "this container")
