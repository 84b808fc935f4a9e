"""How fast the bench is, measured in a real Chromium: `python -m tests.bench_acts [runs]`.

Each act is done by a script at 390 x 844 with touch on the site as it is served (gunicorn, one process, files hashed and
compressed), with the invented laboratory in it. Seconds are those of the machine from the page of the scanned bottle to the
words that say it is recorded: no person thinks or aims in them. Taps and numbers are counted by what the script did.
Then the page a scan opens is fetched with an empty cache, plain and through slower networks.
"""

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from playwright.sync_api import Browser, BrowserContext, CDPSession, Page, sync_playwright

from tests.browser.chromium import arguments, provide_chromium

if TYPE_CHECKING:
    from tests.browser.thumb import BenchAct

# Down, up [bit/s], round trip [ms]. The first is what browsers' own tools have long called "fast 3G".
NETWORKS = {
    "no limit": (0, 0, 0),
    "1.6 Mbit/s, 150 ms": (1_600_000, 750_000, 150),
    "400 kbit/s, 400 ms": (400_000, 400_000, 400),
}
PAGE = "/C/TQ4817K"
SIZE: Any = {"width": 390, "height": 844}


@dataclass(frozen=True)
class Loading:
    """One fetch of a page with an empty cache. `usable`: all scripts ran, the form takes a number."""

    kilobytes: float
    requests: int
    painted_s: float
    usable_s: float


def main(runs: int = 7) -> None:
    """Load the demo into a folder of its own, serve it, and print both tables."""
    provide_chromium()
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"LABSTOCK_DATA": folder, "DJANGO_SETTINGS_MODULE": "labstock.settings"}
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # playwright keeps a loop running in this thread
        _load(Path(folder))
        from labstock.bench.speed.site import serving

        with serving() as port, sync_playwright() as playwright:
            from tests.browser.chromium import find_chromium

            browser = playwright.chromium.launch(executable_path=find_chromium(), args=arguments())
            address = f"http://127.0.0.1:{port}"
            _print_acts(browser, address, runs)
            _print_loads(browser, address, runs)
            browser.close()


def _load(folder: Path) -> None:
    import django

    django.setup()
    from django.core.management import call_command

    (
        folder / "reference.sqlite3"
    ).touch()  # suggestions are not looked at: the long building of their file is spared
    call_command("demo", no_serve=True, verbosity=0, stdout=StringIO())


@contextmanager
def phone(browser: Browser, address: str, name: str) -> Iterator[Page]:
    """Open a phone in somebody's hand."""
    from django.conf import settings

    from labstock.bench.speed.site import signed_in
    from labstock.people.models import User

    context: BrowserContext = browser.new_context(
        base_url=address, viewport=SIZE, has_touch=True, locale="en-GB"
    )
    key = signed_in(User.objects.get(username=name))
    context.add_cookies(
        [{"name": settings.SESSION_COOKIE_NAME, "value": key, "url": address, "httpOnly": True}]
    )
    yield context.new_page()
    context.close()


def _time_act(page: Page, act: "BenchAct") -> tuple[float, int, int]:
    from tests.browser.thumb import Thumb, set_scene

    scene = set_scene()
    page.goto(f"/C/{scene.bottle.code}")
    thumb, began = Thumb(page), time.perf_counter()
    act.do(thumb, scene)
    act.is_recorded(page)
    return time.perf_counter() - began, thumb.taps, thumb.numbers


def _print_acts(browser: Browser, address: str, runs: int) -> None:
    from tests.browser.thumb import ACTS

    print(f"| act | taps | numbers | median of {runs} [s] |\n| --- | --- | --- | --- |")
    with phone(browser, address, "wren") as page:
        page.goto(PAGE)  # the first page of a browser is no measure
        for act in ACTS:
            timed = [_time_act(page, act) for _ in range(runs)]
            print(
                f"| {act.name} | {timed[0][1]} | {timed[0][2]} | {median(one[0] for one in timed):.2f} |",
                flush=True,
            )


def _print_loads(browser: Browser, address: str, runs: int) -> None:
    print(f"\n| network | kB | requests | first paint [s] | usable [s] |  (median of {runs})")
    print("| --- | --- | --- | --- | --- |")
    for name, network in NETWORKS.items():
        loads = [_load_once(browser, address, network) for _ in range(runs)]
        kilobytes, requests = loads[0].kilobytes, loads[0].requests
        painted, usable = median(one.painted_s for one in loads), median(one.usable_s for one in loads)
        print(f"| {name} | {kilobytes:.1f} | {requests} | {painted:.2f} | {usable:.2f} |", flush=True)


def _load_once(browser: Browser, address: str, network: tuple[int, int, int]) -> Loading:
    """Fetch the page of a scanned bottle with nothing in the cache; photos are not on it."""
    with phone(browser, address, "marit") as page:
        wire = page.context.new_cdp_session(page)
        sizes: list[float] = []
        wire.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
        _slow_down(wire, *network)
        page.goto(PAGE, wait_until="load")
        page.wait_for_selector("[data-taps]:not([hidden])")
        painted, usable = page.evaluate(
            """() => [performance.getEntriesByName("first-contentful-paint")[0]?.startTime || 0,
                      performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd]"""
        )
        page.wait_for_timeout(200)
        return Loading(sum(sizes) / 1000, len(sizes), painted / 1000, usable / 1000)


def _slow_down(wire: CDPSession, down: int, up: int, round_trip_ms: int) -> None:
    """Let the browser itself hold the bytes back, as its own tools do. Names and handshakes are not slowed down."""
    wire.send("Network.enable")
    if down:
        limits = {"downloadThroughput": down / 8, "uploadThroughput": up / 8, "latency": round_trip_ms}
        wire.send("Network.emulateNetworkConditions", {"offline": False, **limits})


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
