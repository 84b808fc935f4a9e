"""Read many rows as they were at one moment, with no line in the making, while people go on working."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, transaction


@contextmanager
def one_moment(using: str = DEFAULT_DB_ALIAS) -> Iterator[None]:
    """Let every query in the block see the same moment; inside a transaction or another such block, what that sees."""
    connection = connections[using]
    if connection.in_atomic_block or _sees_one_already(connection):
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("BEGIN")  # deferred: it reads without keeping writers waiting
            try:
                cursor.execute("SELECT 1 FROM sqlite_master")  # from here on the block sees this moment
                yield
            finally:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic(using):
            _see_finished_lines_only(using)
            yield


def _sees_one_already(connection: Any) -> bool:
    """Say whether such a block is open; on PostgreSQL it is an atomic block."""
    opened = connection.connection if connection.vendor == "sqlite" else None
    return opened is not None and bool(opened.in_transaction)


def _see_finished_lines_only(using: str) -> None:
    """Take PostgreSQL's snapshot at an instant when nobody is between writing a line and its commit.

    Row numbers are given out before the commit, so a plain snapshot may hold line 101 and not yet line 100. The
    lock waits for those who write and is let go again, by the savepoint, as soon as the snapshot is taken.
    """
    with connections[using].cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        before = transaction.savepoint(using)
        cursor.execute("LOCK TABLE stock_entry IN SHARE MODE")
        cursor.execute("SELECT 1")
        transaction.savepoint_rollback(before, using)
