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
from tests.browser.scanner import handheld
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


def scan_with_camera(
    chromium: Browser, tmp_path: Any, url: str, text: str, script: str = ""
) -> Iterator[Page]:
    """Point the camera at a code and press the button."""
    film(tmp_path / "label.y4m", scene([text] if text else [], size=(640, 480), module_px=6))
    with browser_with_camera(chromium.browser_type, tmp_path / "label.y4m") as browser:
        page = phone(browser, url)
        watch = Watch(page, (404, 429))
        page.add_init_script(script)
        page.goto("/scan/")
        page.get_by_role("button", name="Camera").click()
        yield page
        assert watch.verdict() == []


@pytest.fixture
def camera_at(chromium, tmp_path, live_server):
    """Return a function that opens the page with a camera that sees a code."""
    opened = []

    def look(text: str, script: str = "") -> Page:
        opened.append(scan_with_camera(chromium, tmp_path, live_server.url, text, script))
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


# Chromium on Linux has no BarcodeDetector; this one stands in for it. The third look finds the code.
DETECTOR = """(() => {{ let looks = 0; sessionStorage.frames ||= 0;
  window.BarcodeDetector = class {{
    static async getSupportedFormats() {{ return {formats}; }}
    async detect(view) {{ return view.videoWidth && ++looks >= 3 ? [{{rawValue: '{text}'}}] : []; }}
  }};
  const send = window.fetch;
  window.fetch = (...sent) => {{
    if (String(sent[0]).endsWith('/scan/frame')) sessionStorage.frames = 1 + Number(sessionStorage.frames);
    return send(...sent);
  }};
}})()"""


def test_where_the_browser_reads_codes_itself_no_frame_is_sent(camera_at, bottle):
    read = DETECTOR.format(formats="['qr_code', 'data_matrix']", text=ADDRESS.format(bottle.code))
    page = camera_at("", read)
    page.wait_for_url(re.compile(f"/C/{bottle.code}$"), timeout=10_000)
    assert page.evaluate("sessionStorage.frames") == "0"


def test_a_browser_that_reads_no_data_matrix_sends_frames_instead(camera_at, bottle):
    page = camera_at(ADDRESS.format(bottle.code), DETECTOR.format(formats="['qr_code']", text="wrong"))
    page.wait_for_url(re.compile(f"/C/{bottle.code}$"), timeout=10_000)
    assert int(page.evaluate("sessionStorage.frames")) >= 1


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


def test_a_locked_tablet_waits_for_the_badge_even_after_somebody_touched_it_elsewhere(tablet, bottle):
    badge = badge_for("tobias")
    tablet.get_by_role("button", name="Lock tablet at hood 4").click()
    expect(tablet.get_by_label("Scan your badge")).to_be_focused()
    tablet.get_by_role("heading", level=1).click()
    tablet.wait_for_timeout(300)
    handheld(tablet, badge)
    expect(tablet.locator(".said")).to_contain_text("Tobias Renn records from now on.")


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


# The same with the time of each key, as the browser stamps it: a slow scanner, one that sends Tab or nothing after the
# code, one that is set to another keyboard ("key" is what arrives, "code" the place of the key).
PACED = """async ({keys, gap, after}) => {
  const field = document.activeElement;
  let now = performance.now();
  const press = ([key, code]) => {
    const event = new KeyboardEvent('keydown', {key, code, bubbles: true, cancelable: true});
    Object.defineProperty(event, 'timeStamp', {value: now += gap});
    return document.activeElement.dispatchEvent(event);
  };
  for (const one of keys) {
    if (press(one) && 'value' in field) { field.value += one[0]; field.dispatchEvent(new Event('input', {bubbles: true})); }
  }
  const isLeft = after ? press([after, after]) : true;
  return {value: field.value || '', isLeft};
}"""


def on_keyboard(text: str, arrives: dict[str, str] | None = None) -> list[list[str]]:
    """Return the keys of a scanner set to an English keyboard: what arrives, and the place of the key."""
    names = {"/": "Slash", ":": "Semicolon", ".": "Period", "-": "Minus"}

    def place(c: str) -> str:
        return names.get(c) or (f"Digit{c}" if c.isdigit() else f"Key{c.upper()}")

    return [[(arrives or {}).get(c, c), place(c)] for c in text]


GERMAN = {"Y": "Z", "Z": "Y", ":": "Ö", "/": "-", "-": "ß"}
FRENCH = {"Q": "A", "A": "Q", "W": "Z", "Z": "W", "M": "?", "/": "!"} | dict(
    zip("1234567890", "&é\"'(-è_çà", strict=True)
)


@pytest.mark.parametrize("gap", [0, 65])
@pytest.mark.parametrize("after", ["Enter", "Tab", ""])
def test_a_fast_and_a_slow_scanner_is_told_from_typing_whatever_it_sends_after_the_code(
    page_for, bottle, gap, after
):
    page = page_for(builders.person("marit"), width=390)
    page.goto("/unknown/log")
    page.get_by_label("What is in it").fill("colourless, half ")
    page.get_by_label("What is in it").focus()
    page.evaluate(
        "() => addEventListener('input', event => { sessionStorage.kept = event.target.value; }, true)"
    )
    page.evaluate(PACED, {"keys": on_keyboard(bottle.code), "gap": gap, "after": after})
    expect(page).to_have_url(re.compile(f"/C/{bottle.code}$"))
    assert page.evaluate("sessionStorage.kept") == "colourless, half "


@pytest.mark.parametrize(
    ("keyboard", "number"), [(GERMAN, 1069), (GERMAN, 1001), (FRENCH, 4817), (GERMAN, 4817)]
)
@pytest.mark.parametrize("address", ["", "HTTPS://STOCK.EXAMPLE/C/"])
def test_a_scanner_set_to_another_keyboard_is_read_by_the_place_of_its_keys(
    page_for, live_server, keyboard, number, address
):
    known = builders.container(number=number)
    page = page_for(builders.person("marit"), width=390)
    page.goto("/")
    keys = on_keyboard(address + known.code, keyboard)
    page.evaluate(PACED, {"keys": keys, "gap": 0, "after": "Enter"})
    expect(page).to_have_url(re.compile(f"/C/{known.code}$"))


def test_a_scanner_with_caps_lock_types_small_letters_and_is_read(page_for, bottle):
    page = page_for(builders.person("marit"), width=390)
    page.goto("/")
    page.evaluate(PACED, {"keys": on_keyboard(bottle.code.lower()), "gap": 0, "after": "Enter"})
    expect(page).to_have_url(re.compile(f"/C/{bottle.code}$"))


@pytest.mark.parametrize("keyboard", [None, GERMAN])
def test_codes_scanned_into_the_field_for_labels_become_its_lines(page_for, bottle, keyboard):
    other = builders.container(builders.ANILINE, number=1069)
    page = page_for(builders.person("marit"), width=390)
    page.goto("/labels/")
    page.get_by_label("Codes typed or scanned").focus()
    for code in (bottle.code, other.code):
        page.evaluate(PACED, {"keys": on_keyboard(code, keyboard), "gap": 0, "after": "Tab"})
    assert page.get_by_label("Codes typed or scanned").input_value() == f"{bottle.code}\n{other.code}\n"
    page.get_by_role("button", name="Show the labels").click()
    expect(page.get_by_role("group", name=re.compile("to scale"))).to_have_count(2)


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("/stock/receive/?substance={substance}", "labels"),
        ("/C/{code}/topup", "into"),
        ("/C/{code}/solution", "other_1"),
        ("/where/", "container"),
    ],
)
def test_a_code_scanned_into_a_field_that_asks_for_one_stays_there(page_for, bottle, path, field):
    page = page_for(builders.person("wren"), width=390)
    page.goto(path.format(code=bottle.code, substance=bottle.substance_id))
    page.locator(f"[name={field}]").evaluate(
        "e => { for (let at = e; at; at = at.parentElement) if (at.tagName === 'DETAILS') at.open = true; }"
    )
    page.locator(f"[name={field}]").focus()
    page.locator(f"[name={field}]").evaluate(
        "e => e.form.addEventListener('submit', s => s.preventDefault())"
    )
    before = page.url
    said = page.evaluate(PACED, {"keys": on_keyboard(bottle.code), "gap": 0, "after": "Enter"})
    page.wait_for_timeout(400)
    assert (said["value"], page.url) == (bottle.code, before)


def test_a_quick_word_in_a_note_is_no_scan(page_for, bottle):
    page = page_for(builders.person("marit"), width=390)
    page.goto("/unknown/log")
    page.get_by_label("What is in it").focus()
    said = page.evaluate(PACED, {"keys": on_keyboard("CRYSTALS"), "gap": 0, "after": "Tab"})
    page.wait_for_timeout(400)
    assert said == {"value": "CRYSTALS", "isLeft": True}
    expect(page).to_have_url(re.compile("/unknown/log$"))
