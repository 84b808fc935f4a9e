"""All published checks, section by section."""

from tests.checks import (
    dates,
    densities,
    doubt,
    equations,
    green,
    heats,
    identifiers,
    moisture,
    solutions,
    stability,
    stoichiometry,
    weights,
)
from tests.checks.row import Check

SECTIONS = {
    "Atomic weights and molar masses": weights.CHECKS,
    "Stoichiometry and yields": stoichiometry.CHECKS,
    "Equations": equations.CHECKS,
    "Green metrics": green.CHECKS,
    "Solutions and dilution": solutions.CHECKS,
    "Densities": densities.CHECKS,
    "Heats of reaction": heats.CHECKS,
    "Measurement uncertainty": doubt.CHECKS,
    "Water vapour": moisture.CHECKS,
    "Stability and melting points": stability.CHECKS,
    "Identifiers": identifiers.CHECKS,
    "Dates": dates.CHECKS,
}


def all_checks() -> list[Check]:
    """Return every row of the table."""
    return [check for checks in SECTIONS.values() for check in checks]
