"""The ledger's lines cannot be changed: not through the ORM, not by SQL, not in the admin."""

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import ProtectedError

from batches.models import Batch, BatchState
from labstock.stock import guards
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, Entry, ReservationEvent
from tests.builders import amount, container, noon, person

pytestmark = pytest.mark.django_db


def a_line():
    return draw(
        container=container(), amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=person())
    )


def refused(sql):
    with (
        pytest.raises(DatabaseError, match=r"history|frozen"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE stock_entry SET change = -1",
        "UPDATE stock_entry SET reason = 'better so'",
        "DELETE FROM stock_entry",
        "DELETE FROM stock_entry WHERE seq = 2",
        "UPDATE stock_entry SET by_id = NULL",
    ],
)
def test_raw_sql_cannot_touch_a_line(sql):
    a_line()
    refused(sql)
    assert Entry.objects.count() == 2


def test_the_orm_cannot_touch_a_line():
    line = a_line()
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        Entry.objects.filter(pk=line.pk).update(change=0)
    line.change = 0
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        line.save()
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        line.delete()
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        Entry.objects.bulk_update([line], ["change"])


def test_a_container_with_lines_cannot_be_deleted():
    a_line()
    with pytest.raises(ProtectedError):
        Container.objects.get().delete()


def test_remaining_below_nothing_is_refused_by_the_database():
    bottle = container()
    with pytest.raises(DatabaseError), transaction.atomic():
        Container.objects.filter(pk=bottle.pk).update(remaining=-1)


def test_two_lines_with_one_number_are_refused_by_the_database():
    line = a_line()
    line.pk, line.key = None, "00000000-0000-0000-0000-000000000001"
    with pytest.raises(DatabaseError), transaction.atomic():
        line.save(force_insert=True)


def test_the_admin_shows_lines_and_offers_no_change(client):
    line = a_line()
    boss = person("wren")
    boss.is_staff = boss.is_superuser = True
    boss.save()
    client.force_login(boss)
    assert client.get(f"/admin/stock/entry/{line.pk}/change/").status_code == 200
    assert client.post(f"/admin/stock/entry/{line.pk}/change/", {"change": "0"}).status_code == 403
    assert client.post(f"/admin/stock/entry/{line.pk}/delete/", {"post": "yes"}).status_code == 403
    assert client.get("/admin/stock/entry/add/").status_code == 403


def test_a_finished_batch_is_frozen_and_an_open_one_is_not():
    batch = Batch.objects.create(number="26-900", title="trial", owner=person(), planned_at=noon())
    Batch.objects.filter(pk=batch.pk).update(title="a trial")
    Batch.objects.filter(pk=batch.pk).update(state=BatchState.FINISHED)
    refused("UPDATE batches_batch SET yield_percent = 100")
    refused("DELETE FROM batches_batch")


def test_every_history_table_has_its_guards():
    assert guards.missing(connection) == []


def test_a_missing_guard_is_noticed():
    table = ReservationEvent._meta.db_table
    on = f" ON {table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER keep_{table}_update{on}")
    assert guards.missing(connection) == [f"keep_{table}_update"]
    guards.install(connection)
    assert guards.missing(connection) == []
