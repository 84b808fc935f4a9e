"""Samples kept to be looked at later: what they are, how old, where from."""

from datetime import date

from django.conf import settings
from django.db import models

from batches.models import Batch
from labstock.stock.models import Container, Substance
from labstock.stock.models.sealed import Sealed


class KeptFor(models.TextChoices):
    """Why it is kept. Reference and retention are different things."""

    RETENTION = "retention", "retention: to show it as it was made"
    REFERENCE = "reference", "reference: to be analysed and compared"
    TEACHING = "teaching", "teaching"
    HISTORY = "history", "history"


class RetainedSample(models.Model):
    """A retained sample in its container. Its date is kept as written and as understood (EDTF)."""

    container = models.OneToOneField(Container, on_delete=models.PROTECT, related_name="retained_sample")
    batch = models.ForeignKey(
        Batch, null=True, blank=True, on_delete=models.PROTECT, related_name="retained_samples"
    )
    substance = models.ForeignKey(
        Substance, null=True, blank=True, on_delete=models.PROTECT, related_name="retained_samples"
    )
    name = models.CharField(max_length=200)
    kept_for = models.CharField(max_length=10, choices=KeptFor, default=KeptFor.RETENTION)
    label_as_written = models.TextField(blank=True)
    date_as_written = models.CharField(max_length=120, blank=True)
    date_edtf = models.CharField(max_length=60, blank=True)
    earliest_on = models.DateField(null=True, blank=True, editable=False)
    latest_on = models.DateField(null=True, blank=True, editable=False)
    sorted_on = models.DateField(
        default=date.max, editable=False, help_text="the earliest day, else the latest, else the end of time"
    )
    maker = models.CharField(max_length=160, blank=True)
    other_numbers = models.CharField(max_length=160, blank=True)
    keep_until = models.DateField(null=True, blank=True)
    review_on = models.DateField(null=True, blank=True)
    catalogued_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    catalogued_at = models.DateTimeField()
    search_text = models.TextField(editable=False, default="")

    class Meta:
        ordering = ["sorted_on", "id"]
        indexes = [
            models.Index(fields=["earliest_on", "latest_on"], name="sample_by_date"),
            models.Index(fields=["sorted_on", "id"], name="sample_in_order"),
        ]

    def __str__(self) -> str:
        return self.name


class ProvenanceNote(Sealed):
    """One statement about where a sample has been, by whom and from what evidence. Added, never changed."""

    is_history = True

    class Subject(models.TextChoices):
        MADE = "made", "made"
        CUSTODY = "custody", "who had it"
        OWNERSHIP = "ownership", "whose it was"
        FOUND = "found", "found"
        READING = "reading", "reading of the label"
        OTHER = "other", "other"

    key = models.UUIDField(null=True, unique=True, editable=False, help_text="sending a form twice makes one")
    sample = models.ForeignKey(RetainedSample, on_delete=models.PROTECT, related_name="provenance")
    subject = models.CharField(max_length=10, choices=Subject)
    date_edtf = models.CharField(max_length=60, blank=True)
    text = models.TextField()
    evidence = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.text[:60]
