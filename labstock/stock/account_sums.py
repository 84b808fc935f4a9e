"""What the ledger says of many lines at once: sums by section and sort, a page of the lines, what stands at the end."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from operator import itemgetter
from typing import Any

from django.db.models import Case, Count, F, Min, OuterRef, Q, Subquery, Sum, Value, When
from django.utils import timezone

from labstock.chemistry.remaining import RECEIPT, Band
from labstock.stock.account_lines import BY_OTHERS, DRAWN, FOUND, Scope, Sorted, described
from labstock.stock.found import MEASURED, Found, band_said, differences_found
from labstock.stock.models import Container, Entry

LINES_ON_A_PAGE = 500
MOST_DIFFERENCES = 200
MOST_DRAWS = 8

Section = tuple[Any, ...]
SECTION = ("container__substance", "described", "container__unit")

FOR_EVAPORATION = (
    "unit", "capacity", "opened_on", "last_seq", "described_as", "substance__name", "substance__is_liquid",
    "substance__boiling_point_celsius", "lot__concentration_mol_per_L",
)  # fmt: skip


@dataclass(frozen=True)
class Group:
    """All lines of one sort: how many, and what they come to [millionths of the unit]."""

    lines: int = 0
    change: int = 0

    def __add__(self, other: "Group") -> "Group":
        return Group(self.lines + other.lines, self.change + other.change)

    def __sub__(self, other: "Group") -> "Group":
        return Group(self.lines - other.lines, self.change - other.change)


@dataclass(frozen=True)
class Draws:
    """What was drawn for one purpose: what a line went into (empty: nothing known), its purpose, and who drew."""

    went_into: tuple[Any, ...]
    purpose: str
    by_name: str
    change: int


@dataclass
class Doubt:
    """The doubt of several book amounts together: what one device did to all of them adds up as it is [their unit]."""

    containers: int = 0
    squares: float = 0.0
    shared: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    drift: float = 0.0

    def add(self, band: Band) -> None:
        """Take in the doubt of one more container."""
        self.containers += 1
        self.squares += band.random2
        self.drift += band.drift
        for device, common in band.commons:
            if device == RECEIPT:
                self.squares += common**2
            else:
                self.shared[device] += common

    @classmethod
    def of(cls, bands: Iterable[Band]) -> "Doubt":
        """Return the doubt of several containers together."""
        doubt = cls()
        for band in bands:
            doubt.add(band)
        return doubt

    @property
    def u(self) -> float:
        """Return the standard uncertainty of the sum."""
        return float(
            (self.squares + sum(common**2 for common in self.shared.values()) + self.drift**2) ** 0.5
        )


@dataclass
class Standing:
    """What stands at the end of an account [millionths of the unit], and its doubt."""

    name: str
    amount: int = 0
    doubt: Doubt = field(default_factory=Doubt)


def section_of(line: Entry) -> Section:
    """Return the substance and unit whose account a line belongs to."""
    container = line.container
    described = "" if container.substance_id else container.described_as
    return (container.substance_id, described, container.unit)


def summed(lines: Sorted, *names: str) -> dict[tuple[Any, ...], Group]:
    """Sum lines apart by the columns named."""
    rows = lines.order_by().values(*names).annotate(total=Sum("change"), many=Count("pk"))
    return {tuple(row[name] for name in names): Group(row["many"], int(row["total"])) for row in rows}


def shown(lines: Sorted, page: int, also: Sequence[str]) -> list[Entry]:
    """Return the lines of a page, oldest first; page 1 has the newest."""
    last = page * LINES_ON_A_PAGE
    newest = (
        lines.exclude(group=BY_OTHERS)
        .select_related("container__substance", "reverses", "reversed_by", *also)
        .order_by("-recorded_at", "-pk")[last - LINES_ON_A_PAGE : last]
    )
    return list(reversed(newest))


def before(lines: Sorted, shown: list[Entry], page: int, pages: int) -> dict[tuple[Any, ...], Group]:
    """Sum the lines written before those of a page; nobody asks for the first page and the last, where it follows."""
    if not 1 < page < pages:
        return {}
    first = shown[0]
    older = Q(recorded_at__lt=first.recorded_at) | Q(recorded_at=first.recorded_at, pk__lt=first.pk)
    return summed(lines.filter(older).exclude(group=BY_OTHERS), *SECTION, "group", "kind")


def draws(lines: Sorted, went_into: Sequence[str]) -> dict[Section, list[Draws]]:
    """Sum what was drawn for each purpose, and keep the largest sums of each section in the order they began."""
    names = (*SECTION, *went_into, "purpose", "by_name")
    rows = lines.filter(group=DRAWN).order_by().values(*names).annotate(total=Sum("change"), began=Min("pk"))
    largest: dict[Section, list[tuple[int, int, Draws]]] = defaultdict(list)
    for row in rows.iterator():
        into = tuple(row[name] for name in went_into)
        told = Draws(into, row["purpose"], row["by_name"], int(row["total"]))
        kept = largest[tuple(row[name] for name in SECTION)]
        heappush(kept, (-told.change, row["began"], told))
        if len(kept) > MOST_DRAWS:
            heappop(kept)
    return {key: [told for _, _, told in sorted(kept, key=itemgetter(1))] for key, kept in largest.items()}


def opening(scope: Scope, touched: Q) -> dict[Section, int]:
    """Return what there was before the first day asked about [millionths of the unit]."""
    if scope.since is None:
        return {}
    before = described(Entry.objects.filter(touched, recorded_at__lt=scope.since))
    return {key: group.change for key, group in summed(before, *SECTION).items()}


def standing(scope: Scope, touched: Q) -> dict[Section, Standing]:
    """Return what stands at the end and its doubt, from the containers and not from the lines asked about."""
    pks = Entry.objects.filter(touched).order_by().values("container") if scope.containers is None else None
    condition = Q(pk__in=pks) if pks is not None else _on_container(scope)
    unnamed = When(substance=None, then=F("described_as"))
    rows = Container.objects.filter(condition).annotate(described=Case(unnamed, default=Value("")))
    if scope.until is None:
        stands: Any = F("remaining")
        said: Any = F("band")
    else:
        then = Entry.objects.filter(container=OuterRef("pk"), recorded_at__lt=scope.until)
        stands = Subquery(then.order_by().values("container").annotate(sum=Sum("change")).values("sum"))
        said = Subquery(then.order_by("-seq").values("about")[:1])
    moment = scope.until or timezone.now()
    rows = rows.annotate(stands=stands, said=said).select_related("substance", "lot").only(*FOR_EVAPORATION)
    made: dict[Section, Standing] = {}
    for row in rows.iterator():
        key, amount = (row.substance_id, row.described, row.unit), int(row.stands or 0)
        name = row.substance.name if row.substance else row.described
        section = made.setdefault(key, Standing(name or "unknown"))
        section.amount += amount
        section.doubt.add(row.evaporated(band_said(row.said), moment, amount))
    return made


def _on_container(scope: Scope) -> Q:
    if scope.container is not None:
        return Q(pk=scope.container.pk)
    return Q(lot=scope.lot) if scope.lot is not None else Q(substance=scope.substance)


def found(lines: Sorted, scope: Scope) -> list[Found]:
    """Return the newest differences found."""
    weighings = lines.filter(group=FOUND, kind__in=MEASURED).order_by("-recorded_at", "-pk")
    return differences_found(weighings[:MOST_DIFFERENCES], scope.until)
