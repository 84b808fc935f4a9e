"""Where things stand: a tree of rooms, cupboards, shelves and trays."""

from django.db import models


class LocationKind(models.TextChoices):
    """What sort of place it is."""

    ROOM = "room", "room"
    CUPBOARD = "cupboard", "cupboard"
    SHELF = "shelf", "shelf"
    TRAY = "tray", "tray or tub"
    COLD = "cold", "refrigerator or cold room"
    DRAWER = "drawer", "drawer or slot"
    BENCH = "bench", "bench"
    HOOD = "hood", "hood"


class Need(models.TextChoices):
    """What a container asks of its place, and what a place offers."""

    DARK = "dark", "dark"
    COLD = "cold", "cold"
    DRY = "dry", "dry"
    INERT = "inert", "under inert gas"
    VENTED = "vented", "vented"
    UPRIGHT = "upright", "upright"


WORKPLACES = (LocationKind.BENCH, LocationKind.HOOD)


class Location(models.Model):
    """A place inside another place. `path` is the whole way from the room, kept for lists and search."""

    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=10, choices=LocationKind)
    parent = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="children"
    )
    offers = models.JSONField(default=list, blank=True)
    path = models.CharField(max_length=400, editable=False, db_index=True)

    class Meta:
        ordering = ["path"]
        constraints = [models.UniqueConstraint(fields=["parent", "name"], name="place_once_in_its_parent")]

    def __str__(self) -> str:
        return self.path

    @property
    def is_workplace(self) -> bool:
        """Say whether people work here (a bench or a hood)."""
        return self.kind in WORKPLACES

    def full_path(self) -> str:
        """Return the names from the room down to here."""
        return f"{self.parent.full_path()}, {self.name}" if self.parent else self.name
