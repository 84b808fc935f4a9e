"""Under a fixed scanner: nothing but bursts of typed codes, everything said in large words and aloud."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from labstock.stock.models import Container, Kind
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.browser.scanner import handheld

pytestmark = pytest.mark.django_db(transaction=True)

# A voice that remembers what it was asked to say; the real one is silent in a browser without sound.
VOICE = """
window.heard = [];
class Words { constructor(text) { this.text = text; } }
window.SpeechSynthesisUtterance = Words;
Object.defineProperty(window, "speechSynthesis", {
  value: { speak: (words) => window.heard.push(words.text), cancel: () => {} }, configurable: true });
"""
MUTE = "Object.defineProperty(window, 'speechSynthesis', { value: undefined, configurable: true });"


@pytest.fixture
def bottle(live_server: Any) -> Container:
    return builders.container(holds="53 mL", gross="286.40 g", number=4817)


@pytest.fixture
def desk(page_for) -> Page:
    """Return the screen under the scanner, with a voice that can be asked what it said."""
    page = page_for(builders.person("marit"), width=1280)
    page.add_init_script(VOICE)
    page.goto("/hands-free/")
    return page


def scan(page: Page, *codes: str) -> None:
    """Type as a scanner does: a burst and Enter, then wait until the screen has answered."""
    for code in codes:
        page.evaluate("document.querySelector('[data-hands-free]').classList.add('is-waiting')")
        handheld(page, code)
        page.wait_for_selector("[data-hands-free]:not(.is-waiting)")


def heard(page: Page) -> list[str]:
    return page.evaluate("window.heard")


def said(page: Page) -> Any:
    return page.locator("[data-hands-free]")


def test_bottle_amounts_and_done_without_touching_anything(desk, bottle):
    scan(desk, f"HTTPS://STOCK.EXAMPLE/C/{bottle.code}", "AMOUNT/5ML", "AMOUNT/2ML")
    expect(said(desk)).to_contain_text("Used: 7 mL")
    screenshot(desk, "hands-free-sum")
    scan(desk, "ACT/DONE")
    expect(said(desk).get_by_role("status")).to_contain_text("Acetic anhydride. 7 mL recorded, 46.0")
    assert bottle.entries.latest("seq").change == -7_000_000
    assert_axe_clean(desk)
    screenshot(desk, "hands-free-done")


def test_what_the_screen_says_is_spoken_with_units_as_words(desk, bottle):
    scan(desk, bottle.code, "AMOUNT/5ML", "ACT/DONE")
    spoken = heard(desk)
    assert "T Q 4 8 1 7 K" in spoken[0]
    assert "Used: 5 millilitres" in spoken[1]
    assert "5 millilitres recorded, 48.00 plus or minus" in spoken[2]


def test_a_refusal_is_spoken_too(desk):
    scan(desk, "AMOUNT/7ML")
    assert "is on no card of ours" in heard(desk)[-1]
    expect(said(desk).get_by_role("alert")).to_contain_text("Not taken.")
    screenshot(desk, "hands-free-refused")


def test_the_voice_is_switched_off_and_stays_off(desk, bottle):
    desk.get_by_role("button", name="Read aloud: on").click()
    desk.reload()
    expect(desk.get_by_role("button", name="Read aloud: off")).to_be_visible()
    scan(desk, bottle.code)
    assert heard(desk) == []


def test_a_browser_without_a_voice_shows_no_switch_and_records_all_the_same(page_for, bottle):
    page = page_for(builders.person("marit"), width=1280)
    page.add_init_script(MUTE)
    page.goto("/hands-free/")
    scan(page, bottle.code, "AMOUNT/1ML", "ACT/DONE")
    expect(said(page)).to_contain_text("1 mL recorded")
    expect(page.locator("[data-aloud]")).to_be_hidden()


@pytest.mark.parametrize(
    ("card", "kind"), [("SPILT", Kind.SPILT), ("PURGED", Kind.PURGED), ("FOUND", Kind.FOUND)]
)
def test_an_act_card_says_what_happened(desk, bottle, card, kind):
    scan(desk, bottle.code, f"ACT/{card}", "AMOUNT/1ML", "ACT/DONE")
    assert bottle.entries.latest("seq").kind == kind


def test_a_balance_types_the_mass(desk, bottle):
    scan(desk, bottle.code, "ACT/WEIGH", "+ 285.86 g", "ACT/DONE")
    expect(said(desk).get_by_role("status")).to_contain_text("Gross mass 285.86 g recorded")
    assert bottle.entries.latest("seq").kind == Kind.WEIGHED_BACK


def test_empty_and_undo(desk, bottle):
    scan(desk, bottle.code, "ACT/EMPTY")
    expect(said(desk)).to_contain_text("It is empty.")
    scan(desk, "ACT/UNDO")
    expect(said(desk)).to_contain_text("is in use")


def test_scans_faster_than_the_answers_are_taken_in_their_order(desk, bottle):
    for code in (bottle.code, "AMOUNT/5ML", "AMOUNT/2ML", "ACT/DONE"):
        handheld(desk, code)
    expect(said(desk).get_by_role("status")).to_contain_text("7 mL recorded")
    assert bottle.entries.count() == 2


def test_the_words_can_be_read_from_two_metres(desk, bottle):
    scan(desk, bottle.code, "AMOUNT/5ML")
    size = desk.locator(".free__now").evaluate("part => parseFloat(getComputedStyle(part).fontSize)")
    # letters of 1/200 of the distance are read at ease (common practice, no source): 10 mm at 2 m. Capitals are about
    # 0.7 of the font size and a CSS pixel is 1/96 inch: 10 mm are 54 px.
    assert size >= 54
    assert has_no_sideways_scroll(desk)


def test_on_a_phone_the_screen_fits(page_for, bottle):
    phone = page_for(builders.person("marit"), width=390, scheme="dark")
    phone.goto("/hands-free/")
    scan(phone, bottle.code, "AMOUNT/5ML", "AMOUNT/2ML")
    assert has_no_sideways_scroll(phone)
    screenshot(phone, "hands-free-phone")
