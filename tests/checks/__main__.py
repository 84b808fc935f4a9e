"""Print every published check: `python -m tests.checks`. Needs no database; ends with 1 if any check fails."""

import argparse
import sys
from time import perf_counter

from tests.checks.row import Check
from tests.checks.table import SECTIONS


def main() -> int:
    """Print the table and return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.checks", description=__doc__)
    parser.add_argument("--failing", action="store_true", help="print only the checks that fail")
    only_failing = parser.parse_args().failing
    started, passed, failed = perf_counter(), 0, 0
    for title, checks in SECTIONS.items():
        print(f"\n{title}\n{'=' * len(title)}")
        for check in checks:
            found = check.found()
            is_right = check.holds(found)
            passed, failed = passed + is_right, failed + (not is_right)
            if not (is_right and only_failing):
                print(line(check, found, is_right))
    print(f"\n{passed} checks pass, {failed} fail, in {perf_counter() - started:.1f} s")
    return 1 if failed else 0


def line(check: Check, found: object, is_right: bool) -> str:
    """Write one check: verdict, number, what; expected, found, source."""
    verdict = "pass" if is_right else "FAIL"
    return (
        f"{verdict}  {check.number:<11} {check.what}\n"
        f"      expected {check.expected_text}\n"
        f"      found    {check.found_text(found)}\n"
        f"      source   {check.source}"
    )


if __name__ == "__main__":
    sys.exit(main())
