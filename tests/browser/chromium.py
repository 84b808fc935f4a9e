"""Where the browser tests find Chromium, how they start it, and what fetches it when it is missing."""

import os
import shutil
import subprocess
import sys
from ctypes.util import find_library
from pathlib import Path

# The headless shell is the same Chromium built without a desktop: the tests take half the time in it.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "chrome")
REMEDY = (
    "no Chromium to drive: run `apt-get install chromium-headless-shell libatomic1` as root, "
    "or `.venv/bin/playwright install chromium` where that package is missing"
)
QUIETLY = {"DEBIAN_FRONTEND": "noninteractive"}
# Playwright's driver needs libatomic1, which a bare Debian 13 does not bring.
PACKAGES = ("fonts-dejavu-core", "libatomic1")
# A browser that only meets a server on this machine has nothing to ask of any other.
QUIET = [
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
    "--disable-dev-shm-usage",
]


class NoChromium(Exception):
    """There is no Chromium to drive, and none could be fetched."""


def find_chromium() -> str | None:
    """Return the path of a Chromium: the system's, else the newest that playwright has installed."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    folder = Path(os.environ.get("PLAYWRIGHT_BROWSERS_PATH", Path.home() / ".cache/ms-playwright"))
    own = sorted(folder.glob("chromium-*/chrome-linux*/chrome"))
    return found or (str(own[-1]) if own else None)


def arguments() -> list[str]:
    """Return the switches to start with; root has no sandbox to use."""
    return [*QUIET, "--no-sandbox"] if os.geteuid() == 0 else QUIET


def provide_chromium() -> None:
    """See to it that a Chromium can be driven here; fetch what is missing, or say what to do."""
    for command in _installers():
        if _is_ready():
            return
        print(f"fetching Chromium: {' '.join(command)}", flush=True)
        subprocess.run(command, stdin=subprocess.DEVNULL, env=os.environ | QUIETLY)
    if not _is_ready():
        raise NoChromium(REMEDY)


def _is_ready() -> bool:
    """Return whether a Chromium is there, and the one library that playwright's driver takes from the system."""
    return find_chromium() is not None and (sys.platform != "linux" or find_library("atomic") is not None)


def _installers() -> list[list[str]]:
    """Return the commands that fetch a Chromium, the next where one failed: Debian's, elsewhere playwright's."""
    own = [sys.executable, "-m", "playwright", "install", "chromium"]
    if os.geteuid() != 0 or shutil.which("apt-get") is None:
        return [own]
    update = ["apt-get", "-qq", "update"]
    install = ["apt-get", "-qq", "install", "-y", "--no-install-recommends", *PACKAGES]
    if "\nID=debian\n" in Path("/etc/os-release").read_text():
        return [update, [*install, "chromium-headless-shell"], [*install, "chromium"]]
    return [update, install, [*own, "--with-deps"]]  # Ubuntu has no package of it
