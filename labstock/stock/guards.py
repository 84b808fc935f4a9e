"""History that the database itself refuses to change, whoever asks and through whatever door.

A model that says ``is_history = True`` gets triggers that refuse UPDATE and DELETE (and TRUNCATE on
PostgreSQL). A model that says ``frozen_when = "state = 'finished'"`` is refused once a row is in that state.

The guards are put up after every `migrate` (SQLite loses a table's triggers when a migration rebuilds it).
A migration that must touch such rows calls `remove(schema_editor.connection)` first and says in its docstring
what it changes and why; they are put up again when it is done. There is no other way, on purpose.
"""

from collections.abc import Iterator

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model

REFUSAL = "{table} is history: a line is never changed or deleted, it is answered by a new one"
FROZEN = "{table}: this row is finished and frozen; write an addition instead"


def _guarded() -> Iterator[tuple[type[Model], str]]:
    """Yield each guarded model with the SQL condition on the old row (empty: always)."""
    for model in apps.get_models():
        if getattr(model, "is_history", False):
            yield model, ""
        elif condition := getattr(model, "frozen_when", ""):
            yield model, condition


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every guard in place; guards already there are made anew."""
    remove(connection)
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model, condition in _guarded():
            if model._meta.db_table in tables:
                for statement in _statements(connection.vendor, model._meta.db_table, condition):
                    cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every guard away: for migrations that must, and for emptying test databases."""
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model, _ in _guarded():
            table = model._meta.db_table
            if table not in tables:
                continue
            for act in ("update", "delete", "truncate"):
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS keep_{table}_{act}{on}")


def _statements(vendor: str, table: str, condition: str) -> Iterator[str]:
    message = (FROZEN if condition else REFUSAL).format(table=table).replace("'", "''")
    when = f"WHEN (OLD.{condition})" if condition else ""
    if vendor == "sqlite":
        for act in ("update", "delete"):
            yield (
                f"CREATE TRIGGER keep_{table}_{act} BEFORE {act.upper()} ON {table} {when} "
                f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
            )
        return
    yield (
        f"CREATE OR REPLACE FUNCTION keep_{table}() RETURNS trigger LANGUAGE plpgsql AS "
        f"$keep$ BEGIN RAISE EXCEPTION '{message}' USING ERRCODE = 'integrity_constraint_violation'; END $keep$"
    )
    for act in ("update", "delete"):
        yield (
            f"CREATE TRIGGER keep_{table}_{act} BEFORE {act.upper()} ON {table} FOR EACH ROW {when} "
            f"EXECUTE FUNCTION keep_{table}()"
        )
    yield (
        f"CREATE TRIGGER keep_{table}_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT "
        f"EXECUTE FUNCTION keep_{table}()"
    )


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the guards that should be there and are not."""
    wanted = {f"keep_{model._meta.db_table}_{act}" for model, _ in _guarded() for act in ("update", "delete")}
    source = (
        "sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "pg_trigger WHERE tgenabled <> 'D'"
    )
    column = "name" if connection.vendor == "sqlite" else "tgname"
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {source}")  # noqa: S608  # both parts are ours
        return sorted(wanted - {row[0] for row in cursor.fetchall()})
