"""What happened to a container besides its amount: moves, blocks, releases."""

from django.conf import settings
from django.db import models

from labstock.stock.models.container import Container
from labstock.stock.models.sealed import Sealed


class StateChange(Sealed):
    """One change of place or state, with who, when and why; never changed."""

    is_history = True

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="state_changes")
    what = models.CharField(max_length=12)
    before = models.CharField(max_length=400, blank=True)
    after = models.CharField(max_length=400, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.what}: {self.before} to {self.after}"
