"""A stock check in a real browser at the size of a phone: handheld scanner, wrong place, blind count, the end."""

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from labstock.labels.codes_read import location_code
from labstock.stock.actions.checking import start
from labstock.stock.actions.counting import count_blind
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import CheckCount, CheckFinding, Container, State, StockCheck
from tests import builders
from tests.browser.cameras import browser_with_camera, film
from tests.browser.inspection import Watch, assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.browser.scanner import handheld
from tests.browser.test_scanning import ADDRESS, phone
from tests.labels.photos import scene

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shelf(live_server: Any) -> list[Container]:
    """Return two bottles of cupboard 4, one of cupboard 5, and one more of cupboard 4 that nobody will find."""
    bottle = builders.container(holds="53 mL", gross="286.40 g")
    others = [
        builders.container(builders.ANILINE, lot=builders.lot(builders.ANILINE)),
        builders.container(builders.ACETIC_ACID, location=builders.place("cupboard 5"), needs=["cold"]),
        builders.container(builders.ANILINE, lot=builders.lot(builders.ANILINE)),
    ]
    return [bottle, *others]


def looks_sound(page: Page, name: str) -> None:
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, name)


def begin(page: Page) -> None:
    page.goto(f"/locations/{builders.place().pk}/")
    page.get_by_role("link", name="Check this place").click()
    looks_sound(page, "check-start")
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_label("Code")).to_be_focused()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_place_is_walked_counted_and_ended_on_a_phone(page_for, shelf, scheme):
    here, also, stray, lost = shelf
    page = page_for(builders.person(), width=390, scheme=scheme, expected_statuses=(422,))
    begin(page)
    walk(page, here, also, stray)
    count_and_explain(page, here)
    end(page, lost)
    assert Container.objects.get(pk=stray.pk).location == builders.place()
    assert Container.objects.get(pk=lost.pk).state == State.NOT_SEEN
    assert (CheckFinding.objects.count(), CheckCount.objects.count()) == (4, 1)


def walk(page: Page, here: Container, also: Container, stray: Container) -> None:
    said = page.locator(".free__said")
    handheld(page, ADDRESS.format(here.code))
    expect(said).to_contain_text("Seen. It belongs here.")
    assert said.locator("b").first.evaluate("e => getComputedStyle(e).fontSize") == "40px"
    expect(page.get_by_label("Code")).to_be_focused()
    handheld(page, here.code)
    expect(said).to_contain_text("Scanned twice.")
    handheld(page, also.code[:-1] + ("2" if also.code[-1] != "2" else "3"))
    expect(said).to_contain_text("Not taken.")
    looks_sound(page, "check-refused")
    handheld(page, also.code)
    expect(said).to_contain_text("Seen. It belongs here.")
    looks_sound(page, "check-seen")
    handheld(page, stray.code)
    expect(said).to_contain_text("Wrong place.")
    expect(said).to_contain_text("By the book it belongs in room 214, cupboard 5")
    expect(said).to_contain_text("It needs cold")
    looks_sound(page, "check-wrong-place")
    page.get_by_role("button", name="It is here now").click()
    expect(said).to_contain_text("It is here now.")


def tells_the_book(page: Page) -> bool:
    """Say whether the 53 mL of the book are anywhere in the page, to be seen or for a script."""
    return bool(
        re.search(r"\b53(\.\d+)?(\s|&nbsp;)*(±|mL)|53000000|\"53\"", page.locator("main").inner_html())
    )


def count_and_explain(page: Page, here: Container) -> None:
    page.get_by_role("link", name=re.compile(f"Count.* {here.code}")).click()
    assert not tells_the_book(page)
    page.get_by_label("How much is in it?").fill("2o")
    page.get_by_role("button", name="This is what I found").click()
    expect(page.get_by_label("How much is in it?")).to_have_value("2o")
    looks_sound(page, "check-count")
    page.get_by_label("How much is in it?").fill("20")
    page.get_by_role("button", name="This is what I found").click()
    expect(page.locator(".answer__word")).to_have_text("Further from the book than chance")
    assert not tells_the_book(page)
    looks_sound(page, "check-far-off")
    page.get_by_role("link", name="See the difference, give the cause").click()
    expect(page.locator(".gap")).to_contain_text("53")
    assert tells_the_book(page)
    looks_sound(page, "check-explain")
    page.get_by_label("a draw was not written down").check()
    page.get_by_label("In your words").fill("Monday's class")
    page.get_by_role("button", name="The book follows the count").click()


def end(page: Page, lost: Container) -> None:
    page.get_by_role("link", name="End the check").click()
    expect(page.locator(".answer__word")).to_have_text("1 container would be “not seen”")
    looks_sound(page, "check-end")
    page.get_by_label(re.compile("^I looked everywhere")).check()
    page.get_by_role("button", name="End the check").click()
    expect(page.locator(".answer__word")).to_contain_text("1 of 4 records match: 25")
    expect(page.get_by_role("heading", name="Not seen")).to_be_visible()
    looks_sound(page, "check-result")


def test_a_shelf_is_scanned_as_the_next_stop_and_typing_in_a_field_is_no_scan(page_for, shelf):
    top = builders.place()
    spot = type(top).objects.create(parent=top, name="shelf 1", kind="shelf", path=f"{top.path}, shelf 1")
    page = page_for(builders.person(), width=390)
    begin(page)
    handheld(page, location_code(spot.pk))
    expect(page.locator(".title__line")).to_contain_text("now at shelf 1")
    handheld(page, shelf[0].code)
    expect(page.locator(".free__said")).to_contain_text("Wrong place.")


def test_without_script_a_code_is_typed_and_sent(chromium, live_server, shelf):
    stock_check = start(place=builders.place(), doing=Doing(by=builders.person()))
    page = phone(chromium, live_server.url, java_script_enabled=False)
    page.goto(f"/checks/{stock_check.pk}/")
    page.get_by_label("Code").fill(shelf[0].code)
    page.get_by_role("button", name="Seen").click()
    expect(page.locator(".free__said")).to_contain_text("Seen. It belongs here.")


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "light"), (1280, "dark")])
def test_the_short_list_leads_into_a_check_of_exactly_these(page_for, shelf, width, scheme):
    for bottle, promise in zip(shelf[:3], (45_500_000, 92_500_000, 92_500_000), strict=True):
        draw(
            container=bottle, amount=builders.amount("5 mL"), device_code="by-eye",
            doing=Doing(by=builders.person()),
        )  # fmt: skip
        run = builders.session(start_hours=24)
        reserve(session=run, wants=[Want(bottle, promise)], by=builders.person())
    page = page_for(builders.person(), width=width, scheme=scheme)
    page.goto("/checks/worth/")
    looks_sound(page, f"check-worth-{width}-{scheme}")
    page.get_by_role("button", name="Check exactly these").click()
    looks_sound(page, f"check-walk-{width}-{scheme}")
    assert StockCheck.objects.get().expected.count() == 3
    handheld(page, shelf[0].code)
    expect(page.locator(".title__line")).to_contain_text("1 of 3")
    page.goto("/checks/")
    looks_sound(page, f"check-list-{width}-{scheme}")


def test_the_camera_takes_a_label_once_and_stays_on(chromium, tmp_path, live_server, shelf):
    stock_check = start(place=builders.place(), doing=Doing(by=builders.person()))
    scene_of = scene([ADDRESS.format(shelf[0].code)], size=(640, 480), module_px=6)
    film(tmp_path / "label.y4m", scene_of)
    with browser_with_camera(chromium.browser_type, tmp_path / "label.y4m") as browser:
        page = phone(browser, live_server.url)
        watch = Watch(page, (429,))
        page.goto(f"/checks/{stock_check.pk}/")
        page.get_by_role("button", name="Camera").click()
        expect(page.locator(".free__said")).to_contain_text("Seen. It belongs here.", timeout=15_000)
        expect(page.locator("video")).to_be_visible(timeout=15_000)
        page.wait_for_timeout(2_000)
        expect(page.locator(".free__said")).not_to_contain_text("Scanned twice")
        page.get_by_role("button", name="Stop the camera").click()
        assert watch.verdict() == []
    assert CheckFinding.objects.count() == 1


def test_on_paper_the_result_is_whole_and_has_no_buttons(page_for, shelf):
    stock_check = start(place=builders.place(), doing=Doing(by=builders.person()))
    for bottle in shelf[:2]:
        count_blind(
            stock_check=stock_check, container=bottle, found=builders.amount("20 mL"), device_code="by-eye",
            is_gross=False, doing=Doing(by=builders.person()),
        )  # fmt: skip
    page = page_for(builders.person())
    page.goto(f"/checks/{stock_check.pk}/result")
    looks_sound(page, "check-result-1280")
    page.emulate_media(media="print")
    expect(page.get_by_text("by eye, from the level").first).to_be_visible()
    expect(page.get_by_role("link", name=re.compile("^Explain"))).to_have_count(0)
    screenshot(page, "check-result-paper")
