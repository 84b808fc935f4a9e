"""How much the attacks do: little in the daily run, much in `python -m tests.ledger --long`."""

import os

IS_LONG = os.environ.get("LEDGER_LONG") == "1"
