"""Bench sums in a real browser: at arm's length on a phone, on a desk, in the dark."""

import pytest
from django.urls import reverse

from labstock.bench.sums.subjects import SUBJECTS
from tests import builders
from tests.browser.inspection import assert_axe_clean, has_no_sideways_scroll, screenshot

SMALL_TARGETS = """
() => [...document.querySelectorAll('main a.btn, main button, main input:not([type=hidden]), main select, main textarea, main a.more')]
  .map(element => (element.closest('.pick, .box, .tick') ?? element).getBoundingClientRect())
  .filter(box => box.height > 0 && box.height < 43.5).length
"""


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
@pytest.mark.parametrize("subject", SUBJECTS, ids=lambda subject: subject.slug)
def test_every_answer_is_sound(page_for, subject, width, scheme):
    page = page_for(builders.person(), width=width, scheme=scheme)
    page.goto(f"{reverse('sum', args=[subject.slug])}?{subject.example}")
    assert page.locator(".answer__word").first.inner_text()
    assert page.locator("#sources li").count() > 0
    assert has_no_sideways_scroll(page)
    assert_axe_clean(page)
    screenshot(page, f"sums-{subject.slug}-{width}-{scheme}")


def test_the_narrowest_phone_has_no_sideways_scroll_and_large_targets(page_for):
    page = page_for(builders.person(), width=320)
    for subject in SUBJECTS:
        page.goto(f"{reverse('sum', args=[subject.slug])}?{subject.example}")
        assert has_no_sideways_scroll(page), subject.slug
        assert page.evaluate(SMALL_TARGETS) == 0, subject.slug


def test_from_the_list_to_an_answer_that_can_be_sent_on(page_for):
    page = page_for(builders.person(), width=390)
    page.goto(reverse("sums"))
    assert_axe_clean(page)
    page.get_by_role("link", name="Solutions").click()
    form = page.locator("#dilute form")
    form.get_by_label("Concentration of the stock").fill("5.00 mol/L")
    form.get_by_label("Volume of stock").fill("850 mL")
    form.get_by_label("Final volume").fill("1.80 L")
    form.get_by_role("button", name="Work it out").click()
    assert "2.3611 mol/L" in page.locator(".answer__word").inner_text().replace(
        "\u00a0", " "
    )  # m68703: 2.36 M
    address = page.url
    other = page_for(builders.person("tobias"), width=1280)
    other.goto(address)
    assert other.locator("#dilute-taken").input_value() == "850 mL"
    assert "2.3611 mol/L" in other.locator(".answer__word").inner_text().replace("\u00a0", " ")


def test_a_refusal_keeps_what_was_typed_and_leads_to_the_field(page_for):
    page = page_for(builders.person(), width=390, expected_statuses=(422,))
    page.goto(reverse("sum", args=["quench"]))
    page.get_by_label("Reactive reagent").fill("acetic anhydride")
    page.get_by_label("It went in").fill("1,500 mL")
    page.get_by_role("button", name="Work it out").click()
    assert page.get_by_label("It went in").input_value() == "1,500 mL"
    assert "Do you mean 1.5 mL or 1500 mL?" in page.locator("#quench").inner_text().replace("\u00a0", " ")
    assert_axe_clean(page)


def test_sums_work_without_scripts(chromium, live_server, page_for):
    page = page_for(builders.person())
    cookies = page.context.cookies()
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies(cookies)
    plain = context.new_page()
    plain.goto(reverse("sum", args=["age"]))
    plain.locator("#age-edtf").fill("193X")
    plain.locator("#age button").click()
    assert "to" in plain.locator(".answer__word").inner_text()
    assert plain.locator("#picture svg").last.is_visible()
    context.close()
