"""The container's page in a real browser: the whole form in the first screen, one number, undo, a handheld scanner."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bottle(live_server: Any) -> Container:
    """Return a weighed bottle that Tobias holds a part of."""
    bottle = builders.container(holds="53 mL", gross="286.40 g", number=4817)
    session = builders.session(builders.person("tobias"), title="Acetanilide, teaching set")
    reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("tobias"))
    return bottle


@pytest.fixture
def open_bottle(page_for: Callable[..., Page], bottle: Container) -> Callable[..., Page]:
    def open_it(name: str = "marit", **options: Any) -> Page:
        page = page_for(builders.person(name), **options)
        page.goto(f"/C/{bottle.code}")
        return page

    return open_it


def test_on_a_phone_the_whole_form_is_in_the_first_screen(open_bottle):
    page = open_bottle(width=390)
    button = page.get_by_role("button", name="Record").bounding_box()
    bar = page.locator(".thumb").bounding_box()
    assert button
    assert bar
    assert button["y"] + button["height"] <= bar["y"]
    assert page.evaluate("scrollY") == 0


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_is_sound(open_bottle, width, scheme):
    page = open_bottle(width=width, scheme=scheme)
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"container-{width}-{scheme}")


@pytest.mark.parametrize("width", [320, 360])
def test_narrow_phones_have_no_sideways_scroll(open_bottle, width):
    assert has_no_sideways_scroll(open_bottle(width=width))


@pytest.mark.parametrize("width", [320, 390])
def test_a_session_over_midnight_fits_a_phone_at_any_hour(page_for, bottle, width):
    over_night = builders.session(hours=30, title="Acetanilide")
    reserve(session=over_night, wants=[Want(bottle, 12_000_000)], by=builders.person())
    page = page_for(builders.person(), width=width)
    page.goto(f"/C/{bottle.code}")
    assert page.locator(".when").count() > 0
    assert has_no_sideways_scroll(page)


def test_two_taps_and_one_number_record_a_use_and_undo_takes_it_back(open_bottle, bottle):
    page = open_bottle(width=390)
    page.get_by_role("button", name="5", exact=True).tap()
    expect(page.get_by_text("Left after: 48.0 mL")).to_be_visible()
    page.get_by_role("button", name="Record 5").tap()
    expect(page.get_by_role("status")).to_contain_text("5 mL recorded, 48.00 ± 0.38 mL left.")
    page.get_by_role("button", name="Undo line 2").tap()
    expect(page.get_by_role("status")).to_contain_text("Line 2 reversed")
    bottle.refresh_from_db()
    assert bottle.remaining == 53_000_000


def test_a_weighing_shows_only_its_own_field(open_bottle):
    page = open_bottle(width=390)
    page.get_by_label("Gross mass now").check()
    expect(page.get_by_label("What does it weigh, cap on?")).to_be_visible()
    expect(page.get_by_label("How much did you take?")).to_be_hidden()
    page.get_by_label("What does it weigh, cap on?").fill("286.4")
    page.get_by_role("button", name="Record 286.4").tap()
    expect(page.get_by_role("status")).to_contain_text("Gross mass 286.4 g recorded")


def test_a_refused_amount_stays_in_the_field(open_bottle):
    page = open_bottle(width=390, expected_statuses=(422,))
    page.get_by_label("How much did you take?").fill("1,500 mL")
    page.get_by_role("button", name="Record").tap()
    expect(page.get_by_text("Do you mean 1.5 mL or 1500 mL?")).to_be_visible()
    expect(page.get_by_label("How much did you take?")).to_have_value("1,500 mL")
    assert_axe_clean(page)


def test_without_javascript_the_form_records_the_same(chromium, live_server, bottle, page_for):
    cookies = page_for(builders.person("marit")).context.cookies(live_server.url)
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies(
        [{"name": row["name"], "value": row["value"], "url": live_server.url} for row in cookies]
    )
    page = context.new_page()
    page.goto(f"/C/{bottle.code}")
    page.get_by_label("How much did you take?").fill("5.0")
    page.get_by_role("button", name="Record").click()
    expect(page.get_by_text("5.0 mL recorded")).to_be_visible()
    assert page.locator(".taps").is_hidden()
    context.close()


# A handheld scanner's burst: on a busy machine the driver's own typing has gaps that no scanner has.
BURST = """typed => [...typed, 'Enter'].forEach(key =>
  document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true})))"""


@pytest.mark.parametrize("typed", ["TQ4817K", "HTTP://STOCK.EXAMPLE/C/TQ4817K"])
def test_a_handheld_scanner_opens_the_bottle_from_any_page(page_for, bottle, typed):
    page = page_for(builders.person("marit"))
    page.goto("/scan/")
    page.evaluate("document.activeElement.blur()")
    page.evaluate(BURST, typed)
    page.wait_for_url("**/C/TQ4817K")


def test_a_person_typing_slowly_is_not_taken_for_a_scanner(page_for, bottle):
    page = page_for(builders.person("marit"))
    page.goto("/scan/")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.type("TQ4817K", delay=120)
    page.keyboard.press("Enter")
    page.wait_for_timeout(200)
    assert page.url.endswith("/scan/")


@pytest.mark.parametrize("address", ["/scan/", "/C/TQ4817K/loss", "/C/TQ4817K/assay", "/C/TQ4817K/move"])
def test_the_small_pages_are_sound_on_a_phone(page_for, bottle, address):
    page = page_for(builders.person("marit"), width=390)
    page.goto(address)
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)


def test_a_wrong_code_offers_the_right_bottle(page_for, bottle):
    page = page_for(builders.person("marit"), width=390, expected_statuses=(404,))
    page.goto("/scan/")
    page.get_by_label("Code on the label").fill("TQ4871K")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Code on the label")).to_have_value("TQ4871K")
    assert_axe_clean(page)
    page.get_by_role("link", name="This one").tap()
    page.wait_for_url("**/C/TQ4817K")
