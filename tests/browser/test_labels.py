"""Printing labels in a real browser: many of them tell how far they are, and a refusal comes back in the plain way."""

from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Page, expect

from labstock.labels.models import LabelPrint
from labstock.stock.codes import make_code, next_number
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)
MANY = 110
# Keeps every line that the page says, however quickly the next one follows.
LISTEN = """() => { window.told = []; new MutationObserver(() => told.push(document.querySelector('[data-line]').textContent))
  .observe(document.querySelector('[data-line]'), {childList: true}); }"""


def stocked(how_many: int) -> list[str]:
    """Put that many bottles of one lot on the shelf; return their codes."""
    numbers = [1000]
    while len(numbers) < how_many:
        numbers.append(next_number("TQ", numbers[-1]))
    lot = builders.lot()
    return [builders.container(number=number, lot=lot).code for number in numbers]


def with_codes(page: Page, codes: list[str]) -> Page:
    page.goto("/labels/")
    page.get_by_label("Codes typed or scanned").fill("\n".join(codes))
    return page


@pytest.mark.parametrize("width", [390, 1280])
def test_many_labels_say_which_page_is_drawn_and_then_are_saved(page_for, width):
    page = with_codes(page_for(builders.person("wren"), width=width), stocked(MANY))
    page.get_by_label("A4, 24 self-sticking").check(force=True)
    page.evaluate(LISTEN)
    with page.expect_download() as saved:
        page.get_by_role("button", name="Print as PDF").first.click()
    expect(page.get_by_role("link", name=f"Save labels-{MANY}.pdf again")).to_be_visible()
    assert saved.value.suggested_filename == f"labels-{MANY}.pdf"
    told = page.evaluate("told")
    assert told[0] == f"{MANY} labels are being gathered…"
    assert any(f"Page {number} of 5 is drawn." in told for number in (1, 2, 3, 4))
    assert told[-1] == "All 5 pages are drawn."
    assert len(pypdfium2.PdfDocument(Path(saved.value.path()))) == 5
    assert LabelPrint.objects.count() == MANY
    assert_axe_clean(page)
    assert has_no_sideways_scroll(page)
    screenshot(page, f"labels-many-{width}")


def test_a_mistake_among_many_comes_back_as_the_page_with_the_reason(page_for):
    page = with_codes(
        page_for(builders.person("wren"), width=390, expected_statuses=(422,)),
        [*stocked(MANY), make_code("HB", 4817)],
    )
    page.get_by_role("button", name="Print as PDF").first.click()
    expect(page.locator("main")).to_contain_text("is a code of another lab: it begins with HB")
    assert LabelPrint.objects.count() == 0
