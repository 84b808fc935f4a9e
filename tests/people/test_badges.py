"""Badges are drawn by chance and revocable; a PIN guards those whose role can do harm."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from labstock.people.badges import check_pin, make_badge, revoke_badge, set_pin
from labstock.people.models import Badge
from labstock.people.queries import LEAST_BADGE, MOST_BADGE, badge_of, find_badge
from labstock.people.roles import needs_pin
from tests.builders import CAST, person, refused

pytestmark = pytest.mark.django_db
PASSWORD = "quay-side-tern"


def badge_for(name: str = "marit") -> Badge:
    return make_badge(by=person(name), person=person(name))


def test_a_badge_finds_its_person():
    badge = badge_for()
    assert LEAST_BADGE <= badge.number <= MOST_BADGE
    assert find_badge(badge.number).person == person("marit")


def test_badges_are_drawn_by_chance():
    assert len({badge_for(name).number for name in CAST for _ in range(20)}) == 100


def test_a_new_badge_revokes_the_one_before():
    first, second = badge_for(), badge_for()
    with refused("This badge of Marit Solberg was revoked on"):
        find_badge(first.number)
    assert badge_of(person("marit")) == second


def test_the_database_allows_one_badge_at_a_time():
    badge_for()
    with pytest.raises(IntegrityError), transaction.atomic():
        Badge.objects.create(person=person(), number=LEAST_BADGE, made_at=timezone.now(), made_by=person())


def test_a_steward_revokes_a_lost_badge_and_it_is_written_down():
    badge = badge_for()
    revoke_badge(by=person("wren"), person=person("marit"))
    badge.refresh_from_db()
    assert badge.revoked_by == person("wren")
    with refused("Marit Solberg has no badge that works"):
        revoke_badge(by=person("wren"), person=person("marit"))


def test_an_unknown_number_and_one_who_left_open_nothing():
    with refused("No badge of this lab has this number"):
        find_badge(LEAST_BADGE)
    badge, marit = badge_for(), person("marit")
    marit.is_active = False
    marit.save()
    with refused("Marit Solberg may no longer log in"):
        find_badge(badge.number)


def test_who_needs_a_pin():
    assert {name for name in CAST if needs_pin(person(name))} == {"wren", "sunniva"}
    tobias = person("tobias")
    tobias.is_staff = True
    assert needs_pin(tobias)


def test_a_pin_is_kept_hashed_and_opens():
    wren = person("wren")
    set_pin(person=wren, password=PASSWORD, pin="4817")
    assert "4817" not in wren.pin
    check_pin(person=wren, pin="4817")


def test_without_a_pin_a_stewards_badge_opens_nothing():
    with refused("Wren Halloran has no PIN, and a steward’s badge opens nothing without one"):
        check_pin(person=person("wren"), pin="")


def test_five_wrong_pins_shut_it_even_for_the_right_one():
    wren = person("wren")
    set_pin(person=wren, password=PASSWORD, pin="4817")
    for left in (4, 3, 2, 1):
        with refused(f"This is not the PIN of Wren Halloran: {left} more tries"):
            check_pin(person=wren, pin="0000")
    for pin in ("0000", "4817"):
        with refused("5 wrong PINs: Wren Halloran’s badge is shut until"):
            check_pin(person=wren, pin=pin)


def test_after_a_quarter_of_an_hour_the_right_pin_opens_again():
    wren = person("wren")
    set_pin(person=wren, password=PASSWORD, pin="4817")
    wren.pin_shut_until = timezone.now() - timedelta(seconds=1)
    wren.save()
    check_pin(person=wren, pin="4817")
    wren.refresh_from_db()
    assert wren.pin_shut_until is None


@pytest.mark.parametrize(
    ("pin", "said"),
    [
        ("481", "The PIN has 3 characters; it must be 4 to 12 digits"),
        ("48a7", "must be 4 to 12 digits and nothing else"),
        ("٤٨١٧", "must be 4 to 12 digits and nothing else"),
        ("1111", "is the first thing anybody would try"),
        ("4567", "is the first thing anybody would try"),
        ("9876", "is the first thing anybody would try"),
    ],
)
def test_easy_and_malformed_pins_are_refused(pin, said):
    with refused(said):
        set_pin(person=person("wren"), password=PASSWORD, pin=pin)


def test_a_pin_needs_the_password():
    with refused("This is not your password"):
        set_pin(person=person("wren"), password="wrong", pin="4817")
