"""History that the database itself refuses to change, whoever asks and through whatever door.

A model that says ``is_history = True`` gets triggers that refuse UPDATE and DELETE (and TRUNCATE on
PostgreSQL, and on SQLite INSERT OR REPLACE, which deletes without asking a DELETE trigger). A model that says
``frozen_when = "state = 'finished'"`` is refused once a row is in that state, and one that says ``frozen_with =
"batch"`` (or a longer way, "batchline__batch") once the row at the end of that way is: then nothing is added either.

The guards are put up after every `migrate` (SQLite loses a table's triggers when a migration rebuilds it).
A migration that must touch such rows calls `remove(schema_editor.connection)` first and says in its docstring
what it changes and why; they are put up again when it is done. There is no other way, on purpose.
"""

from collections.abc import Callable, Iterator
from functools import partial

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model, UniqueConstraint

REFUSAL = "{table} is history: a line is never changed or deleted, it is answered by a new one"
FROZEN = "{table}: this row is finished and frozen; write an addition instead"
ACTS = ("update", "delete", "truncate", "insert")

# SQL that says whether the row of this name is frozen; None: every row is, from the moment it is written
Condition = Callable[[str], str]


def _guarded() -> Iterator[tuple[type[Model], Condition | None]]:
    """Yield each guarded model with the condition under which a row of it is frozen."""
    for model in apps.get_models(include_auto_created=True):
        if getattr(model, "is_history", False):
            yield model, None
        elif when := getattr(model, "frozen_when", ""):
            yield model, partial("{1}.{0}".format, when)
        elif way := getattr(model, "frozen_with", ""):
            yield model, partial(_is_owner_frozen, model, way.split("__"))


def _is_owner_frozen(model: type[Model], way: list[str], row: str) -> str:
    """Return the condition that the row which this way of foreign keys leads to is frozen."""
    name, *rest = way
    field = model._meta.get_field(name)
    owner, owners = field.related_model, f"owner_{len(rest)}"
    if not isinstance(owner, type) or not issubclass(owner, Model):
        raise TypeError(f"{model.__name__}.{name} is no foreign key")
    frozen = _is_owner_frozen(owner, rest, owners) if rest else f"{owners}.{owner.frozen_when}"  # type: ignore[attr-defined]
    return (
        f"EXISTS (SELECT 1 FROM {owner._meta.db_table} {owners} "  # noqa: S608  # our own names
        f"WHERE {owners}.id = {row}.{field.column} AND {frozen})"  # type: ignore[union-attr]
    )


def _goes_with_owner(model: type[Model]) -> bool:
    return bool(getattr(model, "frozen_with", ""))


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every guard in place; guards already there are made anew."""
    remove(connection)
    tables = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for model, condition in _guarded():
            if model._meta.db_table in tables:
                if connection.vendor == "postgresql":
                    cursor.execute(_function(model, condition))
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
            for act in ACTS:
                on = f" ON {table}" if connection.vendor == "postgresql" else ""
                cursor.execute(f"DROP TRIGGER IF EXISTS keep_{table}_{act}{on}")


def _triggers(vendor: str, model: type[Model], condition: Condition | None) -> dict[str, str]:
    """Return each trigger of a model by its name."""
    table = model._meta.db_table
    made = _for_sqlite(model, condition) if vendor == "sqlite" else _for_postgresql(model)
    return {f"keep_{table}_{act}": f"CREATE TRIGGER keep_{table}_{act} {rest}" for act, rest in made.items()}


def _for_sqlite(model: type[Model], condition: Condition | None) -> dict[str, str]:
    table = model._meta.db_table
    refuse = f"BEGIN SELECT RAISE(ABORT, '{_message(model, condition)}'); END"
    frozen, is_frozen = "", ""
    if condition is not None:
        frozen, is_frozen = f"WHEN ({condition('OLD')})", f" AND {condition(table)}"
    there = f"EXISTS (SELECT 1 FROM {table} WHERE ({_is_same_row(model)}){is_frozen})"  # noqa: S608  # our own names
    changed, added = frozen, there
    if condition is not None and _goes_with_owner(model):
        changed = f"WHEN ({condition('OLD')} OR {condition('NEW')})"
        added = f"{condition('NEW')} OR {there}"
    return {
        "update": f"BEFORE UPDATE ON {table} {changed} {refuse}",
        "delete": f"BEFORE DELETE ON {table} {frozen} {refuse}",
        "insert": f"BEFORE INSERT ON {table} WHEN {added} {refuse}",
    }


def _for_postgresql(model: type[Model]) -> dict[str, str]:
    table = model._meta.db_table
    acts = ("update", "delete", "insert") if _goes_with_owner(model) else ("update", "delete")
    call = f"EXECUTE FUNCTION keep_{table}()"
    made = {act: f"BEFORE {act.upper()} ON {table} FOR EACH ROW {call}" for act in acts}
    return made | {"truncate": f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {call}"}


def _is_same_row(model: type[Model]) -> str:
    """Return the SQL condition that a new row would push an old one out: the same key, or another unique one."""
    together = [
        constraint.fields
        for constraint in model._meta.constraints
        if isinstance(constraint, UniqueConstraint) and constraint.condition is None
    ]
    together += [tuple(names) for names in model._meta.unique_together]
    alone = [(field.name,) for field in model._meta.concrete_fields if field.unique]
    columns = [[model._meta.get_field(name).column for name in names] for names in (*alone, *together)]  # type: ignore[union-attr]
    return " OR ".join(
        "(" + " AND ".join(f"{name} = NEW.{name}" for name in names) + ")" for names in columns
    )


def _message(model: type[Model], condition: Condition | None) -> str:
    return (FROZEN if condition else REFUSAL).format(table=model._meta.db_table).replace("'", "''")


def _function(model: type[Model], condition: Condition | None) -> str:
    name = f"keep_{model._meta.db_table}"
    body = _body(model, condition)
    return f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $keep${body}$keep$"


def _body(model: type[Model], condition: Condition | None) -> str:
    """Return what the function of a PostgreSQL trigger does: refuse, unless the row is not frozen."""
    refuse = (
        f"RAISE EXCEPTION '{_message(model, condition)}' USING ERRCODE = 'integrity_constraint_violation';"
    )
    if condition is None:
        return f" BEGIN {refuse} END "
    whole = f"IF TG_OP = 'TRUNCATE' THEN {refuse} END IF;"
    old = f"IF TG_OP <> 'INSERT' THEN IF {condition('OLD')} THEN {refuse} END IF; END IF;"
    new = f"IF TG_OP <> 'DELETE' THEN IF {condition('NEW')} THEN {refuse} END IF; END IF;"
    checked = f"{whole} {old} {new if _goes_with_owner(model) else ''}"
    return f" BEGIN {checked} IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END "


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the guards that should be there and are not, or do something else than they should."""
    is_sqlite = connection.vendor == "sqlite"
    wanted = {}
    for model, condition in _guarded():
        for name, statement in _triggers(connection.vendor, model, condition).items():
            wanted[name] = statement if is_sqlite else _body(model, condition)
    source = (
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        if is_sqlite
        else "SELECT tgname, prosrc FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid WHERE tgenabled IN ('O', 'A')"
    )
    with connection.cursor() as cursor:
        cursor.execute(source)
        there = dict(cursor.fetchall())
    return sorted(name for name, what in wanted.items() if there.get(name) != what)
