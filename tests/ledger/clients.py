"""People at the bench, over HTTP: they draw, hold and let go as a browser does, and remember what they were told.

No Django in here: crowds run in processes of their own, and know nothing but the pages.
"""

import html
import http.client
import multiprocessing
import random
import re
import threading
import time
import uuid
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from http.cookies import SimpleCookie
from typing import TypeVar
from urllib.parse import urlencode

TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
REFUSAL = re.compile(r'<(?:div|p) class="(?:refusal|field__wrong|answer)[" ].*?</(?:div|p)>', re.DOTALL)
RELEASE = re.compile(r'action="(/reservations/\d+/release)"')
TAG = re.compile(r"<[^>]+>")
Given = TypeVar("Given")
Failed = (OSError, http.client.HTTPException)


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    text: str

    @property
    def is_done(self) -> bool:
        """Say whether the person was told that it is done."""
        return self.status == 302

    @property
    def refusal(self) -> str:
        """Return the words of the refusal, or nothing where there are none."""
        found = " ".join(match.group() for match in REFUSAL.finditer(self.text))
        return " ".join(html.unescape(TAG.sub(" ", found)).split())


class Browser:
    """One person's open page: one connection, one session, the form's token kept."""

    def __init__(self, port: int, session_key: str) -> None:
        self.connection = http.client.HTTPConnection(f"127.0.0.1:{port}", timeout=60)
        self.cookies = {"sessionid": session_key}
        self.token = ""

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, *error: object) -> None:
        self.connection.close()

    def get(self, path: str) -> Answer:
        """Open a page; the token of a form on it is kept."""
        answer = self._ask("GET", path)
        found = TOKEN.search(answer.text)
        self.token = found.group(1) if found else self.token
        return answer

    def post(self, path: str, **fields: object) -> Answer:
        """Send a form."""
        return self._ask("POST", path, urlencode({"csrfmiddlewaretoken": self.token} | fields))

    def draw(self, code: str, amount: str, key: object = None) -> Answer:
        """Send the form of a container's page."""
        if not self.token:
            self.get(f"/C/{code}")
        form = {"way": "amount", "amount": amount, "unit": "mL", "device": "cylinder-50-b", "seen_seq": ""}
        return self.post(f"/C/{code}/use", key=key or uuid.uuid4(), **form)

    def hold(self, session: int, code: str, amount: str) -> Answer:
        """Hold an amount of a container for a session."""
        return self.post(f"/sessions/{session}/reserve", what=code, amount=amount, key=uuid.uuid4())

    def _ask(self, method: str, path: str, body: str = "") -> Answer:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if method == "POST":
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        try:
            self.connection.request(method, path, body or None, headers)
            answer = self.connection.getresponse()
            text = answer.read().decode(errors="replace")
        except Failed:
            self.connection.close()
            raise
        for line in answer.headers.get_all("Set-Cookie") or []:
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        return Answer(answer.status, text)


@dataclass
class Told:
    """What one person was told: amounts by key, refusals, answers that are neither, and how long each took."""

    done: dict[str, tuple[str, int]] = field(default_factory=dict)
    held: int = 0
    refusals: list[str] = field(default_factory=list)
    odd: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)

    def hears(self, answer: Answer) -> bool:
        """Take an answer down; return whether it was a yes."""
        if answer.is_done:
            return True
        if answer.status == 422 and answer.refusal:
            self.refusals.append(answer.refusal)
        else:
            self.odd.append(f"{answer.status}: {answer.refusal or answer.text[:300]}")
        return False

    def draws(self, browser: Browser, code: str, millilitres: int) -> bool:
        """Draw and time it."""
        key, start = str(uuid.uuid4()), time.perf_counter()
        is_done = self.hears(browser.draw(code, f"{millilitres} mL", key))
        self.seconds.append(time.perf_counter() - start)
        if is_done:
            self.done[key] = (code, millilitres)
        return is_done


def drain(port: int, code: str, session_key: str, seed: int = 0) -> Told:
    """Draw one dose after another until the container gives no more."""
    told = Told()
    with Browser(port, session_key) as browser:
        browser.get(f"/C/{code}")
        while told.draws(browser, code, 1):
            pass
    return told


def wander(
    port: int, codes: Sequence[str], seconds: float, session_key: str, session: int, seed: int
) -> Told:
    """Draw, hold and let go at random over many containers, for a while."""
    told, chance = Told(), random.Random(seed)
    with Browser(port, session_key) as browser:
        browser.get(f"/C/{codes[0]}")
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            code, what = chance.choice(codes), chance.random()
            if what < 0.6:
                told.draws(browser, code, chance.randint(1, 9))
            elif what < 0.9:
                told.held += told.hears(browser.hold(session, code, f"{chance.randint(5, 30)} mL"))
            elif paths := RELEASE.findall(browser.get(f"/sessions/{session}/").text):
                told.hears(browser.post(chance.choice(paths)))
    return told


def at_once(calls: Iterable[Callable[[], Given]]) -> list[Given]:
    """Make calls in threads that begin together."""
    jobs, given = list(calls), list[Given]()
    gate = threading.Barrier(len(jobs))

    def work(call: Callable[[], Given]) -> None:
        gate.wait()
        given.append(call())

    threads = [threading.Thread(target=work, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(given) == len(jobs), "a client broke off: its error is printed above"
    return given


def in_processes(calls: Sequence["partial[Told]"], processes: int) -> list[Told]:
    """Spread calls over processes, each with its share of them in threads."""
    if processes == 1:
        return at_once(calls)
    shares = [list(calls[number::processes]) for number in range(processes)]
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        return [told for some in pool.map(at_once, shares, chunksize=1) for told in some]


def waits(told: Iterable[Told]) -> str:
    """Say how long the answers took: the median, one in a hundred, the longest, and their ratio."""
    every = sorted(second for one in told for second in one.seconds)
    p50, p99 = every[len(every) // 2], every[min(int(len(every) * 0.99), len(every) - 1)]
    return (
        f"{len(every)} answers, p50 {p50 * 1000:.1f} ms, p99 {p99 * 1000:.1f} ms, "
        f"longest {every[-1] * 1000:.1f} ms, p99/p50 {p99 / p50:.1f}"
    )
