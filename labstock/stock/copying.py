"""Copy a whole database as of one moment, and load such a copy: SQLite by its own backup, PostgreSQL table by table.

PostgreSQL's tables are written with COPY as plain CSV inside one snapshot. No outside program has to be there or to match the
server's version (pg_dump must), and the files can be read by anything, for ever.
"""

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Model
from django.db.utils import load_backend

from labstock.chemistry.errors import LabError
from labstock.stock import guards

PAGES_AT_ONCE, BYTES_AT_ONCE = 4096, 1 << 20
Steps = Callable[[int, int], None]


def copy_sqlite(source: Path, target: Path, progress: Steps) -> None:
    """Copy a SQLite database that people go on writing to, as it was at one moment.

    SQLite starts its copying anew whenever somebody writes, unless the connection is inside a reading transaction:
    then it copies what that transaction sees, and nobody waits.
    """
    with (
        closing(sqlite3.connect(source, isolation_level=None)) as live,
        closing(sqlite3.connect(target, isolation_level=None)) as copy,
    ):
        live.execute("BEGIN")
        live.execute("SELECT 1 FROM sqlite_master").fetchone()
        live.backup(copy, pages=PAGES_AT_ONCE, progress=lambda _, left, total: progress(total - left, total))
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
        _check_sqlite(copy, target)


def _check_sqlite(copy: sqlite3.Connection, path: Path) -> None:
    """Let SQLite read every page of a copy."""
    said = copy.execute("PRAGMA integrity_check").fetchone()[0]
    lost = copy.execute("PRAGMA foreign_key_check").fetchone()
    if said != "ok" or lost is not None:
        raise LabError(
            "copy-broken",
            "The copy {path} is not sound ({said}): the disk may be failing. Try another folder.",
            path=path,
            said=said if said != "ok" else f"a row of {lost[0]} points at nothing",
        )


@contextmanager
def opened(alias: str, **about: Any) -> Iterator[str]:
    """Let the site's models read and write another database for a while, under the name it is given."""
    database = {**connections[DEFAULT_DB_ALIAS].settings_dict, **about}
    connections[alias] = load_backend(database["ENGINE"]).DatabaseWrapper(database, alias)
    try:
        yield alias
    finally:
        connections[alias].close()
        del connections[alias]


@contextmanager
def opened_copy(path: Path) -> Iterator[str]:
    """Open a copied SQLite file as it lies, without turning its journal on."""
    about = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(path), "OPTIONS": {}, "CONN_MAX_AGE": 0}
    with opened("copy", **about) as using:
        yield using


def tables_of(using: str) -> list[str]:
    """Return every table of the site that there is, and the list of migrations."""
    connection = connections[using]
    names = connection.introspection.django_table_names(only_existing=True, include_views=False)
    return sorted({*names, MigrationRecorder.Migration._meta.db_table})


def copy_tables(using: str, folder: Path, progress: Steps) -> None:
    """Write every table into a CSV file, as the surrounding transaction sees them."""
    folder.mkdir()
    names = tables_of(using)
    with connections[using].cursor() as cursor:
        for number, name in enumerate(names, 1):
            sql = f'COPY (SELECT * FROM "{name}") TO STDOUT (FORMAT csv, HEADER)'  # noqa: S608  # our own names
            with (folder / f"{name}.csv").open("wb") as file, cursor.copy(sql) as rows:
                for block in rows:
                    file.write(block)
            progress(number, len(names))


def load_tables(using: str, folder: Path, progress: Steps) -> None:
    """Fill the tables of an empty database from such files, all of them or none."""
    connection = connections[using]
    names = tables_of(using)
    files = sorted(folder.glob("*.csv"))
    if foreign := [file.stem for file in files if file.stem not in names]:
        raise LabError(
            "unknown-table",
            "The backup holds a table '{table}' that this version does not know: use the version it was made with.",
            table=foreign[0],
        )
    guards.remove(connection)
    with transaction.atomic(using), connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {_quoted(names)}")
        for number, file in enumerate(files, 1):
            _load(cursor, file)
            progress(number, len(files))
        models: list[type[Model]] = [*apps.get_models(include_auto_created=True), MigrationRecorder.Migration]
        filled = [model for model in models if model._meta.db_table in names]
        for statement in connection.ops.sequence_reset_sql(no_style(), filled):
            cursor.execute(statement)


def _load(cursor: Any, path: Path) -> None:
    with path.open("rb") as file:
        columns = _quoted(file.readline().decode().strip().replace('"', "").split(","))
        with cursor.copy(f'COPY "{path.stem}" ({columns}) FROM STDIN (FORMAT csv)') as rows:
            while block := file.read(BYTES_AT_ONCE):
                rows.write(block)


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
