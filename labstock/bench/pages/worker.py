"""What the service worker keeps: the page for no signal and the files it needs, under a name that changes with them."""

import hashlib
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.template.loader import get_template
from django.urls import reverse

from labstock.bench.forms import NOT_DRAWN_WITH
from labstock.chemistry.devices import DEVICES
from labstock.look.style_sheets import SHEETS, sheet_addresses

FILES = (
    "look/icon.svg",
    "look/scheme.js",
    "look/forms.js",
    "bench/bench.css",
    "bench/scan.js",
    "bench/offline/offline.css",
    "bench/offline/store.js",
    "bench/offline/sending.js",
    "bench/offline/drafts.js",
    "bench/offline/shell.js",
)
TEMPLATES = ("bench/offline.html", "bench/offline_worker.js")
# What most amounts are measured with stands first in a long list; common practice, no source.
USUAL = (
    "syringe-1",
    "syringe-5",
    "syringe-10",
    "by-eye",
    "balance-0.1mg",
    "balance-0.01g",
    "by-eye-g",
    "counted",
)


def worker_of() -> dict[str, Any]:
    """Return what the worker is told: its version, what to keep, and which addresses end somebody's turn."""
    return {
        "version": _version_now() if settings.DEBUG else _version(),
        "shell": reverse("offline"),
        "files": [*sheet_addresses(), *(staticfiles_storage.url(name) for name in FILES)],
        "store": staticfiles_storage.url("bench/offline/store.js"),
        "ends": [reverse(name) for name in ("logout", "login", "tablet-badge", "tablet-lock")],
        "login": reverse("login"),
    }


@cache
def _version() -> str:
    """Return the version once: what is served does not change while the site runs."""
    return _version_now()


def _version_now() -> str:
    """Return a digest over everything that is kept: another file, another version, and the browser fetches anew."""
    digest = hashlib.sha256()
    for name in (*SHEETS, *FILES):
        path = finders.find(name)
        digest.update(Path(path).read_bytes() if isinstance(path, str) else name.encode())
    for name in TEMPLATES:
        digest.update(get_template(name).template.source.encode())  # type: ignore[attr-defined]  # Django's own engine
    return digest.hexdigest()[:16]


def devices_offered() -> list[tuple[str, str, str]]:
    """Return the devices for a container that is not kept: code, name and unit, the common ones first."""
    rows = sorted(DEVICES.values(), key=lambda row: (row.code not in USUAL, row.unit, row.code))
    return [(row.code, row.name, row.unit) for row in rows if row.kind not in NOT_DRAWN_WITH]
