"""Measured strengths of a container."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from labstock.stock.models.container import Container
from labstock.stock.models.sealed import Sealed


class Assay(Sealed):
    """One measurement of how much of the substance is in it. The newest valid one wins over the label."""

    is_history = True

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="assays")
    percent = models.FloatField("mass fraction in per cent")
    u_percent = models.FloatField("standard uncertainty in per cent")
    method = models.CharField(max_length=120)
    measured_on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["-measured_on", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(percent__gt=0, percent__lte=105, u_percent__gt=0), name="assay_is_sensible"
            )
        ]

    def __str__(self) -> str:
        return f"{self.percent:g} % on {self.measured_on}"
