"""The one-number form: what it offers, and what it says around the number."""

import re
from dataclasses import dataclass
from math import ceil, log10
from typing import Any

from django.utils import timezone

from batches.models import Batch, BatchState
from labstock.bench.forms import OTHERWISE, UseForm, device_choices, units_for, usual_devices
from labstock.bench.memory import Habit
from labstock.bench.pages.amounts import exactly, tied
from labstock.chemistry.devices import Device
from labstock.chemistry.display import NO_BREAK, show, show_number
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.models import Container, Reservation, State
from labstock.stock.models.container import MILLION

LONGEST_KEY = 16
MEASURED_IN = {"g": "g", "mg": "g", "kg": "g", "mL": "mL", "µL": "mL", "L": "mL", "piece": "piece"}


@dataclass(frozen=True)
class Pick:
    """One device to tap, with the doubt it brings."""

    code: str
    name: str
    doubt: str
    is_chosen: bool


@dataclass(frozen=True)
class More:
    """What is asked for more rarely: a device off the usual ones, a batch, another time."""

    devices: tuple[tuple[str, str], ...]
    chosen: str
    has_batches: bool


@dataclass(frozen=True)
class Record:
    """Everything around the one number."""

    form: UseForm
    devices: tuple[Pick, ...]
    balances: tuple[Pick, ...]
    taps: tuple[str, ...]
    everything: str
    unit: str
    units: tuple[str, ...]
    gross_at_receipt: str
    is_by_mass: bool
    for_session: str
    doubt_at: str
    asks_reason: bool = False
    more: More | None = None

    @property
    def otherwise(self) -> list[tuple[str, str]]:
        """Return what else may have happened to the amount, each one tap."""
        return [(kind.value, word) for kind, word in OTHERWISE]

    @property
    def can_weigh(self) -> bool:
        """Say whether a gross mass tells anything about this container."""
        return bool(self.gross_at_receipt)

    @property
    def amount(self) -> str:
        """Return what stands in the field: what was typed, else what is held for the running session."""
        return str(self.form["amount"].value() or "")


def can_record(container: Container) -> bool:
    """Say whether the state lets anybody draw."""
    return container.state in (State.IN_USE, State.NOT_SEEN)


def open_batches(person: User) -> Any:
    """Return the batches this person may still draw for, newest first."""
    return Batch.objects.filter(owner=person, state__in=[BatchState.PLANNED, BatchState.RUNNING]).order_by(
        "-planned_at", "-id"
    )


def new_form(container: Container, person: User, hold: Reservation | None, habit: Habit) -> UseForm:
    """Return an empty form, with the amount held for a running session written in."""
    initial: dict[str, Any] = {"way": "amount", "unit": container.unit}
    if hold is not None:
        initial["amount"] = exactly(hold.left)
    elif habit.unit in units_for(container):
        initial["unit"] = habit.unit
    return UseForm(container=container, person=person, batches=open_batches(person), initial=initial)


def record_of(
    container: Container,
    form: UseForm,
    hold: Reservation | None,
    habit: Habit,
    refusal: LabError | None = None,
) -> Record:
    """Shape the form for the page."""
    unit = str(form["unit"].value() or container.unit)
    measured_in = MEASURED_IN.get(unit, container.unit)
    amount = _likely_amount(container, hold)
    wanted = str(form["device"].value() or habit.device)
    offered = usual_devices(container, amount, measured_in, wanted)
    chosen = wanted if wanted in [row.code for row in offered] else offered[0].code
    return Record(
        form=form,
        devices=tuple(_pick(row, amount, container, chosen) for row in offered),
        balances=_balance_picks(container, str(form["balance"].value() or habit.balance)),
        taps=taps_for(container),
        everything=exactly(container.remaining),
        unit=unit,
        units=units_for(container),
        gross_at_receipt=_gross_words(container),
        is_by_mass=form["way"].value() == "mass",
        for_session=_for_session(hold),
        doubt_at=show(float(f"{amount:.3g}"), measured_in),
        asks_reason=refusal is not None and refusal.code == "difference-to-explain",
        more=_more(container, form, hold),
    )


def _more(container: Container, form: UseForm, hold: Reservation | None) -> More | None:
    """Return the rarer fields where somebody asked for them or filled them in."""
    asked = form.initial.get("more") or any(
        form[name].value() for name in ("other_device", "batch", "at", "for_person")
    )
    if not asked:
        return None
    batches = form.fields["batch"].queryset  # type: ignore[attr-defined]  # a ModelChoiceField
    chosen = str(form["other_device"].value() or "")
    return More(tuple(device_choices(container)), chosen, hold is None and bool(batches))


def taps_for(container: Container) -> tuple[str, ...]:
    """Return four round amounts that suit the size: 1 2 5 10 for 100 mL, 0.1 0.2 0.5 1 for 5 g."""
    if container.unit == "piece":
        return ("1", "2", "5", "10")
    power = ceil(log10(container.capacity / MILLION)) - 2
    return tuple(f"{step * 10.0**power:.{max(-power, 0)}f}" for step in (1, 2, 5, 10))


def _likely_amount(container: Container, hold: Reservation | None) -> float:
    """Guess the amount that devices are offered for: what is held, else the middle tap."""
    return hold.left / MILLION if hold else float(taps_for(container)[2])


def _pick(row: Device, amount: float, container: Container, chosen: str) -> Pick:
    """Say the doubt at the likely amount, which the legend names: another amount has another doubt."""
    try:
        doubt = 2 * row.uncertainty(amount, container.capacity / MILLION).u
    except LabError:
        doubt = 0.0
    name, detail = in_two_lines(row.name)
    words = [detail, f"±{NO_BREAK}{show_number(float(f'{doubt:.2g}'))}" if doubt else ""]
    return Pick(row.code, name, ", ".join(word for word in words if word), row.code == chosen)


def in_two_lines(name: str) -> tuple[str, str]:
    """Part a device's name so that it fits a thumb-wide key: what it is, then which one.

    >>> in_two_lines("10 mL cylinder, class B"), in_two_lines("5 mL graduated pipette")
    (('10 mL cylinder', 'class B'), ('graduated pipette', '5 mL'))
    """
    name, _, detail = name.partition(", ")
    size = re.match(r"[0-9.]+ [mµ]?[gL] ", name)
    if size and len(name) > LONGEST_KEY:
        name, detail = name[size.end() :], ", ".join(part for part in (size[0].strip(), detail) if part)
    elif " by " in name:
        name, detail = name.split(" by ", 1)[0], f"by {name.split(' by ', 1)[1]}"
    return name, detail


def _balance_picks(container: Container, chosen: str) -> tuple[Pick, ...]:
    if container.gross_at_receipt_ug is None:
        return ()
    gross = container.gross_at_receipt_ug / MILLION
    offered = usual_devices(container, gross, "g", chosen)
    codes = [row.code for row in offered]
    first = chosen if chosen in codes else codes[0]
    return tuple(_pick(row, gross, container, first) for row in offered)


def _gross_words(container: Container) -> str:
    """Return the gross mass at receipt, where it can tell what is left."""
    has_density = container.unit == "g" or (
        container.unit == "mL" and container.lot is not None and container.lot.density is not None
    )
    if container.gross_at_receipt_ug is None or not has_density:
        return ""
    return tied(exactly(container.gross_at_receipt_ug), "g")


def _for_session(hold: Reservation | None) -> str:
    """Say which session and batch the draw goes to without asking."""
    if hold is None:
        return ""
    start = timezone.localtime(hold.session.starts_at)
    lines = [line.batch.number for line in hold.plan_lines.all() if line.batch.is_open]
    batch = f", batch {lines[0]}" if lines else ""
    return f"for your {start:%H:%M} session{batch}"
