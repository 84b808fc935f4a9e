"""Questions about people that more than one page asks."""

from dataclasses import dataclass

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.db.models import QuerySet

from labstock.people.models import User
from labstock.people.roles import MAY, Act, Role


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
