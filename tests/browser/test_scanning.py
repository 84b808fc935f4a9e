"""Scanning in a real browser: live video from a camera, a photo, a handheld scanner, cards and badges."""

import re
import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from labstock.bench.pages.badge import badge_code
from labstock.people.badges import make_badge, set_pin
from labstock.stock.models import Container
from tests import builders
from tests.browser.cameras import browser_with_camera, film
from tests.browser.conftest import HEIGHTS, session_cookie
from tests.browser.inspection import Watch, assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.labels.photos import photo, scene

pytestmark = pytest.mark.django_db(transaction=True)
ADDRESS = "HTTPS://STOCK.EXAMPLE/C/{}"


@pytest.fixture
def bottle(live_server: Any) -> Container:
    return builders.container(holds="53 mL", gross="286.40 g", number=4817)


def phone(browser: Browser, url: str, **options: Any) -> Page:
    """Return Marit's phone."""
    context = browser.new_context(
        base_url=url, viewport={"width": 390, "height": HEIGHTS[390]}, has_touch=True, **options
    )
    context.add_cookies([session_cookie(builders.person("marit"), url)])
    return context.new_page()


def scan_with_camera(chromium: Browser, tmp_path: Any, url: str, text: str) -> Iterator[Page]:
    """Point the camera at a code and press the button."""
    film(tmp_path / "label.y4m", scene([text] if text else [], size=(640, 480), module_px=6))
    with browser_with_camera(chromium.browser_type, tmp_path / "label.y4m") as browser:
        page = phone(browser, url)
        watch = Watch(page, (404, 429))
        page.goto("/scan/")
        page.get_by_role("button", name="Camera").click()
        yield page
        assert watch.verdict() == []


@pytest.fixture
def camera_at(chromium, tmp_path, live_server):
    """Return a function that opens the page with a camera that sees a code."""
    opened = []

    def look(text: str) -> Page:
        opened.append(scan_with_camera(chromium, tmp_path, live_server.url, text))
        return next(opened[-1])

    yield look
    for each in opened:
        next(each, None)


def test_live_video_opens_the_bottle_that_is_held_before_it(camera_at, bottle):
    began = time.perf_counter()
    page = camera_at(ADDRESS.format(bottle.code))
    page.wait_for_url(re.compile(f"/C/{bottle.code}$"), timeout=10_000)
    assert time.perf_counter() - began < 10
    expect(page.get_by_role("heading", level=1)).to_have_text("Acetic anhydride")


def test_live_video_of_another_labs_label_gets_its_own_answer(camera_at, bottle):
    page = camera_at("https://elsewhere.example/parts/17")
    expect(page.locator("main")).to_contain_text(
        "is an address that does not lead to a container", timeout=10_000
    )


def test_while_the_camera_sees_no_code_it_keeps_looking_and_can_be_stopped(camera_at, bottle):
    page = camera_at("")
    expect(page.get_by_role("status").filter(has_text="Hold the square code")).to_be_visible(timeout=10_000)
    expect(page.locator("video")).to_be_visible()
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    page.get_by_role("button", name="Stop the camera").click()
    expect(page.locator("video")).to_be_hidden()
    expect(page.get_by_role("button", name="Camera")).to_be_visible()


def test_without_scripts_there_is_no_camera_button_and_a_photo_works(chromium, live_server, bottle):
    page = phone(chromium, live_server.url, java_script_enabled=False)
    page.goto("/scan/")
    expect(page.get_by_role("button", name="Camera")).to_be_hidden()
    data = photo([ADDRESS.format(bottle.code)])
    page.get_by_label("Or a photo").set_input_files(
        {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": data}
    )
    page.get_by_role("button", name="Read the photo").click()
    expect(page).to_have_url(re.compile(f"/C/{bottle.code}$"))


@pytest.mark.parametrize("width", [390, 1280])
def test_a_photo_of_a_shelf_shows_every_vessel(page_for, bottle, width):
    aniline = builders.container(builders.ANILINE)
    page = page_for(builders.person("marit"), width=width)
    page.goto("/scan/")
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"scan-{width}")
    data = photo([ADDRESS.format(bottle.code), ADDRESS.format(aniline.code), "2000000000015"])
    page.get_by_label("Or a photo").set_input_files(
        {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": data}
    )
    page.get_by_role("button", name="Read the photo").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("3 codes in the photo")
    expect(page.get_by_role("link", name=re.compile("^Open"))).to_have_count(2)
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"photo-{width}")


# A handheld scanner's burst, as the browser would handle it. On a busy machine the driver's own typing has gaps
# that no scanner has.
BURST = """typed => {
  const press = (key) => document.activeElement.dispatchEvent(
    new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true}));
  const field = document.activeElement;
  for (const key of typed) if (press(key) && 'value' in field) field.value += key;
  if (press('Enter') && field.form) field.form.requestSubmit();
  return field.value || '';
}"""


def handheld(page: Page, text: str) -> str:
    """Let a handheld scanner type; return what stands in the field that had the cursor."""
    return str(page.evaluate(BURST, text))


def test_a_scan_into_a_half_filled_field_opens_the_bottle_and_leaves_the_field_alone(page_for, bottle):
    other = builders.container(builders.ANILINE)
    page = page_for(builders.person("marit"), width=390)
    page.goto(f"/C/{other.code}")
    page.locator("#amount").fill("2.5")
    page.locator("#amount").focus()
    assert handheld(page, bottle.code) == "2.5"
    expect(page).to_have_url(re.compile(f"/C/{bottle.code}$"))
    assert other.entries.count() == 1


def test_what_a_person_types_is_no_scan(page_for, bottle):
    page = page_for(builders.person("marit"), width=390, expected_statuses=(422,))
    page.goto(f"/C/{bottle.code}")
    page.locator("#amount").focus()
    page.keyboard.type(bottle.code, delay=90)
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("Not taken")
    assert bottle.entries.count() == 1


@pytest.mark.parametrize("width", [390, 1280])
def test_bottle_amount_done_with_a_fixed_scanner_and_no_touch(page_for, bottle, width):
    page = page_for(builders.person("marit"), width=width)
    page.goto("/hands-free/")
    expect(page.get_by_label("Code")).to_be_focused()
    handheld(page, ADDRESS.format(bottle.code))
    expect(page.locator(".free__ask")).to_have_text("Now scan how much, or another bottle.")
    assert page.locator(".free__ask").evaluate("e => getComputedStyle(e).fontSize") == "40px"
    handheld(page, "AMOUNT/5ML")
    expect(page.locator(".free__said")).to_contain_text("5 mL recorded")
    assert page.locator(".free__said").evaluate("e => getComputedStyle(e).fontSize") == "40px"
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"hands-free-{width}")
    handheld(page, "ACT/UNDO")
    expect(page.locator(".free__said")).to_contain_text("Taken back.")
    assert bottle.entries.count() == 3
    handheld(page, "AMOUNT/5ML")
    expect(page.get_by_role("alert")).to_contain_text("scan the bottle first")


def badge_for(name: str) -> str:
    return badge_code(make_badge(by=builders.person(name), person=builders.person(name)))


@pytest.fixture
def tablet(page_for, bottle) -> Page:
    """Return a tablet that the steward has marked as shared; Wren records."""
    page = page_for(builders.person("wren"), width=1280)
    page.goto("/tablet/")
    page.get_by_label("What is this tablet called?").fill("tablet at hood 4")
    page.get_by_role("button", name="Mark this browser as shared").click()
    expect(page.locator("main")).to_contain_text("is the shared tablet “tablet at hood 4” now")
    return page


def test_a_badge_switches_the_person_on_any_page_within_two_seconds(tablet, bottle):
    badge = badge_for("tobias")
    tablet.goto(f"/C/{bottle.code}")
    began = time.perf_counter()
    handheld(tablet, badge)
    expect(tablet.locator(".said")).to_contain_text("Tobias Renn records from now on.")
    assert time.perf_counter() - began < 2
    expect(tablet).to_have_url(re.compile(f"/C/{bottle.code}$"))
    tablet.locator("#amount").fill("5")
    tablet.get_by_role("button", name=re.compile("^Record")).click()
    expect(tablet.locator("main")).to_contain_text("5 mL recorded")
    assert bottle.entries.latest("seq").by.username == "tobias"


def test_a_stewards_badge_needs_the_pin_and_a_lock_waits_for_the_next(tablet, bottle):
    set_pin(person=builders.person("wren"), password="quay-side-tern", pin="4817")
    badge = badge_for("wren")
    tablet.get_by_role("button", name="Lock tablet at hood 4").click()
    expect(tablet.get_by_label("Scan your badge")).to_be_focused()
    assert_axe_clean(tablet)
    screenshot(tablet, "tablet-locked")
    handheld(tablet, badge)
    expect(tablet.get_by_label("PIN of Wren Halloran")).to_be_focused()
    screenshot(tablet, "tablet-pin")
    handheld(tablet, "4817")
    expect(tablet.locator(".said")).to_contain_text("Wren Halloran records from now on.")


def test_the_tablet_locks_itself_when_nobody_touches_it(tablet, bottle):
    tablet.clock.install()
    tablet.goto(f"/C/{bottle.code}")
    tablet.clock.run_for(100_000)
    tablet.keyboard.press("Tab")
    tablet.clock.run_for(100_000)
    expect(tablet).to_have_url(re.compile(f"/C/{bottle.code}$"))
    tablet.clock.run_for(25_000)
    expect(tablet.get_by_role("heading", level=1)).to_have_text("Who is here?")
    expect(tablet.locator("main")).to_contain_text("locked")


@pytest.mark.parametrize("width", [390, 1280])
def test_the_page_of_ones_badge_is_sound(page_for, live_server, width):
    page = page_for(builders.person("wren"), width=width)
    page.goto("/me/badge/")
    page.get_by_role("button", name="Make a badge").click()
    expect(page.get_by_role("button", name="Print the badge")).to_be_visible()
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"badge-{width}")
