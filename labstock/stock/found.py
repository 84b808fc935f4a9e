"""What a weighing or a count found: the whole difference behind its line, and what of the book it left standing."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from math import hypot, prod
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery

from labstock.chemistry.remaining import RECEIPT, Band
from labstock.chemistry.tolerance import Difference, difference_of
from labstock.stock.models import Container, Entry, Kind
from labstock.stock.models.container import MILLION
from labstock.stock.models.facts import read

MEASURED = (Kind.WEIGHED_BACK, Kind.COUNTED)


@dataclass(frozen=True)
class Found:
    """A weighing or a count, the whole difference behind it, and what was expected to evaporate until then [unit]."""

    entry: Entry
    difference: Difference
    drift: float


def band_said(stored: dict[str, Any] | str | None) -> Band:
    """Return the doubt as a container keeps it, or as a line says it."""
    return Band.from_json(read(stored or "").get("band") if isinstance(stored, str | None) else stored)


def differences_found(weighings: QuerySet[Entry], until: datetime | None = None) -> list[Found]:
    """Return the difference behind each weighing, oldest first, with the doubt of the book just before.

    What was reversed since is no difference any more: the weighing had only found out that the line was wrong.
    """
    before = Entry.objects.filter(container=OuterRef("container"), seq=OuterRef("seq") - 1)
    rows = weighings.annotate(before=Subquery(before.values("about")[:1])).select_related(
        "container__substance", "container__lot"
    )
    found = [found_by(row, band_said(row.before)) for row in reversed(rows)]
    reversals = Entry.objects.filter(
        kind=Kind.REVERSED, container__in={one.entry.container_id for one in found}
    ).select_related("reverses")
    if until is not None:
        reversals = reversals.filter(recorded_at__lt=until)
    return _as_known_now(found, reversals)


def found_by(line: Entry, before: Band) -> Found:
    """Return the whole difference behind a line, to what was likely left: the book less what may have evaporated.

    A weighing shares the doubt of the receipt with the book.
    """
    band = line.container.evaporated(before, line.done_at, line.after - line.change)
    s = hypot(line.u_random, line.u_common) / MILLION
    commons = tuple(row for row in band.commons if row[0] != RECEIPT)
    u = band.u_without(RECEIPT) if line.kind == Kind.WEIGHED_BACK else band.spread
    change = line.change / MILLION + band.drift
    return Found(line, difference_of(change, u, s, line.container_id, commons), band.drift)


def weighings_after(container: Container, seq: int) -> list[Found]:
    """Return the weighings and counts of one container that were written after a line and still stand."""
    rows = container.entries.filter(seq__gt=seq, kind__in=MEASURED, reversed_by=None)
    return differences_found(rows.order_by("-seq"))


def share_left(weighings: Iterable[Found]) -> float:
    """Return which share of a mistake made before some weighings is still in the book after them [0 to 1]."""
    return prod(one.difference.kept for one in weighings)


def _as_known_now(found: list[Found], reversals: Iterable[Entry]) -> list[Found]:
    """Take out of each difference what a line that was reversed afterwards had put in."""
    by_container: dict[int, list[Entry]] = defaultdict(list)
    for line in reversals:
        by_container[line.container_id].append(line)
    made = []
    for one in found:
        seq, mistake = one.entry.seq, 0.0
        for line in by_container[one.entry.container_id]:
            if line.reverses is not None and line.reverses.seq < seq < line.seq:
                between = (
                    other for other in found
                    if other.entry.container_id == line.container_id and line.reverses.seq < other.entry.seq < seq
                )  # fmt: skip
                mistake += line.change / MILLION * share_left(between)
        less = one.difference.found_less_book - mistake
        made.append(replace(one, difference=replace(one.difference, found_less_book=less)))
    return made
