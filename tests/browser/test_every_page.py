"""Every page in a real browser: no serious fault for axe, nothing wider than the window, in both schemes."""

from collections.abc import Sequence
from typing import Literal

import pytest
from django.test import Client
from playwright.sync_api import Page

from labstock.people.models import User
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.builders import person
from tests.every_page import Place, places, visitor, world

# Every page at both widths and in both schemes; one page in these two pairs, the next in the two others.
Look = tuple[int, int, Literal["light", "dark"]]
LOOKS: list[Look] = [(390, 844, "light"), (390, 844, "dark"), (1280, 900, "dark"), (1280, 900, "light")]
NARROWEST = 320
# The long walk is cut up, so that several browsers share it.
PARTS = 6


def shown(every: list[Place], client: Client) -> list[Place]:
    """Return the places that answer with a page of their own, rather than a file or another address."""
    answers = [(place, client.get(place.path)) for place in every]
    return [p for p, a in answers if a.status_code == 200 and a["Content-Type"].startswith("text/html")]


def faults_of(page: Page, name: str, looks: Sequence[Look] = LOOKS) -> list[str]:
    faults = []
    for width, height, scheme in looks:
        page.set_viewport_size({"width": width, "height": height})
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        screenshot(page, f"{name}-{width}-{scheme}")
        try:
            assert_axe_clean(page)
        except AssertionError as found:
            faults.append(f"{width} px, {scheme}: {found}")
        if not has_no_sideways_scroll(page):
            faults.append(f"{page.url} is wider than {width} px")
    page.set_viewport_size({"width": NARROWEST, "height": 640})
    if not has_no_sideways_scroll(page):
        faults.append(f"{page.url} is wider than {NARROWEST} px")
    return faults


def walk(page: Page, who: User | None, every: list[Place], part: int = 0, parts: int = 1) -> list[str]:
    faults = []
    for number, place in enumerate(shown(every[part::parts], visitor(who))):
        page.goto(place.path)
        name = f"{place.name}{place.path.replace('/', '-').rstrip('-')}"
        faults += faults_of(page, name, LOOKS[number % 2 :: 2])
    return faults


@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.django_db(transaction=True)
def test_every_page_is_sound_for_a_steward(page_for, part):
    faults = walk(page_for(person("wren")), person("wren"), places(world()), part, PARTS)
    assert not faults, "\n".join(faults)


@pytest.mark.django_db(transaction=True)
def test_every_page_with_nothing_in_the_lab_is_sound_and_says_what_to_do(page_for):
    lists = [
        "/",
        "/scan/",
        "/stock/",
        "/substances/",
        "/locations/",
        "/sessions/",
        "/batches/",
        "/samples/",
        "/labels/",
    ]
    page, faults = page_for(person("marit")), []
    for address in lists:
        page.goto(address)
        faults += faults_of(page, f"empty-{address.strip('/') or 'front'}")
    assert not faults, "\n".join(faults)


@pytest.mark.django_db(transaction=True)
def test_pages_that_say_no_are_sound(page_for):
    page = page_for(person("kasimir"), expected_statuses=(403, 404))
    faults = []
    for address in ("/people/", "/nowhere/", "/C/TQ4871K"):
        page.goto(address)
        faults += faults_of(page, f"refused-{address.strip('/').replace('/', '-')}")
    assert not faults, "\n".join(faults)


@pytest.mark.django_db(transaction=True)
def test_the_walk_sees_a_planted_fault_and_a_planted_wide_block(page_for):
    page = page_for(person("marit"))
    page.goto("/me/")
    assert faults_of(page, "planted") == []
    page.evaluate("document.querySelector('main').insertAdjacentHTML('beforeend', '<button></button>')")
    page.evaluate("document.body.style.minWidth = '600px'")
    faults = "\n".join(faults_of(page, "planted"))
    for width, _, scheme in LOOKS:
        assert f"{width} px, {scheme}: axe on" in faults
    assert "button-name (critical)" in faults
    assert "is wider than 390 px" in faults
    assert "is wider than 1280 px" not in faults


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("faint", "pair"), [("dark", "390 px, dark"), ("light", "1280 px, light")])
def test_the_walk_sees_words_that_are_too_faint_in_one_scheme_only(page_for, faint, pair):
    page = page_for(person("marit"))
    page.goto("/me/")
    page.evaluate(
        "scheme => { const sheet = new CSSStyleSheet();"
        " sheet.replaceSync(`@media (prefers-color-scheme: ${scheme}) { main * { color: #777 !important; } }`);"
        " document.adoptedStyleSheets = [sheet]; }",
        faint,
    )
    faults = "\n".join(faults_of(page, "faint"))
    assert f"{pair}: axe on" in faults
    assert "color-contrast (serious)" in faults
