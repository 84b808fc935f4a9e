"""Building the reference file: one read-only SQLite file of names, identities and properties."""

import os
import sqlite3
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from importlib.metadata import version
from pathlib import Path

from labstock.chemistry.errors import LabError
from labstock.chemistry.reference_density import ROOM, agreement, density_rows
from labstock.chemistry.reference_doubts import doubt_about
from labstock.chemistry.reference_names import name_key
from labstock.chemistry.reference_package import PropertyRow, SubstanceRow, property_rows, substance_rows

Progress = Callable[[int, int], None]
NameRow = tuple[str, int, int, str]
FORMAT = "1"
STEP = 2000
MOST_SYNONYMS = 20
KNOWN_BY = 60  # names; a misspelling is compared with substances that have as many

_SCHEMA = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE substance (
    cas INTEGER PRIMARY KEY, name TEXT NOT NULL, formula TEXT NOT NULL, molar_mass REAL NOT NULL,
    smiles TEXT NOT NULL, inchi TEXT NOT NULL, inchikey TEXT NOT NULL, weight INTEGER NOT NULL, doubt TEXT NOT NULL,
    synonyms TEXT NOT NULL
);
CREATE TABLE name (key TEXT, weight INTEGER, cas INTEGER, name TEXT, PRIMARY KEY (key, weight, cas)) WITHOUT ROWID;
CREATE TABLE vocabulary (key TEXT PRIMARY KEY, cas INTEGER NOT NULL, weight INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE property (
    cas INTEGER, kind TEXT, place INTEGER, value REAL NOT NULL, temperature REAL, source TEXT NOT NULL, note TEXT NOT NULL,
    PRIMARY KEY (cas, kind, place)
) WITHOUT ROWID;
"""


def build_reference(path: str | Path, progress: Progress | None = None) -> dict[str, int]:
    """Build the reference file from the installed `chemicals` package.

    Parameters
    ----------
    path : str or Path
        Where the file is to stand; an older one is replaced when all is written [-].
    progress : callable, optional
        Called with steps done and steps in all [-].

    Returns
    -------
    dict
        Number of "substances", "names" and "properties" [-].

    Notes
    -----
    Source: `chemicals` (MIT); the tables behind each value are named in the file.

    Examples
    --------
    >>> build_reference("/nowhere/at/all.sqlite")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: The reference file cannot be written to /nowhere/at: the folder is missing. Make it first.
    """
    _check_folder(Path(path))
    substances = list(substance_rows())
    points = list(property_rows())
    melting, boiling = _first(points, "melting point"), _first(points, "boiling point")
    densities = sorted(density_rows(substances, melting, boiling), key=lambda row: row.temperature != ROOM)
    about = {"source": f"chemicals {version('chemicals')} (MIT), tables as named with each value"}
    return write_reference(path, substances, [*points, *densities], about, progress)


def _check_folder(path: Path) -> None:
    if not path.parent.is_dir():
        raise LabError(
            "no-folder",
            "The reference file cannot be written to {folder}: the folder is missing. Make it first.",
            folder=path.parent,
        )


def _first(rows: Iterable[PropertyRow], kind: str) -> dict[str, float]:
    found: dict[str, float] = {}
    for row in rows:
        if row.kind == kind:
            found.setdefault(row.cas, row.value)
    return found


def write_reference(
    path: str | Path,
    substances: Iterable[SubstanceRow],
    properties: Iterable[PropertyRow] = (),
    about: Mapping[str, str] | None = None,
    progress: Progress | None = None,
) -> dict[str, int]:
    """Write rows to a reference file: to a temporary file first, renamed when whole.

    Parameters
    ----------
    path : str or Path
        Where the file is to stand [-].
    substances : iterable of SubstanceRow
        The substances [-].
    properties : iterable of PropertyRow, optional
        Values, best source first for each substance and kind [°C or g/mL].
    about : Mapping, optional
        What to remember about the file, such as its source [-].
    progress : callable, optional
        Called with steps done and steps in all [-].

    Returns
    -------
    dict
        Number of "substances", "names" and "properties" [-].

    Notes
    -----
    Source: ours.

    Examples
    --------
    >>> import tempfile
    >>> row = SubstanceRow("64-17-5", "ethanol", "C2H6O", 46.07, names=("ethanol", "spirit of wine"))
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_reference(Path(folder) / "reference.sqlite", [row])
    {'substances': 1, 'names': 2, 'properties': 0}
    """
    path = Path(path)
    _check_folder(path)
    temporary = path.with_name(f"{path.name}.{os.getpid()}.new")
    rows = {row.cas: row for row in substances}
    report = progress or (lambda done, total: None)
    try:
        counts = _fill(temporary, rows, list(properties), about or {}, report)
        temporary.replace(path)
    finally:
        temporary.unlink(missing_ok=True)
    return counts


def _fill(
    path: Path,
    rows: dict[str, SubstanceRow],
    properties: list[PropertyRow],
    about: Mapping[str, str],
    report: Progress,
) -> dict[str, int]:
    path.unlink(missing_ok=True)
    database = sqlite3.connect(path, isolation_level=None)
    steps = _Steps(report, 2 * len(rows) + len(properties))
    try:
        database.executescript(
            "PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; PRAGMA page_size=8192;" + _SCHEMA
        )
        database.execute("BEGIN")
        database.executemany(
            "INSERT INTO substance VALUES (?,?,?,?,?,?,?,?,?,?)",
            steps.each(map(_substance_values, rows.values())),
        )
        names = sorted(steps.each_group(_name_values(row) for row in rows.values()))
        database.executemany("INSERT INTO name VALUES (?,?,?,?)", names)
        database.executemany("INSERT OR IGNORE INTO vocabulary VALUES (?,?,?)", _vocabulary(names))
        values = _property_values([row for row in properties if row.cas in rows])
        database.executemany("INSERT INTO property VALUES (?,?,?,?,?,?,?)", steps.each(values))
        counts = {"substances": len(rows), "names": len(names), "properties": len(values)}
        _remember(database, about, counts)
        database.execute("COMMIT")
    finally:
        database.close()
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    report(steps.total, steps.total)
    return counts


class _Steps:
    """Counts what passes through and reports now and then."""

    def __init__(self, report: Progress, total: int) -> None:
        self.report, self.total, self.done = report, total, 0

    def each(self, rows: Iterable[tuple[object, ...]]) -> Iterator[tuple[object, ...]]:
        for row in rows:
            self._step()
            yield row

    def each_group(self, groups: Iterable[list[NameRow]]) -> Iterator[NameRow]:
        for group in groups:
            self._step()
            yield from group

    def _step(self) -> None:
        self.done += 1
        if self.done % STEP == 0:
            self.report(self.done, self.total)


def digits_of(cas: str) -> int:
    """Keep a CAS number as an integer.

    Parameters
    ----------
    cas : str
        With dashes [-].

    Returns
    -------
    int
        All its digits [-].

    Notes
    -----
    Source: the shape of CAS numbers.

    Examples
    --------
    >>> digits_of("108-24-7")
    108247
    """
    return int(cas.replace("-", ""))


def _weight(row: SubstanceRow) -> int:
    """How well known a substance is, negative so that the best sorts first."""
    return -(min(len(row.names), 500) + (1000 if row.is_common else 0))


def _substance_values(row: SubstanceRow) -> tuple[object, ...]:
    identity = (row.name, row.formula, row.molar_mass, row.smiles, _inchi(row), row.inchikey)
    return (digits_of(row.cas), *identity, _weight(row), doubt_about(row), "\n".join(_synonyms(row)))


def _inchi(row: SubstanceRow) -> str:
    return f"InChI=1S/{row.inchi}" if row.inchi and not row.inchi.startswith("InChI=") else row.inchi


def _synonyms(row: SubstanceRow) -> list[str]:
    """The first names that are words: no registry numbers, no formulae."""
    others = (name for name in row.names if name != row.name and len(name) <= 60)
    return [name for name in others if any(c.isalpha() for c in name) and sum(map(str.isdigit, name)) < 5][
        :MOST_SYNONYMS
    ]


def _name_values(row: SubstanceRow) -> list[NameRow]:
    """One row for each spelling; the name is kept only where it differs from its key."""
    keys: dict[str, str] = {}
    for name in row.names or (row.name,):
        keys.setdefault(name_key(name), name)
    cas, weight = digits_of(row.cas), _weight(row)
    return [(key, weight, cas, name if name != key else "") for key, name in keys.items() if key]


def _vocabulary(names: Iterable[NameRow]) -> Iterator[tuple[str, int, int]]:
    """Names that a misspelling is compared with: words only, of substances that have many names."""
    for key, weight, cas, _ in names:
        if weight <= -KNOWN_BY and 5 <= len(key) <= 40 and key.replace(" ", "").replace("-", "").isalpha():
            yield key, cas, weight


def _property_values(rows: list[PropertyRow]) -> list[tuple[object, ...]]:
    notes = agreement(row for row in rows if row.kind.startswith("density"))
    places: dict[tuple[str, str], int] = defaultdict(int)
    values: list[tuple[object, ...]] = []
    for row in rows:
        place = places[row.cas, row.kind]
        places[row.cas, row.kind] += 1
        values.append(
            (digits_of(row.cas), row.kind, place, row.value, row.temperature, row.source, notes.get(row, ""))
        )
    return values


def _remember(database: sqlite3.Connection, about: Mapping[str, str], counts: Mapping[str, int]) -> None:
    lines = {"format": FORMAT, **about, **{name: str(number) for name, number in counts.items()}}
    database.executemany("INSERT INTO about VALUES (?,?)", lines.items())
