"""Is the ledger whole? Recompute every sum and every chain and name the first thing that is broken."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby

from django.db import connection

from labstock.stock import guards
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry


@dataclass(frozen=True)
class Fault:
    """One broken thing: which container, which line, what is wrong."""

    code: str
    seq: int
    what: str

    def __str__(self) -> str:
        if not self.code:
            return self.what
        # plain spaces: this is read in a terminal and searched for
        return f"{show_code(self.code)}, line {self.seq}: {self.what}".replace("\u00a0", " ")


Progress = Callable[[int], None]


def find_faults(progress: Progress = lambda lines: None) -> Iterator[Fault]:
    """Yield every fault, container by container, line by line."""
    for guard in guards.missing(connection):
        yield Fault(
            "", 0, f"the database no longer protects the history: trigger {guard} is gone (run migrate)"
        )
    containers = {container.pk: container for container in Container.objects.iterator()}
    entries = Entry.objects.order_by("container_id", "seq").iterator(chunk_size=5000)
    for pk, lines in groupby(entries, key=lambda entry: entry.container_id):
        yield from _check_chain(containers.pop(pk), lines, progress)
    for container in containers.values():
        if container.remaining or container.last_seq or container.last_hash:
            yield Fault(container.code, container.last_seq, "its ledger is gone")


def _check_chain(container: Container, lines: Iterator[Entry], progress: Progress) -> Iterator[Fault]:
    total, seq, head, count = 0, 0, "", 0
    for line in lines:
        count += 1
        seq += 1
        total += line.change
        if line.seq != seq:
            yield Fault(container.code, seq, f"missing: the next line found is {line.seq}")
            seq = line.seq
        if line.previous_hash != head:
            yield Fault(container.code, line.seq, "does not follow from the line before it")
        if line.digest() != line.hash:
            yield Fault(container.code, line.seq, "was changed after it was written")
        if line.after != total:
            yield Fault(
                container.code, line.seq, f"says {line.after / 1e6:g} is left, the sum is {total / 1e6:g}"
            )
        head = line.hash
    progress(count)
    if container.last_hash != head or container.last_seq != seq:
        yield Fault(container.code, container.last_seq, "the container points at another last line")
    if container.remaining != total:
        yield Fault(
            container.code,
            seq,
            f"the container says {container.remaining / 1e6:g}, its lines add up to {total / 1e6:g}",
        )
