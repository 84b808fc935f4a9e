"""Which lots are in a container, in which shares, and where the contents of one lot went on to."""

from collections.abc import Iterable
from datetime import date

from labstock.stock.models import Container, Entry, Kind, Lineage, Lot, Went
from labstock.stock.queries import key_of_out

# Shares below this are the dregs of dregs: they are still named, as "a trace".
TRACE = 0.0005


def lots_in(container: Container, before: int | None = None) -> dict[int, float]:
    """Return the share of each lot in a container, by the lot's key; `before` a ledger row, now if None [shares of 1].

    What is poured in mixes with what was left; what is taken out takes of each alike. A lot that is not known is 0.
    """
    rows = _came_in(container, before)
    shares = {container.lot_id or 0: 1.0}
    for row, line in rows:
        if row.what == Went.DECANTED:
            shares = lots_in(row.parent, before=row.entry_id)
            continue
        left = max(line.after - line.change, 0)
        if line.after <= 0:
            continue
        coming = lots_in(row.parent, before=row.entry_id)
        shares = {
            lot: (left * shares.get(lot, 0.0) + line.change * coming.get(lot, 0.0)) / line.after
            for lot in {**shares, **coming}
        }
    return shares


def _came_in(container: Container, before: int | None) -> list[tuple[Lineage, Entry]]:
    """Return what came into it as it is and still stands, oldest first, each with the line in its own ledger.

    A solution is a lot of its own: what it was made from is followed by its threads, not by shares.
    """
    found = container.came_from.filter(what__in=[Went.DECANTED, Went.TOPPED_UP], entry__reversed_by=None)
    if before is not None:
        found = found.filter(entry_id__lt=before)
    rows = list(found.select_related("parent", "entry").order_by("entry_id"))
    if not rows:
        return []
    lines = {
        key_of_out(line.key): line
        for line in container.entries.filter(kind=Kind.TRANSFERRED_IN, reversed_by=None)
    }
    pairs = [(row, lines.get(row.entry.key)) for row in rows]
    return [(row, line) for row, line in pairs if line is not None]


def lots_by_share(container: Container) -> list[tuple[Lot | None, float]]:
    """Return the lots in a container with their shares, the largest first [shares of 1]."""
    shares = lots_in(container)
    known = Lot.objects.select_related("substance").in_bulk([pk for pk in shares if pk])
    found = [(known.get(pk), share) for pk, share in shares.items()]
    return sorted(found, key=lambda pair: -pair[1])


def worst_end(container: Container) -> date | None:
    """Return the earliest expiry or retest of all the lots that are in a container."""
    lots = Lot.objects.filter(pk__in=[pk for pk in lots_in(container) if pk])
    days = [day for lot in lots for day in (lot.expires_on, lot.retest_on) if day]
    return min(days, default=None)


def went_on(start: Iterable[int], since: int = 0) -> dict[int, int]:
    """Return every container that what is in these came into, with the ledger row from which on it did.

    A container from which the parent's contents were taken before the lot came in has none of it.
    """
    reached = dict.fromkeys(start, since)
    return follow(reached)


def follow(reached: dict[int, int]) -> dict[int, int]:
    """Follow the threads from containers that are reached from a ledger row on; the argument is left as it is."""
    found = dict(reached)
    threads = Lineage.objects.filter(entry__reversed_by=None).order_by("entry_id")
    for parent, child, entry in threads.values_list("parent_id", "child_id", "entry_id"):
        if parent in found and found[parent] < entry and entry < found.get(child, entry + 1):
            found[child] = entry
    return found
