"""Samples kept to be looked at later: what they are, how old, where from."""

from datetime import date

from django.conf import settings
from django.db import models
from django.utils import timezone

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

    is_searched = True

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


class ConditionCheck(Sealed):
    """What somebody saw when looking at a sample, without opening it. Added, never changed; the next look answers it."""

    is_history = True

    class Scale(models.IntegerChoices):
        """Five steps, the last words first."""

        AS_IT_WAS = 5, "5: as it was"
        SLIGHT = 4, "4: a little changed"
        CHANGED = 3, "3: changed, and still good for what it is kept for"
        BAD = 2, "2: badly changed"
        LOST = 1, "1: lost for what it is kept for"

    class Closure(models.TextChoices):
        TIGHT = "tight", "tight"
        LOOSE = "loose", "loose"
        DAMAGED = "damaged", "cracked, corroded or swollen"
        NONE = "none", "open, or none there"
        NOT_LOOKED = "", "not looked at"

    class Label(models.TextChoices):
        LEGIBLE = "legible", "legible and on it"
        FADING = "fading", "fading"
        LOOSE = "loose", "coming off"
        LOST = "lost", "cannot be read, or gone"
        NOT_LOOKED = "", "not looked at"

    key = models.UUIDField(unique=True, editable=False, help_text="sending a form twice makes one")
    sample = models.ForeignKey(RetainedSample, on_delete=models.PROTECT, related_name="checks")
    scale = models.PositiveSmallIntegerField(choices=Scale)
    colour = models.CharField(max_length=120, blank=True)
    form = models.CharField(max_length=120, blank=True)
    closure = models.CharField(max_length=10, choices=Closure, blank=True)
    label = models.CharField(max_length=10, choices=Label, blank=True)
    changed = models.CharField("what changed since the last look", max_length=400, blank=True)
    remarks = models.CharField(max_length=400, blank=True)
    next_on = models.DateField("look again on", null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(scale__gte=1, scale__lte=5), name="condition_of_five_steps"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_scale_display()}, {self.at:%d %b %Y}"

    @property
    def steps(self) -> list[bool]:
        """Return the scale as five marks, filled or not."""
        return [step <= self.scale for step in range(1, 6)]
