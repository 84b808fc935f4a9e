"""What a person typed, in the unit a ledger is kept in."""

from decimal import Decimal

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.uncertain import UFloat
from labstock.stock.codes import show_code
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION

UNIT_OF = {"g": "mass", "mL": "volume", "piece": "count"}
MOST = MILLION * 10**9


def in_ledger_unit(container: Container, quantity: Quantity) -> int:
    """Return an amount in whole millionths of the container's unit; mass and volume meet through the density."""
    amount = in_unit(quantity, container.unit, density_of(container), show_code(container.code))
    if amount <= 0:
        raise LabError(
            "nothing", "{typed} is nothing to record: give an amount above zero.", typed=quantity.typed
        )
    return amount


def density_of(container: Container) -> UFloat | None:
    """Return the density of what is in it [g/mL]: the lot's own, else the substance's, else None."""
    if container.lot is not None:
        return container.lot.density
    return container.substance.density if container.substance is not None else None


def in_unit(quantity: Quantity, unit: str, density: UFloat | None, kept: str) -> int:
    """Return an amount in whole millionths of a ledger unit, for what is kept (named in the refusals)."""
    if quantity.dimension == UNIT_OF[unit]:
        return quantity.millionths(unit)
    if {quantity.dimension, UNIT_OF[unit]} != {"mass", "volume"}:
        raise LabError(
            "wrong-dimension",
            "'{typed}' is {a} {dimension}, and {code} is kept in {unit}: give an amount in {unit}.",
            typed=quantity.typed,
            a="an" if quantity.dimension[0] in "aeiou" else "a",
            dimension=quantity.dimension,
            code=kept,
            unit=unit,
        )
    if density is None:
        raise LabError(
            "no-density",
            "'{typed}' is a {dimension}, {code} is kept in {unit}, and its lot has no density to go from one to the "
            "other. Give the amount in {unit}, or enter the density of the lot.",
            typed=quantity.typed,
            dimension=quantity.dimension,
            code=kept,
            unit=unit,
        )
    return _through(Decimal(repr(float(density.nominal_value))), quantity)


def _through(density: Decimal, quantity: Quantity) -> int:
    if quantity.dimension == "mass":
        value = Decimal(quantity.millionths("g")) / density
    else:
        value = Decimal(quantity.millionths("mL")) * density
    if value > MOST:
        raise LabError(
            "absurd", "{typed} is beyond anything a lab holds: check the unit.", typed=quantity.typed
        )
    return int(value.to_integral_value())
