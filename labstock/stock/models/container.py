"""One physical bottle, vial, tube: what is in it, where it stands, how much is left."""

from dataclasses import replace
from datetime import datetime, time, timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from labstock.chemistry.evaporation import SECONDS_PER_MONTH, loss_per_month
from labstock.chemistry.remaining import Band
from labstock.chemistry.uncertain import UFloat
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

    is_searched = True

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
            models.Index(fields=["substance", "state", "ends_on", "id"], name="container_by_substance"),
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
        """Return what is known now about the uncertainty of `remaining` [container's unit]."""
        return self.doubt_at(timezone.now())

    def doubt_at(self, at: datetime) -> Band:
        """Return the doubt at a moment since the last line: evaporation widens it with time [container's unit]."""
        return self.evaporated(Band.from_json(self.band), at)

    def evaporated(self, band: Band, at: datetime, left: int | None = None) -> Band:
        """Return a band widened by what may have evaporated up to a moment; `left` is what the book said then."""
        now = int(at.timestamp())
        if band.at is None or now <= band.at:
            return band
        loss = self.loss_per_month
        if loss is not None:
            months = max(now - max(band.at, self._opened_since()), 0) / SECONDS_PER_MONTH
            book = (self.remaining if left is None else left) / MILLION
            band = band.after_evaporation(loss.nominal_value * months, loss.std_dev * months, book)
        return replace(band, at=now)

    @property
    def loss_per_month(self) -> UFloat | None:
        """Return what it may lose through its cap [container's unit/month]; None if sealed, solid, or not known.

        A solution loses its solvent, of which nothing is on record.
        """
        substance = self.substance if self.is_opened and self.unit != LedgerUnit.PIECE else None
        if substance is None or not substance.is_liquid or substance.boiling_point_celsius is None:
            return None
        if self.lot is not None and self.lot.concentration_mol_per_L is not None:
            return None
        openings = max(self.last_seq - 1, 0)
        return loss_per_month(substance.boiling_point_celsius, self.capacity / MILLION, openings)

    def _opened_since(self) -> float:
        """Return the end of the day it was opened on [s since 1970]: on that day it was mostly still sealed."""
        opened_on = self.opened_on or timezone.localdate()
        return timezone.make_aware(datetime.combine(opened_on + timedelta(days=1), time.min)).timestamp()

    @property
    def amount(self) -> float:
        """Return the book amount [container's unit]."""
        return self.remaining / MILLION
