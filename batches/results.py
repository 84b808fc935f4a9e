"""What really went in and what came out, from the ledger lines of a batch.

Draws that share a bottle share the doubt of its strength and of its density; amounts measured with the same device
share that device's own error. Each shared doubt is one variable here, so that it adds up or cancels as it should.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import cast

from batches.candidates import line_input
from batches.models import Batch, BatchInput, BatchLine, LineRole
from batches.stoichiometry.lines import Dimension, Fixed, LineInput
from batches.stoichiometry.plan import Actual, actual
from batches.stoichiometry.yields import percent_yield
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.chemistry.uncertain import UFloat, exact, normal
from labstock.stock.models import Entry
from labstock.stock.models.container import MILLION

DIMENSIONS: dict[str, Dimension] = {"g": "mass", "mL": "volume"}


@dataclass(frozen=True)
class Outcome:
    """The yield and what it rests on [g, %]."""

    product_g: UFloat
    theoretical_g: UFloat
    yield_percent: UFloat
    limiting_position: int | None


@dataclass
class Shared:
    """The doubts that several amounts of one batch have in common, each made once."""

    made: dict[tuple[object, ...], UFloat] = field(default_factory=dict)

    def one(self, value: UFloat, *key: object) -> UFloat:
        """Return the variable that was first given under this key."""
        return self.made.setdefault(key, value)

    def maybe(self, value: UFloat | None, *key: object) -> UFloat | None:
        """Return the same for what may be unknown."""
        return None if value is None else self.one(value, *key)

    def of_device(self, code: str) -> UFloat:
        """Return the error of a device in units of its own standard uncertainty [-]."""
        return self.one(normal(0, 1, f"device {code}"), "device", code)

    def measured(self, value: float, random: float, common: float, device_code: str) -> UFloat:
        """Return an amount with its own doubt and the part it shares with others of the same device."""
        amount = normal(value, random) if random else exact(value)
        return amount + self.of_device(device_code) * common if common and device_code else amount


def standing_inputs(batch: Batch) -> list[BatchInput]:
    """Return the draws of a batch whose ledger line was not reversed."""
    return [row for row in inputs_of(batch) if not is_reversed(row.entry)]


def inputs_of(batch: Batch) -> list[BatchInput]:
    """Return every draw ever written into a batch, in the order they were done."""
    return list(
        batch.inputs.select_related(
            "entry__container__lot__substance",
            "entry__container__substance",
            "entry__reversed_by",
            "entry__by",
            "line__substance",
        ).order_by("entry__done_at", "id")
    )


def is_reversed(entry: Entry) -> bool:
    """Say whether a later line took this one back."""
    return getattr(entry, "reversed_by", None) is not None


def actual_of(batch: Batch) -> Actual:
    """Return what was really in the flask."""
    lines = list(batch.lines.select_related("substance"))
    return actual_from(lines, standing_inputs(batch), Shared())


def actual_from(lines: Sequence[BatchLine], rows: Iterable[BatchInput], shared: Shared) -> Actual:
    """Return what was in the flask, from the draws that stand; lines nothing was drawn for are empty."""
    by_pk = {line.pk: line for line in lines}
    portions = [
        portion_of(row, by_pk[row.line_id], shared)
        for row in rows
        if row.line_id in by_pk and row.entry.container.unit in DIMENSIONS
    ]
    have = {portion.key for portion in portions}
    portions += [_empty(line) for line in lines if str(line.position) not in have]
    return actual(portions)


def portion_of(row: BatchInput, line: BatchLine, shared: Shared) -> LineInput:
    """Return one draw as a line of stoichiometry, with the strength it had on the day."""
    entry, container = row.entry, row.entry.container
    amount, unit = dispensed(entry, shared)
    strength = normal(row.fraction, row.fraction_u)
    base = line_input(line, container, shared.one(strength, "strength", container.pk, row.fraction))
    return replace(
        base,
        coefficient=_coefficient(line),
        fixed=Fixed(amount, DIMENSIONS[unit]),
        density_g_per_mL=shared.maybe(base.density_g_per_mL, "density", container.lot_id, line.pk),
        concentration_mol_per_L=shared.maybe(base.concentration_mol_per_L, "concentration", container.lot_id),
    )


def amount_of(entry: Entry, shared: Shared) -> UFloat:
    """Return what a ledger line took out [container's unit]."""
    taken, random, common = (n / MILLION for n in (-entry.change, entry.u_random, entry.u_common))
    return shared.measured(taken, random, common, entry.device)


def dispensed(entry: Entry, shared: Shared) -> tuple[UFloat, str]:
    """Return what was measured out, and its unit: g of what was weighed, even from a bottle kept in mL.

    The ledger went through the density once, to know what is left. What was weighed does not depend on it.
    """
    unit, taken = entry.container.unit, amount_of(entry, shared)
    typed = _typed_otherwise(entry)
    if typed is None:
        return taken, unit
    other = {"g": "mL", "mL": "g"}[unit]
    return taken * (float(typed.in_unit(other)) / (-entry.change / MILLION)), other


def _typed_otherwise(entry: Entry) -> Quantity | None:
    """Return what was typed where it is a mass out of a volume's ledger, or a volume out of a mass's."""
    own = DIMENSIONS.get(entry.container.unit)
    try:
        typed = parse_quantity(entry.typed) if own and entry.typed and entry.change else None
    except LabError:
        return None
    is_other = typed is not None and typed.dimension in DIMENSIONS.values() and typed.dimension != own
    return typed if is_other else None


def _empty(line: BatchLine) -> LineInput:
    return replace(line_input(line, None, normal(1, 0)), coefficient=_coefficient(line))


def _coefficient(line: BatchLine) -> Fraction | None:
    return Fraction(line.coefficient) if line.coefficient else None


def outcome_of(
    batch: Batch,
    mass_g: float,
    mass_u_g: float,
    percent: float,
    percent_u: float,
    *,
    mass_common_g: float = 0.0,
    device_code: str = "",
) -> Outcome | None:
    """Return the yield from what really went in, or None while no reactant is on record.

    `mass_u_g` is the whole standard uncertainty of the mass; `mass_common_g` is the part of it that the product
    shares with reactants weighed on the same device.
    """
    shared = Shared()
    lines = list(batch.lines.select_related("substance"))
    went_in = actual_from(lines, standing_inputs(batch), shared)
    if went_in.limiting_key is None or went_in.theoretical_mass_g is None:
        return None
    product = next((line for line in lines if line.role == LineRole.PRODUCT), None)
    limiting = next(line for line in lines if line.position == int(went_in.limiting_key))
    if product is None or product.molar_mass_g_per_mol is None:
        return None
    random = max(mass_u_g**2 - mass_common_g**2, 0.0) ** 0.5
    made = shared.measured(mass_g, random, mass_common_g, device_code)
    ratio = Fraction(product.coefficient or "1") / Fraction(limiting.coefficient or "1")
    found = percent_yield(
        made, normal(percent / 100, percent_u / 100), cast(UFloat, went_in.limiting_amount_mmol), ratio,
        normal(product.molar_mass_g_per_mol, product.molar_mass_u_g_per_mol or 0.0),
    )  # fmt: skip
    return Outcome(made, went_in.theoretical_mass_g, found, limiting.position)
