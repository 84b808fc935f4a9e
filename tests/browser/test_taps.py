"""Every act at the bench on a phone, 390 px wide, by touch: two taps and one number at most, and one tap takes it back."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from labstock.stock.models import Container, Kind
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.browser.thumb import ACTS, BenchAct, Scene, Thumb, set_scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def scene(live_server: Any) -> Scene:
    return set_scene(4817)


@pytest.fixture
def phone(page_for) -> Page:
    """Return a phone in the steward's hand, who may dispose of things."""
    return page_for(builders.person("wren"), width=390, expected_statuses=(422,))


def stands(bottle: Container) -> tuple[Any, ...]:
    bottle.refresh_from_db()
    return bottle.remaining, bottle.state, bottle.location_id


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_an_act_takes_two_taps_and_one_number_and_one_tap_takes_it_back(phone, scene, act: BenchAct):
    before = stands(scene.bottle)
    phone.goto(f"/C/{scene.bottle.code}")
    thumb = Thumb(phone)
    act.do(thumb, scene)
    act.is_recorded(phone)
    assert thumb.taps <= 2
    assert thumb.numbers <= 1
    screenshot(phone, f"taps-{act.name}".replace(" ", "-"))
    assert_axe_clean(phone)
    assert has_no_sideways_scroll(phone)
    phone.get_by_role("button", name=act.undo).tap()
    expect(phone.get_by_role("status")).to_be_visible()
    assert stands(scene.bottle) == before


@pytest.mark.parametrize(
    "act",
    [act for act in ACTS if act.undo == "Undo line 2" and act.name not in ("top up", "dispose")],
    ids=lambda act: act.name,
)
def test_a_line_is_reversed_later_by_two_taps(phone, scene, act: BenchAct):
    before = stands(scene.bottle)
    phone.goto(f"/C/{scene.bottle.code}")
    act.do(Thumb(phone), scene)
    act.is_recorded(phone)
    thumb = Thumb(phone)
    thumb.tap(phone.get_by_role("link", name="Reverse line 2"))
    thumb.press("Wrong amount")
    expect(phone.get_by_role("status")).to_contain_text("Line 2 reversed")
    assert thumb.taps == 2
    assert stands(scene.bottle) == before
    assert scene.bottle.entries.get(seq=3).reason == "wrong amount"


def test_booked_on_the_wrong_bottle_is_put_right_by_scanning_the_right_one(phone, scene):
    phone.goto(f"/C/{scene.bottle.code}")
    thumb = Thumb(phone)
    thumb.number("How much did you take?", "5")
    thumb.tap(phone.get_by_role("button", name="Record 5"))
    phone.get_by_role("link", name="Reverse line 2").tap()
    phone.wait_for_url("**/reverse/2")
    assert_axe_clean(phone)
    screenshot(phone, "reverse")
    Thumb(phone).scan(scene.other.code)
    expect(phone.get_by_role("status")).to_contain_text("is reversed, and booked here: 5 mL recorded")
    wrong, right = scene.bottle.entries.get(seq=3), scene.other.entries.get(seq=2)
    assert (wrong.kind, right.kind, right.change) == (Kind.REVERSED, Kind.DRAWN, -5_000_000)
    assert "wrong bottle: it came out of" in wrong.reason
    assert right.reason == "first booked on TQ 4817 K, line 2"


def test_a_place_scanned_on_the_page_of_a_bottle_says_at_once_where_it_belongs(phone, scene):
    Container.objects.filter(pk=scene.bottle.pk).update(needs=["cold"])
    fridge = builders.place("fridge 2", "cold")
    type(fridge).objects.filter(pk=fridge.pk).update(offers=["cold"])
    phone.goto(f"/C/{scene.bottle.code}")
    Thumb(phone).scan(scene.place_code)
    expect(phone.get_by_role("status")).to_contain_text("Put it into room 214, fridge 2.")


def test_a_bottle_scanned_where_a_place_is_asked_for_is_told_apart(phone, scene):
    phone.goto(f"/C/{scene.bottle.code}/move")
    Thumb(phone).scan(scene.other.code)
    expect(phone.get_by_text("is the code of a container, not of a place").first).to_be_visible()


def test_the_enter_key_in_the_amount_makes_no_solution_by_itself(phone, scene):
    phone.goto(f"/C/{scene.bottle.code}/solution")
    thumb = Thumb(phone)
    thumb.number(f"How much {scene.bottle.name}?", "5")
    phone.keyboard.press("Enter")
    expect(phone.get_by_text("Tap the flask it was made up in, or give the volume.").first).to_be_visible()
    assert scene.bottle.entries.count() == 1
