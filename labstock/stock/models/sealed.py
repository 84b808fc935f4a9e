"""Rows that carry a seal: a hash over all they say, made when they are written and checked by `manage.py verify`."""

import hashlib
import uuid
from datetime import date, datetime
from typing import Any

from django.db import models

from labstock.stock.models.ledger import canonical, stamp


class Sealed(models.Model):
    """A row of history whose every field is under a seal. A seal shows a change; the guards prevent it."""

    seal = models.CharField(max_length=64, editable=False, default="")

    class Meta:
        abstract = True

    def save(self, *args: Any, **options: Any) -> None:
        """Seal a new row."""
        if self._state.adding:
            self.seal = self.digest()
        super().save(*args, **options)

    def digest(self) -> str:
        """Return SHA-256 over all that the row says [hex]."""
        return hashlib.sha256(canonical(self.said()).encode()).hexdigest()

    def said(self) -> dict[str, Any]:
        """Return every field but the row's own number, in plain types as they come back from the database."""
        return {
            field.attname: as_stored(field, getattr(self, field.attname))
            for field in self._meta.concrete_fields
            if field.name != "seal" and not field.primary_key
        }


def as_stored(field: "models.Field[Any, Any]", value: Any) -> Any:
    """Return a value as it will be read back, in a type that JSON has: 99 in a float column is 99.0."""
    value = None if value is None else field.to_python(value)
    if isinstance(value, datetime):
        return stamp(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, uuid.UUID) else value
