"""A batch from the last draw to the retained sample, and an old sample found again, in a real browser."""

import re

import pytest
from playwright.sync_api import expect

from batches.retained.models import RetainedSample
from tests.batches.preparations import filled, finished, running
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot
from tests.builders import ACETANILIDE, person, place, substance
from tests.retained.test_samples import catalogued

pytestmark = [pytest.mark.django_db(transaction=True)]


def looked_over(page, name):
    """Check what every page must be, and take its picture."""
    assert has_no_sideways_scroll(page), page.url
    assert_axe_clean(page)
    screenshot(page, name)


@pytest.mark.parametrize("width", [390, 1280])
def test_a_batch_goes_from_observation_to_retained_sample(page_for, width):
    batch = running()
    place("cabinet A")
    page = page_for(person(), width=width)
    page.goto(f"/batches/{batch.number}/")
    looked_over(page, f"batch-running-{width}")
    page.get_by_label("What did you see or do?").fill("Came down at once, white.")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_text("Came down at once, white.")).to_be_visible()

    page.get_by_role("link", name="Write down the product").click()
    page.get_by_label("Product, dried to constant mass").fill("6.02")
    page.get_by_label("Purity").fill("99.1")
    page.get_by_label("± (k = 2)").fill("0.8")
    looked_over(page, f"batch-finish-{width}")
    page.get_by_role("button", name="Finish the batch").click()
    expect(page.locator(".answer__word")).to_contain_text(re.compile(r"73\.6\d.*% of theory"))

    page.get_by_role("link", name="Put the product in a container").click()
    page.get_by_label("Into a").select_option("jar")
    looked_over(page, f"batch-product-{width}")
    page.get_by_role("button", name="Put it in").click()

    page.get_by_role("link", name="Put a portion aside").click()
    page.get_by_label("How much is put aside?").fill("200 mg")
    page.get_by_label("It stands at").select_option(label="room 214, cabinet A")
    looked_over(page, f"batch-retain-{width}")
    page.get_by_role("button", name="Put it aside").click()
    expect(page.locator(".answer__word")).to_have_text("Room 214, cabinet A")
    looked_over(page, f"sample-new-{width}")

    page.get_by_role("link", name=re.compile(batch.number)).first.click()
    expect(page).to_have_url(re.compile(f"/batches/{batch.number}/$"))
    looked_over(page, f"batch-finished-{width}")


@pytest.mark.parametrize("width", [390, 1280])
def test_an_old_sample_is_catalogued_found_and_read(page_for, width):
    place("cabinet C")
    page = page_for(person(), width=width, expected_statuses=(422,))
    page.goto("/samples/add/")
    looked_over(page, f"sample-add-{width}")
    page.get_by_label("Label, as written").fill("Acetanilid pur.\num 1934")
    page.get_by_label("What is it?").fill("Acetanilid")
    page.get_by_label("Date, as written").fill("um 1934")
    page.get_by_label("Date, as understood (EDTF)").fill("1934-02-30")
    page.get_by_label("How much is in it?").fill("1.8 g")
    page.get_by_role("button", name="Catalogue it").click()
    expect(page.get_by_text("“um 1934” may mean")).to_be_visible()
    expect(page.get_by_label("What is it?")).to_have_value("Acetanilid")
    looked_over(page, f"sample-refused-{width}")
    page.get_by_label("Date, as understood (EDTF)").fill("1934~")
    page.get_by_role("button", name="Catalogue it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Acetanilid, about 1934")

    page.goto("/samples/")
    page.get_by_label("Name or part of it").fill("anilid")
    page.get_by_role("button", name="Find").click()
    looked_over(page, f"samples-{width}")
    page.get_by_role("link", name="Acetanilid", exact=True).click()
    expect(page.locator(".answer__word")).to_contain_text("Look, do not open")
    looked_over(page, f"sample-old-{width}")


def test_a_date_nobody_read_is_read_by_following_a_suggestion(page_for):
    sample = catalogued("Indigo", written="vor 1900")
    page = page_for(person(), width=390)
    page.goto(f"/samples/{sample.container.code}/")
    page.get_by_role("link", name="Read it so").first.click()
    page.get_by_label("What is known?").fill("vor means before")
    page.get_by_role("button", name="Add it").click()
    expect(page.get_by_role("heading", level=1)).not_to_have_text("Indigo")
    assert RetainedSample.objects.get().date_edtf


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_old_and_new_stand_side_by_side_in_both_schemes(page_for, scheme):
    catalogued("Acetanilid", edtf="1934~", substance=substance(ACETANILIDE), label_as_written="Pikrins.?")
    batch = finished()
    filled(batch)
    page = page_for(person(), width=320, scheme=scheme)
    for path in (
        f"/samples/{RetainedSample.objects.get().container.code}/",
        f"/batches/{batch.number}/",
        "/batches/",
    ):
        page.goto(path)
        looked_over(page, f"narrow{path.replace('/', '-')}{scheme}")


def test_on_paper_there_is_the_record_with_its_head_and_nothing_to_fill_in(page_for):
    batch, page = finished(), page_for(person())
    page.goto(f"/batches/{batch.number}/")
    assert page.get_by_label("What did you see or do?").is_visible()
    page.emulate_media(media="print")
    assert page.get_by_text("Head of the whole ledger when this was made").is_visible()
    assert page.get_by_role("heading", name="Amounts").is_visible()
    assert not page.get_by_label("What did you see or do?").is_visible()
    assert not page.get_by_role("heading", name="Sums").is_visible()


def test_the_head_of_a_running_batch_is_on_paper_only(page_for):
    batch, page = running(), page_for(person())
    page.goto(f"/batches/{batch.number}/")
    assert not page.get_by_text("Head of the whole ledger").is_visible()
    page.emulate_media(media="print")
    assert page.get_by_text("Head of the whole ledger").is_visible()
