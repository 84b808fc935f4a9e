"""What a sum starts from when it is opened from a bottle or a batch: the record's own numbers, as a person would type them."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.conf import settings

from batches.models import Batch, BatchInput, BatchLine, LineRole
from batches.results import actual_of, standing_inputs
from labstock.bench.sums.forms.strength import NO_MODEL
from labstock.chemistry.errors import LabError
from labstock.chemistry.moisture import CLASSES
from labstock.chemistry.reactive_groups import propose_moisture
from labstock.chemistry.thermochemistry import hydrolysis
from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.codes import read_code
from labstock.stock.models import Container, PurityKind, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.models.ledger import Kind
from labstock.stock.queries import get_container

Initial = dict[str, Any]


def strength_of_container(typed_code: str) -> Initial:
    """Return what is on record about a bottle: claim, assay, dates, openings, content and the air above it."""
    container = get_container(read_code(typed_code, settings.LABSTOCK_CODE_PREFIX))
    substance = container.substance
    if substance is None:
        raise LabError(
            "no-substance",
            "{code} is only described in words: say on its page which substance it holds, or type the substance here.",
            code=container.code,
        )
    found: Initial = {"container": container.code, "kind": substance.name, "water": _class_of(substance)}
    found |= _claim(container) | _newest_assay(container) | _air_and_content(container)
    since = container.opened_on or container.received_on
    found |= {"opened_on": since.isoformat(), "cap": "good" if container.is_opened else "sealed"}
    found["openings"] = container.entries.filter(
        kind=Kind.DRAWN, reversed_by=None, done_at__date__gte=since
    ).count()
    return found


def _class_of(substance: Substance) -> str:
    proposal = propose_moisture(substance.smiles) if substance.smiles else None
    name = proposal.name if proposal else ""
    known = {"acid anhydride": "anhydride", "acyl halide": "acyl halide", "sulfonyl chloride": "sulfonyl halide", "hydride": "hydride"}  # fmt: skip
    return known.get(name, name if name in CLASSES else NO_MODEL)


def _claim(container: Container) -> Initial:
    lot = container.lot
    if lot is None or lot.purity_percent is None:
        return {}
    percent = f"{float(lot.purity_percent):g}"
    if lot.purity_kind == PurityKind.AT_LEAST:
        return {"claim": f"≥ {percent} %"}
    half = f" ± {float(lot.purity_half_width):g}" if lot.purity_half_width else ""
    return {"claim": f"{percent}{half} %"}


def _newest_assay(container: Container) -> Initial:
    assay = container.assays.first()
    if assay is None:
        return {}
    return {
        "assay": f"{assay.percent:g} ± {2 * assay.u_percent:g} % (k=2)",
        "assayed_on": assay.measured_on.isoformat(),
    }


def _air_and_content(container: Container) -> Initial:
    """Return content [g] and headspace [mL], on average between what came in and what is left."""
    lot_density = container.lot.density if container.lot else None
    density = lot_density.n if lot_density is not None else None
    mean = (container.received + container.remaining) / 2 / MILLION
    capacity = container.capacity / MILLION
    if container.unit == "g":
        return {"content": f"{mean:.4g} g"} | (
            {"headspace": f"{max(capacity - mean, 0) / density:.3g} mL"} if density else {}
        )
    found: Initial = {"headspace": f"{max(capacity - mean, 0):.3g} mL"}
    return found | ({"content": f"{mean * density:.4g} g"} if density else {})


def get_batch(number: str) -> Batch:
    """Return a batch by its number, or refuse in words."""
    batch = Batch.objects.filter(number=number.strip()).first()
    if batch is None:
        raise LabError(
            "unknown-batch",
            "There is no batch {number}: numbers look like 26-117. Look it up in the list of batches.",
            number=number.strip() or "without a number",
        )
    return batch


def quench_of_batch(number: str) -> Initial:
    """Return what may be left of the reactive reagent of a batch, by mass balance with the product so far."""
    batch = get_batch(number)
    line = _reactive_line(batch)
    amounts = actual_of(batch).amounts_mmol
    charged = amounts.get(str(line.position))
    if charged is not None:
        words = _mmol(charged)
    elif line.amount_mmol is not None:
        words = (
            f"{line.amount_mmol:.5g} ± {2 * (line.amount_u_mmol or 0):.2g} mmol (k=2)"
            if line.amount_u_mmol
            else f"{line.amount_mmol:.5g} mmol"
        )
    else:
        words = ""
    return {
        "batch": batch.number,
        "reagent": line.substance.cas if line.substance else line.name,
        "charged": words,
    } | _product_so_far(batch, line)


def _reactive_line(batch: Batch) -> BatchLine:
    for line in batch.lines.select_related("substance").filter(role=LineRole.REACTANT):
        try:
            hydrolysis(line.substance.cas if line.substance else "", line.name)
        except LabError:  # this reactant is not one that water destroys, or nothing is known of its heat
            continue
        return line
    names = ", ".join(batch.lines.filter(role=LineRole.REACTANT).values_list("name", flat=True))
    raise LabError(
        "nothing-reactive",
        "No thermochemistry for {names} of batch {number}: ask, and look for a written procedure.",
        names=names or "the reactants",
        number=batch.number,
    )


def _product_so_far(batch: Batch, reagent: BatchLine) -> Initial:
    product = batch.lines.filter(role=LineRole.PRODUCT).order_by("position").first()
    ratio = _coefficient(reagent) / _coefficient(product) if product else 1.0
    found: Initial = {"per_product": f"{ratio:g}"}
    if product and product.molar_mass_g_per_mol and batch.product_mass_g:
        mass = normal(batch.product_mass_g, batch.product_mass_u_g or 0)
        percent = normal(batch.product_percent or 100, batch.product_percent_u or 0)
        found["product"] = _mmol(mass * percent * 10 / product.molar_mass_g_per_mol)
    return found


def _product_g(batch: Batch) -> str:
    doubt = f" ± {2 * batch.product_mass_u_g:.2g} g (k=2)" if batch.product_mass_u_g else ""
    return f"{batch.product_mass_g:g} g{doubt}"


def _coefficient(line: BatchLine | None) -> float:
    above, _, below = (line.coefficient if line else "").partition("/")
    return float(above or 1) / float(below or 1)


def _mmol(amount: UFloat) -> str:
    return f"{amount.n:.5g} ± {2 * amount.s:.2g} mmol (k=2)" if amount.s else f"{amount.n:.5g} mmol"


def balance_of_batch(number: str) -> Initial:
    """Return everything that went into a batch, and its product, as lines of a mass balance."""
    batch = get_batch(number)
    return {
        "batch": batch.number,
        "went_in": "\n".join(_mass_lines(standing_inputs(batch))),
        "came_out": f"product; {_product_g(batch)}" if batch.product_mass_g else "",
    }


def green_of_batch(number: str) -> Initial:
    """Return the equation of a batch, its reactants and everything else, by mass."""
    batch = get_batch(number)
    rows = standing_inputs(batch)
    reactants = [row for row in rows if row.line and row.line.role == LineRole.REACTANT]
    found: Initial = {
        "batch": batch.number,
        "equation": _equation_of(batch),
        "reactants": "\n".join(_mass_lines(reactants)),
        "others": "\n".join(_mass_lines(row for row in rows if row not in reactants)),
    }
    product = batch.lines.filter(role=LineRole.PRODUCT).order_by("position").first()
    if product:
        found["wanted"] = product.formula
    if batch.product_mass_g:
        found["product"] = _product_g(batch)
    if batch.yield_percent:
        found["percent_yield"] = f"{batch.yield_percent:.3g}"
    return found


def _equation_of(batch: Batch) -> str:
    """Write the equation by formulae, which the sums read; names stay with the batch."""
    sides: dict[str, list[str]] = {LineRole.REACTANT: [], LineRole.PRODUCT: []}
    for line in batch.lines.filter(role__in=sides).order_by("position"):
        if line.coefficient and line.formula:
            sides[line.role].append(
                f"{line.coefficient} {line.formula}" if line.coefficient != "1" else line.formula
            )
    return " -> ".join(" + ".join(side) for side in sides.values())


def _mass_lines(rows: Iterable[BatchInput]) -> Iterator[str]:
    for row in rows:
        container = row.entry.container
        name = row.line.name if row.line else container.name
        amount = -row.entry.change / MILLION
        u = (row.entry.u_random**2 + row.entry.u_common**2) ** 0.5 / MILLION
        density = container.lot.density if container.lot else None
        if container.unit == "mL" and density is None:
            yield f"{name}; {amount:g} mL: no density, weigh it"  # refused on reading, so that nobody overlooks it
            continue
        factor = density.n if container.unit == "mL" and density is not None else 1.0
        doubt = f" ± {2 * u * factor:.2g} g (k=2)" if u else ""
        yield f"{name}; {amount * factor:.5g} g{doubt}"
