"""One physical bottle, vial, tube: what is in it, where it stands, how much is left."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from labstock.chemistry.remaining import Band
from labstock.people.models import LabGroup
from labstock.stock.codes import show_code
from labstock.stock.models.location import Location
from labstock.stock.models.lot import Lot
from labstock.stock.models.substance import Substance

MILLION = 1_000_000


class VesselKind(models.TextChoices):
    """The drawn shapes."""

    BOTTLE = "bottle", "bottle"
    VIAL = "vial", "vial"
    AMPOULE = "ampoule", "ampoule"
    JAR = "jar", "jar"
    TUBE = "tube", "tube"
    DRUM = "drum", "drum"


class LedgerUnit(models.TextChoices):
    """The unit a container's ledger is kept in; amounts are whole millionths of it."""

    GRAM = "g", "g (weighed)"
    MILLILITRE = "mL", "mL (measured)"
    PIECE = "piece", "pieces (counted)"


class Purpose(models.TextChoices):
    """Why the container is kept."""

    REAGENT = "reagent", "reagent"
    PRODUCT = "product", "product of a batch"
    RETAINED = "retained", "retained sample"
    SOLUTION = "solution", "prepared solution"
    WASTE = "waste", "waste"


class State(models.TextChoices):
    """Whether it may be used. "Not seen" is not "gone"."""

    IN_USE = "in use", "in use"
    BLOCKED = "blocked", "blocked"
    NOT_SEEN = "not seen", "not seen"
    EMPTY = "empty", "empty"
    DISPOSED = "disposed", "disposed of"


# The only moves between states. Disposed is the end.
MOVES: dict[str, frozenset[str]] = {
    State.IN_USE: frozenset({State.BLOCKED, State.NOT_SEEN, State.EMPTY, State.DISPOSED}),
    State.BLOCKED: frozenset({State.IN_USE, State.NOT_SEEN, State.DISPOSED}),
    State.NOT_SEEN: frozenset({State.IN_USE, State.BLOCKED, State.DISPOSED}),
    State.EMPTY: frozenset({State.IN_USE, State.DISPOSED}),
    State.DISPOSED: frozenset(),
}


class CodeSeries(models.Model):
    """The last running number given out under a lab's prefix; locked while a number is taken."""

    prefix = models.CharField(max_length=2, unique=True)
    last_number = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.prefix} up to {self.last_number}"


class Container(models.Model):
    """A container. `remaining` is the sum of its ledger, kept here in the same transaction."""

    code = models.CharField(max_length=16, unique=True)
    number = models.PositiveBigIntegerField(unique=True)
    substance = models.ForeignKey(
        Substance, null=True, blank=True, on_delete=models.PROTECT, related_name="containers"
    )
    lot = models.ForeignKey(Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="containers")
    described_as = models.CharField(max_length=200, blank=True)
    purpose = models.CharField(max_length=10, choices=Purpose, default=Purpose.REAGENT)
    vessel = models.CharField(max_length=10, choices=VesselKind, default=VesselKind.BOTTLE)
    unit = models.CharField(max_length=6, choices=LedgerUnit)
    capacity = models.BigIntegerField(help_text="millionths of the unit")
    heel = models.BigIntegerField(default=0, help_text="millionths of the unit that cannot be got out")
    received_on = models.DateField()
    gross_at_receipt_ug = models.BigIntegerField(null=True, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    location = models.ForeignKey(
        Location, null=True, blank=True, on_delete=models.PROTECT, related_name="containers"
    )
    owner_group = models.ForeignKey(
        LabGroup, null=True, blank=True, on_delete=models.PROTECT, related_name="containers"
    )
    needs = models.JSONField("storage needs", default=list, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.IN_USE)
    state_because = models.CharField(max_length=300, blank=True)
    ends_on = models.DateField(
        null=True, blank=True, help_text="the earliest of expiry and retest, for lists"
    )
    search_text = models.TextField(editable=False, default="")

    # kept in step with the ledger, in the same transaction
    remaining = models.BigIntegerField(default=0, editable=False)
    received = models.BigIntegerField(default=0, editable=False)
    band = models.JSONField(default=dict, editable=False)
    last_seq = models.PositiveIntegerField(default=0, editable=False)
    last_hash = models.CharField(max_length=64, blank=True, editable=False)

    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(condition=Q(remaining__gte=0), name="remaining_not_negative"),
            models.CheckConstraint(condition=Q(capacity__gt=0), name="capacity_above_nothing"),
            models.CheckConstraint(
                condition=Q(heel__gte=0) & Q(heel__lt=F("capacity")), name="heel_below_capacity"
            ),
        ]
        indexes = [
            models.Index(fields=["state", "location", "ends_on", "id"], name="container_by_place"),
            models.Index(fields=["state", "ends_on", "id"], name="container_by_end"),
            models.Index(fields=["substance", "state"], name="container_by_substance"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {show_code(self.code)}"

    @property
    def name(self) -> str:
        """Return the name in words that people call it by."""
        return self.described_as or (self.substance.name if self.substance else "unknown")

    @property
    def is_opened(self) -> bool:
        """Say whether anything has been drawn from it."""
        return self.opened_on is not None

    @property
    def is_usable(self) -> bool:
        """Say whether its state lets people draw from it."""
        return self.state == State.IN_USE

    @property
    def doubt(self) -> Band:
        """Return what is known about the uncertainty of `remaining` [container's unit]."""
        return Band.from_json(self.band)

    @property
    def amount(self) -> float:
        """Return the book amount [container's unit]."""
        return self.remaining / MILLION
