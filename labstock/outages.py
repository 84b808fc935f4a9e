"""When the database cannot be written or reached: a page that says what happened and what to do.

Nothing is half done then: every change is one transaction. Django calls `server_error` for whatever a view or a
middleware raised; what is no outage gets the ordinary page about our own fault.
"""

import errno
import sqlite3
import sys
from collections.abc import Iterator
from dataclasses import dataclass

from django.db import DatabaseError, InterfaceError
from django.http import HttpRequest, HttpResponse
from django.template import loader
from django.views.defaults import server_error as our_fault


@dataclass(frozen=True)
class Outage:
    """One way in which the place where everything is kept fails."""

    status: int
    word: str
    what_to_do: str
    retry_after_seconds: int


FULL = Outage(
    507,
    "The disk is full, so nothing can be written down",
    "Tell whoever looks after the server: room has to be made on the disk that holds the database.",
    600,
)
READ_ONLY = Outage(
    503,
    "The database can be read but not written",
    "Tell whoever looks after the server: the database, or its folder, has become read-only.",
    600,
)
UNREACHABLE = Outage(
    503,
    "The database cannot be reached",
    "Wait a minute; it may be starting again. If it stays away, tell whoever looks after the server.",
    30,
)
BUSY = Outage(
    503,
    "Too many people are writing at once",
    "Wait a few seconds and send it again.",
    5,
)
BROKEN_DISK = Outage(
    503,
    "The disk that holds the database does not answer as it should",
    "Stop recording and tell whoever looks after the server, who runs `manage.py verify` before work goes on.",
    600,
)

OF_SQLITE = {
    sqlite3.SQLITE_FULL: FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_CANTOPEN: UNREACHABLE,
    sqlite3.SQLITE_BUSY: BUSY,
    sqlite3.SQLITE_LOCKED: BUSY,
    sqlite3.SQLITE_PROTOCOL: BUSY,
    sqlite3.SQLITE_IOERR: BROKEN_DISK,
    sqlite3.SQLITE_CORRUPT: BROKEN_DISK,
    sqlite3.SQLITE_NOTADB: BROKEN_DISK,
}
# PostgreSQL's SQLSTATE codes, whole or by their first letters (PostgreSQL documentation, appendix A).
OF_POSTGRES = {
    "53100": FULL,
    "53": BUSY,
    "25006": READ_ONLY,
    "40": BUSY,
    "55P03": BUSY,
    "57014": BUSY,
    "57P": UNREACHABLE,
    "08": UNREACHABLE,
    "58030": BROKEN_DISK,
    "XX001": BROKEN_DISK,
    "XX002": BROKEN_DISK,
}
OF_FILES = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EFBIG: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: READ_ONLY,
    errno.EPERM: READ_ONLY,
    errno.EIO: BROKEN_DISK,
}


def find_outage(error: BaseException | None) -> Outage | None:
    """Return which outage an exception tells of, or None for what is none."""
    for cause in _causes(error):
        if isinstance(cause, sqlite3.Error):
            code = getattr(cause, "sqlite_errorcode", None)
            return None if code is None else OF_SQLITE.get(code & 0xFF)
        if hasattr(cause, "sqlstate"):
            return _of_postgres(cause)
        if isinstance(cause, OSError) and cause.errno in OF_FILES:
            return OF_FILES[cause.errno]
        if isinstance(cause, InterfaceError) and cause.__cause__ is None:
            return UNREACHABLE
    return None


def _of_postgres(cause: BaseException) -> Outage | None:
    """Read an SQLSTATE; an operational error without one means that no server spoke."""
    state = getattr(cause, "sqlstate", None)
    if state is None:
        kinds = {kind.__name__ for kind in type(cause).__mro__}
        return UNREACHABLE if kinds & {"OperationalError", "InterfaceError"} else None
    return next((OF_POSTGRES[state[:n]] for n in (5, 3, 2) if state[:n] in OF_POSTGRES), None)


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    """Yield the driver's error behind Django's, deepest first, then Django's own."""
    if error is None:
        return
    if isinstance(error, DatabaseError | InterfaceError) and error.__cause__ is not None:
        yield from _causes(error.__cause__)
    yield error


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer an outage with its page, everything else with the page about our own fault."""
    outage = find_outage(sys.exc_info()[1])
    if outage is None:
        return our_fault(request)
    # without the request: asking who is there would ask the database again
    page = loader.get_template("503.html").render(
        {"outage": outage, "was_sent": request.method not in ("GET", "HEAD")}
    )
    return HttpResponse(page, status=outage.status, headers={"Retry-After": str(outage.retry_after_seconds)})
