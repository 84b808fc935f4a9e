"""People and the groups that own bottles."""

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q

from labstock.people.roles import Role


class LabGroup(models.Model):
    """A research group: it owns containers, its people share them."""

    name = models.CharField(max_length=80, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class User(AbstractUser):
    """One person. Nobody shares an account: every ledger entry names who did it."""

    role = models.CharField(max_length=10, choices=Role, default=Role.VIEWER)
    group = models.ForeignKey(
        LabGroup, null=True, blank=True, on_delete=models.PROTECT, related_name="members"
    )
    # with a badge, for those whose role can do harm; hashed like a password
    pin = models.CharField(max_length=128, blank=True, editable=False)
    pin_failures = models.PositiveSmallIntegerField(default=0, editable=False)
    pin_shut_until = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["last_name", "first_name", "username"]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def initials(self) -> str:
        """Return what goes on a badge and a label."""
        return "".join(name[0] for name in str(self).split())[:3].upper()

    @property
    def short_name(self) -> str:
        """Return the name as the ledger shows it: T. Renn."""
        return f"{self.first_name[:1]}. {self.last_name}" if self.first_name and self.last_name else str(self)


class Badge(models.Model):
    """A number on a card that says who somebody is at a shared tablet. It is drawn by chance and can be revoked."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="badges")
    number = models.PositiveBigIntegerField(unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-made_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(revoked_at=None), name="one_badge_at_a_time"
            )
        ]

    def __str__(self) -> str:
        return f"badge of {self.person}"
