"""Bottle, card, done: every scan is one step, nothing counts twice, nothing that waits is lost in silence."""

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from labstock.bench.hands_free import KEPT
from labstock.stock.actions import keeping
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import show_code
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
        return words_of(response)

    return scan


def words_of(response) -> str:
    return " ".join(strip_tags(text_of(response)).split())


def newest(container):
    entry = container.entries.latest("seq")
    return entry.kind, entry.change


def test_bottle_amount_and_done_record_the_amount(scans, bottle):
    assert "Scan how much" in scans(f"HTTPS://STOCK.EXAMPLE/C/{bottle.code}")
    assert "Scan “done” to record it" in scans("AMOUNT/5ML")
    assert bottle.entries.count() == 1
    screen = scans("ACT/DONE")
    assert newest(bottle) == (Kind.DRAWN, -5_000_000)
    assert bottle.entries.latest("seq").by.username == "marit"
    assert "Acetic anhydride. 5 mL recorded, 48.0" in screen
    assert "Scan “undo” to take it back, or the next bottle." in screen


def test_several_amounts_add_up_to_one_line(scans, bottle):
    screen = scans(bottle.code, "AMOUNT/5ML", "AMOUNT/2ML", "AMOUNT/0.5ML")
    assert "Used: 7.5 mL 5 mL + 2 mL + 0.5 mL" in screen
    scans("ACT/DONE")
    assert newest(bottle) == (Kind.DRAWN, -7_500_000)
    assert bottle.entries.count() == 2


def test_done_twice_takes_once(scans, bottle):
    scans(bottle.code, "AMOUNT/5ML", "ACT/DONE", "ACT/DONE")
    assert bottle.entries.count() == 2


def test_an_amount_after_done_needs_the_bottle_again(scans, bottle):
    screen = scans(bottle.code, "AMOUNT/5ML", "ACT/DONE", "AMOUNT/5ML")
    assert "No bottle is in hand: scan the bottle first, then the card “5 mL”" in screen
    assert bottle.entries.count() == 2


@pytest.mark.parametrize(
    ("card", "kind", "change"),
    [
        ("SPILT", Kind.SPILT, -2_000_000),
        ("WASTED", Kind.WASTED, -2_000_000),
        ("PURGED", Kind.PURGED, -2_000_000),
        ("EVAPORATED", Kind.EVAPORATED, -2_000_000),
        ("FOUND", Kind.FOUND, 2_000_000),
    ],
)
def test_a_card_says_what_happened(scans, bottle, card, kind, change):
    scans(bottle.code, f"ACT/{card}", "AMOUNT/2ML", "ACT/DONE")
    assert newest(bottle) == (kind, change)
    assert bottle.entries.latest("seq").device == "by-eye"


def test_the_card_may_come_after_the_amount(scans, bottle):
    scans(bottle.code, "AMOUNT/2ML", "ACT/SPILT", "ACT/DONE")
    assert newest(bottle) == (Kind.SPILT, -2_000_000)


def test_a_bottle_is_weighed_back_by_the_figure_a_balance_types(scans):
    # 286.40 g with 53 mL in it; 0.54 g less is 0.5 mL less at the 1.08 g/mL of the builders' lot
    bottle = builders.container(holds="53 mL", gross="286.40 g")
    assert "Put it on the balance, cap on, and let it type." in scans(bottle.code, "ACT/WEIGH")
    assert "Weigh back: 283.15 g" in scans("+   283.15 g")
    scans("285.86", "ACT/DONE")
    entry = bottle.entries.latest("seq")
    assert (entry.kind, entry.gross_ug) == (Kind.WEIGHED_BACK, 285_860_000)


def test_a_mass_too_far_from_the_book_is_sent_to_the_page_of_the_bottle(scans):
    bottle = builders.container(holds="53 mL", gross="286.40 g")
    screen = scans(bottle.code, "ACT/WEIGH", "240.00 g", "ACT/DONE")
    assert "Say it on the bottle’s page: no card can." in screen
    assert bottle.entries.count() == 1


def test_grams_a_balance_types_are_an_amount_used(scans):
    jar = builders.container(builders.ANILINE, holds="53 mL")
    scans(jar.code, "ST,GS, 0.51 mL", "ACT/DONE")
    assert newest(jar) == (Kind.DRAWN, -510_000)


def test_a_mass_is_not_weighed_by_a_card_of_volume(scans):
    bottle = builders.container(holds="53 mL", gross="286.40 g")
    assert "“5 mL” is no mass" in scans(bottle.code, "ACT/WEIGH", "AMOUNT/5ML")


def test_grams_and_millilitres_do_not_add(scans, bottle):
    assert "5 g cannot be added to 2 mL" in scans(bottle.code, "AMOUNT/2ML", "AMOUNT/5G")
    assert "Used: 2 mL" in scans("AMOUNT/ALL")


def test_empty_is_recorded_at_once_and_undone(scans, bottle):
    assert "It is empty." in scans(bottle.code, "AMOUNT/ALL", "ACT/EMPTY")
    bottle.refresh_from_db()
    assert (bottle.state, bottle.remaining) == (State.EMPTY, 0)
    assert "and is in use" in scans("ACT/UNDO")
    bottle.refresh_from_db()
    assert bottle.state == State.IN_USE


def test_undo_takes_off_the_last_amount_first_and_then_the_line(scans, bottle):
    assert "Used: 10 mL" in scans(bottle.code, "AMOUNT/10ML", "AMOUNT/5ML", "ACT/UNDO")
    screen = scans("ACT/DONE", "ACT/UNDO")
    bottle.refresh_from_db()
    assert bottle.remaining == 53_000_000
    assert "Taken back. Line 2 reversed" in screen


def test_undo_with_nothing_recorded_says_so(scans, bottle):
    assert "Nothing was recorded here in the last minute" in scans(bottle.code, "ACT/UNDO")


def test_done_with_nothing_scanned_lays_the_bottle_back(scans, bottle):
    assert "The bottle is laid back. Nothing was recorded." in scans(bottle.code, "ACT/DONE")


def test_all_takes_what_the_book_says(scans, bottle):
    scans(bottle.code, "AMOUNT/ALL", "ACT/DONE")
    bottle.refresh_from_db()
    assert bottle.remaining == 0


def test_the_next_bottle_records_what_waited_for_the_first_and_undo_still_takes_it_back(scans, bottle):
    aniline = builders.container(builders.ANILINE)
    screen = scans(bottle.code, "AMOUNT/1ML", aniline.code)
    assert "1 mL recorded" in screen
    assert "Scan how much" in screen
    assert "Taken back. Line 2 reversed" in scans("ACT/UNDO")
    scans("AMOUNT/1ML", "ACT/DONE")
    assert (bottle.entries.count(), aniline.entries.count()) == (3, 2)


def test_the_bottle_scanned_twice_by_a_nervous_scanner_stays_in_hand(scans, bottle):
    scans(bottle.code, "AMOUNT/1ML", bottle.code, "ACT/DONE")
    assert newest(bottle) == (Kind.DRAWN, -1_000_000)


def test_more_than_is_left_is_refused_and_the_bottle_stays_in_hand(scans):
    vial = builders.container(holds="4 mL", capacity="10 mL", heel="0.1 mL")
    screen = scans(vial.code, "AMOUNT/5ML", "ACT/DONE")
    assert "Not taken." in screen
    assert "5 mL is more than the 4.0" in screen
    assert "Used: 5 mL" in screen
    assert vial.entries.count() == 1


def test_a_blocked_and_a_retired_bottle_are_refused_at_the_first_scan(scans, bottle):
    wren = builders.person("wren")
    keeping.change_state(container=bottle, to=State.BLOCKED, doing=Doing(by=wren, reason="crystals"))
    assert "is blocked (crystals)" in scans(bottle.code)
    keeping.dispose(container=bottle, doing=Doing(by=wren, reason="gone"))
    assert "is retired: its container was disposed of" in scans(bottle.code)


def test_what_changed_meanwhile_is_refused(scans, bottle):
    scans(bottle.code, "AMOUNT/5ML")
    draw(
        container=bottle,
        amount=builders.amount("1 mL"),
        device_code="syringe-5",
        doing=Doing(by=builders.person("tobias")),
    )
    assert "Not taken." in scans("ACT/DONE")
    assert bottle.entries.count() == 2


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("L012A", "a character in it is wrong"),
        ("AMOUNT/7ML", "is on no card of ours"),
        ("ACT/DANCE", "is on no card of ours"),
        ("", "No code was typed"),
    ],
)
def test_other_codes_are_refused_in_words(scans, code, said):
    assert said in scans(code)


def a_minute_later(client):
    session = client.session
    session[KEPT] = session[KEPT] | {"at": session[KEPT]["at"] - 61}
    session.save()


def test_after_a_minute_the_bottle_is_no_longer_in_hand(scans, marit, bottle):
    scans(bottle.code)
    a_minute_later(marit)
    assert "Scan a bottle." in text_of(marit.get(ADDRESS))
    assert "No bottle is in hand" in scans("AMOUNT/5ML")


def test_what_waited_a_minute_for_done_is_named_and_not_recorded(scans, marit, bottle):
    scans(bottle.code, "AMOUNT/5ML")
    a_minute_later(marit)
    shown = show_code(bottle.code).replace("\N{NO-BREAK SPACE}", " ")
    assert f"5 mL of {shown}, used, waited a minute for “done” and was not recorded" in words_of(
        marit.get(ADDRESS)
    )
    assert bottle.entries.count() == 1


def test_the_screen_starts_anew_by_itself(scans, marit, bottle):
    assert "Refresh" not in marit.get(ADDRESS).headers
    scans(bottle.code)
    assert marit.get(ADDRESS).headers["Refresh"] == "61; url=/hands-free/?idle"
