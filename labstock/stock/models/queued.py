"""What was written down on a device without signal and sent later, as it was sent, and what became of it."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from labstock.stock.models.container import Container
from labstock.stock.models.ledger import CLOCK_TOLERANCE_SECONDS, Entry
from labstock.stock.models.sealed import Sealed

# A clock that is wrong by more than this is said in words.
CLOCK_TOLERANCE_MS = CLOCK_TOLERANCE_SECONDS * 1000


class QueuedEntry(Sealed):
    """One entry that waited on a device. Either it made a line of the ledger, or the book refused it and says why."""

    is_history = True

    key = models.UUIDField(unique=True, help_text="made on the device; sent twice, written once")
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="who was signed in when it was typed; empty when nobody was",
    )
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=80, help_text="of the container, as typed or scanned")
    sent = models.JSONField(help_text="the whole entry as the device sent it")
    done_by_device_at = models.DateTimeField(help_text="when it was done, by the device's clock")
    device_at = models.DateTimeField(help_text="the device's clock when it was sent")
    clock_error_ms = models.BigIntegerField(
        help_text="device less server when it was sent; above zero is fast"
    )
    done_at = models.DateTimeField(help_text="when it was done, by the server's clock")
    received_at = models.DateTimeField()
    container = models.ForeignKey(
        Container, null=True, blank=True, on_delete=models.PROTECT, related_name="queued_entries"
    )
    entry = models.OneToOneField(
        Entry, null=True, blank=True, on_delete=models.PROTECT, related_name="queued"
    )
    refusal_code = models.CharField(max_length=40, blank=True)
    refusal = models.TextField(blank=True)

    class Meta:
        ordering = ["-received_at", "-id"]
        verbose_name_plural = "queued entries"
        constraints = [
            models.CheckConstraint(
                condition=Q(entry__isnull=False, refusal_code="") | (Q(entry=None) & ~Q(refusal_code="")),
                name="queued_made_a_line_or_was_refused",
            )
        ]
        indexes = [
            models.Index(fields=["received_at"], condition=Q(entry=None), name="queued_and_refused"),
        ]

    def __str__(self) -> str:
        return f"queued entry for {self.code}"

    @property
    def is_clock_wrong(self) -> bool:
        """Say whether the device's clock was off by more than clocks are."""
        return abs(self.clock_error_ms) > CLOCK_TOLERANCE_MS


class Way(models.TextChoices):
    """How a difference was settled."""

    RECORDED = "recorded", "recorded after all"
    IN_BOOK = "in the book", "already in the book"
    NOT_DONE = "not done", "not done after all"


class Settlement(Sealed):
    """How a difference between what was done and what the book says was settled, by whom and why."""

    is_history = True

    queued = models.OneToOneField(QueuedEntry, on_delete=models.PROTECT, related_name="settlement")
    way = models.CharField(max_length=12, choices=Way)
    entry = models.OneToOneField(
        Entry, null=True, blank=True, on_delete=models.PROTECT, related_name="settles_queued"
    )
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(way=Way.RECORDED, entry__isnull=False) | (~Q(way=Way.RECORDED) & Q(entry=None)),
                name="settled_by_a_line_or_by_words",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()}: {self.queued}"
