"""The one gate, the same by hand and in CI: `python -m tests`.

    python -m tests            everything: style, arrows, types, settings, all tests on SQLite; on PostgreSQL all
                               but those that only look at pages or ask no database
    python -m tests quick      the same on SQLite only, without a browser
    python -m tests sqlite     all tests on SQLite
    python -m tests postgres   all tests on PostgreSQL
    python -m tests browser    the browser tests on both engines

What follows the word is handed to pytest: `python -m tests sqlite -x tests/stock`.
"""

import os
import secrets
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from tests.browser.chromium import NoChromium, provide_chromium
from tests.postgres import NoPostgres, private_postgres

ROOT = Path(__file__).resolve().parent.parent
WORDS = ("all", "quick", "sqlite", "postgres", "browser")
MANAGE = [sys.executable, "manage.py"]
# Two browsers fill two cores; a third or a fourth was no quicker.
PYTEST = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-n", "2"]
WITHOUT_BROWSER, BROWSER_ONLY = ["-m", "not browser"], ["-m", "browser"]
# A page looks the same whatever the engine: the second engine walks the main job in the browser, not every page.
# What asks no database is tried once.
SECOND_ENGINE = ["-m", "database and (not browser or main_job)"]
# As a lab runs it: no debugging, a public name over HTTPS, a proxy in front.
PRODUCTION = {
    "LABSTOCK_SECRET_KEY": secrets.token_urlsafe(50),
    "LABSTOCK_HOSTS": "stock.example.org",
    "LABSTOCK_PUBLIC_URL": "https://stock.example.org",
    "LABSTOCK_BEHIND_PROXY": "1",
}


class Result(NamedTuple):
    """How one step of the gate ended, with the last line it wrote."""

    name: str
    passed: bool
    seconds: float
    closing_line: str


def static_steps() -> list[tuple[str, list[str], dict[str, str]]]:
    """Return the steps that read the code without running the site."""
    module = [sys.executable, "-m"]
    return [
        ("ruff format", [*module, "ruff", "format", "--check", "."], {}),
        ("ruff check", [*module, "ruff", "check", "."], {}),
        ("lint-imports", [str(Path(sys.executable).with_name("lint-imports")), "--no-cache"], {}),
        ("mypy", [*module, "mypy", "--no-error-summary"], {}),
        ("makemigrations --check", [*MANAGE, "makemigrations", "--check", "--dry-run"], {}),
        ("check --deploy", [*MANAGE, "check", "--deploy", "--fail-level", "WARNING"], PRODUCTION),
    ]


def run(name: str, command: list[str], environment: dict[str, str]) -> Result:
    """Run one step, let everything it writes through, and say how it ended."""
    print(f"\n== {name}", flush=True)
    start, closing_line = time.monotonic(), ""
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=os.environ | environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    ) as process:
        assert process.stdout is not None
        while piece := process.stdout.readline():
            print(piece, end="", flush=True)
            closing_line = piece.strip() or closing_line
    return told(Result(name, process.returncode == 0, time.monotonic() - start, closing_line))


def told(result: Result) -> Result:
    """Print the end of a step and hand it on."""
    print(
        f"== {result.name}: {'passed' if result.passed else 'FAILED'} in {result.seconds:.1f} s", flush=True
    )
    return result


def refused(name: str, reason: Exception) -> Result:
    """Count a step that could not even start as failed, and say what is missing."""
    print(f"\n== {name}\n{reason}", flush=True)
    return told(Result(name, False, 0.0, str(reason).splitlines()[0]))


def on_sqlite(arguments: list[str]) -> Result:
    """Run pytest on SQLite."""
    where = "pytest on SQLite, in a browser" if BROWSER_ONLY[1] in arguments else "pytest on SQLite"
    return run(where, [*PYTEST, *arguments], {"DATABASE_URL": ""})


def on_postgres(arguments: list[str]) -> Result:
    """Run pytest on a PostgreSQL of its own, stopped and deleted afterwards."""
    try:
        with private_postgres() as url:
            return run("pytest on PostgreSQL", [*PYTEST, *arguments], {"DATABASE_URL": url})
    except NoPostgres as reason:
        return refused("pytest on PostgreSQL", reason)


def gate(word: str, arguments: list[str]) -> list[Result]:
    """Run the steps that a word stands for; a failed one does not keep the others from running."""
    results = []
    if word in ("all", "quick"):
        results += [run(*step) for step in static_steps()]
    if word == "quick":
        return [*results, on_sqlite([*WITHOUT_BROWSER, *arguments])]
    has_browser = True
    try:
        provide_chromium()
    except NoChromium as reason:
        results.append(refused("Chromium", reason))
        has_browser, arguments = False, [*WITHOUT_BROWSER, *arguments]
    engines: dict[str, list[Callable[[list[str]], Result]]] = {
        "sqlite": [on_sqlite],
        "postgres": [on_postgres],
    }
    if word == "all":
        results.append(on_sqlite([*WITHOUT_BROWSER, *arguments]))
        if has_browser:
            results.append(on_sqlite([*BROWSER_ONLY, *arguments]))
        return [*results, on_postgres([*(SECOND_ENGINE if has_browser else []), *arguments])]
    chosen = BROWSER_ONLY if word == "browser" else []
    return results + [test([*chosen, *arguments]) for test in engines.get(word, [on_sqlite, on_postgres])]


def main(words: list[str]) -> int:
    """Run the gate and close with one line for each step, the tests' own closing lines last."""
    word, arguments = (words[0], words[1:]) if words and words[0] in WORDS else ("all", words)
    if word == "all" and arguments:
        print(f"{arguments[0]!r} is none of {', '.join(WORDS)}\n{__doc__}")
        return 2
    for number in (signal.SIGTERM, signal.SIGHUP):  # so that the database is stopped on the way out
        signal.signal(number, lambda signum, frame: sys.exit(128 + signum))
    with tempfile.TemporaryDirectory(prefix="labstock-") as data:
        os.environ["LABSTOCK_DATA"] = data
        for name in ("LABSTOCK_DEBUG", *PRODUCTION):
            os.environ.pop(name, None)
        results = gate(word, arguments)
    print("\n== the gate")
    for result in results:
        print(f"{'passed' if result.passed else 'FAILED'}  {result.seconds:6.1f} s  {result.name}")
    for result in results:
        if result.name.startswith("pytest"):
            print(f"{result.name}:\n{result.closing_line}")
    return 0 if all(result.passed for result in results) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
