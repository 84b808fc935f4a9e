"""Whoever asks, and through whatever door: the database itself refuses to change what was written."""

import pytest
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, migrations, transaction
from django.db.migrations.state import ProjectState

from batches.models import Batch, BatchLine, BatchState
from batches.retained.looking import Seen, check_condition
from batches.retained.models import ProvenanceNote, RetainedSample
from labstock.stock import guards
from labstock.stock.actions import keeping
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Entry, ReservationEvent, State, StateChange
from labstock.stock.verifying import find_faults
from tests.builders import amount, container, noon, person, session

pytestmark = pytest.mark.django_db
SQLITE_DOORS = (
    "INSERT OR REPLACE INTO {into}",
    "REPLACE INTO {into}",
    "UPDATE OR REPLACE {table} SET {column} = {column}",
)
POSTGRES_DOORS = (
    "INSERT INTO {into} ON CONFLICT (id) DO UPDATE SET {column} = excluded.{column}",
    "TRUNCATE {table} CASCADE",
)
DOORS = ("UPDATE {table} SET {column} = {column}", "DELETE FROM {table}")


def an_entry():
    bottle = container()
    return draw(container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=person()))


def a_reservation_event():
    made = reserve(session=session(), wants=[Want(container(), 1_000_000)], by=person())
    return ReservationEvent.objects.get(reservation=made[0])


def a_state_change():
    keeping.change_state(
        container=container(), to=State.BLOCKED, doing=Doing(by=person(), reason="it smells")
    )
    return StateChange.objects.get()


def a_finished_batch():
    return Batch.objects.create(
        number="26-900", title="trial", owner=person(), planned_at=noon(), state=BatchState.FINISHED
    )


def a_provenance_note():
    sample = RetainedSample.objects.create(
        container=container(), name="old tube", catalogued_by=person(), catalogued_at=noon()
    )
    return ProvenanceNote.objects.create(sample=sample, text="found in a drawer", by=person(), at=noon())


def a_line_of_a_finished_batch():
    batch = Batch.objects.create(number="26-901", title="trial", owner=person(), planned_at=noon())
    line = BatchLine.objects.create(batch=batch, position=1, role="reactant", name="aniline")
    line.reservations.add(a_reservation_event().reservation)
    Batch.objects.filter(pk=batch.pk).update(state=BatchState.FINISHED)
    return line


def a_hold_of_a_finished_batch():
    return BatchLine.reservations.through.objects.get(batchline=a_line_of_a_finished_batch())


def a_condition_check():
    sample = a_provenance_note().sample
    return check_condition(sample=sample, seen=Seen(5, colour="dark red"), doing=Doing(by=person()))


MADE = [
    an_entry, a_reservation_event, a_state_change, a_finished_batch, a_line_of_a_finished_batch,
    a_hold_of_a_finished_batch, a_provenance_note, a_condition_check,
]  # fmt: skip


def stored(row):
    """Return a row as it lies in the database."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {row._meta.db_table} WHERE id = %s", [row.pk])
        names = [column[0] for column in cursor.description]
        return dict(zip(names, cursor.fetchone(), strict=True))


def doors():
    return DOORS + (SQLITE_DOORS if connection.vendor == "sqlite" else POSTGRES_DOORS)


@pytest.mark.parametrize("make", MADE)
def test_no_statement_changes_replaces_or_removes_what_was_written(make):
    row = make()
    before = stored(row)
    column = next(name for name in before if name != "id")
    values = ", ".join(["%s"] * len(before))
    names = ", ".join(map(connection.ops.quote_name, before))
    into = f"{row._meta.db_table} ({names}) VALUES ({values})"
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE" if connection.vendor == "postgresql" else "SELECT 1")
    for door in doors():
        sql = door.format(table=row._meta.db_table, column=column, into=into)
        with (
            pytest.raises(DatabaseError, match=r"history|frozen"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql, list(before.values()) if "VALUES" in sql else None)
    assert stored(row) == before


@pytest.mark.parametrize("make", MADE)
def test_neither_the_orm_nor_a_queryset_changes_or_removes_what_was_written(make):
    row = make()
    before = stored(row)
    field = next(field for field in row._meta.concrete_fields if not field.primary_key)
    same = {field.attname: getattr(row, field.attname)}
    rows = type(row)._default_manager.filter(pk=row.pk)
    for door in (row.save, row.delete, lambda: rows.update(**same), lambda: rows._raw_delete(rows.db)):
        with pytest.raises(DatabaseError, match=r"history|frozen"), transaction.atomic():
            door()
    assert stored(row) == before


def test_nothing_is_added_to_a_finished_batch_nor_moved_into_it():
    finished = a_line_of_a_finished_batch().batch
    open_batch = Batch.objects.create(number="26-902", title="trial", owner=person(), planned_at=noon())
    line = BatchLine.objects.create(batch=open_batch, position=1, role="reactant", name="aniline")
    BatchLine.objects.filter(pk=line.pk).update(name="aniline, distilled")
    for door in (
        lambda: BatchLine.objects.create(batch=finished, position=2, role="solvent", name="water"),
        lambda: BatchLine.objects.filter(pk=line.pk).update(batch=finished, position=2),
        lambda: finished.lines.get().reservations.add(a_reservation_event().reservation),
        lambda: finished.lines.get().reservations.clear(),
    ):
        with pytest.raises(DatabaseError, match="finished and frozen"), transaction.atomic():
            door()
    line.delete()
    assert (finished.lines.count(), open_batch.lines.count()) == (1, 0)


def test_a_line_cannot_be_pushed_out_by_another_with_its_number_or_its_key(engine):
    if engine != "sqlite":
        pytest.skip("only SQLite replaces rows by any of their unique keys")
    line = an_entry()
    for same in ("key", "seq"):
        fields = stored(line) | {"id": 9000 + len(same)}
        fields |= {"seq": 77} if same == "key" else {"key": "0" * 32}
        names, values = ", ".join(fields), ", ".join(["%s"] * len(fields))
        with (
            pytest.raises(IntegrityError, match="history"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(
                f"INSERT OR REPLACE INTO stock_entry ({names}) VALUES ({values})", [*fields.values()]
            )
    assert Entry.objects.filter(pk=line.pk).exists()


def test_a_guard_that_was_made_harmless_is_noticed(engine):
    table = Entry._meta.db_table
    with connection.cursor() as cursor:
        if engine == "sqlite":
            cursor.execute(f"DROP TRIGGER keep_{table}_update")
            cursor.execute(f"CREATE TRIGGER keep_{table}_update BEFORE UPDATE ON {table} BEGIN SELECT 1; END")
        else:
            cursor.execute(
                f"CREATE OR REPLACE FUNCTION keep_{table}() RETURNS trigger LANGUAGE plpgsql AS "
                "$$ BEGIN RETURN NEW; END $$"
            )
    assert f"keep_{table}_update" in guards.missing(connection)
    guards.install(connection)
    assert guards.missing(connection) == []


def test_a_guard_that_sleeps_is_noticed(engine):
    if engine != "postgresql":
        pytest.skip("SQLite's triggers cannot be put to sleep")
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE stock_entry ENABLE REPLICA TRIGGER keep_stock_entry_update")
    assert guards.missing(connection) == ["keep_stock_entry_update"]


def reworded(apps, schema_editor):
    """Change what a guarded table says, as DEVELOPERS.md tells a migration to: lift the guards, say why, seal anew."""
    guards.remove(schema_editor.connection)
    for row in StateChange.objects.all():
        row.reason = "it smells of acid"
        StateChange.objects.filter(pk=row.pk).update(reason=row.reason, seal=row.digest())


def without_lifting(apps, schema_editor):
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        StateChange.objects.update(reason="it smells of acid")


def applied(code):
    """Apply a migration with one step of Python, as `manage.py migrate` does."""
    steps = {"operations": [migrations.RunPython(code, migrations.RunPython.noop)]}
    migration = type("Migration", (migrations.Migration,), steps)("touches_history", "stock")
    with connection.schema_editor(atomic=True) as editor:
        migration.apply(ProjectState(), editor)


@pytest.mark.django_db(transaction=True)
def test_a_migration_touches_history_only_the_way_that_is_written_down():
    row = a_state_change()
    applied(without_lifting)
    applied(reworded)
    assert f"keep_{StateChange._meta.db_table}_update" in guards.missing(connection)
    call_command("migrate", verbosity=0)
    assert guards.missing(connection) == []
    assert StateChange.objects.get(pk=row.pk).reason == "it smells of acid"
    assert [str(fault) for fault in find_faults()] == []
    with pytest.raises(DatabaseError, match="history"):
        StateChange.objects.update(reason="it does not")
