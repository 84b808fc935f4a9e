"""The ledger: one immutable line for every change of an amount."""

import hashlib
import json
from datetime import UTC, datetime
from typing import Any

from django.conf import settings
from django.db import models

from labstock.stock.models.container import Container

# Clocks of phones and servers differ by this much without anybody lying; common practice, no source.
CLOCK_TOLERANCE_SECONDS = 300


class Kind(models.TextChoices):
    """Why the amount changed."""

    RECEIVED = "received", "Received"
    DRAWN = "drawn", "Drawn"
    WEIGHED_BACK = "weighed back", "Weighed back"
    COUNTED = "counted", "Counted"
    SPILT = "spilt", "Spilt"
    EVAPORATED = "evaporated", "Evaporated"
    WASTED = "wasted", "Poured to waste"
    PURGED = "purged", "Purged"
    BROKEN = "broken", "Broken"
    TRANSFERRED_OUT = "transferred out", "Transferred out"
    TRANSFERRED_IN = "transferred in", "Transferred in"
    DISPOSED = "disposed", "Disposed of"
    FOUND = "found", "Found more than booked"
    REVERSED = "reversed", "Reversed"
    STANDS = "stands", "Weighing stands"


TAKES_OUT = frozenset(
    {
        Kind.DRAWN,
        Kind.SPILT,
        Kind.EVAPORATED,
        Kind.WASTED,
        Kind.PURGED,
        Kind.BROKEN,
        Kind.TRANSFERRED_OUT,
        Kind.DISPOSED,
    }
)


class Entry(models.Model):
    """One line of one container's ledger. The database refuses to change or delete it."""

    is_history = True

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="entries")
    seq = models.PositiveIntegerField()
    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=16, choices=Kind)
    change = models.BigIntegerField(help_text="millionths of the container's unit")
    after = models.BigIntegerField(help_text="what was left after this line, same unit")
    typed = models.CharField(max_length=80, blank=True, help_text="what the person typed, as typed")
    device = models.CharField(max_length=40, blank=True)
    u_random = models.BigIntegerField(default=0)
    u_common = models.BigIntegerField(default=0)
    u_after = models.BigIntegerField(default=0, help_text="standard uncertainty of what was left")
    gross_ug = models.BigIntegerField(null=True, blank=True)
    done_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="entries")
    by_name = models.CharField(max_length=160)
    for_person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    reservation = models.ForeignKey(
        "stock.Reservation", null=True, blank=True, on_delete=models.PROTECT, related_name="entries"
    )
    purpose = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    about = models.TextField(
        blank=True, editable=False, help_text="what the line says of its container, as canonical JSON"
    )
    previous_hash = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["container_id", "seq"]
        constraints = [models.UniqueConstraint(fields=["container", "seq"], name="one_line_per_number")]
        indexes = [
            models.Index(fields=["recorded_at", "id"], name="entry_by_time"),
            models.Index(fields=["by", "recorded_at"], name="entry_by_person"),
            # few lines are written for somebody else, and few reverse another: without these, statistics make SQLite read the whole ledger to find them
            models.Index(
                fields=["for_person", "recorded_at"],
                condition=models.Q(for_person__isnull=False),
                name="entry_for_person",
            ),
            models.Index(
                fields=["reverses"], condition=models.Q(reverses__isnull=False), name="entry_reversals"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container.code} line {self.seq}: {self.kind}"

    @property
    def is_late(self) -> bool:
        """Say whether it was written down more than ten minutes after it was done."""
        return (self.recorded_at - self.done_at).total_seconds() > 600

    def digest(self) -> str:
        """Return SHA-256 over every stored field, as canonical JSON, chained to the line before [hex]."""
        return hashlib.sha256(canonical(self.said()).encode()).hexdigest()

    def said(self) -> dict[str, Any]:
        """Return all that this line says, in plain types. Leaving a field out would leave it unprotected."""
        return {
            "container": self.container_id,
            "seq": self.seq,
            "key": str(self.key),
            "kind": str(self.kind),
            "change": self.change,
            "after": self.after,
            "typed": self.typed,
            "device": self.device,
            "u_random": self.u_random,
            "u_common": self.u_common,
            "u_after": self.u_after,
            "gross_ug": self.gross_ug,
            "done_at": stamp(self.done_at),
            "recorded_at": stamp(self.recorded_at),
            "by": self.by_id,
            "by_name": self.by_name,
            "for_person": self.for_person_id,
            "reverses": self.reverses_id,
            "reservation": self.reservation_id,
            "purpose": self.purpose,
            "reason": self.reason,
            "about": self.about,
            "previous": self.previous_hash,
        }


_CANONICAL = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def canonical(said: dict[str, Any]) -> str:
    """Return JSON that is the same everywhere: sorted keys, no white space, no escapes."""
    return _CANONICAL.encode(said)


def stamp(moment: datetime) -> str:
    """Return a moment in UTC to the microsecond."""
    return f"{moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z"
