"""Stock checks: what was expected, what was found, what was counted, and how each difference was settled.

Nothing here is ever changed: a check that goes on tomorrow gets more rows, its end is a row of its own.
"""

from math import hypot

from django.conf import settings
from django.db import models
from django.utils import timezone

from labstock.chemistry.differences import Difference
from labstock.stock.models.container import MILLION, Container
from labstock.stock.models.ledger import Entry
from labstock.stock.models.location import Location
from labstock.stock.models.sealed import Sealed


class Done(Sealed):
    """A row that says who did it and when."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True


class StockCheck(Done):
    """One check: of a place with all that is below it, or (without a place) of chosen containers."""

    is_history = True

    title = models.CharField(max_length=400)
    place = models.ForeignKey(
        Location, null=True, blank=True, on_delete=models.PROTECT, related_name="stock_checks"
    )
    key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"stock check {self.pk}: {self.title}"


class CheckExpected(Sealed):
    """A container that the book said was there when the check began."""

    is_history = True

    stock_check = models.ForeignKey(StockCheck, on_delete=models.PROTECT, related_name="expected")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey(Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["stock_check", "container"], name="expected_once_in_a_check")
        ]

    def __str__(self) -> str:
        return f"{self.container.code} expected"


class Found(models.TextChoices):
    """What a check says of one container."""

    SEEN = "seen", "seen where it belongs"
    ELSEWHERE = "elsewhere", "in the wrong place"
    BACK = "back", "seen again; the book said not seen"
    EMPTY = "empty", "seen; the book said empty"
    DISPOSED = "disposed", "seen; the book said disposed of"
    FOREIGN = "foreign", "not in the book"
    HANDLED = "handled", "not scanned, but used or moved during the check"
    MISSING = "missing", "not seen"
    STILL_MISSING = "still missing", "still not seen"


SIGHTINGS = (Found.SEEN, Found.ELSEWHERE, Found.BACK, Found.EMPTY, Found.DISPOSED)


class CheckFinding(Done):
    """What one check found of one container, or one thing that the book does not know; once in each check."""

    is_history = True

    stock_check = models.ForeignKey(StockCheck, on_delete=models.PROTECT, related_name="findings")
    container = models.ForeignKey(
        Container, null=True, blank=True, on_delete=models.PROTECT, related_name="findings"
    )
    foreign = models.CharField(max_length=120, blank=True, help_text="what its label says, if not ours")
    what = models.CharField(max_length=14, choices=Found)
    place = models.ForeignKey(
        Location, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="where it was"
    )
    book_place = models.CharField(max_length=400, blank=True, help_text="where the book said it was")
    last_seen_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["stock_check", "container"], name="found_once_in_a_check"),
            models.UniqueConstraint(
                fields=["stock_check", "foreign"],
                condition=models.Q(container=None),
                name="foreign_once_in_a_check",
            ),
            models.CheckConstraint(
                condition=models.Q(container=None, what=Found.FOREIGN)
                | models.Q(container__isnull=False, foreign="") & ~models.Q(what=Found.FOREIGN),
                name="ours_or_foreign",
            ),
        ]
        indexes = [models.Index(fields=["container", "at"], name="finding_by_container")]

    def __str__(self) -> str:
        return f"{self.container.code if self.container else self.foreign}: {self.get_what_display()}"


class CheckCount(Done):
    """One blind count: what was found, how, and what the book said at that moment."""

    is_history = True

    stock_check = models.ForeignKey(StockCheck, on_delete=models.PROTECT, related_name="counts")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="counts")
    key = models.UUIDField(unique=True)
    typed = models.CharField(max_length=80)
    device = models.CharField(max_length=40)
    gross_ug = models.BigIntegerField(null=True, blank=True)
    amount = models.BigIntegerField(help_text="millionths of the container's unit")
    u_random = models.BigIntegerField()
    u_common = models.BigIntegerField()
    book = models.BigIntegerField(help_text="what the book said before, same unit")
    evaporated = models.BigIntegerField(help_text="what may be gone of that and was never booked, same unit")
    u_book = models.BigIntegerField(
        help_text="standard uncertainty of what is likely left, less what the count shares"
    )
    seq_before = models.PositiveIntegerField(help_text="the last ledger line before the count")

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["container", "at"], name="count_by_container")]

    def __str__(self) -> str:
        return f"{self.container.code}: {self.typed} counted"

    @property
    def difference(self) -> Difference:
        """Return count less what the book makes likely, and how much the uncertainties explain [container's unit]."""
        return Difference(
            count=self.amount / MILLION,
            u_count=hypot(self.u_random, self.u_common) / MILLION,
            book=(self.book - self.evaporated) / MILLION,
            u_book=self.u_book / MILLION,
        )


class CheckSettled(Done):
    """How a count got into the ledger: at once, or after somebody gave the cause of the difference."""

    is_history = True

    count = models.OneToOneField(CheckCount, on_delete=models.PROTECT, related_name="settled")
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="settles")
    cause = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.count}: {self.cause or 'within the tolerance'}"


class CheckEnd(Done):
    """The end of a check."""

    is_history = True

    stock_check = models.OneToOneField(StockCheck, on_delete=models.PROTECT, related_name="end")
    is_whole = models.BooleanField(help_text="everything was looked for: what was not seen is not seen")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"end of {self.stock_check}"
