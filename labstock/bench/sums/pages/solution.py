"""Solutions, dilutions, concentrated acids, titrations."""

from typing import Any

from labstock.bench.sums.fields import Kind, Typed, fraction_or_pure
from labstock.bench.sums.worked import Figure, Worked, budget_table, figure
from labstock.chemistry.amounts import mass_of_volume_g
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.solutions import (
    concentration_mol_per_L,
    diluted_by_mass_g,
    diluted_mol_per_L,
    diluted_volume_mL,
    mass_for_solution_g,
    stock_volume_mL,
    strength_from_v_v_mol_per_L,
    strength_from_w_v_mol_per_L,
    strength_mol_per_L,
    titrated_mol_per_L,
)
from labstock.chemistry.uncertain import UFloat

PROPAGATED = "propagation by JCGM 100:2008, 5.1.2; ± is two standard uncertainties"
ACID_INTO_WATER = (
    "Add the acid to the water, slowly and stirred, never water to acid; it heats up, and the volume is right only once it is cold.",
    "Prudent Practices in the Laboratory; textbook practice",
)


def make(typed: dict[str, Any]) -> Worked:
    """Find the mass to weigh for a solution."""
    kind: Kind = typed["kind"]
    wanted = _molar(typed["concentration"], kind)
    mass = mass_for_solution_g(
        wanted, typed["volume"].value("mL"), kind.molar_mass, fraction_or_pure(typed["purity"])
    )
    return Worked(
        "yes",
        f"Weigh {show(mass, 'g')} of {kind.name}",
        (
            f"dissolve it and make up to {typed['volume'].quantity}",
            "of a hydrate the hydrate’s molar mass counts",
        ),
        (
            figure("Mass to weigh", mass, "g"),
            figure("Concentration", wanted, "mol/L"),
            _molar_mass(kind),
            _purity(typed),
        ),
        budget_table(mass, "g", "the mass"),
        sources=("definition, m = c·V·M/w", PROPAGATED),
    )


def weighed(typed: dict[str, Any]) -> Worked:
    """Find the concentration of what was weighed and made up."""
    kind: Kind = typed["kind"]
    mass, volume = typed["mass"].value("g"), typed["volume"].value("mL")
    found = concentration_mol_per_L(mass, kind.molar_mass, volume, fraction_or_pure(typed["purity"]))
    return Worked(
        "yes",
        f"{show(found, 'mol/L')} of {kind.name}",
        (),
        (figure("Concentration", found, "mol/L"), figure("By mass of substance", found * kind.molar_mass, "g/L"), _molar_mass(kind), _purity(typed)),
        budget_table(found, "mol/L", "the concentration"),
        sources=("definition, c = m·w/(M·V)", PROPAGATED),
    )  # fmt: skip


def dilute(typed: dict[str, Any]) -> Worked:
    """Find the number of a dilution that was left out."""
    stock = typed["stock"].value("mol/L")
    taken, wanted, final = (typed[name] for name in ("taken", "wanted", "final"))
    if taken is None:
        found, unit, word = (
            stock_volume_mL(stock, wanted.value("mol/L"), final.value("mL")),
            "mL",
            "Take {} of stock",
        )
    elif wanted is None:
        found, unit, word = (
            diluted_mol_per_L(stock, taken.value("mL"), final.value("mL")),
            "mol/L",
            "It will be {}",
        )
    else:
        found, unit, word = (
            diluted_volume_mL(stock, taken.value("mL"), wanted.value("mol/L")),
            "mL",
            "Make it up to {}",
        )
    why = f"made up to {final.quantity}" if taken is None else "volumes are not added: make up to the mark"
    return Worked(
        "yes",
        word.format(show(found, unit)),
        (why,),
        (figure("Found", found, unit), figure("Stock", stock, "mol/L")),
        budget_table(found, unit, "the result"),
        sources=("conservation of amount, c₁V₁ = c₂V₂", PROPAGATED),
    )


def acid(typed: dict[str, Any]) -> Worked:
    """Find the concentration behind a label's percent, and the volume to dilute."""
    kind: Kind = typed["kind"]
    found = _strength(typed["strength"], typed["density"], kind)
    figures = [figure("Concentration", found, "mol/L"), _molar_mass(kind)]
    cautions: tuple[tuple[str, str], ...] = ()
    word = f"{typed['strength'].quantity} is {show(found, 'mol/L')}"
    if typed["wanted"] and typed["final"]:
        volume = stock_volume_mL(found, typed["wanted"].value("mol/L"), typed["final"].value("mL"))
        word = f"Take {show(volume, 'mL')}, make up to {typed['final'].quantity}"
        figures.insert(0, figure("Volume to take", volume, "mL"))
        figures += _mass_of(volume, typed)
        cautions = (ACID_INTO_WATER,)
        budgets = budget_table(volume, "mL", "the volume")
    else:
        budgets = budget_table(found, "mol/L", "the concentration")
    return Worked("yes", word, (_percent_kind(typed["strength"]),), tuple(figures), budgets, cautions, ("definition, c = w·ρ/M", PROPAGATED))  # fmt: skip


def _mass_of(volume: UFloat, typed: dict[str, Any]) -> list[Figure]:
    if typed["density"] is None or typed["strength"].quantity.unit.kind == "by volume":
        return []
    mass = mass_of_volume_g(volume, typed["density"].value("g/mL"))
    return [figure("or weigh", mass, "g", "the density typed")]


def _strength(strength: Typed, density: Typed | None, kind: Kind) -> UFloat:
    unit = strength.quantity.unit
    if unit.dimension == "mass concentration":
        return strength_from_w_v_mol_per_L(strength.value("g/100 mL"), kind.molar_mass)
    if unit.kind not in ("by mass", "by volume"):
        raise LabError(
            "which-percent",
            "'{typed}' does not say which percent: write % w/w (by mass), % w/v or % v/v; they differ by the density.",
            typed=strength.quantity.typed,
        )
    if density is None:
        raise LabError(
            "no-density",
            "no density for {name}: enter it beside '{typed}', it stands on the label.",
            name=kind.name,
            typed=strength.quantity.typed,
        )
    if unit.kind == "by volume":
        return strength_from_v_v_mol_per_L(strength.value("% v/v"), density.value("g/mL"), kind.molar_mass)
    return strength_mol_per_L(strength.value("% w/w") / 100, density.value("g/mL"), kind.molar_mass)


def _percent_kind(strength: Typed) -> str:
    unit = strength.quantity.unit
    kind = "grams in 100 mL of solution" if unit.dimension == "mass concentration" else unit.kind
    return f"the percent is {kind}"


def by_mass(typed: dict[str, Any]) -> Worked:
    """Find the mass of stock for a dilution by mass."""
    stock, wanted = typed["stock"].mass_fraction(), typed["wanted"].mass_fraction()
    total = typed["mass"].value("g")
    found = diluted_by_mass_g(stock, wanted, total)
    return Worked(
        "yes",
        f"Weigh {show(found, 'g')} of stock",
        (f"and {show(total - found, 'g')} of solvent: masses add up, volumes do not",),
        (figure("Stock", found, "g"), figure("Solvent", total - found, "g")),
        budget_table(found, "g", "the stock"),
        (ACID_INTO_WATER,),
        ("conservation of mass, m₁w₁ = m₂w₂", PROPAGATED),
    )


def titre(typed: dict[str, Any]) -> Worked:
    """Find a concentration by titration."""
    titrant, used, sample = (
        typed["titrant"].value("mol/L"),
        typed["used"].value("mL"),
        typed["sample"].value("mL"),
    )
    found = titrated_mol_per_L(titrant, used, sample, typed["ratio"])
    return Worked(
        "yes",
        f"The sample is {show(found, 'mol/L')}",
        (f"{typed['ratio']:g} mol of sample for 1 mol of titrant",),
        (
            figure("Concentration of the sample", found, "mol/L"),
            figure("Amount in the sample", found * sample, "mmol"),
        ),
        budget_table(found, "mol/L", "the concentration"),
        sources=("definition, c = c₁V₁·ν/V", PROPAGATED),
    )


def _molar(wanted: Typed, kind: Kind) -> UFloat:
    """Return a concentration wanted, by amount or by mass [mol/L]."""
    if wanted.quantity.dimension == "concentration":
        return wanted.value("mol/L")
    return wanted.value("g/L") / kind.molar_mass


def _molar_mass(kind: Kind) -> Figure:
    return figure("Molar mass", kind.molar_mass, "g/mol", kind.source)


def _purity(typed: dict[str, Any]) -> Figure:
    purity = typed["purity"]
    return figure(
        "Purity used",
        fraction_or_pure(purity) * 100,
        "%",
        purity.words if purity else "none given: taken as pure",
    )
