"""Badges and PINs: how one person after another says who they are at a shared tablet, in two seconds."""

import re
import secrets
from datetime import timedelta
from itertools import pairwise

from django.contrib.admin.models import CHANGE
from django.contrib.auth.hashers import check_password, make_password
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.people.actions import note_history
from labstock.people.models import Badge, User
from labstock.people.queries import LEAST_BADGE, MOST_BADGE
from labstock.people.roles import needs_pin
from labstock.writing import writing

PIN_TRIES = 5
PIN_SHUT = timedelta(minutes=15)
FEWEST_PIN_DIGITS, MOST_PIN_DIGITS = 4, 12


def make_badge(*, by: User, person: User) -> Badge:
    """Draw a new badge; the one before stops working at once."""
    with writing():
        User.objects.select_for_update(of=("self",)).get(pk=person.pk)
        _revoke(by, person)
        number = LEAST_BADGE + secrets.randbelow(MOST_BADGE - LEAST_BADGE + 1)
        badge = Badge.objects.create(person=person, number=number, made_at=timezone.now(), made_by=by)
        note_history(by, person, CHANGE, "new badge made")
        return badge


def revoke_badge(*, by: User, person: User) -> None:
    """Make a person's badge open nothing any more: it was lost, or they leave."""
    with writing():
        if not _revoke(by, person):
            raise LabError(
                "no-badge", "{name} has no badge that works, so there is nothing to revoke.", name=person
            )
        note_history(by, person, CHANGE, "badge revoked")


def set_pin(*, person: User, password: str, pin: str) -> None:
    """Set one's own PIN; the password shows that it is oneself and not somebody at an open page."""
    if not person.check_password(password):
        raise LabError("wrong-password", "This is not your password: type the one you log in with.")
    _check_pin_shape(pin)
    with writing():
        person.pin, person.pin_failures, person.pin_shut_until = make_password(pin), 0, None
        person.save(update_fields=["pin", "pin_failures", "pin_shut_until"])
        note_history(person, person, CHANGE, "PIN set")


def check_pin(*, person: User, pin: str) -> None:
    """Refuse a wrong PIN, and after five of them every PIN for a quarter of an hour."""
    if not needs_pin(person):
        return
    if not person.pin:
        raise LabError(
            "no-pin",
            "{name} has no PIN, and a {role}’s badge opens nothing without one. Log in with the password once and "
            "set it under “Badge and PIN”.",
            name=person,
            role=person.get_role_display().lower(),
        )
    with writing():
        locked = User.objects.select_for_update(of=("self",)).get(pk=person.pk)
        now = timezone.now()
        is_shut = locked.pin_shut_until is not None and now < locked.pin_shut_until
        is_right = not is_shut and check_password(pin, locked.pin)
        if is_right:
            locked.pin_failures, locked.pin_shut_until = 0, None
        elif not is_shut:
            locked.pin_failures += 1
            if locked.pin_failures >= PIN_TRIES:
                locked.pin_failures, locked.pin_shut_until = 0, now + PIN_SHUT
        locked.save(update_fields=["pin_failures", "pin_shut_until"])
    if not is_right:
        raise _wrong_pin(locked)


def _wrong_pin(person: User) -> LabError:
    if person.pin_shut_until is not None:
        return LabError(
            "pin-shut",
            "{tries} wrong PINs: {name}’s badge is shut until {when}. Log in with the password instead.",
            tries=PIN_TRIES,
            name=person,
            when=f"{timezone.localtime(person.pin_shut_until):%H:%M}",
        )
    return LabError(
        "pin-wrong",
        "This is not the PIN of {name}: {left} more tries, then it is shut for a quarter of an hour.",
        name=person,
        left=PIN_TRIES - person.pin_failures,
    )


def _check_pin_shape(pin: str) -> None:
    if not re.fullmatch(rf"[0-9]{{{FEWEST_PIN_DIGITS},{MOST_PIN_DIGITS}}}", pin):
        raise LabError(
            "pin-shape",
            "The PIN has {length} characters; it must be {fewest} to {most} digits and nothing else.",
            length=len(pin),
            fewest=FEWEST_PIN_DIGITS,
            most=MOST_PIN_DIGITS,
        )
    steps = {int(b) - int(a) for a, b in pairwise(pin)}
    if steps in ({0}, {1}, {-1}):
        raise LabError(
            "pin-easy",
            "{pin} is the first thing anybody would try. Choose digits that do not repeat or count up or down.",
            pin=pin,
        )


def _revoke(by: User, person: User) -> int:
    return Badge.objects.filter(person=person, revoked_at=None).update(
        revoked_at=timezone.now(), revoked_by=by
    )
