"""How strong the contents of a container are on a day, from the best evidence there is.

Order of trust: the newest valid assay, a certificate, "at least", a number by grade. A liquid that water destroys
is then carried from that claim to the day by the moisture model, which says that it is one.
"""

from datetime import date

from labstock.chemistry.moisture import CLASSES, Exposure, MoistureModel
from labstock.chemistry.purity import Claim, DatedClaim, Effective, effective, newest_valid, taken_as_pure
from labstock.chemistry.reactive_groups import propose_moisture
from labstock.stock.models import Container, Kind
from labstock.stock.models.container import MILLION

# What the structure is called when it is proposed, and what the moisture model calls it.
MODELLED = {
    "acid anhydride": "anhydride",
    "acyl halide": "acyl halide",
    "sulfonyl chloride": "sulfonyl halide",
    "hydride": "hydride",
}
DAYS_PER_MONTH = 30.44


def claims_about(container: Container) -> list[DatedClaim]:
    """Return every claim on record: this container's own assays and what its lot states."""
    claims = [
        DatedClaim(Claim("assay", assay.percent, assay.u_percent), assay.measured_on)
        for assay in container.assays.all()
    ]
    if container.lot is not None:
        claims.append(DatedClaim(container.lot.claim))
    return claims


def effective_purity(container: Container, on: date) -> Effective:
    """Return the strength to dose by on a day; taken as pure, and said so, where nothing is on record."""
    claims = [claim for claim in claims_about(container) if claim.claim.percent is not None]
    anchor = newest_valid(claims, on)
    if anchor is None:
        return taken_as_pure()
    return effective(claims, moisture_since(container, on, anchor.found_on), on=on)


def kind_of_moisture(container: Container) -> str:
    """Return the moisture model's name for what is in it, or "" where water does not destroy it."""
    substance = container.substance
    if substance is None or not substance.is_moisture_sensitive or not substance.smiles:
        return ""
    proposal = propose_moisture(substance.smiles)
    kind = MODELLED.get(proposal.name, proposal.name) if proposal else ""
    return kind if kind in CLASSES else ""


def moisture_since(container: Container, on: date, measured_on: date | None) -> MoistureModel | None:
    """Return what air and leaks did since the opening or the last assay, or None where there is no model.

    Only opened liquids of known density are modelled: on a solid the water stays at the surface, and a sealed
    bottle has the strength its label states.
    """
    kind, opened = kind_of_moisture(container), container.opened_on
    density = container.lot.density if container.lot else None
    substance = container.substance
    if not kind or substance is None or opened is None or density is None or not substance.molar_mass:
        return None
    if not substance.is_liquid or container.remaining <= 0:
        return None
    since = max(opened, measured_on) if measured_on else opened
    per_mL = density.n if container.unit == "mL" else 1.0
    mean = (container.received + container.remaining) / 2 / MILLION
    content_mL = mean if container.unit == "mL" else mean / density.n
    capacity_mL = container.capacity / MILLION / (1.0 if container.unit == "mL" else density.n)
    exposure = Exposure(
        openings=_openings(container, since, on),
        headspace_mL=max(capacity_mL - content_mL, 0.0),
        months_closed=round(max((on - since).days, 0) / DAYS_PER_MONTH, 1),
        since=since,
    )
    return MoistureModel(kind, substance.molar_mass, mean * per_mL, exposure)


def _openings(container: Container, since: date, on: date) -> int:
    """Count how often it was opened: each draw that stands is one."""
    return container.entries.filter(
        kind=Kind.DRAWN, reversed_by=None, done_at__date__gte=since, done_at__date__lte=on
    ).count()
