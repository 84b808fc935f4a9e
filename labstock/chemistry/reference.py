"""Looking substances up in the reference file: by CAS number or by name, never by formula.

The file is built once by `build_reference` and opened read-only, one connection for each thread. Everything it says
is a suggestion that a person confirms.
"""

import sqlite3
import threading
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Literal

from labstock.chemistry.cas import check_cas
from labstock.chemistry.errors import LabError
from labstock.chemistry.reference_build import build_reference, digits_of, write_reference
from labstock.chemistry.reference_names import ALIASES, is_formula, name_key
from labstock.chemistry.reference_package import PropertyRow, SubstanceRow, dashed

__all__ = [
    "NameHit", "PropertyRow", "Reference", "ReferenceProperty", "ReferenceRecord", "SubstanceRow",
    "build_reference", "write_reference",
]  # fmt: skip

SHORTEST_PREFIX = 3
SHORTEST_FOR_TYPOS = 5
LEAST_LIKENESS = 84  # per cent, of rapidfuzz's ratio
LONGEST_NAME = 300
MOST_HITS = 100
MOST_SCANNED = 20_000  # names looked at for one beginning; keeps typing fluent

How = Literal["exact", "abbreviation", "prefix", "similar"]


@dataclass(frozen=True)
class ReferenceProperty:
    """One value with where it comes from.

    Parameters
    ----------
    kind : str
        "melting point", "boiling point", "flash point", "density" or "density of the solid" [-].
    value : float
        The value [°C or g/mL].
    unit : str
        "°C" or "g/mL" [-].
    temperature : float or None
        What a density holds for; None when the table does not say [°C].
    source : str
        The table [-].
    note : str
        How other sources see it; densities only [-].
    """

    kind: str
    value: float
    unit: str
    temperature: float | None
    source: str
    note: str


@dataclass(frozen=True)
class ReferenceRecord:
    """What the reference knows about one substance.

    Parameters
    ----------
    cas, name, formula, smiles, inchi, inchikey : str
        Identity [-].
    molar_mass : float
        As in the package; the formula gives it with uncertainty [g/mol].
    doubt : str
        What contradicts itself in the record; empty when nothing was found [-].
    synonyms : tuple of str
        Up to 20 other names [-].
    properties : tuple of ReferenceProperty
        Values, best source first for each kind [°C or g/mL].
    """

    cas: str
    name: str
    formula: str
    molar_mass: float
    smiles: str
    inchi: str
    inchikey: str
    doubt: str
    synonyms: tuple[str, ...] = ()
    properties: tuple[ReferenceProperty, ...] = ()

    def best(self, kind: str) -> ReferenceProperty | None:
        """Value of the best source for one kind of property, if there is any [its unit]."""
        return next((found for found in self.properties if found.kind == kind), None)

    def all(self, kind: str) -> tuple[ReferenceProperty, ...]:
        """Values of all sources for one kind of property, best source first [their unit]."""
        return tuple(found for found in self.properties if found.kind == kind)


@dataclass(frozen=True)
class NameHit:
    """One substance that a name may mean.

    Parameters
    ----------
    cas, name : str
        The substance and its usual name [-].
    matched : str
        The name that was found [-].
    formula : str
        Its formula [-].
    how : {"exact", "abbreviation", "prefix", "similar"}
        How the name was found [-].
    """

    cas: str
    name: str
    matched: str
    formula: str
    how: How


class Reference:
    """The reference file, open for reading.

    Parameters
    ----------
    path : str or Path
        The file that `build_reference` wrote [-].

    Examples
    --------
    >>> Reference("/nowhere/reference.sqlite")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: There is no reference file at /nowhere/reference.sqlite: build it first, names can be typed by hand until then.
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        if not self.path.is_file():
            raise LabError(
                "no-reference",
                "There is no reference file at {path}: build it first, names can be typed by hand until then.",
                path=self.path,
            )
        self._local = threading.local()

    def _connection(self) -> sqlite3.Connection:
        connection: sqlite3.Connection | None = getattr(self._local, "connection", None)
        if connection is None:
            uri = f"{self.path.absolute().as_uri()}?mode=ro&immutable=1"
            connection = self._local.connection = sqlite3.connect(uri, uri=True)
        return connection

    def _rows(self, query: str, *values: object) -> list[tuple[object, ...]]:
        return self._connection().execute(query, values).fetchall()

    def close(self) -> None:
        """Close the connection of this thread [-]."""
        connection = getattr(self._local, "connection", None)
        if connection is not None:
            connection.close()
            self._local.connection = None

    @cached_property
    def about(self) -> dict[str, str]:
        """Source, format and counts of the file [-]."""
        return {str(name): str(value) for name, value in self._rows("SELECT name, value FROM about")}

    def by_cas(self, text: str) -> ReferenceRecord | None:
        """Look a CAS number up.

        Parameters
        ----------
        text : str
            The number; its check digit is verified first [-].

        Returns
        -------
        ReferenceRecord or None
            The substance; None when the reference does not have it [-].

        Notes
        -----
        Source: the reference file. A number that was replaced is found if one substance alone lists it.
        """
        cas = check_cas(text)
        found = self._rows(_BY_CAS, digits_of(cas))
        if not found:
            listed = self._rows("SELECT DISTINCT cas FROM name WHERE key = ?", cas)
            if len(listed) != 1:
                return None
            found = self._rows(_BY_CAS, listed[0][0])
        return self._record(found[0]) if found else None

    def by_name(self, text: str, limit: int = 10) -> list[NameHit]:
        """Look a name up: exactly, then as an abbreviation, as a beginning, and as a likely misspelling.

        Parameters
        ----------
        text : str
            The name as typed; a CAS number is welcome, a formula is refused [-].
        limit : int
            Most hits to return, 1 to 100 [-].

        Returns
        -------
        list of NameHit
            Best first; empty when nothing is near [-].

        Notes
        -----
        Source: the reference file; abbreviations are ours. A formula never resolves, because many substances
        share one.
        """
        key = _searchable(text)
        limit = max(1, min(limit, MOST_HITS))
        hits = self._alias(key) + self._exact(key)
        is_known = bool(hits)
        if len(hits) < limit and len(key) >= SHORTEST_PREFIX:
            hits += self._prefix(key, limit)
        if not is_known and len(hits) < limit and len(key) >= SHORTEST_FOR_TYPOS:
            hits += self._similar(key, limit)
        first: dict[str, NameHit] = {}
        for hit in hits:
            first.setdefault(hit.cas, hit)
        return list(first.values())[:limit]

    def _record(self, row: tuple[object, ...]) -> ReferenceRecord:
        properties = self._rows(
            "SELECT kind, value, temperature, source, note FROM property WHERE cas = ? ORDER BY kind, place",
            row[0],
        )
        return _record(row, tuple(map(_property, properties)))

    def _alias(self, key: str) -> list[NameHit]:
        cas = ALIASES.get(key)
        rows = (
            self._rows("SELECT cas, name, formula FROM substance WHERE cas = ?", digits_of(cas))
            if cas
            else []
        )
        return [_hit((*row, key), "abbreviation") for row in rows]

    def _exact(self, key: str) -> list[NameHit]:
        rows = self._rows(f"{_NAMED} WHERE n.key = ? ORDER BY n.weight", key)
        return [_hit(row, "exact") for row in rows]

    def _prefix(self, key: str, limit: int) -> list[NameHit]:
        rows = self._rows(_BEGINNING, key, key + "\U0010ffff", MOST_SCANNED, 4 * limit)
        hits = [_hit(row, "prefix") for row in rows]
        return sorted(hits, key=lambda hit: not name_key(hit.name).startswith(key))

    def _similar(self, key: str, limit: int) -> list[NameHit]:
        from rapidfuzz import fuzz, process

        found = process.extract(
            key, self._vocabulary.keys(), scorer=fuzz.ratio, score_cutoff=LEAST_LIKENESS, limit=limit
        )
        likely = sorted(found, key=lambda match: (-round(match[1]), self._vocabulary[match[0]][1]))
        return [hit for match in likely for hit in self._named(match[0], self._vocabulary[match[0]][0])]

    def _named(self, key: str, cas: int) -> list[NameHit]:
        rows = self._rows("SELECT cas, name, formula FROM substance WHERE cas = ?", cas)
        return [_hit((*row, key), "similar") for row in rows]

    @cached_property
    def _vocabulary(self) -> dict[str, tuple[int, int]]:
        """Well-known names with their substance and weight; read once, when somebody mistypes."""
        rows = self._rows("SELECT key, cas, weight FROM vocabulary ORDER BY weight DESC")
        return {str(key): (int(str(cas)), int(str(weight))) for key, cas, weight in rows}


_BY_CAS = "SELECT cas, name, formula, molar_mass, smiles, inchi, inchikey, doubt, synonyms FROM substance WHERE cas = ?"
_NAMED = (
    "SELECT s.cas, s.name, s.formula, CASE n.name WHEN '' THEN n.key ELSE n.name END "
    "FROM name n JOIN substance s ON s.cas = n.cas"
)

# The best known substances that have a name in a range of the index.
_BEGINNING = (
    "SELECT s.cas, s.name, s.formula, found.key FROM ("
    "SELECT cas, min(key) AS key, min(weight) AS weight FROM ("
    "SELECT cas, key, weight FROM name WHERE key > ? AND key < ? LIMIT ?) GROUP BY cas ORDER BY 3 LIMIT ?"
    ") AS found JOIN substance s ON s.cas = found.cas ORDER BY found.weight"
)


def _searchable(text: str) -> str:
    key = name_key(text)
    if not key:
        raise LabError(
            "no-name", "The name is empty: type a name or a CAS number, for instance acetic anhydride."
        )
    if len(key) > LONGEST_NAME:
        raise LabError(
            "name-too-long",
            "This name has {length} characters and {longest} are the most: check what was pasted.",
            length=len(key),
            longest=LONGEST_NAME,
        )
    if is_formula(text):
        raise LabError(
            "formula-not-a-name",
            "'{typed}' is a formula, and many substances share one: type a name or a CAS number.",
            typed=text.strip(),
        )
    return key


def _hit(row: tuple[object, ...], how: How) -> NameHit:
    cas, name, formula, matched = row
    return NameHit(dashed(int(str(cas))), str(name), str(matched), str(formula), how)


def _property(row: tuple[object, ...]) -> ReferenceProperty:
    kind, value, temperature, source, note = row
    unit = "g/mL" if str(kind).startswith("density") else "°C"
    known = None if temperature is None else float(str(temperature))
    return ReferenceProperty(str(kind), float(str(value)), unit, known, str(source), str(note))


def _record(row: tuple[object, ...], properties: tuple[ReferenceProperty, ...]) -> ReferenceRecord:
    cas, name, formula, molar_mass, smiles, inchi, inchikey, doubt, synonyms = map(str, row)
    listed = tuple(filter(None, synonyms.split("\n")))
    identity = (dashed(int(cas)), name, formula, float(molar_mass), smiles, inchi, inchikey, doubt)
    return ReferenceRecord(*identity, listed, properties)
