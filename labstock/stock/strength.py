"""How strong the contents of a container are on a day, from the best evidence there is."""

from datetime import date

from labstock.chemistry.purity import Claim, DatedClaim, Effective, effective, taken_as_pure
from labstock.stock.models import Container


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
    """Return the strength to dose by: the newest valid assay, else the lot's claim, else taken as pure and said so."""
    claims = claims_about(container)
    if any(claim.claim.percent is not None for claim in claims):
        return effective(claims, on=on)
    return taken_as_pure()
