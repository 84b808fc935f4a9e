"""The head of the whole ledger: one hash in which every line ever written is folded, printed on every report.

Lines are folded in the order in which they were written: head = SHA-256(head before + hash of the line). A head on an old
print-out is therefore the head after one certain line, and `manage.py verify --head` finds which.
"""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db import DEFAULT_DB_ALIAS, DatabaseError

from labstock.stock.models import Entry, KeptHead
from labstock.stock.snapshot import one_moment
from labstock.writing import writing

NOTHING_YET = hashlib.sha256(b"").hexdigest()
KEEP_EVERY = 1000


def folded(head: str, lines: Iterable[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    """Yield the head after each line (row number, hash), beginning from the head before them."""
    for row, digest in lines:
        head = hashlib.sha256(f"{head}{digest}".encode()).hexdigest()
        yield row, head


def lines_after(row: int, using: str = DEFAULT_DB_ALIAS) -> Iterator[tuple[int, str]]:
    """Yield row number and hash of every line after a row, in the order they were written."""
    lines = Entry.objects.using(using).filter(pk__gt=row).order_by("pk").values_list("pk", "hash")
    return lines.iterator(chunk_size=5000)


@dataclass(frozen=True)
class Head:
    """A head [64 hex digits], the row it was folded up to, and how many lines lie between it and the kept head before."""

    row: int
    head: str
    lines: int

    def keep_now_and_then(self) -> None:
        """Keep it if the way to it was long, so that the next one is found from here; not inside `one_moment`."""
        if self.lines >= KEEP_EVERY:
            keep(self.row, self.head)


def in_eights(head: str) -> str:
    """Write a head so that it can be read off paper and typed."""
    return " ".join(head[i : i + 8] for i in range(0, len(head), 8))


def head_of_this_moment(using: str = DEFAULT_DB_ALIAS) -> Head:
    """Return the head of the ledger as it stands."""
    with one_moment(using):
        kept = KeptHead.objects.using(using).order_by("-upto").first()
        (row, head), many = (kept.upto, kept.head) if kept else (0, NOTHING_YET), 0
        for row, head in folded(head, lines_after(row, using)):  # noqa: B007, B020  # the last is wanted
            many += 1
    return Head(row, head, many)


def site_head(using: str = DEFAULT_DB_ALIAS) -> str:
    """Return the head of the ledger as it stands [64 hex digits]; a stepping stone is kept now and then."""
    found = head_of_this_moment(using)
    if using == DEFAULT_DB_ALIAS:
        found.keep_now_and_then()
    return found.head


def keep(row: int, head: str) -> None:
    """Keep a head; where nothing can be written the next one is found from further back."""
    try:
        with writing():
            KeptHead.objects.bulk_create([KeptHead(upto=row, head=head)], ignore_conflicts=True)
    except DatabaseError:
        return


@dataclass
class Walk:
    """One walk through all lines: the head at the end, kept heads that do not fit, and where a wanted head stood."""

    wanted: str = ""
    head: str = NOTHING_YET
    lines: int = 0
    last_row: int = 0
    found_row: int = 0
    found_line: int = 0

    def misfits(self, using: str = DEFAULT_DB_ALIAS) -> Iterator[int]:
        """Fold every line and yield the last row of each kept head that the lines do not lead to."""
        kept = dict(KeptHead.objects.using(using).values_list("upto", "head"))
        self._compare(0)
        for self.last_row, self.head in folded(NOTHING_YET, lines_after(0, using)):
            self.lines += 1
            self._compare(self.last_row)
            if kept.pop(self.last_row, self.head) != self.head:
                yield self.last_row
        yield from sorted(kept)  # the line it ended with is not there

    def _compare(self, row: int) -> None:
        if self.wanted and self.head.startswith(self.wanted):
            self.found_row, self.found_line = row, self.lines

    @property
    def is_found(self) -> bool:
        """Say whether the wanted head is one that this ledger had."""
        return self.found_row > 0 or bool(self.wanted and NOTHING_YET.startswith(self.wanted))
