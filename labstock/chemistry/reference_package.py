"""Rows for the reference file, read from the tables of the installed `chemicals` package.

Only this module knows how that package keeps its data; it is imported when the file is built, never by a page.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from math import isnan
from pathlib import Path
from typing import Any

ZERO_CELSIUS = 273.15
HIGHEST_FLASH_POINT = 400.0  # °C; what lies above is a slip in the table

_IDENTIFIER_FILES = (  # later files win, as in the package itself
    "chemical identifiers pubchem large.tsv",
    "chemical identifiers pubchem small.tsv",
    "chemical identifiers example user db.tsv",
    "Cation db.tsv",
    "Anion db.tsv",
    "Inorganic db.tsv",
)
_COMMON_FILE = _IDENTIFIER_FILES[1]

SOURCE_NAMES = {
    "HEOS": "reference equation of state",
    "CRC_ORG": "CRC Handbook, physical constants of organic compounds",
    "CRC_INORG": "CRC Handbook, physical constants of inorganic compounds",
    "COMMON_CHEMISTRY": "CAS Common Chemistry",
    "WEBBOOK": "NIST Chemistry WebBook",
    "OPEN_NTBKM": "Open Notebook melting points",
    "YAWS": "Yaws, boiling points",
    "WIKIDATA": "Wikidata",
    "IEC 60079-20-1 (2010)": "IEC 60079-20-1 (2010)",
    "NFPA 497 (2008)": "NFPA 497 (2008)",
    "Serat DIPPR (2017)": "DIPPR, after Serat (2017)",
}
# Best first; estimates by group contribution (JOBACK) are 20 to 100 K off and never enter.
MELTING_ORDER = ("CRC_ORG", "CRC_INORG", "COMMON_CHEMISTRY", "WEBBOOK", "OPEN_NTBKM", "WIKIDATA")
BOILING_ORDER = ("CRC_ORG", "CRC_INORG", "HEOS", "COMMON_CHEMISTRY", "WEBBOOK", "YAWS", "WIKIDATA")
FLASH_ORDER = ("IEC 60079-20-1 (2010)", "NFPA 497 (2008)", "Serat DIPPR (2017)", "WIKIDATA")


@dataclass(frozen=True)
class SubstanceRow:
    """One substance of the reference.

    Parameters
    ----------
    cas : str
        CAS number [-].
    name, formula, smiles, inchi, inchikey : str
        Identity as in the package [-].
    molar_mass : float
        As in the package [g/mol].
    names : tuple of str
        All names, the usual one first [-].
    is_common : bool
        Whether the package keeps it among the common ones [-].
    """

    cas: str
    name: str
    formula: str
    molar_mass: float
    smiles: str = ""
    inchi: str = ""
    inchikey: str = ""
    names: tuple[str, ...] = field(default=())
    is_common: bool = False


@dataclass(frozen=True)
class PropertyRow:
    """One value of one substance from one source.

    Parameters
    ----------
    cas : str
        CAS number [-].
    kind : str
        "melting point", "boiling point", "flash point" or "density" [-].
    value : float
        The value [°C or g/mL].
    source : str
        Table it comes from [-].
    temperature : float or None
        What a density holds for; None when the table does not say [°C].
    """

    cas: str
    kind: str
    value: float
    source: str
    temperature: float | None = None


def substance_rows() -> Iterator[SubstanceRow]:
    """Read every substance of the package.

    Returns
    -------
    iterator of SubstanceRow
        76,522 of them in chemicals 1.5.2 [-].

    Notes
    -----
    Source: `chemicals` (MIT), identifier tables compiled from PubChem, and its periodic table.

    Examples
    --------
    >>> next(substance_rows()).cas.count("-")
    2
    """
    import chemicals

    folder = Path(chemicals.__file__).parent / "Identifiers"
    rows: dict[str, SubstanceRow] = {}
    for file_name in _IDENTIFIER_FILES:
        with (folder / file_name).open(encoding="utf-8") as lines:
            for line in lines:
                row = _substance(line.rstrip("\n").split("\t"), is_common=file_name == _COMMON_FILE)
                rows[row.cas] = row
    for element in _elements():
        rows[element.cas] = _merged(element, rows.get(element.cas))
    yield from rows.values()


def _substance(values: list[str], *, is_common: bool) -> SubstanceRow:
    _, cas, formula, molar_mass, smiles, inchi, inchikey, _, common_name, *_ = values
    names = tuple(dict.fromkeys(name for name in [common_name, *values[7:]] if name))
    return SubstanceRow(
        cas, common_name, formula, float(molar_mass), smiles, inchi, inchikey, names, is_common
    )


def _elements() -> Iterator[SubstanceRow]:
    from chemicals.elements import homonuclear_elements_CASs_set, periodic_table

    for each in periodic_table:
        if each.CAS not in homonuclear_elements_CASs_set:
            name = each.name.lower()
            yield SubstanceRow(
                each.CAS, name, each.symbol, each.MW, each.smiles, each.InChI, each.InChI_key, (name,), True
            )


def _merged(element: SubstanceRow, listed: SubstanceRow | None) -> SubstanceRow:
    names = tuple(dict.fromkeys(element.names + (listed.names if listed else ())))
    return replace(element, names=names)


def property_rows() -> Iterator[PropertyRow]:
    """Read melting, boiling and flash points of the package; densities follow in `reference_density`.

    Returns
    -------
    iterator of PropertyRow
        Best source first for each substance and kind [-].

    Notes
    -----
    Source: `chemicals` (MIT) and the tables named in each row. Estimates are left out; so are flash points above 400 °C.

    Examples
    --------
    >>> next(property_rows()).kind
    'melting point'
    """
    from chemicals import phase_change, safety

    safety._load_safety_data()
    yield from _points("melting point", "Tm", phase_change.Tm_sources, MELTING_ORDER)
    yield from _points("boiling point", "Tb", phase_change.Tb_sources, BOILING_ORDER)
    for row in _points("flash point", "T_flash", safety.Tflash_sources, FLASH_ORDER):
        if row.value <= HIGHEST_FLASH_POINT:
            yield row


def _points(kind: str, column: str, tables: dict[str, Any], order: tuple[str, ...]) -> Iterator[PropertyRow]:
    for code in order:
        for cas, kelvin in column_values(tables[code], column):
            yield PropertyRow(cas, kind, round(kelvin - ZERO_CELSIUS, 2), SOURCE_NAMES[code])


def column_values(table: Any, column: str) -> Iterator[tuple[str, float]]:
    """Read one column of a table, whichever way it writes CAS numbers.

    Parameters
    ----------
    table : DataFrame
        A table of the package, indexed by CAS number [-].
    column : str
        Name of the column [-].

    Returns
    -------
    iterator of (str, float)
        CAS number and value [as in the table].

    Notes
    -----
    Source: `chemicals`.

    Examples
    --------
    >>> import pandas
    >>> list(column_values(pandas.DataFrame({"Tm": [273.15]}, index=[7732185]), "Tm"))
    [('7732-18-5', 273.15)]
    """
    for cas, value in zip(table.index, table[column].to_numpy(), strict=True):
        if value is not None and not isnan(value):
            yield cas if isinstance(cas, str) else dashed(int(cas)), float(value)


def dashed(digits: int) -> str:
    """Write a CAS number kept as an integer.

    Parameters
    ----------
    digits : int
        All its digits [-].

    Returns
    -------
    str
        The usual spelling [-].

    Notes
    -----
    Source: the shape of CAS numbers.

    Examples
    --------
    >>> dashed(108247)
    '108-24-7'
    """
    text = str(digits)
    return f"{text[:-3]}-{text[-3:-1]}-{text[-1]}"
