"""Sessions at a bench or hood, and the amounts promised to them."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from labstock.stock.models.container import Container
from labstock.stock.models.ledger import stamp
from labstock.stock.models.location import Location
from labstock.stock.models.sealed import Sealed


class Session(models.Model):
    """Who works where, from when to when."""

    title = models.CharField(max_length=120)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sessions")
    place = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="sessions")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)
    key = models.UUIDField(null=True, unique=True, editable=False, help_text="sending a form twice makes one")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["starts_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")), name="session_ends_after_it_starts"
            )
        ]
        indexes = [models.Index(fields=["ends_at", "starts_at"], name="session_by_time")]

    def __str__(self) -> str:
        return f"{self.title}, {self.starts_at:%d %b %H:%M}"


class HoldState(models.TextChoices):
    """What became of a promise."""

    HELD = "held", "held"
    USED = "used", "used"
    RELEASED = "released", "let go"
    LAPSED = "lapsed", "lapsed unused"


class Reservation(models.Model):
    """An amount of one container promised to one session."""

    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="reservations")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="reservations")
    amount = models.BigIntegerField(help_text="millionths of the container's unit")
    drawn = models.BigIntegerField(default=0, help_text="of it already drawn")
    state = models.CharField(max_length=10, choices=HoldState, default=HoldState.HELD)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    key = models.UUIDField(null=True, unique=True, editable=False, help_text="sending a form twice makes one")

    class Meta:
        ordering = ["session__starts_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="reservation_above_nothing"),
            models.CheckConstraint(condition=Q(drawn__gte=0), name="drawn_not_negative"),
        ]
        indexes = [
            models.Index(fields=["container", "state"], name="reservation_by_container"),
            models.Index(fields=["state", "session"], name="reservation_by_state"),
        ]

    def __str__(self) -> str:
        return f"{self.amount / 1e6:g} {self.container.unit} of {self.container.code} for {self.session}"

    @property
    def left(self) -> int:
        """Return what is still promised [millionths of the container's unit]."""
        return max(self.amount - self.drawn, 0) if self.state == HoldState.HELD else 0


class ReservationEvent(Sealed):
    """One line in a reservation's history; never changed."""

    is_history = True

    reservation = models.ForeignKey(Reservation, on_delete=models.PROTECT, related_name="events")
    what = models.CharField(max_length=20)
    amount = models.BigIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["at"], name="promise_by_time")]

    def __str__(self) -> str:
        return f"{self.what} {self.amount / 1e6:g}"

    def said(self) -> dict[str, Any]:
        """Return what the row says, with what was promised, which never changes: each row vouches for it."""
        row = self.reservation
        promise = [row.session_id, row.container_id, row.amount, row.made_by_id, str(row.key or "")]
        return super().said() | {"promise": [*promise, stamp(row.made_at)]}
