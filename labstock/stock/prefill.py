"""Suggestions for a substance's fields from the reference file: each with its source, none taken by itself."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from django.conf import settings

from labstock.chemistry.errors import LabError
from labstock.chemistry.reference import NameHit, Reference, ReferenceProperty, ReferenceRecord

# Digits and dashes only: a CAS number, right or wrong.
_LIKE_CAS = re.compile(r"\s*(CAS\b.*|[\d‐‑‒–—−-]+)\s*", re.IGNORECASE)
MOST_CHOICES = 12
MOST_SYNONYMS = 8
ROOM_CELSIUS = 20.0


@dataclass(frozen=True)
class Suggestion:
    """One thing the reference says: what it would fill in, and who says so."""

    key: str
    shown: str
    source: str
    fills: Mapping[str, str]
    note: str = ""


@dataclass(frozen=True)
class Looked:
    """What came of looking somebody's text up."""

    typed: str
    record: ReferenceRecord | None = None
    suggestions: Mapping[str, Suggestion] = field(default_factory=dict)
    choices: tuple[NameHit, ...] = ()
    refusal: str = ""

    @property
    def is_missing(self) -> bool:
        """Say whether the reference was asked and knew nothing like it."""
        return not (self.record or self.choices or self.refusal)


def look_up(typed: str) -> Looked:
    """Look a name or a CAS number up; what cannot be asked is said in words."""
    try:
        record, choices = _found(open_reference(), typed)
    except LabError as error:
        return Looked(typed, refusal=error.message)
    suggestions = {} if record is None else {row.key: row for row in _suggestions(record)}
    return Looked(typed, record, suggestions, tuple(choices))


def open_reference() -> Reference:
    """Return the reference file, opened once and again when it was built anew."""
    path = settings.REFERENCE_FILE
    if not path.is_file():
        raise LabError(
            "no-reference",
            "The reference file is not built on this machine yet. Whoever looks after the site builds it once with "
            "“manage.py reference” (about a minute); until then, type the fields by hand.",
        )
    return _opened(str(path), path.stat().st_mtime_ns)


@lru_cache(maxsize=2)
def _opened(path: str, built: int) -> Reference:
    return Reference(path)


def _found(reference: Reference, typed: str) -> tuple[ReferenceRecord | None, list[NameHit]]:
    if _LIKE_CAS.fullmatch(typed):
        return reference.by_cas(typed), []
    hits = reference.by_name(typed, MOST_CHOICES)
    sure = [hit for hit in hits if hit.how in ("exact", "abbreviation")]
    if len(sure) == 1:
        return reference.by_cas(sure[0].cas), []
    return None, sure or hits


def _suggestions(record: ReferenceRecord) -> list[Suggestion]:
    source = open_reference().about.get("source", "the reference file").partition(",")[0]
    rows = [
        Suggestion("name", record.name, source, {"name": record.name}),
        Suggestion("cas", record.cas, source, {"cas": record.cas}),
    ]
    if record.synonyms:
        names = record.synonyms[:MOST_SYNONYMS]
        rows.append(Suggestion("synonyms", "; ".join(names), source, {"synonyms": "\n".join(names)}))
    if record.smiles:
        rows.append(Suggestion("smiles", record.smiles, source, {"smiles": record.smiles}, record.doubt))
    if record.formula:
        rows.append(Suggestion("formula", record.formula, source, {"formula": record.formula}, record.doubt))
    if density := record.best("density"):
        rows.append(_density(density))
    if (melting := record.best("melting point")) and (boiling := record.best("boiling point")):
        rows.extend(_liquid(melting, boiling))
    if boiling := record.best("boiling point"):
        rows.append(_boiling(boiling))
    return rows


def _density(found: ReferenceProperty) -> Suggestion:
    at = "" if found.temperature is None else f"{found.temperature:g}"
    where = f" at {at} °C" if at else ", temperature not stated"
    fills = {"density": f"{found.value:.4g} g/mL", "density_at": at, "density_source": found.source}
    return Suggestion("density", f"{found.value:.4g} g/mL{where}", found.source, fills, found.note)


def _boiling(found: ReferenceProperty) -> Suggestion:
    shown = f"{found.value:.4g} °C"
    return Suggestion("boiling_point", shown, found.source, {"boiling_point": shown}, found.note)


def _liquid(melting: ReferenceProperty, boiling: ReferenceProperty) -> list[Suggestion]:
    if not melting.value < ROOM_CELSIUS < boiling.value:
        return []
    shown = f"melts at {melting.value:.4g} °C, boils at {boiling.value:.4g} °C: a liquid"
    source = " and ".join(dict.fromkeys((melting.source, boiling.source)))
    return [Suggestion("is_liquid", shown, source, {"is_liquid": "on"})]
