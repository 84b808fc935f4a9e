"""Attack the ledger on both engines: `python -m tests.ledger`.

    python -m tests.ledger                  the short form, as the gate runs it
    python -m tests.ledger --long           crowds for a minute, fifty cuts, 150 random lives of 50 steps
    python -m tests.ledger --long sqlite    on one engine alone (sqlite or postgres)

What follows is handed to pytest: `python -m tests.ledger --long sqlite -k kill`.
LEDGER_SEED=NUMBER plays the random lives of that number again.
"""

import os
import signal
import sys
import tempfile
from pathlib import Path

from tests.__main__ import on_postgres, on_sqlite

ENGINES = {"sqlite": on_sqlite, "postgres": on_postgres}
# in one process: the crowds bring processes of their own, and what is measured should have the machine to itself
FORM = ["-n", "0", "-s", "-v", "--durations=10", str(Path(__file__).parent)]


def main(words: list[str]) -> int:
    """Run the attacks and close with one line for each engine."""
    is_long, words = "--long" in words, [word for word in words if word != "--long"]
    os.environ["LEDGER_LONG"] = "1" if is_long else "0"
    chosen = [words.pop(0)] if words and words[0] in ENGINES else list(ENGINES)
    for number in (signal.SIGTERM, signal.SIGHUP):  # so that servers and databases are stopped on the way out
        signal.signal(number, lambda signum, frame: sys.exit(128 + signum))
    with tempfile.TemporaryDirectory(prefix="labstock-") as data:
        os.environ["LABSTOCK_DATA"] = data
        os.environ.pop("LABSTOCK_DEBUG", None)
        results = [ENGINES[name]([*FORM, *words]) for name in chosen]
    return 0 if all(result.passed for result in results) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
