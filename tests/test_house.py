"""Promises of the house itself: commands that agree, and parents that import nothing."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TEST_COMMAND = "python3 -m venv .venv && .venv/bin/pip install -q -e '.[test]' && .venv/bin/python -m tests"
DEMO_COMMAND = "python3 -m venv .venv && .venv/bin/pip install -q -e . && .venv/bin/python manage.py demo"


def test_ci_ends_with_the_test_command_of_the_readme():
    assert (ROOT / ".ci/run").read_text().splitlines()[-1] == TEST_COMMAND
    assert TEST_COMMAND in (ROOT / "README.md").read_text().splitlines()


def test_the_readme_starts_the_demo_with_one_command():
    assert DEMO_COMMAND in (ROOT / "README.md").read_text().splitlines()


@pytest.mark.parametrize("top", ["labstock", "batches"])
def test_packages_import_nothing_by_themselves(top):
    """A pure module is pure only if no parent's __init__.py brings Django in."""
    parents = [path for path in (ROOT / top).rglob("__init__.py") if "models" not in path.parts]
    assert parents
    for path in parents:
        assert not re.search(r"^\s*(import|from) .*(django|views|models)", path.read_text(), re.M), path
