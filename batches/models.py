"""One making of something: its plan, what went in, what was seen, what came out."""

from django.conf import settings
from django.db import models

from labstock.stock.models import Container, Entry, Reservation, Session, Substance
from labstock.stock.models.sealed import Sealed


class BatchState(models.TextChoices):
    """How far a batch is. Finished is frozen."""

    PLANNED = "planned", "planned"
    RUNNING = "running", "running"
    FINISHED = "finished", "finished"
    ABANDONED = "abandoned", "abandoned"


class LineRole(models.TextChoices):
    """What a line of the plan is for."""

    REACTANT = "reactant", "reactant"
    PRODUCT = "product", "product"
    SOLVENT = "solvent", "solvent"
    CATALYST = "catalyst", "catalyst"
    QUENCH = "quench", "quench"
    WASH = "wash", "washing"
    OTHER = "other", "other"


class Batch(models.Model):
    """A batch record. While it runs it grows; once finished the database refuses to change it."""

    frozen_when = "state = 'finished'"

    number = models.CharField(max_length=12, unique=True)
    title = models.CharField(max_length=120)
    session = models.ForeignKey(
        Session, null=True, blank=True, on_delete=models.PROTECT, related_name="batches"
    )
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="batches")
    equation = models.CharField(max_length=300, blank=True)
    scale = models.CharField("scale as typed", max_length=40, blank=True)
    scale_line = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=10, choices=BatchState, default=BatchState.PLANNED)
    planned_at = models.DateTimeField()
    key = models.UUIDField(null=True, unique=True, editable=False, help_text="sending a form twice makes one")
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    # what came out; written when the batch is finished
    product_typed = models.CharField(max_length=40, blank=True)
    product_mass_g = models.FloatField(null=True, blank=True)
    product_mass_u_g = models.FloatField(null=True, blank=True)
    product_percent = models.FloatField("purity of the product in per cent", null=True, blank=True)
    product_percent_u = models.FloatField(null=True, blank=True)
    theoretical_g = models.FloatField(null=True, blank=True)
    theoretical_u_g = models.FloatField(null=True, blank=True)
    yield_percent = models.FloatField(null=True, blank=True)
    yield_u_percent = models.FloatField(null=True, blank=True)
    limiting_line = models.PositiveSmallIntegerField(null=True, blank=True)
    digest = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["-planned_at", "-id"]
        verbose_name_plural = "batches"
        indexes = [models.Index(fields=["state", "planned_at"], name="batch_by_state")]

    def __str__(self) -> str:
        return f"{self.title}, batch {self.number}"

    @property
    def is_open(self) -> bool:
        """Say whether anything may still be written into it."""
        return self.state in (BatchState.PLANNED, BatchState.RUNNING)


class BatchLine(models.Model):
    """One substance of the plan, with the amount worked out for it and the numbers it was worked out from."""

    frozen_with = "batch"

    batch = models.ForeignKey(Batch, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=10, choices=LineRole)
    substance = models.ForeignKey(
        Substance, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    name = models.CharField(max_length=200)
    formula = models.CharField(max_length=200, blank=True)
    coefficient = models.CharField(max_length=20, blank=True, help_text="exact, as a fraction: 3/2")
    equivalents_typed = models.CharField(max_length=20, blank=True)
    amount_typed = models.CharField(max_length=40, blank=True, help_text="for lines outside the equation")
    molar_mass_g_per_mol = models.FloatField(null=True, blank=True)
    molar_mass_u_g_per_mol = models.FloatField(null=True, blank=True)
    fraction = models.FloatField(default=1.0, help_text="effective purity used for the plan")
    fraction_u = models.FloatField(default=0.0)
    fraction_from = models.CharField(max_length=160, blank=True)
    density_g_per_mL = models.FloatField(null=True, blank=True)
    density_u_g_per_mL = models.FloatField(null=True, blank=True)
    concentration_mol_per_L = models.FloatField(null=True, blank=True)
    concentration_u_mol_per_L = models.FloatField(null=True, blank=True)
    amount_mmol = models.FloatField(null=True, blank=True)
    amount_u_mmol = models.FloatField(null=True, blank=True)
    equivalents = models.FloatField(null=True, blank=True)
    equivalents_u = models.FloatField(null=True, blank=True)
    dispense = models.FloatField(null=True, blank=True)
    dispense_u = models.FloatField(null=True, blank=True)
    dispense_unit = models.CharField(max_length=12, blank=True)
    is_limiting = models.BooleanField(default=False)
    reservations = models.ManyToManyField(Reservation, blank=True, related_name="plan_lines")

    class Meta:
        ordering = ["batch_id", "position"]
        constraints = [models.UniqueConstraint(fields=["batch", "position"], name="line_once_in_its_batch")]

    def __str__(self) -> str:
        return f"{self.batch.number} line {self.position}: {self.name}"


# which holds were meant for which line belongs to the record too
BatchLine.reservations.through.frozen_with = "batchline__batch"  # type: ignore[attr-defined]  # an automatic model


class BatchInput(Sealed):
    """One draw that went into a batch: the ledger line is the amount, this says where it went."""

    is_history = True

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="inputs")
    line = models.ForeignKey(
        BatchLine, null=True, blank=True, on_delete=models.PROTECT, related_name="inputs"
    )
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="batch_input")
    fraction = models.FloatField(help_text="effective purity on the day")
    fraction_u = models.FloatField(default=0.0)
    fraction_from = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.entry} into {self.batch.number}"


class Observation(Sealed):
    """What was seen or done, with its time. Added, never changed; after the finish it is an addition."""

    is_history = True

    key = models.UUIDField(null=True, unique=True, editable=False, help_text="sending a form twice makes one")
    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="observations")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    text = models.TextField()
    is_departure = models.BooleanField("departure from the plan", default=False)
    is_addition = models.BooleanField("written after the finish", default=False)

    class Meta:
        ordering = ["at", "id"]

    def __str__(self) -> str:
        return self.text[:60]


class BatchProduct(Sealed):
    """A container filled from a batch."""

    is_history = True

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="products")
    container = models.OneToOneField(Container, on_delete=models.PROTECT, related_name="made_in")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.container} from {self.batch.number}"


class BatchSeries(models.Model):
    """The last batch number of a year; locked while a number is taken."""

    year = models.PositiveSmallIntegerField(unique=True)
    last_number = models.PositiveIntegerField(default=0)

    class Meta:
        verbose_name_plural = "batch series"

    def __str__(self) -> str:
        return f"{self.year} up to {self.last_number}"
