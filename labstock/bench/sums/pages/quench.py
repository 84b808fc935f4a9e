"""Quenching what is left: water, heat, gas, neutraliser, dosing, vessel, order of addition."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from batches.drafts import substance_called
from batches.stoichiometry.quench import NEUTRALISERS, Quench, QuenchPlan, left_mmol, plan_quench
from labstock.bench.sums.fields import Typed
from labstock.bench.sums.worked import (
    Figure,
    Table,
    Worked,
    bound,
    budget_table,
    figure,
    table,
    three_figures,
)
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.thermochemistry import CRC, TABLE, Formation, formation, hydrolysis
from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.models import Substance

SAFE_SIDE = "every figure is for mean + 2u of what may be left (JCGM 100:2008, 6.3.3)"
ORDER = (
    "Water first into the vessel, stirred; then the reactive mixture into it, in portions; then the neutraliser as a solution, once it is cold.",
    "university guides to quenching reactive substances; practice",
)


_HEAT_NAMES = {row.key: f"heat of formation of {row.name}" for row in TABLE}


@dataclass(frozen=True)
class Reagent:
    """A reactive reagent with what its quench needs."""

    name: str
    cas: str
    molar_mass: UFloat
    density: UFloat | None
    density_source: str


def quench(typed: dict[str, Any]) -> Worked:
    """Work out a quench on the safe side; without thermochemistry say so and give no number."""
    try:
        reagent = reagent_of(typed["reagent"], typed["density"])
        reaction = hydrolysis(reagent.cas, reagent.name)
    except LabError as error:
        if error.code != "no-thermochemistry":
            raise
        return _ask(error)
    left = left_mmol(
        _charged_mmol(typed["charged"], reagent), _product(typed["product"]), typed["per_product"]
    )
    plan = plan_quench(_asked(typed, reagent, left))
    return Worked(
        "caution" if plan.problems else "yes",
        f"{three_figures(plan.water_mL, 'mL')} of water in a {plan.vessel_mL:g} mL vessel",
        (*(problem.message for problem in plan.problems), SAFE_SIDE),
        tuple(_figures(plan, typed)),
        (_heats(reagent, reaction.products, reaction.water, reaction.heat_kJ_per_mol), *budget_table(reaction.heat_kJ_per_mol, "kJ/mol", "the heat")),
        (ORDER, *((caution.text, caution.source) for caution in plan.cautions)),
        (f"heats: {CRC}; one table, never mixed", f"density: {reagent.density_source}", "gas: ideal gas law at 101 325 Pa; vessel at least three times the total (common practice, no source)"),
    )  # fmt: skip


def _ask(error: LabError) -> Worked:
    word = error.message[0].upper() + error.message[1:]
    known = sorted({row.name for row in TABLE if _is_quenched(row)})
    return Worked(
        "ask",
        word,
        (
            "no data, no number: ask the safety officer and look for a written procedure",
            f"heats are known here for {', '.join(known)}",
        ),
        sources=(CRC,),
    )


def _is_quenched(row: Formation) -> bool:
    try:
        return bool(hydrolysis(row.cas).cas)
    except LabError:  # it is in the table for other reasons, and water does not use it up
        return False


def reagent_of(text: str, density: Typed | None) -> Reagent:
    """Return a reagent by name or CAS number, from the list or from the table of heats."""
    listed = substance_called(text) or Substance.objects.filter(cas=text).exclude(cas="").first()
    name, cas = (listed.name, listed.cas) if listed else (text, text)
    row = formation(cas or name)
    found = _density(listed, density, row.name)
    source = "as typed" if density else "the substance list"
    return Reagent(
        row.name if listed is None else name, row.cas, parse_formula(row.formula).molar_mass, found, source
    )


def _density(listed: Substance | None, density: Typed | None, name: str) -> UFloat:
    if density is not None:
        return density.value("g/mL")
    if listed is not None and listed.density is not None:
        return normal(listed.density.n, listed.density.s, "density")
    raise LabError(
        "no-density", "no density for {name}: enter it; for a solid too, it gives the volume.", name=name
    )


def _charged_mmol(charged: Typed, reagent: Reagent) -> UFloat:
    dimension = charged.quantity.dimension
    if dimension == "amount":
        return charged.value("mmol")
    mass = charged.value("g") if dimension == "mass" else charged.value("mL") * reagent.density
    return mass / reagent.molar_mass * 1000


def _product(product: Typed | None) -> UFloat | None:
    return product.value("mmol") if product else None


def _asked(typed: dict[str, Any], reagent: Reagent, left: UFloat) -> Quench:
    assert reagent.density is not None
    return Quench(
        reagent.cas,
        reagent.name,
        left,
        reagent.molar_mass,
        reagent.density,
        mixture_mL=typed["mixture"].number("mL") if typed["mixture"] else None,
        water_volumes=typed["volumes"],
        neutraliser=typed["neutraliser"] or None,
        cooling_W=typed["cooling"].number("W") if typed["cooling"] else None,
        start_C=typed["start"].number("°C"),
    )


def _figures(plan: QuenchPlan, typed: dict[str, Any]) -> Iterator[Figure]:
    yield figure("Left, by mass balance", plan.left_mmol, "mmol", "charged less what is found in the product")
    yield bound("Taken as left", plan.upper_mmol, "mmol", "mean + 2u")
    yield bound("Water that reacts", plan.water_needed_g, "g")
    yield Figure("Water in the vessel", three_figures(plan.water_mL, "mL"), f"{typed['volumes']:g} volumes")
    yield bound("Heat of the hydrolysis", plan.heat_kJ, "kJ", "Hess’s law")
    yield bound("Rise if nothing cools", plan.rise_K, "K", "adiabatic, all at once")
    yield Figure(
        "Stop and wait above",
        three_figures(plan.stop_above_C, "°C"),
        "15 K above the start (common practice, no source)",
    )
    yield bound("Gas set free", plan.gas_L, "L") if plan.gas_L else Figure("Gas set free", "none")
    yield from _dosing(plan)
    yield from _neutralising(plan, typed["neutraliser"])
    yield Figure("Vessel", f"{plan.vessel_mL:g} mL or larger", "three times the total")


def _dosing(plan: QuenchPlan) -> Iterator[Figure]:
    if plan.dosing_mL_per_min is None or plan.dosing_min is None:
        yield Figure("Dosing", "no cooling given, so no rate", "")
        return
    yield bound(
        "Dose at most",
        plan.dosing_mL_per_min,
        "mL/min",
        "what the cooling holds if each portion reacts at once",
    )
    yield Figure("That takes at least", three_figures(plan.dosing_min, "min"))


def _neutralising(plan: QuenchPlan, name: str) -> Iterator[Figure]:
    if not name:
        return
    base = NEUTRALISERS[name]
    yield bound(f"Acid formed, for {name}", plan.acid_mmol, "mmol")
    yield bound(f"{name.capitalize()} needed", plan.neutraliser_g, "g")
    heat = bound("Heat of neutralising", plan.neutraliser_kJ, "kJ", base.source)
    yield heat if plan.neutraliser_kJ else Figure("Heat of neutralising", "none is counted", base.source)
    if plan.neutralising_min is not None and plan.neutraliser_kJ:
        yield Figure("Neutralise for at least", three_figures(plan.neutralising_min, "min"))


def _heats(reagent: Reagent, products: Any, water: int, heat: UFloat) -> Table:
    rows = [
        (f"{number} {row.name} ({row.phase})", f"{row.kJ_per_mol:g}".replace("-", "−"))
        for number, row in (
            (1, formation(reagent.cas)), (water, formation("water")),
            *((number, formation(name)) for name, number in products.items()),
        )
    ]  # fmt: skip
    note = f"Heat of reaction {show(heat, 'kJ/mol')}; each row carries u = 0.5 kJ/mol (common practice, no source). {CRC}."
    return table("Heats of formation", ("Substance", "ΔfH, kJ/mol"), rows, note)
