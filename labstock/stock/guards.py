"""History that the database itself refuses to change, whoever asks and through whatever door.

A model that says ``is_history = True`` gets triggers that refuse UPDATE and DELETE (and TRUNCATE on
PostgreSQL, and on SQLite INSERT OR REPLACE, which deletes without asking a DELETE trigger). A model that says ``frozen_when = "state = 'finished'"`` is refused once a row is in that state.

The guards are put up after every `migrate` (SQLite loses a table's triggers when a migration rebuilds it).
A migration that must touch such rows calls `remove(schema_editor.connection)` first and says in its docstring
what it changes and why; they are put up again when it is done. There is no other way, on purpose.
"""

from collections.abc import Iterator

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model, UniqueConstraint

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
                if connection.vendor == "postgresql":
                    cursor.execute(_function(model._meta.db_table, condition))
                for statement in _triggers(connection.vendor, model, condition).values():
                    cursor.execute(statement)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every guard away: for migrations that must, and for emptying test databases."""
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model, _ in _guarded():
            table = model._meta.db_table
            if table not in tables:
                continue
            for act in ("update", "delete", "truncate", "insert"):
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS keep_{table}_{act}{on}")


def _triggers(vendor: str, model: type[Model], condition: str) -> dict[str, str]:
    """Return each trigger of a model by its name."""
    table = model._meta.db_table
    when = f"WHEN (OLD.{condition})" if condition else ""
    if vendor == "sqlite":
        refuse = f"BEGIN SELECT RAISE(ABORT, '{_message(table, condition)}'); END"
        is_frozen = f" AND {table}.{condition}" if condition else ""
        there = f"SELECT 1 FROM {table} WHERE ({_is_same_row(model)}){is_frozen}"  # noqa: S608  # our own names
        found = {act: f"BEFORE {act.upper()} ON {table} {when} {refuse}" for act in ("update", "delete")}
        found["insert"] = f"BEFORE INSERT ON {table} WHEN EXISTS ({there}) {refuse}"
    else:
        call = f"EXECUTE FUNCTION keep_{table}()"
        found = {
            act: f"BEFORE {act.upper()} ON {table} FOR EACH ROW {when} {call}" for act in ("update", "delete")
        }
        found["truncate"] = f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {call}"
    return {f"keep_{table}_{act}": f"CREATE TRIGGER keep_{table}_{act} {rest}" for act, rest in found.items()}


def _is_same_row(model: type[Model]) -> str:
    """Return the SQL condition that a new row would push an old one out: the same key, or another unique one."""
    together = [
        constraint.fields
        for constraint in model._meta.constraints
        if isinstance(constraint, UniqueConstraint) and constraint.condition is None
    ]
    alone = [(field.name,) for field in model._meta.concrete_fields if field.unique]
    columns = [[model._meta.get_field(name).column for name in names] for names in (*alone, *together)]  # type: ignore[union-attr]
    return " OR ".join(
        "(" + " AND ".join(f"{name} = NEW.{name}" for name in names) + ")" for names in columns
    )


def _message(table: str, condition: str) -> str:
    return (FROZEN if condition else REFUSAL).format(table=table).replace("'", "''")


def _function(table: str, condition: str) -> str:
    return f"CREATE OR REPLACE FUNCTION keep_{table}() RETURNS trigger LANGUAGE plpgsql AS $keep${_body(table, condition)}$keep$"


def _body(table: str, condition: str) -> str:
    """Return what the function of a PostgreSQL trigger does."""
    return (
        f" BEGIN RAISE EXCEPTION '{_message(table, condition)}' "
        "USING ERRCODE = 'integrity_constraint_violation'; END "
    )


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the guards that should be there and are not, or do something else than they should."""
    is_sqlite = connection.vendor == "sqlite"
    wanted = {}
    for model, condition in _guarded():
        for name, statement in _triggers(connection.vendor, model, condition).items():
            wanted[name] = statement if is_sqlite else _body(model._meta.db_table, condition)
    source = (
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        if is_sqlite
        else "SELECT tgname, prosrc FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid WHERE tgenabled IN ('O', 'A')"
    )
    with connection.cursor() as cursor:
        cursor.execute(source)
        there = dict(cursor.fetchall())
    return sorted(name for name, what in wanted.items() if there.get(name) != what)
