"""Measurement uncertainty: published budgets, and the limits of the bench's devices."""

from math import sqrt

from labstock.chemistry.amounts import drop_volume_mL
from labstock.chemistry.devices import device
from labstock.chemistry.propagation import Statement, statement
from labstock.chemistry.regression import StraightLine, straight_line
from labstock.chemistry.uncertain import UFloat, half_width, normal, triangle
from tests.checks.row import Check, inside, near

QUAM_A1 = "EURACHEM/CITAC QUAM, 2nd ed., example A1"
QUAM_A3 = "QUAM, example A3, relative terms of its table; the printed u 0.00016 does not follow from them"
GUM_H1 = "JCGM 100:2008, example H.1"
GUM_H3 = "JCGM 100:2008, example H.3"
ISO_1042 = "ISO 1042:1998 One-mark volumetric flasks, by the data set uLPAQ"
ISO_648 = "ISO 648:2008 Single-volume pipettes, by the data set uLPAQ"
ISO_385 = "ISO 385:2005 Burettes, by the data set uLPAQ"
ISO_8655 = "ISO 8655-2:2002 Piston pipettes, by the data set uLPAQ"
ISO_4788 = "ISO 4788:2005 Graduated measuring cylinders, from memory"
SYRINGES = "ISO 7886-1, table 1, from memory"
T = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
B = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)


def cadmium() -> UFloat:
    """Return the calibration standard [mg/L]."""
    return 1000 * normal(100.28, 0.05) * normal(0.9999, 0.000058) / normal(100.0, 0.07)


def volume_mL() -> UFloat:
    """Return the volume of the flask with its three doubts [mL]."""
    return triangle(99.9, 100.1) + normal(0, 0.02) + half_width(0, 100 * 4 * 2.1e-4)


def end_gauge() -> Statement:
    """Return the length of the gauge with 99 % coverage [nm]."""
    standard, difference = normal(50_000_623, 25), normal(215, 9.7)
    expansion, temperature = normal(0, 2.9), normal(0, 16.6)
    length = standard + difference - expansion - temperature
    return statement(length, {standard: 18, difference: 25.6, expansion: 50, temperature: 2}, 0.99)


def thermometer() -> StraightLine:
    """Return the line of corrections about 20 °C [°C]."""
    return straight_line(T, B, 20.0)


def titre() -> UFloat:
    """Return the concentration of the acid [mol/L]; the values themselves are from memory."""
    relative = [normal(1, u) for u in (0.001, 0.00033, 0.00029, 0.0010, 0.00086, 0.00073)]
    found: UFloat = normal(1000 * 0.3888 * 14.89 / (18.64 * 204.2212 * 15), 0)
    for term in relative:
        found = found * term
    return found


def limit(code: str, amount: float) -> float:
    """Return the limit of error of a device [mL]."""
    row = device(code)
    return row.limit(amount, row.capacity or amount)


def _two_classes(number: str, kind: str, source: str, table: dict[float, tuple[float, float]]) -> list[Check]:
    return [
        near(number, f"{size:g} mL {kind}, class {letter.upper()}", printed, 1e-12, lambda c=f"{kind}-{size:g}-{letter}", s=size: limit(c, s), source, "mL")
        for size, limits in table.items()
        for letter, printed in zip("ab", limits, strict=True)
    ]  # fmt: skip


PISTONS = {
    2: (0.08, 0.04), 10: (0.12, 0.08), 20: (0.2, 0.1), 100: (0.8, 0.3), 200: (1.6, 0.6), 1000: (8, 3), 5000: (40, 15),
    10000: (60, 30),
}  # fmt: skip


def _piston_parts(size_uL: int) -> tuple[float, float]:
    """Return systematic limit and random deviation at full volume [µL]."""
    row = device(f"piston-{size_uL}")
    full_mL = size_uL / 1000
    doubt = row.uncertainty(full_mL)
    return doubt.common * sqrt(3) * 1000, doubt.random * 1000


CHECKS: list[Check] = [
    near("8.1", "cadmium standard", 1002.7, 0.05, lambda: cadmium().n, QUAM_A1, "mg/L"),
    inside("8.1", "its standard uncertainty", 0.83, 0.90, lambda: cadmium().s, QUAM_A1, "mg/L"),
    near("8.2", "volume term", 0.06647305, 1e-5, lambda: volume_mL().s, QUAM_A1, "mL"),
    near("8.2", "its triangular part", 0.041, 0.0005, lambda: triangle(99.9, 100.1).s, QUAM_A1, "mL"),
    near("8.2", "its temperature part", 0.049, 0.0006, lambda: half_width(0, 100 * 4 * 2.1e-4).s, QUAM_A1, "mL"),
    near("8.3", "purity term", 0.000058, 0.0000005, lambda: half_width(0.9999, 0.0001).s, QUAM_A1),
    near("8.4", "length of the end gauge", 50_000_838, 0.5, lambda: end_gauge().value, GUM_H1, "nm"),
    near("8.4", "its standard uncertainty", 32, 0.5, lambda: end_gauge().u, GUM_H1, "nm"),
    near("8.4", "its degrees of freedom, cut to a whole number", 16, 0, lambda: int(end_gauge().degrees), GUM_H1),
    near("8.4", "its coverage factor for 99 %", 2.92, 0.005, lambda: end_gauge().k, GUM_H1),
    near("8.4", "its expanded uncertainty", 93, 0.5, lambda: end_gauge().expanded, GUM_H1, "nm"),
    near("8.5", "correction at 20 °C and its u", (-0.1712, 0.0029), 0.00005, lambda: (thermometer().intercept.n, thermometer().intercept.s), GUM_H3, "°C"),
    near("8.5", "its slope and u", (0.00218, 0.00067), 0.000005, lambda: (thermometer().slope.n, thermometer().slope.s), GUM_H3),
    near("8.5", "correlation of the two", -0.930, 0.0005, lambda: thermometer().correlation, GUM_H3),
    near("8.5", "scatter of the readings", 0.0035, 0.00005, lambda: thermometer().scatter, GUM_H3, "°C"),
    near("8.5", "correction at 30 °C and its u", (-0.1494, 0.0041), 0.00005, lambda: (thermometer().value(30).n, thermometer().value(30).s), GUM_H3, "°C"),
    near("8.6", "hydrochloric acid titre", 0.10139, 0.000005, lambda: titre().n, QUAM_A3, "mol/L"),
    near("8.6", "its uncertainty from the listed terms", 0.00019, 0.000005, lambda: titre().s, QUAM_A3, "mol/L"),
    *_two_classes("8.flasks", "flask", ISO_1042, {10: (0.025, 0.05), 25: (0.04, 0.08), 50: (0.06, 0.12), 100: (0.10, 0.20), 250: (0.15, 0.30), 500: (0.25, 0.50), 1000: (0.40, 0.80)}),
    *_two_classes("8.pipettes", "pipette", ISO_648, {1: (0.008, 0.015), 2: (0.01, 0.02), 5: (0.015, 0.03), 10: (0.02, 0.04), 25: (0.03, 0.06), 50: (0.05, 0.10)}),
    *_two_classes("8.burettes", "burette", ISO_385, {1: (0.006, 0.01), 5: (0.01, 0.02), 10: (0.03, 0.05), 25: (0.03, 0.05), 50: (0.05, 0.10), 100: (0.10, 0.20)}),
    *_two_classes("8.10", "cylinder", ISO_4788, {10: (0.10, 0.20), 25: (0.25, 0.5), 50: (0.5, 1), 100: (0.5, 1), 250: (1, 2), 500: (2.5, 5), 1000: (5, 10)}),
    *(near("8.pistons", f"{size} µL piston pipette, systematic and random", printed, 1e-9, lambda s=size: _piston_parts(s), ISO_8655, "µL") for size, printed in PISTONS.items()),
    near("8.11", "one drop of water", 0.05, 1e-12, lambda: drop_volume_mL().n, "Ph. Eur. 2.1.1: 20 drops are 1000 ± 50 mg", "mL"),
    near("8.12", "doubt of a dropper: limit of ten drops", 0.15 * 0.5, 1e-12, lambda: limit("dropper", 0.5), "USP 1101 Medicine dropper: 15 %", "mL"),
    near("8.14", "10 mL syringe, 2 mL out of it", 0.015 * 10 + 0.02 * 2, 1e-12, lambda: limit("syringe-10", 2), SYRINGES, "mL"),
    near("8.14", "10 mL syringe, 8 mL out of it", 0.04 * 8, 1e-12, lambda: limit("syringe-10", 8), SYRINGES, "mL"),
    near("8.14", "2 mL syringe, 2 mL out of it", 0.05 * 2, 1e-12, lambda: limit("syringe-2", 2), SYRINGES, "mL"),
]  # fmt: skip
