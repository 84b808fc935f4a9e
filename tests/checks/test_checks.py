"""Every published check is a test of its own; `python -m tests.checks` prints them as a table."""

import re
import subprocess
import sys

import pytest

from tests.checks.row import Check, inside, near, same
from tests.checks.table import SECTIONS, all_checks

SOURCE = "a book, 2nd ed., table 3"


def _ids() -> list[str]:
    return [re.sub(r"[^\w.-]+", "-", f"{check.number} {check.what}")[:70] for check in all_checks()]


@pytest.mark.parametrize("check", all_checks(), ids=_ids())
def test_the_published_value_is_found(check: Check):
    found = check.found()
    assert check.holds(found), f"{check.found_text(found)} instead of {check.expected_text} ({check.source})"


def test_there_are_as_many_checks_as_the_collection_asks_for():
    assert len(all_checks()) > 300
    assert len(SECTIONS) == 12


def test_every_check_names_its_source():
    assert all(len(check.source) > 10 for check in all_checks())


@pytest.mark.parametrize(
    ("check", "is_right"),
    [
        (near("0", "close", 1.0, 0.1, lambda: 1.05, SOURCE), True),
        (near("0", "off", 1.0, 0.1, lambda: 1.2, SOURCE), False),
        (near("0", "one of two off", (1.0, 2.0), 0.1, lambda: (1.0, 2.2), SOURCE), False),
        (near("0", "not a number", 1.0, 0.1, lambda: float("nan"), SOURCE), False),
        (near("0", "nothing found", 1.0, 0.1, lambda: None, SOURCE), False),
        (inside("0", "outside", 1.0, 2.0, lambda: 2.5, SOURCE), False),
        (inside("0", "within", 1.0, 2.0, lambda: 1.5, SOURCE), True),
        (same("0", "another word", "Si", lambda: "N2", SOURCE), False),
    ],
)
def test_a_wrong_value_is_told_from_a_right_one(check: Check, is_right: bool):
    try:
        held = check.holds(check.found())
    except ValueError:
        held = False
    assert held is is_right


def test_the_table_prints_without_a_database():
    run = subprocess.run(
        [sys.executable, "-m", "tests.checks"], capture_output=True, text=True, check=False, timeout=120
    )
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr[-2000:]
    assert re.search(r"\d+ checks pass, 0 fail, in \d+\.\d s", run.stdout)
    assert len(re.findall(r"^      source   ", run.stdout, re.M)) == len(all_checks())
