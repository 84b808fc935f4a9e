"""Bottle, card, done: every scan is one step, and nothing counts twice."""

import pytest
from django.urls import reverse

from labstock.bench.hands_free import KEPT
from labstock.stock.actions import keeping
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Kind, State
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db
ADDRESS = reverse("hands-free")


@pytest.fixture
def scans(marit):
    """Return a function that scans one code after another and returns the last screen."""

    def scan(*codes: str) -> str:
        for code in codes:
            response = marit.post(ADDRESS, {"code": code}, follow=True)
        return text_of(response)

    return scan


def test_bottle_then_card_records_the_amount(scans, bottle):
    assert "Now scan how much" in scans(f"HTTPS://STOCK.EXAMPLE/C/{bottle.code}")
    screen = scans("AMOUNT/5ML")
    entry = bottle.entries.latest("seq")
    assert (entry.kind, entry.change, entry.by.username) == (Kind.DRAWN, -5_000_000, "marit")
    assert "5 mL recorded" in screen
    assert "Scan “undo” to take it back, or the next bottle." in screen


def test_the_same_card_twice_takes_once(scans, bottle):
    screen = scans(bottle.code, "AMOUNT/5ML", "AMOUNT/5ML")
    assert "No bottle is in hand: scan the bottle first, then the card “5 mL”" in screen
    assert bottle.entries.count() == 2


def test_undo_takes_it_back(scans, bottle):
    screen = scans(bottle.code, "AMOUNT/10ML", "ACT/UNDO")
    bottle.refresh_from_db()
    assert bottle.remaining == 53_000_000
    assert "Taken back. Line 2 reversed" in screen


def test_undo_with_nothing_recorded_says_so(scans, bottle):
    assert "Nothing was recorded here in the last minute" in scans(bottle.code, "ACT/UNDO")


def test_all_takes_what_the_book_says(scans, bottle):
    scans(bottle.code, "AMOUNT/ALL")
    bottle.refresh_from_db()
    assert bottle.remaining == 0


def test_another_bottle_takes_the_place_of_the_first(scans, bottle):
    aniline = builders.container(builders.ANILINE)
    scans(bottle.code, aniline.code, "AMOUNT/1ML")
    assert (bottle.entries.count(), aniline.entries.count()) == (1, 2)


def test_more_than_is_left_is_refused_and_the_bottle_stays_in_hand(scans):
    vial = builders.container(holds="4 mL", capacity="10 mL", heel="0.1 mL")
    screen = scans(vial.code, "AMOUNT/5ML")
    assert "Not taken." in screen
    assert "5 mL is more than the 4.0" in screen
    assert "Now scan how much" in screen
    assert vial.entries.count() == 1


def test_a_blocked_and_a_retired_bottle_are_refused_at_the_first_scan(scans, bottle):
    wren = builders.person("wren")
    keeping.change_state(container=bottle, to=State.BLOCKED, doing=Doing(by=wren, reason="crystals"))
    assert "is blocked (crystals)" in scans(bottle.code)
    keeping.dispose(container=bottle, doing=Doing(by=wren, reason="gone"))
    assert "is retired: its container was disposed of" in scans(bottle.code)


def test_what_changed_meanwhile_is_refused(scans, bottle):
    scans(bottle.code)
    draw(
        container=bottle,
        amount=builders.amount("1 mL"),
        device_code="syringe-5",
        doing=Doing(by=builders.person("tobias")),
    )
    assert "Not taken." in scans("AMOUNT/5ML")
    assert bottle.entries.count() == 2


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("L012A", "a character in it is wrong"),
        ("AMOUNT/7ML", "is on no card of ours"),
        ("", "No code was typed"),
    ],
)
def test_other_codes_are_refused_in_words(scans, code, said):
    assert said in scans(code)


def test_after_a_minute_the_bottle_is_no_longer_in_hand(scans, marit, bottle):
    scans(bottle.code)
    session = marit.session
    session[KEPT] = session[KEPT] | {"at": session[KEPT]["at"] - 61}
    session.save()
    assert "Scan a bottle." in text_of(marit.get(ADDRESS))
    assert "No bottle is in hand" in scans("AMOUNT/5ML")


def test_the_screen_starts_anew_by_itself(scans, marit, bottle):
    assert "Refresh" not in marit.get(ADDRESS).headers
    scans(bottle.code)
    assert marit.get(ADDRESS).headers["Refresh"] == "61; url=/hands-free/?idle"
