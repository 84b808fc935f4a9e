"""The whole main job in a real browser, as two people, from the reservation to the sample's batch record."""

import re

import pytest
from playwright.sync_api import Page, expect

from batches.models import Batch
from labstock.stock.models import Container, Entry, Reservation
from labstock.stock.verifying import find_faults
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll
from tests.builders import ACETANILIDE, ACETIC_ACID, ANILINE, container, hood, lot, person, place, substance

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.main_job]


@pytest.fixture
def shelf():
    """Two bottles, two products without any, a hood, a cabinet."""
    substance(ACETANILIDE)
    substance(ACETIC_ACID)
    hood()
    place("cabinet A", "cupboard")
    anhydride = container(lot=lot(purity_percent=99), gross="286.40 g")
    aniline = container(
        ANILINE, lot=lot(ANILINE, purity_kind="certificate", purity_percent=99, number="SK 1")
    )
    return anhydride, aniline


def open_new(page: Page, title: str, scale: str) -> None:
    """Fill in a plan from an equation and come to its page."""
    page.goto("/")
    page.get_by_role("link", name="Reserve").first.click()
    form = page.locator("#prepare")
    form.get_by_label("What do you make?").fill(title)
    form.get_by_label("Equation").fill("C6H7N + C4H6O3 -> C8H9NO + C2H4O2")
    form.get_by_label("Scale").fill(scale)
    form.locator("select[name=place]").select_option(label="room 214, hood 4")
    form.locator("input[name=starts]").fill("00:00")
    form.locator("input[name=ends]").fill("23:59")
    form.get_by_role("button", name="Work it out").click()


@pytest.mark.parametrize("width", [390, 1280])
def test_two_people_live_through_the_main_job(page_for, shelf, width):
    anhydride, aniline = shelf
    marit, tobias = (
        page_for(person("marit"), width),
        page_for(person("tobias"), width, expected_statuses=(422, 409)),
    )

    # reserve: from an equation and a scale to amounts in dispensing units, held in one act
    open_new(marit, "Acetanilide", "500 mmol")
    expect(marit.locator("main")).to_contain_text("limits")
    # 500 mmol of aniline at 99 % by certificate and 1.022 g/mL: 0.5 × 93.13 / 0.99 / 1.022 = 46.02 mL
    expect(marit.locator("#line-1 .need__amount")).to_contain_text(re.compile(r"46\.0"))
    assert_axe_clean(marit)
    assert has_no_sideways_scroll(marit)
    marit.get_by_role("button", name=re.compile("^Hold")).last.click()
    expect(marit.locator("main")).to_contain_text("Held")
    assert Reservation.objects.filter(session__owner=person("marit")).count() == 2

    # the second after the same bottle is told at once who holds it and how much
    open_new(tobias, "Acetanilide again", "600 mmol")
    expect(tobias.locator("#line-2")).to_contain_text("Marit Solberg")
    assert not Reservation.objects.filter(session__owner=person("tobias")).exists()

    # scan after use: the code, one number; the hold decides the batch without asking
    batch = Batch.objects.get(title="Acetanilide")
    for bottle, number in ((aniline, "46.0"), (anhydride, "47.6")):
        marit.goto("/scan/")
        marit.get_by_label(re.compile("code", re.I)).first.fill(bottle.code.lower())
        marit.keyboard.press("Enter")
        expect(marit).to_have_url(re.compile(f"/C/{bottle.code}$"))
        marit.locator("#amount").fill(number)
        marit.get_by_role("button", name=re.compile("^Record")).click()
        expect(marit.locator("main")).to_contain_text("left")
        assert has_no_sideways_scroll(marit)
    assert batch.inputs.count() == 2

    # undo at once, then enter it again: three lines, none erased
    marit.get_by_role("button", name=re.compile("^Undo")).first.click()
    expect(marit.locator("main")).to_contain_text("reversed")
    assert Entry.objects.filter(container=anhydride).count() == 3
    marit.locator("#amount").fill("47.4")
    marit.get_by_role("button", name=re.compile("^Record")).click()
    expect(marit.locator("main")).to_contain_text("47.4")

    # the batch record: what was seen, then the product and the yield
    marit.goto(f"/batches/{batch.number}/")
    marit.get_by_label("What did you see or do?").fill("Clear, pale straw.")
    marit.get_by_role("button", name=re.compile("Write it down|Write")).first.click()
    expect(marit.locator("main")).to_contain_text("Clear, pale straw.")
    marit.goto(f"/batches/{batch.number}/finish")
    marit.locator("input[name=mass]").fill("50.2 g")
    marit.locator("input[name=percent]").fill("99.0")
    marit.locator("input[name=doubt]").fill("0.4")
    marit.get_by_role("button", name="Finish the batch").click()
    # by hand: 46.0 mL × 1.022 × 0.99 / 93.129 = 0.49975 mol; theory 67.55 g; 50.2 × 0.990 / 67.55 = 73.6 %
    expect(marit.locator(".answer__word")).to_contain_text(re.compile(r"73\.[56]"))
    assert_axe_clean(marit)

    # the product gets a container, a portion becomes a retained sample, linked both ways
    marit.goto(f"/batches/{batch.number}/product")
    marit.locator("input[name=amount]").fill("50.2 g")
    if marit.locator("input[name=capacity]").count():
        marit.locator("input[name=capacity]").fill("100 g")
    marit.get_by_role("button", name="Put it in").click()
    marit.goto(f"/batches/{batch.number}/retain")
    marit.locator("input[name=amount]").fill("200 mg")
    marit.get_by_role("button", name="Put it aside").click()

    # find it again, by the other person; from the sample to the batch, to the bottle behind it
    tobias.goto("/")
    tobias.get_by_role("link", name=re.compile("sample", re.I)).first.click()
    tobias.locator("input[name=q]").fill("acetanilid")
    tobias.get_by_role("button", name="Find").first.click()
    tobias.get_by_role("link", name=re.compile("acetanilide", re.I)).first.click()
    expect(tobias).to_have_url(re.compile("/samples/"))
    assert_axe_clean(tobias)
    tobias.get_by_role("link", name=re.compile(batch.number)).first.click()
    expect(tobias).to_have_url(re.compile(f"/batches/{batch.number}/"))
    tobias.locator(f"a[href='/C/{anhydride.code}']").first.click()
    expect(tobias.locator("h1")).to_contain_text("acetic anhydride", ignore_case=True)
    assert list(find_faults()) == []
    assert Container.objects.get(pk=anhydride.pk).remaining == 52_600_000
