"""Fixtures that drive a real Chromium against the site, logged in as a person of the test's choice."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.chromium import REMEDY, arguments, find_chromium
from tests.browser.inspection import Watch

HERE = Path(__file__).parent
HEIGHTS = {390: 844, 1280: 900}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark every test of this folder, so that `-m browser` and `-m "not browser"` choose as a whole."""
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Start one Chromium for the whole run."""
    path = find_chromium()
    if path is None:
        pytest.fail(REMEDY)
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright keeps an event loop running in this thread; the tests' own queries are no less safe for it.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        browser = playwright.chromium.launch(executable_path=path, args=arguments())
        yield browser
        browser.close()


@pytest.fixture
def page_for(chromium: Browser, live_server: Any) -> Iterator[Callable[..., Page]]:
    """Return a function that opens a page as somebody; the test fails if any of its pages logs an error."""
    watches: list[Watch] = []

    def open_page(
        user: Any = None,
        width: int = 1280,
        scheme: Any = "light",
        expected_statuses: tuple[int, ...] = (),
        expected_words: str = "",
    ) -> Page:
        context = chromium.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": HEIGHTS.get(width, 900)},
            color_scheme=scheme,
            has_touch=width < 600,
            locale="en-GB",
        )
        if user is not None:
            context.add_cookies([session_cookie(user, live_server.url)])
        page = context.new_page()
        watches.append(Watch(page, expected_statuses, expected_words))
        return page

    yield open_page
    problems = [problem for watch in watches for problem in watch.verdict()]
    for watch in watches:
        watch.page.context.close()
    assert not problems, "the page complained:\n" + "\n".join(problems)


def session_cookie(user: Any, url: str) -> Any:
    """Log somebody in without the login page and return the cookie that the browser needs for it."""
    client = Client()
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return {
        "name": settings.SESSION_COOKIE_NAME,
        "value": client.cookies[settings.SESSION_COOKIE_NAME].value,
        "url": url,
        "httpOnly": True,
    }
