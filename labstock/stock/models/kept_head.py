"""Heads of the whole ledger, kept on the way so that the next one is found without reading every line."""

from django.db import models


class KeptHead(models.Model):
    """The head as it stood after one ledger line; never changed."""

    is_history = True

    upto = models.PositiveBigIntegerField(unique=True, help_text="row number of the last line in it")
    head = models.CharField(max_length=64)

    class Meta:
        ordering = ["upto"]

    def __str__(self) -> str:
        return f"{self.head[:12]} up to row {self.upto}"
