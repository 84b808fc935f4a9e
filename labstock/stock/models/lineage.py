"""What went from one container into another: the thread a recall follows."""

from django.conf import settings
from django.db import models

from labstock.stock.models.container import Container
from labstock.stock.models.ledger import Entry
from labstock.stock.models.sealed import Sealed


class Went(models.TextChoices):
    """How contents came from one container into another."""

    DECANTED = "decanted", "decanted into"
    DISSOLVED = "made into", "made into"
    TOPPED_UP = "topped up", "poured onto"


class Lineage(Sealed):
    """One amount that went from a parent into a child. It counts as long as its ledger line is not reversed."""

    is_history = True

    parent = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="went_into")
    child = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="came_from")
    what = models.CharField(max_length=10, choices=Went)
    amount = models.BigIntegerField(help_text="millionths of the parent's unit")
    entry = models.OneToOneField(
        Entry,
        on_delete=models.PROTECT,
        related_name="lineage",
        help_text="the line that took it out of the parent",
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["entry_id"]
        constraints = [
            models.CheckConstraint(condition=models.Q(amount__gt=0), name="something_went_over"),
            models.CheckConstraint(condition=~models.Q(parent=models.F("child")), name="into_another"),
        ]

    def __str__(self) -> str:
        return f"{self.parent.code} {self.get_what_display()} {self.child.code}"
