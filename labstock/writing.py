"""One door for every change: wait fairly for the write lock, then open a transaction.

SQLite lets one connection write at a time. Its own waiting sleeps in growing steps and is unfair: the
slowest one in a hundred waits a second. A lock taken *before* BEGIN queues writers in the order they came
(threads by a lock, processes by flock on a file beside the database). PostgreSQL needs none of this.
"""

import fcntl
import threading
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path

from django.db import connection, transaction

_turn = threading.Lock()


@contextmanager
def writing() -> Iterator[None]:
    """Run a block as one transaction that may change rows; nested blocks join the outer one."""
    if connection.vendor != "sqlite" or connection.in_atomic_block or _is_in_memory():
        queue: object = nullcontext()
    else:
        queue = _one_at_a_time(Path(str(connection.settings_dict["NAME"]) + ".turn"))
    with queue, transaction.atomic():  # type: ignore[attr-defined]
        yield


def _is_in_memory() -> bool:
    name = str(connection.settings_dict["NAME"])
    return name == ":memory:" or "mode=memory" in name


@contextmanager
def _one_at_a_time(path: Path) -> Iterator[None]:
    with _turn, path.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
