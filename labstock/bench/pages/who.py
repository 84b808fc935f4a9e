"""Whom to ring and whom to tell."""

from django.utils import timezone

from labstock.chemistry.display import show
from labstock.people.models import User
from labstock.people.roles import Role
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION
from labstock.stock.queries import holds_on


def to_ring() -> str:
    """Name the safety officers, in one sentence."""
    names = [
        str(user) for user in User.objects.filter(role=Role.SAFETY, is_active=True).order_by("last_name")
    ]
    return (
        f"Safety officer: {', '.join(names)}."
        if names
        else "No safety officer is on the list: ring the site’s emergency number."
    )


def to_be_told(container: Container) -> str:
    """Name those who hold amounts of it, how much and when; "" where nobody does."""
    holds = [
        f"{hold.session.owner}, {show(hold.left / MILLION, container.unit)} "
        f"on {timezone.localtime(hold.session.starts_at):%a %d %b %H:%M}"
        for hold in holds_on(container)
    ]
    return f"Tell those who counted on it: {'; '.join(holds)}." if holds else ""
