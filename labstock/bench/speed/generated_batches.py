"""Batches for the generated lab: two lines of plan and two draws each, four in five of them finished and sealed."""

from datetime import timedelta

from django.db.models import Max
from tqdm import tqdm

from batches.digests import digest
from batches.models import Batch, BatchInput, BatchLine, BatchState, LineRole
from labstock.bench.speed.made_rows import ENTRIES_EACH
from labstock.stock.models import Entry, Kind

AT_ONCE = 500
LINES = 2
ONE_OPEN_IN = 5


def make_batches(many: int, *, quiet: bool = False) -> None:
    """Make so many batches out of draws that were recorded for no session."""
    last = Entry.objects.aggregate(last=Max("pk"))["last"] or 0
    apart = last // ENTRIES_EACH // max(many, 1) * ENTRIES_EACH
    with tqdm(total=many, unit=" batches", disable=quiet) as bar:
        for start in range(0, many, AT_ONCE):
            part = range(start, min(start + AT_ONCE, many))
            # the last lines of two neighbouring containers
            wanted = {n: [(n + 1) * apart, (n + 1) * apart - ENTRIES_EACH] for n in part}
            entries = (
                Entry.objects.filter(kind=Kind.DRAWN)
                .select_related("container__substance")
                .in_bulk([pk for pks in wanted.values() for pk in pks])
            )
            _make({n: [entries[pk] for pk in pks if pk in entries] for n, pks in wanted.items()})
            bar.update(len(part))


def _make(draws: dict[int, list[Entry]]) -> None:
    batches = [
        Batch(
            number=f"G{n:06d}", title=f"Generated preparation {n % 40}", owner_id=entries[0].by_id,
            state=BatchState.RUNNING, planned_at=entries[0].recorded_at - timedelta(hours=1),
            started_at=entries[0].recorded_at, key=None,
        )
        for n, entries in draws.items()
        if entries
    ]  # fmt: skip
    Batch.objects.bulk_create(batches)
    drawn = [entries for entries in draws.values() if entries]
    lines = [
        BatchLine(
            batch=batch, position=position, role=LineRole.REACTANT, substance=entry.container.substance,
            name=str(entry.container.substance), dispense=1.0, dispense_unit="mL",
        )
        for batch, entries in zip(batches, drawn, strict=True)
        for position, entry in enumerate(entries, 1)
    ]  # fmt: skip
    BatchLine.objects.bulk_create(lines)
    inputs = [
        BatchInput(batch=line.batch, line=line, entry=entry, fraction=0.98)
        for line, entry in zip(lines, (entry for entries in drawn for entry in entries), strict=True)
    ]
    for row in inputs:
        row.seal = row.digest()
    BatchInput.objects.bulk_create(inputs)
    _finish(batches)


def _finish(batches: list[Batch]) -> None:
    finished = [batch for n, batch in enumerate(batches) if n % ONE_OPEN_IN]
    for batch in finished:
        batch.state, batch.finished_at = BatchState.FINISHED, batch.started_at
        batch.digest = digest(batch)
    Batch.objects.bulk_update(finished, ["state", "finished_at", "digest"], batch_size=100)
