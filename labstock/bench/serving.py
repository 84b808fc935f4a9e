"""Serve the site from this process with a production-grade server."""

from typing import Any

from gunicorn.app.base import BaseApplication


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

        return application


def serve(port: int, workers: int = 2, threads: int = 4) -> None:
    """Serve until it is stopped."""
    Site(port, workers, threads).run()
