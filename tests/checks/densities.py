"""Densities: water by formula, and what the installed reference tables give."""

from functools import lru_cache

from labstock.chemistry.amounts import water_density_g_per_mL
from labstock.chemistry.reference_density import density_rows
from labstock.chemistry.reference_package import PropertyRow, property_rows, substance_rows
from tests.checks.row import Check, inside, near, same

BOOK = "OpenStax, Chemistry 2e, appendix E, Water Properties (m68863)"
COOLPROP = "CoolProp 8.0.0"
THERMO = "thermo 0.6.1: Perry's Handbook 8th ed., VDI Heat Atlas"


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[PropertyRow, ...]]:
    points: dict[str, dict[str, float]] = {"melting point": {}, "boiling point": {}}
    for row in property_rows():
        points.get(row.kind, {}).setdefault(row.cas, row.value)
    found: dict[str, tuple[PropertyRow, ...]] = {}
    for density in density_rows(substance_rows(), points["melting point"], points["boiling point"]):
        if density.kind == "density":
            found[density.cas] = (*found.get(density.cas, ()), density)
    return found


def first_kg_per_m3(cas: str, celsius: float = 20.0) -> float:
    """Return the first density that the tables give at a temperature [kg/m³]."""
    return next(1000 * row.value for row in _table()[cas] if row.temperature == celsius)


def has_no_outlier(cas: str, wrong: float) -> bool:
    """Say whether no table offers the value that is known to be wrong [g/mL]."""
    return all(abs(row.value - wrong) > 0.01 * wrong for row in _table()[cas])


CHECKS: list[Check] = [
    *(
        near(number, f"water at {celsius} °C", printed, tolerance, lambda t=celsius: 1000 * water_density_g_per_mL(t), BOOK, "kg/m³")
        for number, celsius, printed, tolerance in (
            ("6.1", 0, 999.8395, 0.01), ("6.1", 4, 999.9720, 0.01), ("6.1", 10, 999.7026, 0.01), ("6.1", 15, 999.1026, 0.01),
            ("6.2", 20, 998.2071, 0.005), ("6.2", 25, 997.0479, 0.005), ("6.2", 30, 995.6502, 0.005),
        )
    ),
    near("6.2", "water at 20, 25 and 30 °C, CIPM formula", (998.2068, 997.0470, 995.6488), 0.0001, lambda: [1000 * water_density_g_per_mL(t) for t in (20, 25, 30)], "Metrologia 38 (2001) 301, the CIPM formula", "kg/m³"),
    near("6.4", "ethanol at 20 °C", 789.42, 0.5, lambda: first_kg_per_m3("64-17-5"), COOLPROP, "kg/m³"),
    near("6.5", "acetone at 25 °C", 784.70, 1, lambda: first_kg_per_m3("67-64-1", 25), COOLPROP, "kg/m³"),
    near("6.6", "toluene at 25 °C", 862.24, 0.5, lambda: first_kg_per_m3("108-88-3", 25), COOLPROP, "kg/m³"),
    inside("6.7", "acetic anhydride at 20 °C", 1079, 1084, lambda: first_kg_per_m3("108-24-7"), THERMO, "kg/m³"),
    near("6.8", "acetic acid at 20 °C", 1049, 3, lambda: first_kg_per_m3("64-19-7"), "CRC Handbook, from memory; Ph. Eur. 7 relative density 1.052 to 1.053", "kg/m³"),
    inside("6.9", "diethyl ether at 20 °C", 713.6, 714.2, lambda: first_kg_per_m3("60-29-7"), THERMO, "kg/m³"),
    inside("6.10", "tetrahydrofuran at 20 °C", 885, 889, lambda: first_kg_per_m3("109-99-9"), THERMO, "kg/m³"),
    near("6.11", "methanol at 20 °C", 791.0, 1.5, lambda: first_kg_per_m3("67-56-1"), COOLPROP, "kg/m³"),
    same("6.trap", "no 1.101 g/mL for acetic acid", True, lambda: has_no_outlier("64-19-7", 1.101), "thermo 0.6.1, table VDI_TABULAR, 5 % off"),
    same("6.trap", "no 1.121 g/mL for aniline", True, lambda: has_no_outlier("62-53-3", 1.121), "thermo 0.6.1, table VDI_TABULAR, 10 % off"),
]  # fmt: skip
