"""Where the contents of a container came from and went to, and everything that holds a part of a lot."""

from dataclasses import dataclass
from datetime import datetime

from batches.models import Batch, BatchInput, BatchProduct
from batches.retained.models import RetainedSample
from labstock.chemistry.display import show, show_number
from labstock.stock.lots_in import TRACE, follow, lots_by_share, went_on
from labstock.stock.models import Container, Entry, Lineage, Lot, Went
from labstock.stock.models.container import MILLION

ROUNDS = 50


@dataclass(frozen=True)
class Thread:
    """One amount that went over, seen from one end."""

    other: Container
    words: str
    amount: str
    at: datetime
    by: str
    is_reversed: bool


@dataclass(frozen=True)
class LotShare:
    """A lot in a mixture."""

    lot: Lot | None
    share: str


@dataclass(frozen=True)
class Threads:
    """Both ends of a container's story, and the lots in it where they were mixed."""

    from_: tuple[Thread, ...]
    into: tuple[Thread, ...]
    lots: tuple[LotShare, ...]

    def __bool__(self) -> bool:
        return bool(self.from_ or self.into)


WORDS_FROM = {Went.DECANTED: "decanted from", Went.DISSOLVED: "made from", Went.TOPPED_UP: "topped up from"}


def threads_of(container: Container) -> Threads:
    """Gather what came into a container and what went out of it into others."""
    rows = Lineage.objects.select_related("by", "entry__reversed_by")
    came = list(rows.filter(child=container).select_related("parent__substance"))
    went = list(rows.filter(parent=container).select_related("child__substance"))
    may_be_mixed = any(row.what != Went.DISSOLVED for row in came)
    lots = lots_by_share(container) if may_be_mixed else []
    return Threads(
        from_=tuple(_thread(row, row.parent, WORDS_FROM[Went(row.what)], row.parent.unit) for row in came),
        into=tuple(_thread(row, row.child, row.get_what_display(), container.unit) for row in went),
        lots=tuple(LotShare(lot, _share(share)) for lot, share in lots if len(lots) > 1),
    )


def _thread(row: Lineage, other: Container, words: str, unit: str) -> Thread:
    u = (row.entry.u_random**2 + row.entry.u_common**2) ** 0.5 / MILLION
    is_reversed = getattr(row.entry, "reversed_by", None) is not None
    return Thread(other, words, show(row.amount / MILLION, unit, u), row.at, str(row.by), is_reversed)


def _share(share: float) -> str:
    return "a trace" if share < TRACE else f"{show_number(round(share * 100, 1))}\u00a0%"


@dataclass(frozen=True)
class Forward:
    """Everything that contains a lot: what was received, what came of it, where it was used, what was kept."""

    lot: Lot
    containers: tuple[Container, ...]
    children: tuple[Container, ...]
    batches: tuple[Batch, ...]
    samples: tuple[RetainedSample, ...]

    @property
    def headline(self) -> str:
        """Return the count in one line."""
        parts = (
            (len(self.containers) + len(self.children), "container", "containers"),
            (len(self.batches), "batch", "batches"),
            (len(self.samples), "sample", "samples"),
        )
        return ", ".join(f"{many} {one if many == 1 else more}" for many, one, more in parts)


def forward(lot: Lot) -> Forward:
    """Follow a lot through containers, mixtures, solutions and batches to the samples that were kept."""
    own = set(Container.objects.filter(lot=lot).values_list("pk", flat=True))
    reached, batches = went_on(own), set[int]()
    for _ in range(ROUNDS):  # each round follows one batch further down; it ends when nothing new is found
        drawn = _batches_that_drew(reached)
        products = _products_of(drawn - batches)
        batches |= drawn
        if not products.keys() - reached.keys():
            break
        reached = follow({**products, **reached})
    kept = RetainedSample.objects.select_related("container", "batch", "substance")
    samples = {row.pk: row for row in kept.filter(batch__in=batches)}
    samples |= {row.pk: row for row in kept.filter(container__in=reached)}
    rows = list(
        Container.objects.filter(pk__in=reached)
        .select_related("substance", "location", "lot")
        .order_by("number")
    )
    # a decanted bottle has the lot's number too, but it came from another
    from_others = Lineage.objects.filter(child__in=own).exclude(what=Went.TOPPED_UP)
    parented = set(from_others.values_list("child_id", flat=True))
    return Forward(
        lot=lot,
        containers=tuple(row for row in rows if row.pk in own - parented),
        children=tuple(row for row in rows if row.pk not in own - parented),
        batches=tuple(Batch.objects.filter(pk__in=batches).select_related("owner").order_by("number")),
        samples=tuple(samples[pk] for pk in sorted(samples)),
    )


def _batches_that_drew(reached: dict[int, int]) -> set[int]:
    """Return the batches that used what these containers held, from the ledger row on at which it came in."""
    rows = BatchInput.objects.filter(entry__container__in=reached, entry__reversed_by=None)
    return {
        batch
        for batch, container, entry in rows.values_list("batch_id", "entry__container_id", "entry_id")
        if entry > reached[container]
    }


def _products_of(batches: set[int]) -> dict[int, int]:
    """Return the containers that these batches' products were put in."""
    pks = BatchProduct.objects.filter(batch__in=batches).values_list("container_id", flat=True)
    first = Entry.objects.filter(container__in=list(pks), seq=1).values_list("container_id", "pk")
    return dict(first)
