"""Find the rows whose `search_text` holds some words, in a time that does not grow with the table.

Both engines keep every three letters that stand side by side, with the rows they stand in: SQLite in an FTS5 table beside the
model's own, PostgreSQL in a GIN index of pg_trgm. The engine keeps them in step itself, whoever writes. A model with
`is_searched = True` gets one after every `migrate`, as history gets its guards (SQLite loses triggers where a migration
rebuilds a table). All that one engine does otherwise than the other is in this file; without an index nothing is found
otherwise, only later.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isqrt
from typing import Any

from django.apps import apps
from django.db import DatabaseError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model, QuerySet

FEWEST_LETTERS = 3
PAGE = 25
FEWEST_LOOKED_UP = 1000
SURELY_MANY = (
    4  # PostgreSQL's guess at the number of hits is off by less, with the statistics it keeps by itself
)
ON_SQLITE = {
    "ai": "AFTER INSERT ON {table} BEGIN INSERT INTO {index}(rowid, search_text) VALUES (new.{pk}, new.search_text); END",
    "ad": "AFTER DELETE ON {table} BEGIN "
    "INSERT INTO {index}({index}, rowid, search_text) VALUES ('delete', old.{pk}, old.search_text); END",
    "au": "AFTER UPDATE OF search_text ON {table} WHEN old.search_text IS NOT new.search_text BEGIN "
    "INSERT INTO {index}({index}, rowid, search_text) VALUES ('delete', old.{pk}, old.search_text); "
    "INSERT INTO {index}(rowid, search_text) VALUES (new.{pk}, new.search_text); END",
}


def searched_models() -> Iterator[type[Model]]:
    """Yield the models that have an index of their words."""
    return (model for model in apps.get_models() if getattr(model, "is_searched", False))


def install(connection: BaseDatabaseWrapper) -> None:
    """Make every index that is missing, and fill it."""
    tables = set(connection.introspection.table_names())
    for model in searched_models():
        if model._meta.db_table not in tables:
            continue
        if connection.vendor == "sqlite":
            _install_on_sqlite(connection, model)
        else:
            _install_on_postgresql(connection, model)


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take every index away, before very many rows are written."""
    with connection.cursor() as cursor:
        for model in searched_models():
            if connection.vendor == "sqlite":
                for act in ON_SQLITE:
                    cursor.execute(f"DROP TRIGGER IF EXISTS {_index(model)}_{act}")
                cursor.execute(f"DROP TABLE IF EXISTS {_index(model)}")
            else:
                cursor.execute(f"DROP INDEX IF EXISTS {_index(model)}")


@dataclass(frozen=True)
class Holding:
    """Rows that hold some words. Few are counted and sorted at once; of many, a page is met soon and the count is not."""

    rows: QuerySet[Any]
    are_few: bool


def holding(queryset: QuerySet[Any], words: Sequence[str]) -> Holding:
    """Keep the rows whose search text holds every word (normalised).

    Where few rows do, they are looked up by number first; where many do, walking along the order meets some soon.
    """
    long = [word for word in words if len(word) >= FEWEST_LETTERS]
    found = _found(queryset, long)
    if found is not None:
        queryset, words = queryset.filter(pk__in=found), [word for word in words if word not in long]
    for word in words:
        queryset = queryset.filter(search_text__contains=word)
    return Holding(queryset, found is not None)


def _found(queryset: QuerySet[Any], words: Sequence[str]) -> list[Any] | None:
    """Return the keys of the rows that hold these words, or None where that is no help: for more than a few thousand."""
    model, connection = queryset.model, connections[queryset.db]
    if not words or not getattr(model, "is_searched", False):
        return None
    look = _found_on_sqlite if connection.vendor == "sqlite" else _found_on_postgresql
    try:
        most = most_hits(queryset)
        found = look(connection, model, words, most + 1)
    except DatabaseError:  # the index is gone until the next migrate
        return None
    return None if len(found) > most else found


def most_hits(queryset: QuerySet[Any]) -> int:
    """Return how many hits are better looked up one by one and sorted.

    Of n rows h fit: looking them up reads h rows, walking along the order until a page is full reads 25 n/h.
    """
    newest = (
        queryset.model._default_manager.using(queryset.db)
        .order_by("-pk")
        .values_list("pk", flat=True)
        .first()
    )
    return max(isqrt(PAGE * (newest or 0)), FEWEST_LOOKED_UP)


def _index(model: type[Model]) -> str:
    return f"{model._meta.db_table}_words"


# ---------------------------------------------------------------- SQLite


def _install_on_sqlite(connection: BaseDatabaseWrapper, model: type[Model]) -> None:
    names = {"table": model._meta.db_table, "index": _index(model), "pk": model._meta.pk.column}
    wanted = {
        f"{names['index']}_{act}": f"CREATE TRIGGER {names['index']}_{act} {body.format(**names)}"
        for act, body in ON_SQLITE.items()
    }
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        there = dict(cursor.fetchall())
        if all(there.get(name) == statement for name, statement in wanted.items()):
            return
        # what was written while a trigger was away is not in the index: it is made anew
        with transaction.atomic(connection.alias):
            for name, statement in wanted.items():
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
                cursor.execute(statement)
            cursor.execute("DROP TABLE IF EXISTS {index}".format(**names))
            cursor.execute(
                "CREATE VIRTUAL TABLE {index} USING fts5(search_text, content='{table}', content_rowid='{pk}',"
                " tokenize='trigram case_sensitive 1')".format(**names)
            )
            cursor.execute("INSERT INTO {index}({index}) VALUES ('rebuild')".format(**names))  # noqa: S608  # our own names


def _found_on_sqlite(
    connection: BaseDatabaseWrapper, model: type[Model], words: Sequence[str], most: int
) -> list[Any]:
    index, phrases = _index(model), " AND ".join('"' + word.replace('"', '""') + '"' for word in words)
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT rowid FROM {index} WHERE {index} MATCH %s LIMIT {most}",  # noqa: S608  # our own names
            [phrases],
        )
        return [row for (row,) in cursor.fetchall()]


# ---------------------------------------------------------------- PostgreSQL


def _install_on_postgresql(connection: BaseDatabaseWrapper, model: type[Model]) -> None:
    table, index = model._meta.db_table, _index(model)
    try:
        with transaction.atomic(connection.alias), connection.cursor() as cursor:
            cursor.execute("CREATE EXTENSION IF NOT EXISTS pg_trgm")
            cursor.execute(
                f"CREATE INDEX IF NOT EXISTS {index} ON {table} USING gin (search_text gin_trgm_ops)"
            )
    except DatabaseError:  # no right to it, or not installed on the server
        return


def _found_on_postgresql(
    connection: BaseDatabaseWrapper, model: type[Model], words: Sequence[str], most: int
) -> list[Any]:
    rows = model._default_manager.using(connection.alias).order_by()
    for word in words:
        rows = rows.filter(search_text__contains=word)
    # it gathers all hits before it gives the first; where it expects very many it need not begin
    expected = json.loads(rows.values("pk").explain(format="json"))[0]["Plan"]["Plan Rows"]
    if expected > SURELY_MANY * most:
        return [None] * most
    return list(rows.values_list("pk", flat=True)[:most])
