"""The table of a batch record: planned over actual, with every draw behind it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from batches.models import Batch, BatchInput, BatchLine, LineRole
from batches.results import DIMENSIONS, Shared, actual_from, dispensed, is_reversed
from batches.stoichiometry.plan import Actual
from labstock.chemistry.display import NO_BREAK, show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.models import Container, Entry

WORTH_SAYING = 0.005  # a strength that differs by less from the label's changes no third digit


@dataclass(frozen=True)
class Cell:
    """A number as the table sets it: the doubt stands under it."""

    number: str = ""
    doubt: str = ""


@dataclass(frozen=True)
class DrawRow:
    """One draw, as the ledger has it."""

    row: BatchInput
    container: Container
    amount: str
    typed: str
    strength: str
    is_struck: bool
    struck_because: str


@dataclass(frozen=True)
class LineRow:
    """One line of the plan beside what was really taken."""

    line: BatchLine
    planned: tuple[Cell, Cell, Cell, Cell]
    actual: tuple[Cell, Cell, Cell, Cell] | None
    draws: tuple[DrawRow, ...]
    held: tuple[Container, ...]
    is_limiting: bool
    is_product: bool


@dataclass(frozen=True)
class Amounts:
    """The whole table, the draws that no line asked for, and what the labels would have made one believe."""

    lines: tuple[LineRow, ...]
    unplanned: tuple[DrawRow, ...]
    by_label: tuple[str, ...]


def amounts_of(
    batch: Batch, lines: Sequence[BatchLine], rows: Sequence[BatchInput], went_in: Actual
) -> Amounts:
    """Set planned over actual."""
    by_line: dict[int | None, list[BatchInput]] = {}
    for row in rows:
        by_line.setdefault(row.line_id, []).append(row)
    product = next((line for line in lines if line.role == LineRole.PRODUCT), None)
    limiting = int(went_in.limiting_key) if went_in.limiting_key else None
    set_lines = []
    for line in lines:
        drawn = by_line.get(line.pk, [])
        is_product = line.role == LineRole.PRODUCT
        set_lines.append(
            LineRow(
                line=line,
                planned=_planned(line, is_product),
                actual=_made(batch, line) if line is product else _taken(line, drawn, went_in),
                draws=tuple(_draw_row(row) for row in drawn),
                held=tuple(hold.container for hold in line.reservations.all() if hold.left),
                is_limiting=line.is_limiting if limiting is None else line.position == limiting,
                is_product=is_product,
            )
        )
    return Amounts(
        tuple(set_lines),
        tuple(_draw_row(row) for row in by_line.get(None, [])),
        tuple(_by_label(lines, rows, went_in)),
    )


def cell(value: UFloat | None, unit: str = "") -> Cell:
    """Set a value with its unit, its ± apart."""
    if value is None:
        return Cell()
    number, _, doubt = show(value, unit).partition(f"{NO_BREAK}±{NO_BREAK}")
    if not doubt:
        return Cell(number)
    doubt, _, tail = doubt.partition(NO_BREAK)
    return Cell(f"{number}{NO_BREAK}{tail}" if tail else number, f"±{NO_BREAK}{doubt}")


def _plain(value: float | None, unit: str = "") -> Cell:
    """Set a planned number to three digits; its doubt is shown once, at what was really taken."""
    return Cell() if value is None else Cell(show(_three_digits(value), unit))


def _three_digits(value: float) -> str:
    if not value:
        return "0"
    places = 2 - Decimal(repr(value)).adjusted()
    return f"{value:.{places}f}" if places > 0 else f"{value:.0f}"


def _planned(line: BatchLine, is_product: bool) -> tuple[Cell, Cell, Cell, Cell]:
    whole = Cell(f"100{NO_BREAK}%")
    return (
        _plain(line.dispense, line.dispense_unit),
        whole if is_product else _plain(line.fraction * 100, "%"),
        _plain(line.amount_mmol),
        whole if is_product else _plain(line.equivalents),
    )


def _taken(
    line: BatchLine, drawn: Sequence[BatchInput], went_in: Actual
) -> tuple[Cell, Cell, Cell, Cell] | None:
    standing = [row for row in drawn if not is_reversed(row.entry)]
    if not standing:
        return None
    key, shared = str(line.position), Shared()
    sums: dict[str, UFloat] = {}
    for row in standing:
        amount, unit = dispensed(row.entry, shared)
        sums[unit] = sums.get(unit, 0) + amount
    taken = [cell(amount, unit) for unit, amount in sums.items()]
    strengths = {(row.fraction, row.fraction_u) for row in standing}
    fraction, u = next(iter(strengths))
    return (
        Cell(" + ".join(one.number for one in taken), taken[0].doubt if len(taken) == 1 else ""),
        cell(normal(fraction * 100, u * 100), "%") if len(strengths) == 1 else Cell("see below"),
        cell(went_in.amounts_mmol.get(key)),
        _ratio(went_in.equivalents.get(key)),
    )


def _ratio(value: UFloat | None) -> Cell:
    """Set equivalents; the limiting reagent's are 1.00 by definition."""
    return cell(value) if value is None or value.std_dev else _plain(value.nominal_value)


def _made(batch: Batch, line: BatchLine) -> tuple[Cell, Cell, Cell, Cell] | None:
    if batch.product_mass_g is None or batch.yield_percent is None:
        return None
    mass = normal(batch.product_mass_g, batch.product_mass_u_g or 0)
    percent = normal(batch.product_percent or 0, batch.product_percent_u or 0)
    molar = line.molar_mass_g_per_mol
    return (
        cell(mass, "g"), cell(percent, "%"),
        cell(mass * percent / 100 / molar * 1000) if molar else Cell(),
        cell(normal(batch.yield_percent, batch.yield_u_percent or 0), "%"),
    )  # fmt: skip


def _draw_row(row: BatchInput) -> DrawRow:
    entry, container = row.entry, row.entry.container
    struck, (amount, unit) = is_reversed(entry), dispensed(row.entry, Shared())
    return DrawRow(
        row=row,
        container=container,
        amount=show(amount, unit),
        typed=_typed(entry, amount.nominal_value, unit),
        strength=row.fraction_from,
        is_struck=struck,
        struck_because=entry.reversed_by.reason if struck else "",
    )


def _typed(entry: Entry, amount: float, unit: str) -> str:
    """Return what was typed where it says more than the amount: another unit, a ±, a count."""
    try:
        typed = parse_quantity(entry.typed)
    except LabError:
        return entry.typed
    is_plain = typed.unit.symbol == unit and typed.u is None and typed.count == 1
    return "" if is_plain and abs(float(typed.value) - amount) < 1e-6 else entry.typed


def _by_label(lines: Sequence[BatchLine], rows: Sequence[BatchInput], went_in: Actual) -> list[str]:
    """Say what the amounts would read for those who believe the label, where that differs."""
    told: dict[int, float] = {}
    for row in rows:
        claimed = _claimed(row.entry.container)
        if claimed is None or is_reversed(row.entry) or row.line_id is None:
            continue
        if abs(claimed - row.fraction) > WORTH_SAYING * row.fraction:
            told[row.pk] = claimed
    if not told or went_in.limiting_amount_mmol is None:
        return []
    believed = actual_from(
        lines, [_believing(row, told) for row in rows if not is_reversed(row.entry)], Shared()
    )
    touched = {row.line_id for row in rows if row.pk in told}
    return [
        words
        for line in lines
        if line.pk in touched and (words := _compared(line, went_in, believed.amounts_mmol, rows, told))
    ]


def _claimed(container: Container) -> float | None:
    """Return the strength the label claims [g/g], or None where it claims none or the amount is a solution's."""
    lot = container.lot
    if (
        lot is None
        or lot.purity_percent is None
        or lot.concentration is not None
        or container.unit not in DIMENSIONS
    ):
        return None
    try:
        return float(lot.claim.fraction.nominal_value)
    except LabError:
        return None


def _believing(row: BatchInput, told: Mapping[int, float]) -> BatchInput:
    fields = {
        name: getattr(row, name) for name in ("pk", "batch_id", "line_id", "fraction_u", "fraction_from")
    }
    believed = BatchInput(**fields, fraction=told.get(row.pk, row.fraction))
    believed.entry = row.entry
    return believed


def _compared(
    line: BatchLine,
    went_in: Actual,
    believed_mmol: Mapping[str, UFloat],
    rows: Sequence[BatchInput],
    told: Mapping[int, float],
) -> str:
    key, limiting = str(line.position), went_in.limiting_amount_mmol
    true, by_label = went_in.amounts_mmol.get(key), believed_mmol.get(key)
    if true is None or by_label is None or limiting is None or line.role == LineRole.SOLVENT:
        return ""
    percent = next(told[row.pk] for row in rows if row.line_id == line.pk and row.pk in told)
    label = show(float(f"{by_label.nominal_value:.3g}"), "mmol")
    return (
        f"Believing the label (counted as {percent * 100:.3g}{NO_BREAK}%), the {line.name} would read {label}. "
        f"By its strength on the day it was {show(true, 'mmol')}."
    )
