"""From a draft to a plan: whose strength and density count, and the amounts to dispense."""

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import cast

from batches.drafts import Draft
from batches.models import BatchLine, LineRole
from batches.stoichiometry.lines import Dimension, Fixed, LineInput, Plan, Role
from batches.stoichiometry.plan import work_out
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.purity import Effective, taken_as_pure
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.uncertain import UFloat, exact, normal
from labstock.stock.codes import show_code
from labstock.stock.models import Container, State, Substance
from labstock.stock.strength import effective_purity

SCALE_DIMENSIONS = ("mass", "volume", "amount")
IN_UNIT = {"mass": "g", "volume": "mL", "amount": "mmol"}
MOST_EQUIVALENTS = 1000
EQUIVALENTS = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:equiv\.?|eq\.?|equivalents?)?")
# "1,250" may be one and a quarter or more than a thousand: asked, not guessed
THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}")


def work_out_lines(
    drafts: Sequence[Draft], *, scale: str, scale_line: int, on: date
) -> tuple[list[BatchLine], Plan]:
    """Return unsaved lines with their amounts, and the plan they come from. `scale_line` counts from 1."""
    containers = containers_to_plan_with(
        draft.substance.pk for draft in drafts if draft.substance and draft.role != LineRole.PRODUCT
    )
    lines = [_line(position, draft, containers, on) for position, draft in enumerate(drafts, 1)]
    plan = plan_of(lines, scale=scale, scale_line=scale_line)
    for line, planned in zip(lines, plan.lines, strict=True):
        _set(line, "amount_mmol", "amount_u_mmol", planned.amount_mmol)
        _set(line, "equivalents", "equivalents_u", planned.equivalents)
        _set(line, "dispense", "dispense_u", planned.dispense_value)
        line.dispense_unit = planned.dispense_unit
        line.is_limiting = planned.is_limiting
    return lines, plan


def plan_of(lines: Sequence[BatchLine], *, scale: str, scale_line: int) -> Plan:
    """Work out a plan from the numbers its lines carry; nothing is looked up."""
    if not 1 <= scale_line <= len(lines):
        raise LabError(
            "no-such-line",
            "There is no line {line} to give the scale on: choose 1 to {last}.",
            line=scale_line,
            last=len(lines),
        )
    typed = parse_quantity(scale, dimensions=SCALE_DIMENSIONS, allow_zero=False)
    return work_out(
        [_input(line) for line in lines],
        typed.as_uncertain(IN_UNIT[typed.dimension]),
        cast(Dimension, typed.dimension),
        str(scale_line),
    )


def drafts_of(lines: Iterable[BatchLine]) -> list[Draft]:
    """Return a saved plan's lines as drafts, to be worked out again."""
    return [
        Draft(
            line.role,
            line.name,
            line.formula,
            line.substance,
            Fraction(line.coefficient) if line.coefficient else None,
            line.equivalents_typed,
            line.amount_typed,
        )
        for line in lines
    ]


def _line(position: int, draft: Draft, containers: Mapping[int, Container], on: date) -> BatchLine:
    substance = draft.substance
    container = containers.get(substance.pk) if substance and draft.role != LineRole.PRODUCT else None
    strength = effective_purity(container, on) if container else taken_as_pure()
    if draft.role == LineRole.PRODUCT:
        strength = Effective(exact(1), "pure product")
    line = BatchLine(
        position=position,
        role=draft.role,
        substance=substance,
        name=draft.name,
        formula=draft.formula or (substance.formula if substance else ""),
        coefficient=str(draft.coefficient) if draft.coefficient is not None else "",
        equivalents_typed=draft.equivalents,
        amount_typed=draft.amount,
        fraction_from=strength.words[:140],
    )
    _set(line, "fraction", "fraction_u", strength.fraction)
    _set(line, "molar_mass_g_per_mol", "molar_mass_u_g_per_mol", molar_mass(substance, line.formula))
    lot = container.lot if container else None
    density = lot.density if lot else (substance.density if substance else None)
    _set(line, "density_g_per_mL", "density_u_g_per_mL", density)
    if lot is not None and lot.concentration is not None:
        _set(line, "concentration_mol_per_L", "concentration_u_mol_per_L", lot.concentration)
        line.fraction_from = f"{lot.concentration_mol_per_L:g} mol/L by its label"
    if container is not None:
        line.fraction_from += f" ({show_code(container.code)})"
    return line


def containers_to_plan_with(substances: Iterable[int]) -> dict[int, Container]:
    """Return for each substance the container whose strength the plan counts with: open first, first to end first."""
    rows = (
        Container.objects.filter(substance__in=set(substances), state=State.IN_USE, remaining__gt=0)
        .select_related("lot__substance")
        .prefetch_related("assays")
    )
    ordered = sorted(rows, key=lambda c: (c.opened_on is None, c.ends_on or date.max, c.number))
    return {c.substance_id: c for c in reversed(ordered) if c.substance_id is not None}


def molar_mass(substance: Substance | None, formula: str) -> UFloat | None:
    """Return the molar mass [g/mol] from the formula, else from the substance's record, else None."""
    if formula:
        return parse_formula(formula).molar_mass
    return substance.molar_mass if substance else None


def _input(line: BatchLine) -> LineInput:
    liquid = line.substance is None or line.substance.is_liquid
    density = _get(line.density_g_per_mL, line.density_u_g_per_mL) if liquid else None
    return LineInput(
        key=str(line.position),
        name=line.name,
        role=cast(Role, line.role),
        molar_mass_g_per_mol=_get(line.molar_mass_g_per_mol, line.molar_mass_u_g_per_mol),
        coefficient=_fraction(line.coefficient),
        equivalents=read_equivalents(line.equivalents_typed, line.name),
        fixed=read_fixed(line.amount_typed),
        fraction=normal(line.fraction, line.fraction_u) if line.role != LineRole.SOLVENT else exact(1),
        density_g_per_mL=density,
        concentration_mol_per_L=_get(line.concentration_mol_per_L, line.concentration_u_mol_per_L),
    )


def _fraction(text: str) -> Fraction | None:
    return Fraction(text) if text else None


def read_equivalents(text: str, name: str) -> UFloat | None:
    """Return equivalents as typed, with or without the word behind them; None where nothing was typed [mol/mol]."""
    if not text.strip():
        return None
    found = EQUIVALENTS.fullmatch(text.strip())
    value = float(found.group(1).replace(",", ".")) if found else 0.0
    if found and THOUSANDS.fullmatch(found.group(1)):
        raise LabError(
            "unclear-equivalents",
            "'{text}' equivalents of {name} is not clear: write {small} or {large}.",
            text=text.strip(),
            name=name,
            small=f"{value:g}",
            large=f"{value * 1000:g}",
        )
    if not 0 < value <= MOST_EQUIVALENTS:
        raise LabError(
            "bad-equivalents",
            "'{text}' equivalents of {name} cannot be read: write a number above 0 and up to {most}, like 1.2.",
            text=text.strip(),
            name=name,
            most=MOST_EQUIVALENTS,
        )
    return exact(value)


def read_fixed(text: str) -> Fixed | None:
    """Read an amount given outright ("12 mL", "6 drops") or for each millimole ("0.2 mL/mmol")."""
    if not text.strip():
        return None
    number, _, per = text.partition("/")
    is_relative = per.strip() == "mmol"
    quantity = parse_quantity(
        number if is_relative else text,
        dimensions=("mass", "volume") if is_relative else SCALE_DIMENSIONS,
        allow_zero=False,
    )
    if quantity.unit.symbol == "drop" and not is_relative:
        return Fixed(exact(float(quantity.value)), "drops")
    value = quantity.as_uncertain(IN_UNIT[quantity.dimension])
    dimension = f"{quantity.dimension} per mmol" if is_relative else quantity.dimension
    return Fixed(value, cast(Dimension, dimension))


def _get(value: float | None, u: float | None) -> UFloat | None:
    return None if value is None else normal(value, u or 0.0)


def _set(line: BatchLine, name: str, name_u: str, value: UFloat | None) -> None:
    setattr(line, name, None if value is None else float(value.nominal_value))
    setattr(line, name_u, None if value is None else float(value.std_dev))
