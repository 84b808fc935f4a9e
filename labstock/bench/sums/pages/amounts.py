"""Amounts in every unit, the doubt of devices, and mass, volume and amount of one substance."""

from collections.abc import Iterator
from typing import Any

from batches.stoichiometry.lines import LineInput, Measures, measures
from labstock.bench.sums.fields import Kind, Purity, Typed, fraction_or_pure
from labstock.bench.sums.worked import Figure, Table, Worked, budget_table, figure, table, three_figures
from labstock.chemistry.amounts import density_at
from labstock.chemistry.devices import Device, choices, device
from labstock.chemistry.display import NO_BREAK, show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import LEDGER_UNITS, Quantity
from labstock.chemistry.uncertain import UFloat, normal
from labstock.chemistry.units import UNITS
from labstock.look.words import amount as shown

GUM = "JCGM 100:2008 (GUM): ± is two standard uncertainties, 6.2; digits follow it, 7.2.6"
RECTANGLE = "a typed ± without k is the half width of a rectangle, u = a/√3 (JCGM 100:2008, 4.3.7)"


def read(typed: dict[str, Any]) -> Worked:
    """Say an amount in every unit, and how well the bench's devices measure it."""
    quantity: Quantity = typed["amount"].quantity
    return Worked(
        "yes",
        str(quantity),
        tuple(_understood(quantity)),
        tuple(_in_every_unit(quantity)),
        tuple(_devices(quantity, typed["device"], typed["vessel"])),
        sources=(
            GUM,
            RECTANGLE,
            "Units: SI brochure, 9th ed.; the drop is Ph. Eur. 2.1.1 (20 drops of water weigh 1 g)",
        ),
    )


def _understood(quantity: Quantity) -> Iterator[str]:
    yield f"“{quantity.typed}” is understood as {quantity.dimension}"
    if quantity.count > 1:
        yield f"{quantity.count} portions, {show(quantity.value, quantity.unit.symbol, quantity.u)} in all"
    if quantity.u is None and quantity.unit.device:
        yield f"the {quantity.unit.symbol} brings the doubt of a {quantity.unit.device}"
    elif quantity.u is None:
        yield "no ± was given: the number is taken as exact until a device is named"


def _in_every_unit(quantity: Quantity) -> Iterator[Figure]:
    for unit in UNITS.values():
        if quantity.unit.converts_to(unit) and unit.dimension == quantity.dimension:
            exactly = quantity.to(unit.symbol)
            value: Any = quantity.as_uncertain(unit.symbol) if quantity.unit.device else exactly
            yield Figure(f"in {unit.symbol}", shown(value, unit.symbol))
    for symbol in LEDGER_UNITS:
        if UNITS[symbol].dimension == quantity.dimension:
            yield Figure(
                "in the ledger", f"{_millionths(quantity, symbol)}", "whole millionths, summed exactly"
            )


_MILLIONTH = {"g": "µg", "mL": "nL", "piece": "millionths of a piece"}


def _millionths(quantity: Quantity, symbol: str) -> str:
    try:
        return f"{quantity.millionths(symbol):,}{NO_BREAK}{_MILLIONTH[symbol]}".replace(",", NO_BREAK)
    except LabError as error:
        return error.message


def _devices(quantity: Quantity, code: str, vessel: Typed | None) -> Iterator[Table]:
    unit = {"mass": "g", "volume": "mL", "count": "piece"}.get(quantity.dimension)
    if unit is None:
        return
    value = float(quantity.in_unit(unit))
    capacity = vessel.number(unit) if vessel else None
    rows = list(choices(unit, value, capacity)) if value > 0 else []
    named = device(code) if code else None
    if named is not None and named not in rows:
        rows.insert(0, _same_unit(named, unit))
    yield table(
        "Measured with",
        ("Device", f"Limit of error, {unit}", f"u, {unit}", "± of it#", "Standard"),
        [_device_row(row, value, capacity) for row in rows],
        "u = limit/√3 (JCGM 100:2008, 4.3.7); ± is 2u as a part of the amount.",
        chosen=named.name if named else None,
    )


def _same_unit(row: Device, unit: str) -> Device:
    if row.unit != unit:
        raise LabError(
            "device-measures-otherwise",
            "A {device} measures {its}, and the amount is in {unit}: choose a device for {unit}, or give the amount in {its}.",
            device=row.name,
            its=row.unit,
            unit=unit,
        )
    return row


def _device_row(row: Device, value: float, capacity: float | None) -> tuple[Any, ...]:
    doubt = row.uncertainty(value, capacity)
    part = f"{200 * doubt.u / value:.2g}{NO_BREAK}%" if value else "none"
    return row.name, row.limit_text, three_figures(doubt.u, ""), part, f"{row.source} ({row.certainty})"


def turn(typed: dict[str, Any]) -> Worked:
    """Give one portion as mass, volume and amount of substance."""
    kind, purity, portion = typed["kind"], typed["purity"], typed["portion"]
    line = _line(typed)
    value, dimension = _portion(portion)
    found = measures(line, value, dimension)
    return Worked(
        "yes" if found.amount_mmol is not None else "limit",
        _word(found, kind),
        tuple(_missing(found, kind)),
        tuple(_measures(found, typed)),
        _budgets(found, dimension),
        sources=(
            f"molar mass: {kind.source}",
            f"purity: {purity.words if purity else 'taken as 100 %, none was given'}",
            "definitions n = m·w/M, V = m/ρ, n = c·V; propagation by JCGM 100:2008, 5.1.2",
        ),
    )


def _portion(portion: Typed) -> tuple[UFloat, str]:
    quantity = portion.quantity
    unit = {"mass": "g", "volume": "mL", "amount": "mmol"}[quantity.dimension]
    return portion.value(unit), quantity.dimension


def _line(typed: dict[str, Any]) -> LineInput:
    kind: Kind = typed["kind"]
    purity: Purity | None = typed["purity"]
    concentration: Typed | None = typed["concentration"]
    return LineInput(
        "portion",
        kind.name,
        "other",
        kind.molar_mass,
        fraction=fraction_or_pure(purity),
        density_g_per_mL=density_of(typed),
        concentration_mol_per_L=concentration.value("mol/L") if concentration else None,
    )


def density_of(typed: dict[str, Any]) -> UFloat | None:
    """Return the density at the temperature of measuring [g/mL], from what was typed or from the list."""
    given: Typed | None = typed["density"]
    substance = typed["kind"].substance
    if given is None:
        listed = substance.density if substance else None
        base = None if listed is None else normal(listed.n, listed.s, "density")
        reference = substance.density_at_celsius if substance else None
    else:
        base, reference = given.value("g/mL"), None
    if base is None:
        return None
    if typed["density_at"]:
        reference = typed["density_at"].number("°C")
    if typed["temperature"] is None or typed["expansion"] is None:
        return base
    expansion = normal(typed["expansion"], 0.1 * typed["expansion"], "expansion, ± 20 %")
    return density_at(
        base, typed["temperature"].value("°C"), 20.0 if reference is None else reference, expansion
    )


def _word(found: Measures, kind: Kind) -> str:
    if found.amount_mmol is None:
        return f"The amount of {kind.name} cannot be worked out yet"
    return f"{show(found.amount_mmol, 'mmol')} of {kind.name}"


def _missing(found: Measures, kind: Kind) -> Iterator[str]:
    if found.mass_g is None or found.volume_mL is None:
        yield f"no density for {kind.name}: enter it to turn mass into volume; nothing is guessed"


def _measures(found: Measures, typed: dict[str, Any]) -> Iterator[Figure]:
    kind: Kind = typed["kind"]
    for name, value, unit in (
        ("Amount of substance", found.amount_mmol, "mmol"),
        ("Mass, as it is in the bottle", found.mass_g, "g"),
        ("Volume", found.volume_mL, "mL"),
    ):
        yield figure(name, value, unit) if value is not None else Figure(name, "not known")
    yield figure("Molar mass", kind.molar_mass, "g/mol", kind.source)
    density = density_of(typed)
    if density is not None:
        source = "as typed" if typed["density"] else "the substance list"
        yield figure("Density used", density, "g/mL", source)


def _budgets(found: Measures, dimension: str) -> tuple[Table, ...]:
    if dimension == "amount" and found.mass_g is not None:
        return budget_table(found.mass_g, "g", "the mass")
    return budget_table(found.amount_mmol, "mmol", "the amount") if found.amount_mmol is not None else ()
