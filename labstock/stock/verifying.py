"""Is the ledger whole? Recompute every sum, seal and chain and name what is broken, the first thing first."""

from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any

from django.apps import apps
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import QuerySet

from labstock.stock import guards, verifying_parts
from labstock.stock.codes import show_code
from labstock.stock.heads import Walk
from labstock.stock.models import Container, Entry, ReservationEvent, State, StateChange
from labstock.stock.models.facts import IDENTITY, STANDING, plain, read
from labstock.stock.models.sealed import Sealed
from labstock.stock.verifying_counts import wrong_counts
from labstock.stock.verifying_holds import wrong_holds

Progress = Callable[[int], object]
AT_ONCE = 5000  # containers that a process checks in one go


@dataclass(frozen=True)
class Fault:
    """One broken thing: where it is and what is wrong."""

    where: str
    what: str

    def __str__(self) -> str:
        # plain spaces: this is read in a terminal and searched for
        return f"{self.where}{': ' if self.where else ''}{self.what}".replace("\u00a0", " ")


# Apps above the stock add what they know how to check: each takes a database's name and yields faults.
CHECKS: list[Callable[[str], Iterator[Fault]]] = []
# They also say what else a number on a print-out may be: each takes the first digits and returns a sentence, or nothing.
CONFIRMS: list[Callable[[str], str]] = []


def find_faults(
    progress: Progress = lambda lines: None, using: str = DEFAULT_DB_ALIAS, workers: int = 1
) -> Generator[Fault, None, None]:
    """Yield every fault: the guards, the ledgers container by container and line by line, then all that hangs on them."""
    for guard in guards.missing(connections[using]):
        yield Fault("", f"the database no longer protects the history: trigger {guard} is gone (run migrate)")
    yield from check_in_parts(progress, using, workers) if workers > 1 else check_containers(progress, using)
    for where, what in wrong_holds(using):
        yield Fault(where, what)
    for model in sealed_models():
        yield from _check_seals(model, using)
    for where, what in wrong_counts(using):
        yield Fault(where, what)
    for check in CHECKS:
        yield from check(using)


def wrong_heads(walk: Walk, using: str = DEFAULT_DB_ALIAS) -> Generator[Fault, None, None]:
    """Walk through all lines in the order they were written and yield each kept head that they do not lead to."""
    for row in walk.misfits(using):
        yield Fault(
            f"head kept after row {row}", "the lines up to it lead to another: one was taken out or put in"
        )


def line_of(code: str, seq: int) -> str:
    """Say which line of which container."""
    return f"{show_code(code)}, line {seq}"


def check_in_parts(progress: Progress, using: str, workers: int) -> Iterator[Fault]:
    """Let several processes check the containers, some thousand at a time, and yield what they find in order."""
    starts: list[int] = []
    pks = Container.objects.using(using).order_by("pk").values_list("pk", flat=True)
    while start := pks.filter(pk__gt=starts[-1] if starts else 0)[AT_ONCE : AT_ONCE + 1].first():
        starts.append(start)
    parts = list(pairwise((None, *starts, None)))
    for faults, lines in verifying_parts.checked(connections[using], parts, workers):
        progress(lines)
        yield from (Fault(*fault) for fault in faults)


def check_containers(
    progress: Progress, using: str, first: int | None = None, before: int | None = None
) -> Iterator[Fault]:
    """Walk containers and lines side by side, so that a million of them need no memory.

    Bounds are row numbers of containers: from `first` on, up to that `before` which it ends.
    """

    def part(rows: QuerySet[Any], name: str) -> QuerySet[Any]:
        bounds = {f"{name}__gte": first, f"{name}__lt": before}
        return rows.filter(**{bound: value for bound, value in bounds.items() if value is not None})

    entries = part(Entry.objects.using(using).order_by("container_id", "seq"), "container_id")
    ledgers = groupby(entries.iterator(chunk_size=5000), key=lambda entry: entry.container_id)
    states = groupby(
        part(StateChange.objects.using(using), "container_id")
        .order_by("container_id", "id")
        .values_list("container_id", "what", "after")
        .iterator(chunk_size=5000),
        key=lambda row: row[0],
    )
    ledger, changes = next(ledgers, None), next(states, None)
    containers = part(Container.objects.using(using).order_by("pk"), "pk").defer("search_text")
    for container in containers.iterator(chunk_size=2000):
        while ledger and ledger[0] < container.pk:
            yield _without_container(ledger)
            ledger = next(ledgers, None)
        if ledger and ledger[0] == container.pk:
            yield from _check_ledger(container, ledger[1], progress)
            ledger = next(ledgers, None)
        else:
            yield Fault(show_code(container.code), "its ledger is gone: not one line is left")
        while changes and changes[0] < container.pk:
            changes = next(states, None)
        rows = changes[1] if changes and changes[0] == container.pk else iter(())
        yield from _check_state(container, rows)
    while ledger:
        yield _without_container(ledger)
        ledger = next(ledgers, None)


def _without_container(ledger: tuple[int, Iterator[Entry]]) -> Fault:
    pk, lines = ledger
    facts = read(next(lines).about)
    code = facts.get("code")
    return Fault(
        line_of(code, 1) if isinstance(code, str) else f"container row {pk}", "its container is gone"
    )


def _check_ledger(container: Container, lines: Iterator[Entry], progress: Progress) -> Iterator[Fault]:
    total, received, seq, head, count = 0, 0, 0, "", 0
    facts: dict[str, tuple[int, Any]] = {}
    for line in lines:
        count += 1
        seq += 1
        total += line.change
        if line.seq != seq:
            yield Fault(line_of(container.code, seq), f"missing: the next line found is {line.seq}")
            seq = line.seq
        for what in _wrong_with(line, head, total):
            yield Fault(line_of(container.code, line.seq), what)
        facts |= {name: (line.seq, value) for name, value in read(line.about).items()}
        received = line.change if line.seq == 1 else received
        head = line.hash
    progress(count)
    for number, what in _wrong_with_container(container, total, received, seq, head, facts):
        yield Fault(line_of(container.code, number), what)


def _wrong_with(line: Entry, head: str, total: int) -> Iterator[str]:
    if line.previous_hash != head:
        yield "does not follow from the line before it"
    if line.digest() != line.hash:
        yield "was changed after it was written"
    if line.after != total:
        yield f"says {line.after / 1e6:g} is left, the sum is {total / 1e6:g}"


def _wrong_with_container(
    container: Container, total: int, received: int, seq: int, head: str, facts: dict[str, tuple[int, Any]]
) -> Iterator[tuple[int, str]]:
    if container.last_hash != head or container.last_seq != seq:
        yield container.last_seq, "the container points at another last line"
    for name, value, said in (
        ("remaining", total, "its lines add up to"),
        ("received", received, "line 1 says"),
    ):
        if (stands := getattr(container, name)) != value:
            yield seq, f"the container says {name} {stands / 1e6:.13g}, {said} {value / 1e6:.13g}"
    for name in IDENTITY + STANDING:
        number, value = facts.get(name, (1, "nothing"))
        stands = plain(getattr(container, name))
        if stands != value:
            yield number, f"says {name.removesuffix('_id')} {value}, the container says {stands}"


def _check_state(container: Container, changes: Iterator[tuple[int, str, str]]) -> Iterator[Fault]:
    state: str = State.IN_USE
    for _, what, after in changes:
        if what == "state":
            state = after
        elif state == State.NOT_SEEN:  # it was found where it was moved to
            state = State.IN_USE
    if container.state != state:
        yield Fault(show_code(container.code), f"is {container.state}, its history ends with {state}")


def sealed_models() -> list[type[Sealed]]:
    """Return the sealed tables of all apps; a reservation's history is checked with its reservation."""
    return [
        model
        for model in apps.get_models()
        if issubclass(model, Sealed) and not issubclass(model, ReservationEvent)
    ]


def _check_seals(model: type[Sealed], using: str) -> Iterator[Fault]:
    """Yield each row that is not as it was written; what is about a container is named by its code."""
    fields = {field.name for field in model._meta.concrete_fields}
    owner = next((name for name in ("container", "child") if name in fields), "")
    rows = model._default_manager.using(using).order_by("pk")
    for row in (rows.select_related(owner) if owner else rows).iterator(chunk_size=2000):
        if row.seal != row.digest():
            code = f"{show_code(getattr(row, owner).code)}, " if owner else ""
            yield Fault(f"{code}{model._meta.verbose_name} {row.pk}", "was changed after it was written")
