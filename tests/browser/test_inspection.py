"""The eyes of the browser tests see: each planted fault is found."""

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page

from tests.browser.inspection import Watch, assert_axe_clean, has_no_sideways_scroll

PLANT = "fault => document.body.insertAdjacentHTML('beforeend', fault)"


@pytest.fixture
def login_page(page_for) -> Page:
    page = page_for(width=390)
    page.goto(reverse("login"))
    return page


@pytest.fixture
def watch(chromium: Browser, live_server):
    """Watch the login page without the verdict that `page_for` speaks at the end."""
    page = chromium.new_page(base_url=live_server.url)
    watch = Watch(page)
    page.goto(reverse("login"))
    yield watch
    page.context.close()


def test_the_login_page_is_sound(login_page):
    assert_axe_clean(login_page)
    assert has_no_sideways_scroll(login_page)


def test_axe_finds_a_planted_button_without_a_name(login_page):
    login_page.evaluate(PLANT, "<button></button>")
    with pytest.raises(AssertionError, match=r"button-name \(critical\)"):
        assert_axe_clean(login_page)


def test_a_planted_wide_block_is_seen_to_scroll_sideways(login_page):
    login_page.evaluate("document.body.style.minWidth = '600px'")
    assert not has_no_sideways_scroll(login_page)


def test_an_inline_script_is_refused_and_heard(watch):
    watch.page.evaluate(
        "document.body.append(Object.assign(document.createElement('script'), {text: 'document.title = 1'}))"
    )
    assert any("CSP: script-src" in problem for problem in watch.verdict())
    assert watch.page.title() != "1"


def test_an_inline_style_is_refused_and_heard(watch):
    watch.page.evaluate(PLANT, "<p style='color: red'>red</p>")
    assert any("CSP: style-src" in problem for problem in watch.verdict())


def test_an_uncaught_error_is_heard(watch):
    watch.page.evaluate("setTimeout(() => { throw new Error('planted') })")
    assert any("uncaught: planted" in problem for problem in watch.verdict())


def test_a_missing_file_is_heard(watch):
    watch.page.evaluate("fetch('/nowhere.css')")
    assert any("404" in problem for problem in watch.verdict())


def test_a_status_that_the_test_expects_is_let_pass(watch):
    watch.expected_statuses = (404,)
    watch.page.evaluate("fetch('/nowhere.css')")
    assert watch.verdict() == []
