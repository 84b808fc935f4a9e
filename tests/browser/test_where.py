"""The account in a real browser: fits a phone, clean for readers, and on paper with its head."""

import pytest

from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.weighing import weigh
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def bottle(live_server):
    bottle, by = builders.container(gross="400 g", number=4817), builders.person()
    for text in ("5 mL", "7.25 mL", "1 mL"):
        line = draw(
            container=bottle, amount=builders.amount(text), device_code="syringe-10", doing=Doing(by=by)
        )
    reverse(entry=line, doing=Doing(by=by, reason="wrong bottle"))
    weigh(container=bottle, gross=builders.amount("386.7 g"), device_code="balance-0.01g", doing=Doing(by=by))
    return bottle


@pytest.mark.parametrize(
    ("width", "scheme"), [(320, "light"), (390, "dark"), (1280, "light"), (1280, "dark")]
)
def test_the_account_fits_and_is_clean(page_for, bottle, width, scheme):
    page = page_for(builders.person(), width=width, scheme=scheme)
    page.goto(f"/where/?container={bottle.code}")
    assert has_no_sideways_scroll(page)
    assert_axe_clean(page)
    screenshot(page, f"where-{width}-{scheme}")


def test_the_question_is_asked_by_form_without_script(page_for, bottle):
    page = page_for(builders.person())
    page.goto("/where/")
    page.get_by_label("Container code").fill("tq 4817 k")
    page.get_by_role("button", name="Account for it").click()
    assert page.get_by_text("12.25 mL went into 2 draws").is_visible()


def test_on_paper_there_is_the_account_and_its_head_and_no_form(page_for, bottle):
    page = page_for(builders.person())
    page.goto(f"/where/?container={bottle.code}")
    page.emulate_media(media="print")
    assert page.get_by_text("Head of the whole ledger").is_visible()
    assert not page.get_by_role("button", name="Account for it").is_visible()
    assert page.get_by_text("Now, and it adds up").is_visible()
