"""Bottles that nobody can name: how they were found, and whose they turned out to be."""

from django.conf import settings
from django.db import models

from labstock.stock.models.container import Container
from labstock.stock.models.sealed import Sealed


class Form(models.TextChoices):
    """What is seen through the closed glass."""

    LIQUID = "liquid", "liquid"
    SOLID = "solid", "solid"
    BOTH = "both", "liquid and solid"


class UnknownFind(Sealed):
    """A bottle without a readable label, as it was found. Its container is blocked from the first moment."""

    is_history = True

    container = models.OneToOneField(Container, on_delete=models.PROTECT, related_name="found_unknown")
    size = models.CharField(max_length=80, help_text="as typed")
    appearance = models.CharField(max_length=300)
    form = models.CharField(max_length=6, choices=Form, blank=True, help_text="blank: could not be seen")
    level_percent = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="by eye; none: could not be seen"
    )
    neighbours = models.CharField(max_length=300, blank=True, help_text="what stood beside it")
    photo = models.CharField(max_length=80, blank=True, help_text="file name under the photos folder")
    photo_sha256 = models.CharField(max_length=64, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"unknown bottle {self.container.code}"


class UnknownClaim(Sealed):
    """A steward's word that a found bottle is one that was missing, with the reason."""

    is_history = True

    find = models.OneToOneField(UnknownFind, on_delete=models.PROTECT, related_name="claim")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="claimed_finds")
    reason = models.CharField(max_length=300)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.find.container.code} is {self.container.code}"
