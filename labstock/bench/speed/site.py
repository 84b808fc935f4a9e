"""A real server over the benchmark's database, and a client that keeps its connection open."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.cookies import SimpleCookie
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import connection

from labstock.people.models import User

TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')


@contextmanager
def serving(workers: int = 2, threads: int = 4) -> Iterator[int]:
    """Serve the current database with gunicorn on a free port of the loopback address; yields the port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    code = f"from labstock.bench.serving import serve; serve({port}, {workers}, {threads})"
    environment = os.environ | {
        "DATABASE_URL": database_url(),
        "DJANGO_SETTINGS_MODULE": "labstock.settings",
        "LABSTOCK_SECRET_KEY": settings.SECRET_KEY,
        "LABSTOCK_DATA": str(settings.DATA_DIR),
        "LABSTOCK_DEBUG": "0",
    }
    server = subprocess.Popen([sys.executable, "-c", code], env=environment, cwd=settings.BASE_DIR)  # noqa: S603
    try:
        _wait_for(port, server)
        yield port
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(20)


def database_url() -> str:
    """Return the current connection's database as an address."""
    about = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{about['NAME']}"
    host = str(about["HOST"]).replace("/", "%2F")
    login = f"{about['USER']}:{about['PASSWORD']}@" if about["USER"] else ""
    port = f":{about['PORT']}" if about["PORT"] else ""
    return f"postgres://{login}{host}{port}/{about['NAME']}"


def _wait_for(port: int, server: "subprocess.Popen[bytes]") -> None:
    for _ in range(400):
        if server.poll() is not None:
            raise RuntimeError(f"the server ended with {server.returncode} before it answered")
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.05)
    raise RuntimeError(f"no server answered on port {port} within 20 s")


def signed_in(person: User) -> str:
    """Return the session cookie of a person who has signed in."""
    session = SessionStore()
    session[SESSION_KEY] = str(person.pk)
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session[HASH_SESSION_KEY] = person.get_session_auth_hash()
    session.save()
    return str(session.session_key)


class Client:
    """One browser: one open connection, one session, the form's token kept."""

    def __init__(self, port: int, session_key: str) -> None:
        self.host = f"127.0.0.1:{port}"
        self.connection = http.client.HTTPConnection(self.host, timeout=60)
        self.cookies = {settings.SESSION_COOKIE_NAME: session_key}
        self.token = ""

    def get(self, path: str) -> tuple[int, bytes]:
        """Fetch a page; the token of a form on it is kept for the next POST."""
        status, body = self._ask("GET", path)
        found = TOKEN.search(body.decode(errors="replace"))
        self.token = found.group(1) if found else self.token
        return status, body

    def post(self, path: str, **fields: object) -> tuple[int, bytes]:
        """Send a form. What the answer says on the next page is forgotten, as by a browser that has shown it."""
        fields = {"csrfmiddlewaretoken": self.token} | fields
        self.cookies.pop("messages", None)
        return self._ask("POST", path, urlencode(fields))

    def _ask(self, method: str, path: str, body: str = "") -> tuple[int, bytes]:
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        if method == "POST":
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            headers["Referer"] = f"http://{self.host}/"
        try:
            self.connection.request(method, path, body or None, headers)
            answer = self.connection.getresponse()
        except ConnectionError:  # it lay idle for too long
            self.connection.close()
            self.connection.request(method, path, body or None, headers)
            answer = self.connection.getresponse()
        content = answer.read()
        for line in answer.headers.get_all("Set-Cookie") or []:
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(line).items()}
        return answer.status, content
