"""Decanting, dissolving, topping up, signs and unknown bottles in a real browser, 390 px wide, by touch."""

import io
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import expect

from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, State
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)

# a picture may still be on its way when the page is there
LOADED_WIDTH = """img => img.complete ? img.naturalWidth : new Promise(tell => {
  img.onload = () => tell(img.naturalWidth); img.onerror = () => tell(0);
})"""


@pytest.fixture
def bottle(live_server: Any) -> Container:
    """Return a bottle on the shelf."""
    return builders.container(holds="53 mL", gross="286.40 g", number=4817)


@pytest.fixture
def phone(page_for):
    return page_for(builders.person("marit"), width=390, expected_statuses=(422,))


def sound(page, name):
    screenshot(page, name)
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)


def test_decanting_takes_one_number_and_two_taps(phone, bottle):
    phone.goto(f"/C/{bottle.code}/decant")
    sound(phone, "act-decant")
    phone.get_by_label("How much?").fill("20")
    phone.get_by_role("button", name="Decant it").tap()
    expect(phone.get_by_role("status")).to_contain_text("lot, hazards, opening and end")
    expect(phone.get_by_role("status").get_by_role("link", name="Print its label")).to_be_visible()
    sound(phone, "act-decanted-child")
    phone.get_by_role("region", name="From and into").get_by_role("link").tap()
    phone.wait_for_url(f"**/C/{bottle.code}")
    expect(phone.get_by_role("region", name="From and into")).to_contain_text("decanted into")
    sound(phone, "act-decanted-parent")


def test_topping_up_by_the_other_bottles_code(phone, bottle):
    other = builders.container(lot=builders.lot(number="TWO 2"), holds="50 mL")
    phone.goto(f"/C/{bottle.code}/topup")
    sound(phone, "act-topup")
    phone.get_by_label("Poured onto: scan that container").fill(other.code)
    phone.get_by_label("How much?").fill("10")
    phone.get_by_role("button", name="Pour it").tap()
    expect(phone.get_by_text("16.7 %")).to_be_visible()
    sound(phone, "act-topped-up")
    phone.get_by_role("link", name="TWO 2").tap()
    expect(phone.get_by_role("heading", name="Everything that contains lot TWO 2")).to_be_visible()
    sound(phone, "act-forward")


def test_making_a_solution(phone, bottle):
    phone.goto(f"/C/{bottle.code}/solution")
    sound(phone, "act-solution")
    phone.get_by_label("How much acetic anhydride?").fill("5")
    phone.get_by_label("Made up to").fill("100")
    phone.get_by_role("button", name="Make it").tap()
    expect(phone.get_by_role("status")).to_contain_text("acetic anhydride solution, 0.5")
    sound(phone, "act-solution-made")


def test_purged_with_one_number_and_two_taps(phone, bottle):
    phone.goto(f"/C/{bottle.code}/loss")
    sound(phone, "act-loss")
    phone.get_by_label("How much?").fill("2")
    phone.get_by_label("Purged", exact=True).tap()
    phone.get_by_role("button", name="Record it").tap()
    expect(phone.get_by_role("status")).to_contain_text("2 mL purged")


def test_a_smell_seen_is_two_taps_and_the_page_asks_for_an_assay(phone, bottle):
    phone.goto(f"/C/{bottle.code}/signs")
    sound(phone, "act-signs")
    phone.get_by_role("radiogroup", name="Acid smell noticed").get_by_label("seen", exact=True).tap()
    phone.get_by_role("button", name="Record the look").tap()
    expect(phone.get_by_role("status")).to_contain_text(
        "Enter an assay before anybody counts on its strength"
    )
    expect(phone.get_by_text("Ask first: its strength is in doubt")).to_be_visible()
    sound(phone, "act-signs-seen")


def test_crystals_on_an_ether_stop_everything(phone, live_server):
    builders.person("sunniva")
    ether = builders.container(
        {"name": "diisopropyl ether", "smiles": "CC(C)OC(C)C", "is_liquid": True, "is_peroxide_former": True}
    )
    phone.goto(f"/C/{ether.code}/signs")
    phone.get_by_role("radiogroup", name="Crystals in it or round the cap").get_by_label(
        "seen", exact=True
    ).tap()
    phone.get_by_role("button", name="Record the look").tap()
    expect(phone.get_by_role("status")).to_contain_text("Do not touch, open or move it")
    expect(phone.get_by_role("status")).to_contain_text("Safety officer: Sunniva Pryce")
    expect(phone.get_by_text("No: blocked: crystals")).to_be_visible()
    assert phone.get_by_role("button", name="Record").count() == 0
    sound(phone, "act-crystals")


def test_a_look_at_nothing_says_so(phone, bottle):
    phone.goto(f"/C/{bottle.code}/signs")
    phone.get_by_role("button", name="Record the look").tap()
    expect(phone.get_by_text("Nothing was looked at")).to_be_visible()
    sound(phone, "act-signs-nothing")


def test_a_move_says_at_once_where_it_belongs(phone, bottle):
    Container.objects.filter(pk=bottle.pk).update(needs=["cold"])
    fridge, shelf = builders.place("fridge 2", "cold"), builders.place("shelf 3", "shelf")
    type(fridge).objects.filter(pk=fridge.pk).update(offers=["cold"])
    phone.goto(f"/C/{bottle.code}/move")
    phone.get_by_label("Or choose it").select_option(str(shelf.pk))
    phone.get_by_role("button", name="It stands here now").tap()
    expect(phone.get_by_role("status")).to_contain_text("Put it into room 214, fridge 2.")
    sound(phone, "act-moved-wrongly")


def test_an_unknown_bottle_from_the_shelf_to_its_name(phone, page_for, bottle):
    change_state(container=bottle, to=State.NOT_SEEN, doing=Doing(by=builders.person(), reason="not there"))
    phone.goto("/unknown/")
    sound(phone, "unknown-board-empty")
    phone.get_by_role("link", name="Log a bottle without a label").tap()
    phone.wait_for_url("**/unknown/log")
    sound(phone, "unknown-log")
    phone.get_by_label("Where does it stand?").select_option(label="room 214, cupboard 4")
    phone.get_by_label("What is in it, through the glass?").fill("colourless, half full")
    phone.get_by_label("What does it hold?").fill("100")
    picture = io.BytesIO()
    Image.new("RGB", (300, 400), "#8a6d3b").save(picture, "JPEG")
    phone.get_by_label("Photo").set_input_files(
        {"name": "bottle.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}
    )
    phone.get_by_role("button", name="Log and block it").tap()
    expect(phone.get_by_role("status")).to_contain_text("is on the board, and blocked")
    expect(phone.get_by_text("last stood in this very place; same size")).to_be_visible()
    assert phone.get_by_role("img", name="Photo of the bottle").evaluate(LOADED_WIDTH) == 300
    sound(phone, "unknown-found")
    desk = page_for(builders.person("wren"))
    desk.goto(phone.url)
    assert desk.locator("dl.figures").first.bounding_box()["width"] > 250
    sound(desk, "unknown-claim")
    desk.get_by_label("It is: code of the missing container").fill(bottle.code)
    desk.get_by_label("What makes you sure?").fill("assay and handwriting")
    desk.get_by_role("button", name="It is this one").click()
    expect(desk.get_by_role("status")).to_contain_text("Print its label, put it on, then free it")


@pytest.mark.parametrize("act", ["decant", "solution", "topup", "signs", "loss"])
def test_on_a_wide_screen_the_form_stands_below_its_title(page_for, bottle, act):
    desk = page_for(builders.person("marit"), scheme="dark")
    desk.goto(f"/C/{bottle.code}/{act}")
    title, form = desk.locator("h1").bounding_box(), desk.locator("form.sheet").bounding_box()
    assert form["y"] > title["y"]
    assert form["width"] > 600
    sound(desk, f"wide-{act}")
