"""Densities at 20 °C from the tables of the installed `chemicals` package, each checked against the others.

Traps found in such tables: liquid formulas carried below the melting point or above the boiling point, saturated
gases, and a table (not used here) that is 5 to 10 % off for acetic acid and aniline. So every value says how
many other sources agree.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from labstock.chemistry.reference_package import PropertyRow, SubstanceRow, column_values

ROOM = 20.0  # °C
ROOM_KELVIN = 293.15
AGREEMENT = 0.01  # relative

PERRY = "Perry's Handbook, 8th ed., table 2-32 (formula at 20 °C)"
VDI = "VDI Heat Atlas, saturated liquids (formula at 20 °C)"
CRC_ORGANIC = "CRC Handbook, physical constants of organic compounds"
CRC_INORGANIC = "CRC Handbook, physical constants of inorganic compounds"
COMMON_CHEMISTRY = "CAS Common Chemistry"


def density_rows(
    substances: Iterable[SubstanceRow], melting: Mapping[str, float], boiling: Mapping[str, float]
) -> Iterator[PropertyRow]:
    """Read densities near room temperature, best source first for each substance.

    Parameters
    ----------
    substances : iterable of SubstanceRow
        What is in the reference; molar masses are needed [-].
    melting, boiling : Mapping
        Melting and boiling points by CAS number, to leave out what is no liquid at 20 °C [°C].

    Returns
    -------
    iterator of PropertyRow
        Densities, "density" for liquids and "density of the solid" for solids [g/mL].

    Notes
    -----
    Source: `chemicals` (MIT) and the tables named in each row; formulas 105 of DIPPR and 2 of the VDI Heat Atlas.

    Examples
    --------
    >>> list(density_rows([], {}, {}))
    []
    """
    masses = {row.cas: row.molar_mass for row in substances}
    if not masses:
        return
    for cas, kind, value, source, temperature in _all_densities(masses, melting):
        is_gas = boiling.get(cas, ROOM + 1) < ROOM
        if cas in masses and not is_gas and 0.2 < value < 25:
            is_solid = melting.get(cas, ROOM - 1) > ROOM
            yield PropertyRow(cas, _kind(kind, is_solid=is_solid), round(value, 4), source, temperature)


def _kind(kind: str, *, is_solid: bool) -> str:
    return "density of the solid" if kind == "solid" or (kind == "either" and is_solid) else "density"


Found = tuple[str, str, float, str, float | None]


def _all_densities(masses: Mapping[str, float], melting: Mapping[str, float]) -> Iterator[Found]:
    from chemicals import miscdata, volume

    volume._load_rho_data()
    for table, source in (
        (miscdata.CRC_organic_data, CRC_ORGANIC),
        (miscdata.CRC_inorganic_data, CRC_INORGANIC),
    ):
        for cas, density in column_values(table, "rho"):
            value, temperature = crc_density(density / 1000)
            yield cas, "either", value, source, temperature
    yield from _perry(volume.rho_data_Perry_8E_105_l, masses)
    yield from _vdi(volume.rho_data_VDI_PPDS_2, melting)
    for column, kind in (("Vml", "liquid"), ("Vms", "solid")):
        for cas, molar_volume in column_values(miscdata.common_chemistry_data, column):
            if cas in masses and molar_volume > 0:
                yield cas, kind, masses[cas] / molar_volume / 1e6, COMMON_CHEMISTRY, None


def crc_density(printed: float) -> tuple[float, float | None]:
    """Part a density of the CRC tables from the temperature that runs into its digits.

    The handbook prints 0.8833 with a raised 25; the package's table has 0.883325, and 1.0822 for 1.082 with a
    raised 20 (its last zero is lost).

    Parameters
    ----------
    printed : float
        The value in the table [g/mL].

    Returns
    -------
    tuple of (float, float or None)
        Density [g/mL] and its temperature [°C], None when the digits do not tell.

    Notes
    -----
    Source: our reading of the table, checked with tetrahydrofuran, acetic anhydride, diethyl ether and acetone.

    Examples
    --------
    >>> crc_density(0.883325), crc_density(1.08220), crc_density(2.54)
    ((0.8833, 25.0), (1.082, 20.0), (2.54, None))
    """
    digits = f"{printed:.7f}".rstrip("0").partition(".")[2]
    whole = f"{int(printed)}."
    if len(digits) >= 5 and digits.endswith("25"):
        return float(whole + digits[:-2]), 25.0
    if len(digits) >= 4 and digits.endswith("2"):
        return float(whole + digits[:-1]), 20.0
    return printed, None


def _perry(table: Any, masses: Mapping[str, float]) -> Iterator[Found]:
    for cas, c1, c2, c3, c4, low, high in zip(
        table.index, *(table[name] for name in ("C1", "C2", "C3", "C4", "Tmin", "Tmax")), strict=True
    ):
        if cas in masses and low <= ROOM_KELVIN <= high:
            molar_density = c1 / c2 ** (1 + (1 - ROOM_KELVIN / c3) ** c4)  # DIPPR 105, mol/m3
            yield cas, "liquid", molar_density * masses[cas] / 1e6, PERRY, ROOM


def _vdi(table: Any, melting: Mapping[str, float]) -> Iterator[Found]:
    for cas, tc, rhoc, a, b, c, d in zip(
        table.index, *(table[name] for name in ("Tc", "rhoc", "A", "B", "C", "D")), strict=True
    ):
        t = 1 - ROOM_KELVIN / tc
        if t > 0 and melting.get(cas, ROOM) <= ROOM:
            value = (rhoc + a * t**0.35 + b * t ** (2 / 3) + c * t + d * t ** (4 / 3)) / 1000
            yield cas, "liquid", value, VDI, ROOM


def agreement(rows: Iterable[PropertyRow]) -> dict[PropertyRow, str]:
    """Say of every density how the other sources see it.

    Parameters
    ----------
    rows : iterable of PropertyRow
        Densities of any number of substances [g/mL].

    Returns
    -------
    dict
        For each row: "single source", "agrees with ..." or "differs from ..." [-].

    Notes
    -----
    Source: ours; values within 1 % agree. Two tables of one publisher count as one source.

    Examples
    --------
    >>> agreement([PropertyRow("64-19-7", "density", 1.047, PERRY, 20.0)])
    {PropertyRow(cas='64-19-7', kind='density', value=1.047, source="Perry's Handbook, 8th ed., table 2-32 (formula at 20 °C)", temperature=20.0): 'single source'}
    """
    together: dict[tuple[str, str], list[PropertyRow]] = defaultdict(list)
    for row in rows:
        together[row.cas, row.kind].append(row)
    return {row: _verdict(row, group) for group in together.values() for row in group}


def _verdict(row: PropertyRow, group: list[PropertyRow]) -> str:
    others = [other for other in group if other.source != row.source]
    if not others:
        return "single source"
    differing = [other for other in others if abs(other.value - row.value) > AGREEMENT * row.value]
    if not differing:
        return f"agrees with {len(others)} other{'s' if len(others) > 1 else ''} within 1 %"
    return "differs: " + ", ".join(f"{other.value:.4g} in {other.source}" for other in differing)
