"""A real server over the test's database, that can be killed at any moment and started again."""

import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from django.conf import settings

from labstock.bench.speed.site import database_url
from tests.ledger.clients import Browser, at_once

# Style sheets are served from where they are written: nothing was collected for a test.
UNCOLLECTED = (
    "from django.conf import settings; "
    "settings.STORAGES['staticfiles']['BACKEND'] = 'django.contrib.staticfiles.storage.StaticFilesStorage'; "
)
SERVE = "from labstock.bench.serving import serve; serve({port}, {workers}, {threads})"


def free_port() -> int:
    """Return a free port below those that clients are given.

    Among those, a client that knocks at a dead server's port can be connected to itself and keep the port taken.
    """
    while True:
        port = random.randrange(15_000, 30_000)
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port


def alive_in(group: int) -> list[int]:
    """Return the processes of a group that still hold files: not those that are dead and unburied."""
    alive = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            state, _, of_group = stat.read_text().rpartition(")")[2].split()[:3]
            if int(of_group) == group and state != "Z":
                alive.append(int(stat.parent.name))
    return alive


class Server:
    """gunicorn in a process group of its own, on one port for its whole life.

    `before` is code that the server runs first: that is how a test makes its disk full.
    """

    def __init__(self, *, url: str = "", workers: int = 2, threads: int = 4, before: str = "") -> None:
        self.port = free_port()
        self.workers = workers
        self.code = before + UNCOLLECTED + SERVE.format(port=self.port, workers=workers, threads=threads)
        self.environment = os.environ | {
            "DATABASE_URL": url or database_url(),
            "DJANGO_SETTINGS_MODULE": "labstock.settings",
            "LABSTOCK_SECRET_KEY": settings.SECRET_KEY,
            "LABSTOCK_DATA": str(settings.DATA_DIR),
            "LABSTOCK_DEBUG": "0",
        }
        self.log = tempfile.TemporaryFile("w+")  # noqa: SIM115  # closed with the server
        self.process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> "Server":
        self.start(is_measured=self.workers > 1)
        return self

    def __exit__(self, *error: object) -> None:
        self.kill()
        self.log.close()

    def start(self, *, is_measured: bool = True) -> None:
        """Start and wait until it answers, warm where its speed is looked at."""
        self.process = subprocess.Popen(
            [sys.executable, "-c", self.code],
            env=self.environment,
            cwd=settings.BASE_DIR,
            stdin=subprocess.DEVNULL,
            stdout=self.log,
            stderr=self.log,
            start_new_session=True,
        )
        for _ in range(1200):
            if self.process.poll() is not None:
                raise RuntimeError(f"the server ended before it answered:\n{self.said()}")
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", self.port)) == 0:
                    return self.warm_up() if is_measured else None
            time.sleep(0.05)
        raise RuntimeError(f"no answer within a minute:\n{self.said()}")

    def warm_up(self) -> None:
        """Ask every worker for a page, so that what is measured later is not the loading of the program."""

        def ask() -> None:
            with Browser(self.port, "") as browser:
                for _ in range(2):
                    browser.get("/login/")

        at_once([ask] * self.workers * 3)

    def kill(self) -> None:
        """End the server and all its workers at this very moment, as a power cut would."""
        if self.process is not None and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(20)
            # the workers have no parent now to wait for them
            for _ in range(40):
                if not alive_in(self.process.pid):
                    return
                time.sleep(0.05)

    def said(self) -> str:
        """Return what the server wrote."""
        self.log.seek(0)
        return self.log.read()
