"""Places a database should not lie in: a disk that is full, a folder nobody may write in, nowhere at all."""

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from django.db import connection

LIMITED = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (600_000, 600_000)); "
QUERIES_ONLY = (
    "from django.conf import settings; "
    "settings.DATABASES['default']['OPTIONS']['init_command'] += 'PRAGMA query_only=ON;'; "
)
LEAVE_FILES = "import os, sqlite3, sys; c = sqlite3.connect(sys.argv[1]); c.execute('SELECT 1 FROM django_session'); os._exit(0)"
# room for eight lines, then none: what PostgreSQL says on a full disk
FILLS_UP = """
CREATE FUNCTION fills_up() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
  IF (SELECT count(*) FROM stock_entry) > 8 THEN
    RAISE EXCEPTION 'could not extend file: No space left on device' USING ERRCODE = '53100';
  END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER fills_up BEFORE INSERT ON stock_entry FOR EACH ROW EXECUTE FUNCTION fills_up()
"""


@dataclass
class Place:
    """How a server is started there; what it says when nothing more goes in; how room is made."""

    server: dict[str, Any] = field(default_factory=dict)
    says: tuple[tuple[int, str], ...] = ((507, "The disk is full"),)
    make_room: Callable[[], object] = lambda: None


@contextmanager
def on_a_small_disk() -> Iterator[Place]:
    """Put the database where there is room for little: a small file system, or a limit on the server's files."""
    if connection.vendor == "postgresql":
        with _sql(FILLS_UP, "DROP TRIGGER IF EXISTS fills_up ON stock_entry; DROP FUNCTION fills_up"):
            yield Place(make_room=lambda: _execute("DROP TRIGGER fills_up ON stock_entry"))
        return
    with _a_disk() as (folder, is_mounted), _moved_to(folder / "lab.sqlite3") as path:
        if is_mounted:
            _mount(folder, f"remount,size={path.stat().st_size // 1024 + 500}k")
            yield Place(make_room=lambda: _mount(folder, "remount,size=64m"))
        else:
            # the limit on a file's size is told as a failing disk
            yield Place(
                {"before": LIMITED}, ((503, "does not answer as it should"), (507, "The disk is full"))
            )


@contextmanager
def closed_to_writing() -> Iterator[Place]:
    """Let the server read the database and not write it."""
    if connection.vendor == "postgresql":
        name = connection.ops.quote_name(connection.settings_dict["NAME"])
        setting = f"ALTER DATABASE {name} SET default_transaction_read_only"
        with _sql(f"{setting} = on", f"{setting} = off"):
            yield Place()
        return
    with _a_disk() as (folder, is_mounted), _moved_to(folder / "lab.sqlite3") as path:
        connection.close()
        # as a server that was cut off leaves them: without these two files a read-only one cannot even be read
        subprocess.run([sys.executable, "-c", LEAVE_FILES, str(path)], check=True)
        if is_mounted:
            _mount(folder, "remount,ro")
            yield Place()
            connection.close()
            _mount(folder, "remount,rw")
        elif os.geteuid() == 0:
            yield Place({"before": QUERIES_ONLY})
        else:
            _chmod(folder, 0o555, 0o444)
            yield Place()
            connection.close()
            _chmod(folder, 0o755, 0o644)


def nowhere() -> str:
    """Return the address of a database that is not there."""
    if connection.vendor == "postgresql":
        return "postgres://postgres@127.0.0.1:9/labstock"
    return "sqlite:////no-such-folder/lab.sqlite3"


@contextmanager
def _moved_to(path: Path) -> Iterator[Path]:
    """Copy the test's database and live in the copy for a while."""
    own = connection.settings_dict["NAME"]
    connection.ensure_connection()
    with sqlite3.connect(path) as copy:
        connection.connection.backup(copy)
    copy.close()
    connection.close()
    connection.settings_dict["NAME"] = str(path)
    try:
        yield path
    finally:
        connection.close()
        connection.settings_dict["NAME"] = own


@contextmanager
def _a_disk() -> Iterator[tuple[Path, bool]]:
    """Yield a folder, and whether it is a file system of its own (which only root may make)."""
    with tempfile.TemporaryDirectory(prefix="disk-") as name:
        folder = Path(name)
        is_mounted = os.geteuid() == 0 and _mount(folder, "size=64m", "-t", "tmpfs", "tmpfs")
        try:
            yield folder, is_mounted
        finally:
            if is_mounted:
                subprocess.run(["umount", "--lazy", str(folder)], check=True)


def _mount(folder: Path, options: str, *what: str) -> bool:
    with suppress(OSError):
        done = subprocess.run(["mount", "-o", options, *what, str(folder)], capture_output=True, check=False)
        return done.returncode == 0
    return False


def _chmod(folder: Path, of_folder: int, of_files: int) -> None:
    folder.chmod(0o755)
    for file in folder.iterdir():
        file.chmod(of_files)
    folder.chmod(of_folder)


def _execute(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


@contextmanager
def _sql(before: str, after: str) -> Iterator[None]:
    _execute(before)
    try:
        yield
    finally:
        _execute(after)
