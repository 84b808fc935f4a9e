"""Shelf life, Arrhenius lines and melting ranges."""

from functools import lru_cache
from math import log

from batches.retained.shelf_life import POOLING_LEVEL, Batches, ShelfLife, extrapolation_cap, shelf_life
from batches.stoichiometry.isolation import MeltingRange, compare_melting
from labstock.chemistry.regression import least_squares
from tests.checks.row import Check, near, same

ANCOVA = "J. Valid. Technol. 17(3), 2011, 47-68, Linear Regression 102"
Q1E = "ICH Q1E, Evaluation for stability data, 2003"
KINETICS = "OpenStax, Chemistry 2e, Collision Theory (m68793)"
MELTING = "CRC and CAS Common Chemistry against NIST, in chemicals 1.5.2"
ASSAYS = {
    "b2": "0 101.0; 1 101.3; 3 99.8 99.2; 6 99.5 97.8; 12 97.4 97.2; 24 96.9 96.0",
    "b5": "0 102.0; 1 101.4; 2 100.8; 3 100.2 99.7; 6 98.8 98.5; 12 98.0 97.1; 24 96.6 96.1",
    "b7": "0 101.3; 1 101.5; 3 100.2 99.8; 6 99.0 98.5; 12 98.5 97.4; 24 96.6 96.4",
    "b3": "0 104.8; 3 103.0 101.2; 6 100.8 99.2; 12 98.6 97.2; 24 97.6 98.0",
    "b4": "0 104.0; 3 103.2; 6 102.8 103.3; 12 102.4 101.2; 24 99.1 99.5",
}
MELTING_POINTS = """
benzophenone 48.0 48.5 48.1 agrees
naphthalene 80.2 80.2 80.1 agrees
vanillin 81.0 80.5 81.9 agrees
acetanilide 114.4 114.3 115 agrees
succinic-anhydride 119.5 119.6 119.6 agrees
benzoic-acid 122.3 122.4 122.1 agrees
benzamide 128.0 130.0 127.9 agrees
phthalic-anhydride 131.4 130.8 130.9 agrees
urea 132.4 132.7 132.9 agrees
aspirin-decomposes 136.0 135.0 131.9 lower
salicylic-acid 158.6 158.0 158.9 agrees
paracetamol 168.0 169.8 168.0 agrees
4-aminophenol-decomposes 186.0 189.9 186.2 agrees
caffeine 236.1 238.0 235.7 agrees
maleic-anhydride 52.6 52.8 52.9 agrees
"""


def batches(names: str) -> Batches:
    """Return the published values of some batches [month, %]."""
    read = {}
    for name in names.split():
        rows = [row.split() for row in ASSAYS[name].split(";")]
        read[name] = [(float(month), float(value)) for month, *values in rows for value in values]
    return read


@lru_cache(maxsize=4)
def life(names: str, *, two_sided: bool = False) -> ShelfLife:
    """Return our evaluation, limit 95 %."""
    return shelf_life(batches(names), 95, two_sided=two_sided)


def activation_kJ_per_mol(kelvins: tuple[float, ...], rates: tuple[float, ...]) -> float:
    """Return the activation energy by a line through ln k over 1/T [kJ/mol]."""
    fit = least_squares([[1.0, 1 / kelvin] for kelvin in kelvins], [log(rate) for rate in rates])
    return -fit.coefficients[1] * 8.314462618 / 1000


def _melting_rows() -> list[Check]:
    rows = []
    for line in MELTING_POINTS.strip().splitlines():
        name, crc, common, nist, verdict = line.split()
        literature = MeltingRange(*sorted((float(crc), float(common))))
        observed = MeltingRange(float(nist), float(nist))
        rows.append(same("10.melting", name.replace("-", " "), verdict, lambda o=observed, x=literature: compare_melting(o, x).split()[0], MELTING))  # fmt: skip
    return rows


POOLED, PARALLEL = "b2 b5 b7", "b3 b4 b5"

CHECKS: list[Check] = [
    same("10.1", "b2, b5, b7 share one line", "one common line", lambda: life(POOLED).model, f"{ANCOVA}, table V"),
    near("10.1", "F of slopes and intercepts", (0.229, 0.436), 0.0005, lambda: [test.f for test in life(POOLED).tests], f"{ANCOVA}, table V"),
    near("10.1", "intercept", 100.567, 0.0005, lambda: life(POOLED).lines[0].intercept, f"{ANCOVA}, table V", "%"),
    near("10.1", "slope", -0.192994, 5e-7, lambda: life(POOLED).lines[0].slope, f"{ANCOVA}, table V", "%/month"),
    near("10.1", "F of the regression", 129.051, 0.0005, lambda: life(POOLED).lines[0].slope_f, f"{ANCOVA}, table V"),
    near("10.1", "shelf life", 25.9958, 0.00005, lambda: life(POOLED).months, f"{ANCOVA}, fig. 4", "months"),
    near("10.2", "two-sided limits give another number", 25.50, 0.005, lambda: life(POOLED, two_sided=True).months, "computed apart from this code", "months"),
    same("10.3", "b3, b4, b5 keep their intercepts", "common slope", lambda: life(PARALLEL).model, f"{ANCOVA}, table VII"),
    near("10.3", "F of slopes and intercepts", (0.183, 21.738), 0.0005, lambda: [test.f for test in life(PARALLEL).tests], f"{ANCOVA}, table VII"),
    near("10.3", "intercepts", (102.176, 104.255, 100.820), 0.0005, lambda: [line.intercept for line in life(PARALLEL).lines], f"{ANCOVA}, table VII", "%"),
    near("10.3", "common slope", -0.213121, 5e-7, lambda: life(PARALLEL).lines[0].slope, f"{ANCOVA}, table VII", "%/month"),
    near("10.3", "shelf life", 23.3973, 0.00005, lambda: life(PARALLEL).months, f"{ANCOVA}, fig. 6", "months"),
    same("10.3", "the batch that decides", "b5", lambda: life(PARALLEL).worst_batch, f"{ANCOVA}, fig. 6"),
    same("10.4", "level of the pooling tests", 0.25, lambda: POOLING_LEVEL, Q1E),
    same("10.4", "slopes are compared first", ("slopes", "intercepts"), lambda: tuple(test.what for test in life(PARALLEL).tests), Q1E),
    near("10.5", "cap with statistics, 24 and 6 months of data", (36, 12), 0, lambda: (extrapolation_cap(24), extrapolation_cap(6)), f"{Q1E}, from memory", "months"),
    near("10.5", "cap without statistics, 24 and 6 months", (30, 9), 0, lambda: (extrapolation_cap(24, "room", False), extrapolation_cap(6, "room", False)), f"{Q1E}, from memory", "months"),
    near("10.5", "cap in a refrigerator, with and without", (30, 27), 0, lambda: (extrapolation_cap(24, "refrigerator"), extrapolation_cap(24, "refrigerator", False)), f"{Q1E}, from memory", "months"),
    near("10.6", "hydrogen iodide, five temperatures", 185, 1, lambda: activation_kJ_per_mol((555, 575, 645, 700, 781), (3.52e-7, 1.22e-6, 8.59e-5, 1.16e-3, 3.95e-2)), f"{KINETICS}; the printed 180 comes from two-digit 1/T", "kJ/mol"),
    near("10.7", "N2O5", 113, 0.5, lambda: activation_kJ_per_mol((650, 700), (1.66, 7.39)), KINETICS, "kJ/mol"),
    near("10.8", "from 293 to 298 K", 89.5, 0.1, lambda: activation_kJ_per_mol((293, 298), (0.054, 0.100)), f"{KINETICS}, computed", "kJ/mol"),
    near("10.9", "acetaldehyde", 190.7, 0.1, lambda: activation_kJ_per_mol((703, 865), (1.1e-2, 4.95)), f"{KINETICS}, computed", "kJ/mol"),
    *_melting_rows(),
]  # fmt: skip
