"""The lines that an account is made of: those of a container, a lot, a substance, a person or a stretch of time, each with its sort."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Case, CharField, Exists, F, OuterRef, Q, QuerySet, Value, When

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.found import MEASURED
from labstock.stock.models import Container, Entry, Kind, Lot, Substance

MOST_LINES = 500_000
MOST_NAMED = 1000

CAME_IN, DRAWN, LOST, PASSED_ON = "came in", "drawn", "lost", "passed on"
FOUND, PAIRED, EARLIER, BY_OTHERS = "found", "reversed", "earlier", "by others"
GROUPS = (BY_OTHERS, CAME_IN, DRAWN, LOST, PASSED_ON, EARLIER, PAIRED, FOUND)
GROUP_OF = {
    CAME_IN: (Kind.RECEIVED, Kind.TRANSFERRED_IN),
    DRAWN: (Kind.DRAWN,),
    LOST: (Kind.SPILT, Kind.EVAPORATED, Kind.WASTED, Kind.PURGED, Kind.BROKEN),
    PASSED_ON: (Kind.TRANSFERRED_OUT, Kind.DISPOSED),
    FOUND: (Kind.WEIGHED_BACK, Kind.COUNTED, Kind.STANDS, Kind.FOUND),
}
CORRECTIONS = (*GROUP_OF[FOUND], Kind.REVERSED)


@dataclass(frozen=True)
class Scope:
    """What is asked about: one of the four, or everything in a stretch of time; `until` is the first moment left out."""

    container: Container | None = None
    lot: Lot | None = None
    substance: Substance | None = None
    person: User | None = None
    since: datetime | None = None
    until: datetime | None = None

    @property
    def containers(self) -> Q | None:
        """Return the condition on the containers asked about, or None if the lines decide which they are."""
        if self.container is not None:
            return Q(container=self.container)
        if self.lot is not None:
            return Q(container__lot=self.lot)
        return Q(container__substance=self.substance) if self.substance is not None else None

    @property
    def by_person(self) -> Q:
        """Return the condition on lines that the person wrote, or that were written for the person."""
        return Q(by=self.person) | Q(for_person=self.person) if self.person is not None else Q()


Sorted = Any  # a QuerySet[Entry] in which every line has its sort as `group`


def group_of(line: Entry) -> str:
    """Return the sort of a line that belongs to an account."""
    return str(line.group)  # type: ignore[attr-defined]  # annotated below


def corrections_of(scope: Scope) -> int | None:
    """Return how many lines correct others: since the first line, by a person in the time asked about; None for a mere period."""
    if scope.containers is not None:
        return Entry.objects.filter(scope.containers, kind__in=CORRECTIONS).count()
    if scope.person is None:
        return None
    return _by_person(scope, "pk", kind__in=CORRECTIONS).count()


def described(lines: QuerySet[Entry]) -> QuerySet[Entry]:
    """Name what has no substance by its description."""
    unnamed = When(container__substance=None, then=F("container__described_as"))
    return lines.annotate(described=Case(unnamed, default=Value(""), output_field=CharField()))


def used_by_person(scope: Scope) -> Any:
    """Return the containers that the person asked about touched in that time; None where nobody is asked about.

    Few are named; very many are a question inside the others, as no engine takes so many names.
    """
    if scope.person is None or scope.containers is not None:
        return None
    found = _by_person(scope, "container")
    few = [row["container"] for row in found[: MOST_NAMED + 1]]
    return sorted(few) if len(few) <= MOST_NAMED else found


def _by_person(scope: Scope, column: str, **narrower: Any) -> Any:
    """Return what a column holds, each once, in the lines a person wrote or had written in the time asked about.

    Two questions in one, each with an index; with OR the engine reads what everybody wrote in that time.
    """
    lines = _within(Entry.objects.order_by(), scope).filter(**narrower)
    theirs, for_them = lines.filter(by=scope.person), lines.filter(for_person=scope.person)
    return theirs.values(column).union(for_them.values(column))


def lines_of(scope: Scope, used: Any) -> Sorted:
    """Return the lines asked about, each with its sort; for a person also what others did to the same containers."""
    lines = _within(Entry.objects.all(), scope)
    if scope.containers is not None:
        lines = lines.filter(scope.containers)
    elif used is not None:
        lines = lines.filter(container__in=used)
    return described(_few_by_name(lines)).annotate(group=_sort_of(scope))


def _few_by_name(lines: QuerySet[Entry]) -> QuerySet[Entry]:
    """Name few lines one by one, so that they are looked for once and not by every question; refuse too many."""
    few = list(lines.order_by().values_list("pk", flat=True)[: MOST_NAMED + 1])
    if len(few) <= MOST_NAMED:
        return Entry.objects.filter(pk__in=few)
    if lines.order_by().values("pk")[: MOST_LINES + 1].count() > MOST_LINES:
        raise _too_many_lines()
    return lines


def _within(lines: QuerySet[Entry], scope: Scope) -> QuerySet[Entry]:
    """Keep the lines written in the time asked about."""
    if scope.since is not None:
        lines = lines.filter(recorded_at__gte=scope.since)
    return lines if scope.until is None else lines.filter(recorded_at__lt=scope.until)


def _sort_of(scope: Scope) -> Case:
    undone = Q(reversed_by__isnull=False)
    if scope.until is not None:
        undone &= Q(reversed_by__recorded_at__lt=scope.until)
    whens = [When(undone, then=Value(PAIRED))]
    if scope.since is not None:
        whens.append(When(Q(kind=Kind.REVERSED, reverses__recorded_at__lt=scope.since), then=Value(EARLIER)))
        # a weighing that stands is set against that weighing: before the time asked about, or in it
        weighed = Entry.objects.filter(
            container=OuterRef("container"), seq__lt=OuterRef("seq"), kind__in=MEASURED, recorded_at__gte=scope.since
        )  # fmt: skip
        whens.append(When(Q(kind=Kind.STANDS) & ~Exists(weighed), then=Value(EARLIER)))
    whens.append(When(kind=Kind.REVERSED, then=Value(PAIRED)))
    whens += [When(kind__in=kinds, then=Value(group)) for group, kinds in GROUP_OF.items()]
    if scope.person is not None:
        theirs = scope.by_person | Q(reverses__by=scope.person) | Q(reverses__for_person=scope.person)
        whens.insert(0, When(~theirs, then=Value(BY_OTHERS)))
    return Case(*whens, output_field=CharField())


def _too_many_lines() -> LabError:
    return LabError(
        "too-many-lines",
        "That is more than {most} lines, too many for one account: choose a shorter time, or one lot or container.",
        most=f"{MOST_LINES:,}",
    )
