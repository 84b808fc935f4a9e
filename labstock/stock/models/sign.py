"""What somebody saw, or looked for and did not see, on a container before pouring from it."""

import uuid

from django.conf import settings
from django.db import models
from django.utils import timezone

from labstock.stock.models.container import Container
from labstock.stock.models.sealed import Sealed


class Trouble(models.TextChoices):
    """What a look is for."""

    SMELL = "smell", "acid smell noticed"
    CRYSTALS = "crystals", "crystals in it or round the cap"
    CLOUD = "cloud", "cloud or second layer"
    CAP = "cap", "cap stuck or corroded"
    PRESSURE = "pressure", "pressure, or a bulging bottle"
    COLOUR = "colour", "colour darker than it was"


class Sign(Sealed):
    """One thing that was looked for. Not looked is no row: it stays different from "no"."""

    is_history = True

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="signs")
    what = models.CharField(max_length=10, choices=Trouble)
    is_seen = models.BooleanField()
    doubts_strength = models.BooleanField(help_text="by the rule at the time; an assay afterwards settles it")
    rule = models.CharField(max_length=40, blank=True, help_text="the rule that gave the advice")
    words = models.CharField(max_length=300, blank=True)
    key = models.UUIDField(default=uuid.uuid4, help_text="one for each look")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["key", "what"], name="one_answer_in_a_look"),
            models.CheckConstraint(
                condition=models.Q(is_seen=True) | models.Q(doubts_strength=False), name="no_sign_no_doubt"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_what_display()}: {'seen' if self.is_seen else 'no'}"
