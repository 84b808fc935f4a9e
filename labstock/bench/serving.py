"""Serve the site from this process with a production-grade server."""

import sys
from typing import Any

from gunicorn.app.base import BaseApplication

# A thread that holds the write lock gives up the interpreter at each answer of the database, and by Python's default
# waits 5 ms to get it back while the others draw pages: all who queue for the lock wait with it. Half a millisecond
# halves the longest waits and costs nothing that could be measured.
SWITCH_SECONDS = 0.0005


class Site(BaseApplication):
    """gunicorn with a few threads, on the loopback address."""

    def __init__(self, port: int, workers: int, threads: int) -> None:
        self.wanted = {
            "bind": f"127.0.0.1:{port}",
            "workers": workers,
            "threads": threads,
            "worker_class": "gthread",
            "accesslog": None,
            "loglevel": "warning",
            "control_socket_disable": True,
        }
        super().__init__()

    def load_config(self) -> None:
        for name, value in self.wanted.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def load(self) -> Any:
        # WhiteNoise lists the static files when it is made: after collectstatic, not when this module is read
        from labstock.wsgi import application

        sys.setswitchinterval(SWITCH_SECONDS)
        return application


def serve(port: int, workers: int = 2, threads: int = 4) -> None:
    """Serve until it is stopped."""
    Site(port, workers, threads).run()
