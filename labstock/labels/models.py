"""Every label that was printed: which code, on what, who, when."""

from django.conf import settings
from django.db import models


class Printed(models.TextChoices):
    """What the label is for."""

    CONTAINER = "container", "container"
    BLANK = "blank", "blank, to be claimed"
    LOCATION = "location", "place"
    BOX = "box", "rack or box"
    BADGE = "badge", "badge"
    CARD = "card", "card of amounts"


class LabelPrint(models.Model):
    """One label that was made for printing; never changed. A second line with the same code is a reprint."""

    is_history = True

    what = models.CharField(max_length=10, choices=Printed)
    code = models.CharField(max_length=32, db_index=True)
    paper = models.CharField(max_length=40)
    is_full = models.BooleanField(default=False)
    key = models.UUIDField(
        null=True, blank=True, db_index=True, help_text="sending a form twice prints one set"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"{self.get_what_display()} {self.code} on {self.paper}"
