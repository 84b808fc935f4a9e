"""Who may do what: one table. Views name an act, the table names the roles."""

from collections.abc import Callable
from enum import Enum
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import models
from django.http import HttpRequest, HttpResponseBase


class Role(models.TextChoices):
    """What a person is to the stock."""

    VIEWER = "viewer", "Viewer"
    MEMBER = "member", "Member"
    STEWARD = "steward", "Steward"
    SAFETY = "safety", "Safety officer"


class Act(Enum):
    """Something a page lets a person do."""

    SEE = "see the stock, the batches and the samples"
    DRAW = "record what was used, weighed back or spilt"
    COUNT = "check the stock: say what stands where and count it"
    RESERVE = "plan a session and hold reagents for it"
    WRITE_BATCH = "write batch records and put samples aside"
    STOCK = "receive containers and describe substances, lots and locations"
    CORRECT = "reverse other people's entries and dispose of containers"
    BLOCK = "block a container or free it again"
    RULES = "change rules and limits"
    PEOPLE = "add people and change their roles"


EVERYBODY = frozenset(Role)
BENCH = frozenset({Role.MEMBER, Role.STEWARD, Role.SAFETY})

MAY: dict[Act, frozenset[Role]] = {
    Act.SEE: EVERYBODY,
    Act.DRAW: BENCH,
    Act.COUNT: BENCH,
    Act.RESERVE: BENCH,
    Act.WRITE_BATCH: BENCH,
    Act.STOCK: frozenset({Role.STEWARD}),
    Act.CORRECT: frozenset({Role.STEWARD}),
    Act.BLOCK: frozenset({Role.STEWARD, Role.SAFETY}),
    Act.RULES: frozenset({Role.SAFETY}),
    Act.PEOPLE: frozenset({Role.STEWARD}),
}

# Roles that can do harm which others must mend: at a shared tablet their badge alone is not enough.
HARMFUL = MAY[Act.CORRECT] | MAY[Act.BLOCK] | MAY[Act.RULES] | MAY[Act.PEOPLE]


def needs_pin(user: Any) -> bool:
    """Say whether this person's badge opens a shared tablet only together with their PIN."""
    return user.role in HARMFUL or user.is_staff or user.is_superuser


def may(user: Any, act: Act) -> bool:
    """Say whether this person's role allows the act. Nobody outside the table's roles may do anything."""
    return bool(user.is_authenticated and user.is_active and user.role in MAY[act])


View = Callable[..., HttpResponseBase]


def requires(act: Act) -> Callable[[View], View]:
    """Guard a view with an act; the view keeps the act so that tests can walk every page as every role."""

    def guard(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not may(request.user, act):
                raise PermissionDenied(refusal(request.user, act))
            return view(request, *args, **kwargs)

        guarded.act = act  # type: ignore[attr-defined]
        return guarded

    return guard


def refusal(user: Any, act: Act) -> str:
    """Say who may do it instead."""
    role = Role(user.role).label.lower() if user.is_authenticated else "visitor"
    roles = ", ".join(sorted(r.label.lower() for r in MAY[act]))
    return f"A {role} may not {act.value}. These may: {roles}. Ask one of them, or a steward to change your role."
