"""The digest of a finished batch record: one hash over all it says, to be worked out again by anybody."""

import hashlib
from typing import Any

from django.db.models import Model

from batches.models import Batch
from labstock.stock.models.ledger import canonical
from labstock.stock.models.sealed import as_stored

NOT_SAID = frozenset({"id", "digest"})


def digest(batch: Batch) -> str:
    """Return SHA-256 over the whole record as it stands, additions after the finish left out [hex]."""
    lines = batch.lines.prefetch_related("reservations").order_by("position")
    said = {
        "batch": _said(batch),
        "lines": [
            [_said(line), line.pk, sorted(row.pk for row in line.reservations.all())] for line in lines
        ],
        "inputs": [
            [_said(row), row.entry.hash] for row in batch.inputs.select_related("entry").order_by("id")
        ],
        "observations": [_said(row) for row in batch.observations.filter(is_addition=False).order_by("id")],
    }
    return hashlib.sha256(canonical(said).encode()).hexdigest()


def _said(row: Model) -> dict[str, Any]:
    return {
        field.attname: as_stored(field, getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if field.name not in NOT_SAID
    }
