"""The shelf in a real browser: a delivery from the reference data to its label, and every page of the shelf."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from labstock.chemistry.reference import PropertyRow, SubstanceRow, write_reference
from labstock.stock.models import Container, Substance
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.builders import ANHYDRIDE, ANILINE, container, person, place, substance

WIDTHS = [390, 1280]
# Handbook values from memory; here they only play the reference.
ROWS = [
    SubstanceRow(
        "108-24-7",
        "acetic anhydride",
        "C4H6O3",
        102.09,
        smiles="CC(=O)OC(C)=O",
        names=("acetic anhydride", "acetyl oxide"),
    )
]
DENSITY = PropertyRow("108-24-7", "density", 1.082, "Table D of a handbook", 20.0)


@pytest.fixture
def _reference(settings, tmp_path):
    settings.REFERENCE_FILE = tmp_path / "reference.sqlite3"
    write_reference(settings.REFERENCE_FILE, ROWS, [DENSITY], {"source": "a small reference (invented)"})


@pytest.mark.usefixtures("_reference")
@pytest.mark.parametrize("width", WIDTHS)
def test_a_delivery_of_something_new_comes_in_with_its_labels(page_for, width):
    place("cupboard 4")
    page = page_for(person("wren"), width=width)
    page.goto(reverse("container-receive"))
    page.get_by_label("Name or CAS number").fill("108-24-7")
    page.get_by_role("button", name="Look").click()
    page.get_by_role("link", name="Add “108-24-7”").click()
    for what in ("Take: acetic anhydride", "Take: 108-24-7", "Take: CC(=O)OC(C)=O", "Take: 1.082 g/mL"):
        page.get_by_label(what).check()
    page.get_by_role("button", name="Fill in what is ticked").click()
    expect(page.get_by_text("two acyl groups on one oxygen")).to_be_visible()
    assert_axe_clean(page)
    page.get_by_role("button", name="Add the substance").click()
    expect(page.get_by_role("heading", name="acetic anhydride", level=1)).to_be_visible()
    page.get_by_role("link", name="Receive more").click()
    page.get_by_label("How many, and how big").fill("2 x 500 mL")
    page.get_by_label("Lot number").fill("SK 40817")
    page.get_by_label("at least (≥ 98 %)").check()
    page.get_by_label(re.compile("^Purity")).fill("99")
    page.get_by_label("It goes to").select_option("room 214, cupboard 4")
    page.get_by_role("button", name="Receive").click()
    expect(page.get_by_role("link", name="Print the labels")).to_have_attribute(
        "href",
        f"{reverse('label-print')}?codes={','.join(Container.objects.order_by('number').values_list('code', flat=True))}",
    )
    assert Substance.objects.get().is_moisture_sensitive
    assert_axe_clean(page)
    screenshot(page, f"received-{width}")


@pytest.mark.parametrize("width", WIDTHS)
def test_a_refused_delivery_keeps_what_was_typed_and_says_what_would_be_right(page_for, width):
    page = page_for(person("wren"), width=width, expected_statuses=(422,))
    page.goto(f"{reverse('container-receive')}?substance={substance(ANHYDRIDE).pk}")
    page.get_by_label("How many, and how big").fill("1,500 mL")
    page.get_by_label("Lot number").fill("SK 1")
    page.get_by_role("button", name="Receive").click()
    expect(page.get_by_text("Do you mean 1.5 mL or 1500 mL?")).to_be_visible()
    expect(page.get_by_label("How many, and how big")).to_have_value("1,500 mL")
    expect(page.get_by_label("Lot number")).to_have_value("SK 1")
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_every_page_of_the_shelf_is_sound(page_for, width, scheme):
    bottle = container(ANILINE, needs=["dry"])
    args = [bottle.substance_id]
    page = page_for(person("wren"), width=width, scheme=scheme)
    for address in (
        reverse("container-list"), reverse("substance-list"), reverse("substance", args=args),
        reverse("substance-add"), reverse("substance-edit", args=args), reverse("lot-add", args=args),
        reverse("lot-edit", args=[bottle.lot_id]), reverse("location-list"), reverse("location-add"),
        reverse("location", args=[bottle.location_id]), reverse("container-receive"),
        f"{reverse('container-receive')}?substance={bottle.substance_id}",
        f"{reverse('container-receive')}?made={bottle.code}",
    ):  # fmt: skip
        page.goto(address)
        assert_axe_clean(page)
        assert has_no_sideways_scroll(page), address
        screenshot(page, f"shelf{address.replace('/', '-').partition('?')[0]}{width}-{scheme}")


def test_the_list_narrows_by_what_is_typed(page_for):
    container(ANILINE)
    wanted = container(ANHYDRIDE)
    page = page_for(person("kasimir"))
    page.goto(reverse("container-list"))
    page.get_by_label("Name, code, lot, supplier").fill("anhydride")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_text("1 container", exact=True)).to_be_visible()
    page.get_by_role("link", name="acetic anhydride").click()
    expect(page).to_have_url(re.compile(reverse("container", args=[wanted.code])))
