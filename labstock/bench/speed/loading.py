"""Many rows into a table at once: columns and values as the models have them, COPY on PostgreSQL, executemany on SQLite."""

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any

from django.core.management.color import no_style
from django.db import connection
from django.db.models import Field, Model

Values = tuple[Any, ...]
Write = Callable[[Any], Any]

# these go to the driver as they are; the others are asked how they are kept
AS_THEY_ARE = (
    "CharField",
    "TextField",
    "IntegerField",
    "FloatField",
    "BooleanField",
    "ForeignKey",
    "OneToOne",
    "Auto",
)


def row_writer(model: type[Model]) -> Callable[[Model], Values]:
    """Return a function that takes what a row's columns hold out of an instance, as the database keeps it."""
    fields = model._meta.concrete_fields
    names = [field.attname for field in fields]
    kept = [(n, _writer(field)) for n, field in enumerate(fields) if not _goes_as_it_is(field)]

    def values(row: Model) -> Values:
        found = [row.__dict__[name] for name in names]
        for n, write in kept:
            found[n] = write(found[n])
        return tuple(found)

    return values


def _goes_as_it_is(field: "Field[Any, Any]") -> bool:
    return any(name in field.get_internal_type() for name in AS_THEY_ARE)


def _writer(field: "Field[Any, Any]") -> Write:
    if field.get_internal_type() == "JSONField":
        return lambda value: field.get_db_prep_save(value, connection)
    return lru_cache(maxsize=16)(lambda value: field.get_db_prep_save(value, connection))


def load(model: type[Model], rows: Sequence[Values]) -> None:
    """Write rows made by `row_writer`."""
    if not rows:
        return
    quote = connection.ops.quote_name
    table = quote(model._meta.db_table)
    columns = ", ".join(quote(str(field.column)) for field in model._meta.concrete_fields)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            places = ", ".join(["%s"] * len(model._meta.concrete_fields))
            cursor.executemany(f"INSERT INTO {table} ({columns}) VALUES ({places})", rows)  # noqa: S608  # our own names


def count_on(models: Iterable[type[Model]]) -> None:
    """Let the next row of each table get a number after those that were written with theirs."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)
