"""Questions about people that more than one page asks."""

from dataclasses import dataclass

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.db.models import QuerySet
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.people.models import Badge, User
from labstock.people.roles import MAY, Act, Role

# Badges have fourteen digits, drawn by chance; about 46 bits.
LEAST_BADGE, MOST_BADGE = 10**13, 10**14 - 1


@dataclass(frozen=True)
class ActRow:
    """One line of the table of roles."""

    words: str
    is_yours: bool
    allowed: tuple[tuple[str, bool], ...]


def table_of_roles(role: str) -> list[ActRow]:
    """Return who may do what, in words, from the one table in roles.py."""
    return [
        ActRow(act.value, role in MAY[act], tuple((each.label, each in MAY[act]) for each in Role))
        for act in Act
    ]


def who_may(act: Act) -> QuerySet[User]:
    """Return the people to ask for an act."""
    return User.objects.filter(is_active=True, role__in=MAY[act]).select_related("group")


def history_of(person: User) -> QuerySet[LogEntry]:
    """Return what was changed about a person, newest first."""
    return (
        LogEntry.objects.filter(
            content_type=ContentType.objects.get_for_model(User), object_id=str(person.pk)
        )
        .select_related("user")
        .order_by("-action_time", "-id")
    )


def is_badge_number(number: int) -> bool:
    """Say whether a number is one drawn for a badge; the row numbers of people are far smaller."""
    return number >= LEAST_BADGE


def find_badge(number: int) -> Badge:
    """Return the badge with this number, or say what is wrong with it."""
    badge = Badge.objects.select_related("person").filter(number=number).first()
    if badge is None:
        raise LabError(
            "unknown-badge",
            "No badge of this lab has this number. Log in with your password and make a badge on the page "
            "under your name.",
        )
    if badge.revoked_at is not None:
        raise LabError(
            "badge-revoked",
            "This badge of {name} was revoked on {when}: a newer one took its place, or it was lost. "
            "Use the newer one, or log in with your password and make one on the page under your name.",
            name=badge.person,
            when=f"{timezone.localtime(badge.revoked_at):%d %b %Y %H:%M}",
        )
    if not badge.person.is_active:
        raise LabError(
            "badge-of-one-who-left",
            "{name} may no longer log in, so this badge opens nothing. Ask a steward.",
            name=badge.person,
        )
    return badge


def badge_of(person: User) -> Badge | None:
    """Return the badge a person uses now."""
    return person.badges.filter(revoked_at=None).first()
