"""One door for every change: wait fairly for the write lock, then open a transaction.

SQLite lets one connection write at a time. Its own waiting sleeps in growing steps and is unfair: the
slowest one in a hundred waits a second. A lock taken *before* BEGIN queues writers in the order they came
(threads by a queue, processes by flock on a file beside the database). PostgreSQL needs none of this.
"""

import fcntl
import threading
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from types import TracebackType

from django.db import connection, transaction


class Turn:
    """A lock that is handed on in the order in which it was asked for.

    Python's own lock goes to whoever grabs it first, and that is often the thread that has just let it go.
    """

    def __init__(self) -> None:
        self._door = threading.Lock()
        self._is_taken = False
        self._waiting: deque[threading.Lock] = deque()

    def __enter__(self) -> None:
        with self._door:
            if not self._is_taken:
                self._is_taken = True
                return
            mine = threading.Lock()
            mine.acquire()
            self._waiting.append(mine)
        mine.acquire()  # opened by the one before, who leaves the turn taken

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._door:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._is_taken = False


_turn = Turn()


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
