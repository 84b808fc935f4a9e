"""Timings taken side by side in one run, so that the ratios hold when the machine's speed drifts."""

import sqlite3
import statistics
import threading
import time
import uuid
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from django.db import connection

from labstock.bench.speed.site import Client
from labstock.chemistry.quantities import parse_quantity
from labstock.people.models import User
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container

Act = Callable[[], object]


@dataclass(frozen=True)
class Timing:
    """How long one act took, over all its runs [s]."""

    name: str
    seconds: tuple[float, ...]

    @property
    def median(self) -> float:
        """Return the median time of one run [s]."""
        return statistics.median(self.seconds)

    def quantile(self, share: float) -> float:
        """Return the time that this share of the runs stayed within [s]."""
        return sorted(self.seconds)[min(int(share * len(self.seconds)), len(self.seconds) - 1)]

    @property
    def per_second(self) -> float:
        """Return how many runs fit into a second."""
        return 1 / self.median


def side_by_side(acts: dict[str, Act], runs: int, warm_up: int = 5) -> dict[str, Timing]:
    """Run the acts in turn, A B C A B C, and time each run by itself."""
    for act in acts.values():
        for _ in range(warm_up):
            act()
    seconds: dict[str, list[float]] = {name: [] for name in acts}
    for _ in range(runs):
        for name, act in acts.items():
            start = time.perf_counter()
            act()
            seconds[name].append(time.perf_counter() - start)
    return {name: Timing(name, tuple(times)) for name, times in seconds.items()}


def draw_through_http(client: Client, code: str, amount: str = "0.001") -> Act:
    """Return an act that records one draw as the browser does."""
    client.get(f"/C/{code}")
    form = {"way": "amount", "amount": amount, "unit": "mL", "device": "cylinder-50-b"}

    def act() -> None:
        status, body = client.post(f"/C/{code}/use", key=uuid.uuid4(), seen_seq="", **form)
        if status != 302:
            raise RuntimeError(f"the draw was answered {status}: {body[:300]!r}")

    return act


def draw_through_orm(container: Container, person: User) -> Act:
    """Return an act that records one draw by the same action, without HTTP."""
    quantity = parse_quantity("0.001 mL")
    return lambda: draw(
        container=container, amount=quantity, device_code="cylinder-50-b", doing=Doing(by=person)
    )


def draw_through_raw_sqlite(folder: Path) -> Act:
    """Return an act that does the same transaction in plain sqlite3: look, sum, one line, one update."""
    raw = sqlite3.connect(folder / "raw.sqlite3", isolation_level=None)
    raw.executescript(
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"
        "CREATE TABLE container (id INTEGER PRIMARY KEY, remaining INTEGER CHECK (remaining >= 0), last_seq INTEGER);"
        "CREATE TABLE entry (id INTEGER PRIMARY KEY, container INTEGER, seq INTEGER, key TEXT UNIQUE, change INTEGER,"
        " hash TEXT, UNIQUE (container, seq));"
        "INSERT INTO container VALUES (1, 500000000, 0);"
    )

    def act() -> None:
        raw.execute("BEGIN IMMEDIATE")
        remaining, seq = raw.execute("SELECT remaining, last_seq FROM container WHERE id = 1").fetchone()
        key = str(uuid.uuid4())
        raw.execute("SELECT 1 FROM entry WHERE key = ?", (key,)).fetchone()
        raw.execute(
            "INSERT INTO entry (container, seq, key, change, hash) VALUES (1, ?, ?, -1000, ?)",
            (seq + 1, key, key * 2),
        )
        raw.execute(
            "UPDATE container SET remaining = ?, last_seq = ? WHERE id = 1", (remaining - 1000, seq + 1)
        )
        raw.execute("COMMIT")

    return act


def crowd(
    make_act: Callable[[int], Act],
    clients: int,
    runs: int,
    around: Callable[[], AbstractContextManager[None]] = nullcontext,
) -> Timing:
    """Let several clients draw at once, each in a thread, and time every draw."""
    acts = [make_act(number) for number in range(clients)]
    times: list[float] = []

    def work(act: Act) -> None:
        with around():
            for _ in range(runs):
                start = time.perf_counter()
                act()
                times.append(time.perf_counter() - start)

    threads = [threading.Thread(target=work, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return Timing(f"{clients} clients", tuple(times))


def raw_folder() -> "TemporaryDirectory[str]":
    """Return a folder beside the database, so that both write to the same disk."""
    beside = Path(str(connection.settings_dict["NAME"])).parent if connection.vendor == "sqlite" else None
    return TemporaryDirectory(prefix="raw-", dir=beside)
