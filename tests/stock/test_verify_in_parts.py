"""Several processes verify what one would, and name the same faults in the same order."""

import pytest
from django.db import connection

from labstock.stock import guards, verifying
from labstock.stock.models import Container, Entry
from labstock.stock.verifying import find_faults
from tests.builders import container

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def shelf(monkeypatch):
    monkeypatch.setattr(verifying, "AT_ONCE", 2)
    return [container() for _ in range(5)]


def test_two_processes_find_a_whole_ledger_whole_and_count_every_line(shelf):
    lines: list[int] = []
    assert list(find_faults(lines.append, workers=2)) == []
    assert len(lines) == 2
    assert sum(lines) == Entry.objects.count()


def test_two_processes_name_the_same_faults_as_one(shelf):
    guards.remove(connection)
    try:
        Entry.objects.filter(container=shelf[1]).update(typed="another")
        Entry.objects.filter(container=shelf[4]).delete()
        Container.objects.filter(pk=shelf[3].pk).update(remaining=1)
        alone = [str(fault) for fault in find_faults()]
        assert [str(fault) for fault in find_faults(workers=2)] == alone
        assert any("was changed after it was written" in fault for fault in alone)
        assert any("its ledger is gone" in fault for fault in alone)
    finally:
        guards.install(connection)
