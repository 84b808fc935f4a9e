"""What is looked at on every page: faults in the console, accessibility, width, and a picture on request."""

import os
import re
from pathlib import Path

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import ConsoleMessage, Page

SERIOUS = {"serious", "critical"}
STATUS = re.compile(r"the server responded with a status of (\d+)")
REPORT_VIOLATIONS = """
document.addEventListener('securitypolicyviolation', event => console.error(
  `CSP: ${event.violatedDirective} refused ${event.blockedURI} at ${event.sourceFile}:${event.lineNumber}`))
"""

VIOLATIONS = "async () => (await axe.run({resultTypes: ['violations']})).violations"


class Watch:
    """Gathers what goes wrong on a page: errors in the console, uncaught errors, CSP violations, status 5xx."""

    def __init__(self, page: Page, expected_statuses: tuple[int, ...] = (), expected_words: str = "") -> None:
        self.page = page
        self.problems: list[str] = []
        self.expected_statuses = expected_statuses
        self.expected_words = expected_words
        page.add_init_script(REPORT_VIOLATIONS)
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.problems.append(f"uncaught: {error}"))

    def _hear(self, message: ConsoleMessage) -> None:
        """Keep an error or a warning of the console, except a status or words that the test expects."""
        if message.type not in {"error", "warning"}:
            return
        status = STATUS.search(message.text)
        if status and int(status[1]) in self.expected_statuses:
            return
        if self.expected_words and self.expected_words in message.text:
            return
        self.problems.append(f"{message.type}: {message.text} ({message.location.get('url', '')})")

    def verdict(self) -> list[str]:
        """Return what went wrong, after whatever is still on its way from the browser has come in."""
        if not self.page.is_closed():
            self.page.wait_for_timeout(25)
        return self.problems


def assert_axe_clean(page: Page) -> None:
    """Fail if axe finds a serious or critical fault on the page, naming the rule and the first elements."""
    # half a megabyte: once for each page, not for each look at it
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    faults = [
        f"{found['id']} ({found['impact']}): {found['help']}: "
        + "; ".join(node["html"][:160] for node in found["nodes"][:3])
        for found in page.evaluate(VIOLATIONS)
        if found["impact"] in SERIOUS
    ]
    assert not faults, f"axe on {page.url}:\n" + "\n".join(faults)


def has_no_sideways_scroll(page: Page) -> bool:
    """Return whether the page fits the width of its window."""
    return bool(page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth"))


def screenshot(page: Page, name: str) -> None:
    """Save a picture of the whole page as NAME.png in the folder that LABSTOCK_SHOTS names, if it is set."""
    folder = os.environ.get("LABSTOCK_SHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)
