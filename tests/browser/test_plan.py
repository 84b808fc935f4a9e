"""Reserving in a real browser: from the front door to amounts held, alone and as the second of two people."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container, Reservation
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)
ACETYLATION = "C6H7N + C4H6O3 -> C8H9NO + C2H4O2"


@pytest.fixture
def shelf(live_server: Any) -> list[Container]:
    """Return a bottle of aniline and two of acetic anhydride; the acid and the product are on the list."""
    builders.hood()
    for about in (builders.ACETANILIDE, builders.ACETIC_ACID):
        builders.substance(about)
    return [builders.container(builders.ANILINE), builders.container(), builders.container()]


def plan(page: Page, scale: str = "100 mmol") -> None:
    """Fill in the first form of "Reserve" and come to the plan."""
    page.goto("/plan/")
    form = page.locator("#prepare form")
    form.get_by_label("What do you make?").fill("acetanilide")
    form.get_by_label("Equation").fill(ACETYLATION)
    form.get_by_label("Scale").fill(scale)
    form.get_by_label("Where").select_option(label="room 214, hood 4")
    form.get_by_role("button", name="Work it out").click()
    expect(page.get_by_role("heading", name=f"Plan: acetanilide, {scale}")).to_be_visible()


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_pages_are_sound(page_for: Callable[..., Page], shelf, width, scheme):
    page = page_for(builders.person(), width=width, scheme=scheme)
    plan(page)
    for name in ("plan", "plan-held", "session", "sessions", "start"):
        if name == "plan-held":
            page.get_by_role("button", name="Hold all").click()
            expect(page.get_by_text("Held for you:")).to_be_visible()
        elif name == "session":
            page.locator(".title__line a[href^='/sessions/']").click()
        elif name != "plan":
            page.goto({"sessions": "/sessions/", "start": "/plan/?q=12+mL+acetic+anhydride"}[name])
        assert_axe_clean(page)
        assert has_no_sideways_scroll(page)
        screenshot(page, f"{name}-{width}-{scheme}")


@pytest.mark.parametrize("width", [320, 768])
def test_no_width_scrolls_sideways(page_for, shelf, width):
    page = page_for(builders.person(), width=width)
    plan(page)
    assert has_no_sideways_scroll(page)
    page.goto("/plan/")
    assert has_no_sideways_scroll(page)


@pytest.mark.parametrize("width", [390, 1280])
def test_the_second_of_two_people_is_told_who_holds_it_and_takes_the_other_bottle(page_for, shelf, width):
    _, bottle, other = shelf
    page = page_for(builders.person(), width=width, expected_statuses=(422,))
    plan(page)
    page.locator(f"#pick-2-{bottle.pk}").check()
    tobias = builders.person("tobias")
    reserve(session=builders.session(tobias), wants=[Want(bottle, 95_000_000)], by=tobias)
    page.get_by_role("button", name="Hold all").click()
    expect(page.get_by_role("heading", name=re.compile("95.mL is held by Tobias Renn until"))).to_be_visible()
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"plan-refused-{width}")
    page.get_by_role("button", name="Use it").click()
    expect(page.get_by_text("Held for you:")).to_be_visible()
    assert Reservation.objects.filter(container=other, session__owner=builders.person()).exists()


def test_without_javascript_the_whole_way_is_the_same(chromium, live_server, shelf, page_for):
    cookies = page_for(builders.person()).context.cookies(live_server.url)
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies(
        [{"name": row["name"], "value": row["value"], "url": live_server.url} for row in cookies]
    )
    page = context.new_page()
    plan(page)
    page.get_by_label("Equivalents").nth(1).fill("1.2")
    page.get_by_role("button", name="Work it out again").click()
    page.get_by_role("button", name="Hold all").click()
    expect(page.get_by_text("Held for you:")).to_be_visible()
    context.close()


def test_an_amount_is_held_from_the_words_of_the_front_page(page_for, shelf):
    page = page_for(builders.person(), width=390)
    page.goto("/plan/?q=12+mL+acetic+anhydride")
    form = page.locator("#hold form")
    form.get_by_label("Where").select_option(label="room 214, hood 4")
    form.get_by_role("button", name="Hold it").click()
    expect(page.get_by_text("12 mL of acetic anhydride held for you in TQ 1002 X")).to_be_visible()


def test_targets_are_large_enough_for_gloves(page_for, shelf):
    page = page_for(builders.person(), width=390)
    plan(page)
    sizes = page.locator(
        "main button, main .box input, main .box select, main label[for^=pick]"
    ).evaluate_all(
        "all => all.filter(one => one.offsetParent).map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect().height])"
    )
    small = [(html, height) for html, height in sizes if height < 38]  # a box's own frame adds up to 6 px
    assert not small
