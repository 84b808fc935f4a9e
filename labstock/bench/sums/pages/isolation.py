"""Recovery, washing, drying, mass balance, melting ranges, greenness."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from batches.stoichiometry.green import (
    atom_economy_percent,
    e_factor,
    process_mass_intensity,
    reaction_mass_efficiency_percent,
)
from batches.stoichiometry.isolation import (
    LITERATURE_TOLERANCE_K,
    MeltingRange,
    compare_melting,
    loss_on_drying,
    mass_balance,
    minimum_solvent_mL,
    recovery,
    wash_loss_g,
)
from labstock.bench.sums.fields import Typed
from labstock.bench.sums.worked import Figure, Table, Worked, budget_table, figure, table
from labstock.chemistry.display import NO_BREAK, show, show_percent
from labstock.chemistry.equation import Equation, accept, parse_equation
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat
from labstock.look.words import with_doubt

CONSERVED = "conservation of mass; the cold mother liquor keeps what the cold solubility allows"
PROPAGATED = "propagation by JCGM 100:2008, 5.1.2; ± is two standard uncertainties"


def recrystallise(typed: dict[str, Any]) -> Worked:
    """Find what a recrystallisation gives back, and what the washes may take."""
    mass, hot, cold = (
        typed["mass"].value("g"),
        typed["hot"].value("g/100 mL"),
        typed["cold"].value("g/100 mL"),
    )
    least = minimum_solvent_mL(mass, hot)
    solvent = typed["solvent"].value("mL") if typed["solvent"] else least
    found = recovery(mass, solvent, hot, cold)
    is_whole = found.is_dissolved or typed["solvent"] is None
    figures = [
        figure("Crystals expected", found.recovered_g, "g"),
        figure("Recovery", found.percent, "%"),
        figure("Stays in the mother liquor", found.lost_g, "g"),
        figure("Least hot solvent", least, "mL", "from the hot solubility"),
        *_washing(typed, found.recovered_g),
    ]
    return Worked(
        "yes" if is_whole else "caution",
        f"{show(found.recovered_g, 'g')} back, {show(found.percent, '%')}",
        () if is_whole else (f"not all of it dissolves hot: take at least {show(least, 'mL')}",),
        tuple(figures),
        budget_table(found.recovered_g, "g", "the crystals"),
        sources=(CONSERVED, PROPAGATED, "solubilities as typed: say where you have them from"),
    )


def _washing(typed: dict[str, Any], crystals: UFloat) -> Iterator[Figure]:
    if typed["washes"] and crystals.n > 0:
        loss = wash_loss_g(crystals, typed["washes"].value("mL"), typed["cold"].value("g/100 mL"))
        yield figure("Washes take at most", loss, "g", "wash taken as saturated")
        yield figure("Left after washing, at least", crystals - loss, "g")


def drying(typed: dict[str, Any]) -> Worked:
    """Find a loss on drying."""
    vessel: UFloat | float = typed["vessel"].value("g") if typed["vessel"] else 0.0
    wet, dry = typed["wet"].value("g"), typed["dry"].value("g")
    loss = loss_on_drying(wet, dry, vessel)
    return Worked(
        "yes",
        f"{show_percent(loss)} lost on drying",
        (
            "dry to constant mass: weigh again until two weighings agree",
            "a limit belongs to a named monograph",
        ),
        (
            figure("Loss on drying", loss * 100, "%"),
            figure("Lost", wet - dry, "g"),
            figure("Dry substance", dry - vessel, "g"),
        ),
        budget_table(loss * 100, "%", "the loss"),
        sources=(
            "definition, (wet − dry)/(wet − vessel), as in the pharmacopoeias’ loss on drying",
            PROPAGATED,
        ),
    )


def balance(typed: dict[str, Any]) -> Worked:
    """Set what went in against what came out."""
    inputs, outputs = _sums(typed["went_in"]), _sums(typed["came_out"])
    found = mass_balance(inputs, outputs, typed["ask_above"])
    return Worked(
        "ask" if found.is_to_be_explained else "yes",
        found.words,
        (),
        (figure("In", found.in_g, "g"), figure("Out", found.out_g, "g"), figure("Unexplained", found.unexplained_g, "g"), figure("Unexplained, of what went in", found.percent, "%")),
        (_masses("Line by line", inputs, outputs), *budget_table(found.unexplained_g, "g", "the unexplained part")),
        sources=(f"conservation of mass; asking above {typed['ask_above']:g} % is common practice, no source", PROPAGATED),
    )  # fmt: skip


def _sums(rows: list[tuple[str, Typed]]) -> dict[str, UFloat]:
    """Add up lines of one name [g]."""
    found: dict[str, UFloat] = {}
    for name, typed in rows:
        found[name] = found[name] + typed.value("g") if name in found else typed.value("g")
    return found


def _masses(title: str, inputs: dict[str, UFloat], outputs: dict[str, UFloat]) -> Table:
    rows: list[tuple[Any, ...]] = [(name, with_doubt(show(mass, "")), "") for name, mass in inputs.items()]
    rows += [(name, "", with_doubt(show(mass, ""))) for name, mass in outputs.items()]
    return table(title, ("What", "In, g", "Out, g"), rows)


def melting(typed: dict[str, Any]) -> Worked:
    """Compare a melting range with literature, and with a reference sample where there is one."""
    observed = _range(typed["low"], typed["high"])
    literature = _range(typed["book_low"], typed["book_high"])
    reference = _range(typed["reference_low"], typed["reference_high"]) if typed["reference_low"] else None
    words = compare_melting(observed, literature, reference)
    rows = [("observed", observed), ("literature", literature)] + (
        [("reference sample", reference)] if reference else []
    )
    return Worked(
        "yes" if words.startswith("agrees") else "ask",
        words[0].upper() + words[1:],
        ("a melting range supports an identity and never proves it; a mixed melting point says more",),
        tuple(Figure(f"{name.capitalize()} range", f"{each.low_C:g} to {each.high_C:g}{NO_BREAK}°C") for name, each in rows if each),
        sources=(f"literature ± {LITERATURE_TOLERANCE_K:g} K: three compilations differ by up to that; a sharp range is within 2 K (common practice, no source)",),
    )  # fmt: skip


def _range(low: Typed, high: Typed | None) -> MeltingRange:
    first = round(low.number("°C"), 6)
    return MeltingRange(first, first if high is None else round(high.number("°C"), 6))


def green(typed: dict[str, Any]) -> Worked:
    """Find atom economy, E factor, mass intensity and mass efficiency."""
    equation = accept(parse_equation(typed["equation"]))
    economy = atom_economy_percent(_wanted(equation, typed["wanted"]), _terms(equation, equation.left))
    product = typed["product"].value("g")
    reactants, others = _sums(typed["reactants"]), _sums(typed["others"])
    everything = reactants | {
        f"{name} (other)" if name in reactants else name: mass for name, mass in others.items()
    }
    intensity, efficiency = (
        process_mass_intensity(everything, product),
        reaction_mass_efficiency_percent(reactants, product),
    )
    figures = (
        figure("Atom economy", economy, "%", "of the equation alone"),
        figure("E factor", e_factor(everything, product), "g/g", "waste per product, water counted"),
        figure("Process mass intensity", intensity, "g/g", "everything per product"),
        figure("Reaction mass efficiency", efficiency, "%", "product per reactants, excess included"),
        *_excess(economy, efficiency, typed["percent_yield"]),
    )
    return Worked(
        "yes",
        f"{show(intensity, 'g')} went in for each gram of product",
        (f"{show(economy, '%')} of the atoms could end up in it",),
        figures,
        (_masses("What went in", everything, {"product": product}), *budget_table(intensity, "g/g", "the mass intensity")),
        sources=("atom economy by definition; mass efficiency, Green Chem. 4 (2002) 521; PMI = E + 1, Green Chem. 9 (2007) 1273 (from memory)", PROPAGATED),
    )  # fmt: skip


def _excess(economy: UFloat, efficiency: UFloat, percent_yield: float | None) -> Iterator[Figure]:
    if percent_yield:
        factor = economy * percent_yield / 100 / efficiency
        yield figure(
            "Excess of reactants", factor, "g/g", "atom economy · yield / mass efficiency; 1 without excess"
        )


def _terms(equation: Equation, side: Any) -> list[tuple[UFloat, Fraction]]:
    return [(species.formula.molar_mass, species.coefficient or Fraction(1)) for species in side]


def _wanted(equation: Equation, name: str) -> list[tuple[UFloat, Fraction]]:
    chosen = [species for species in equation.right if name.strip() in (species.label, species.formula.hill)]
    if not chosen:
        raise LabError(
            "not-a-product",
            "'{name}' is not on the right of the equation: choose one of {products}.",
            name=name.strip(),
            products=", ".join(species.label for species in equation.right),
        )
    return _terms(equation, chosen)
