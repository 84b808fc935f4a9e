"""Where did it go? What there was, every line since, and what is left, adding up to the last millionth.

Dates are those on which lines were written: what the book said on a day is then the same for ever, and the same as on a
print-out of that day. A line written late shows when it was done.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import (
    Case,
    CharField,
    Count,
    Exists,
    F,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.chemistry.remaining import RECEIPT, Band
from labstock.chemistry.tolerance import Verdict, by_tolerance
from labstock.people.models import User
from labstock.stock.found import MEASURED, Found, band_said, differences_found
from labstock.stock.models import Container, Entry, Kind, Lot, Substance

MOST_LINES = 20_000
MOST_SHOWN = 500
MOST_DIFFERENCES = 200

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


@dataclass(frozen=True)
class Group:
    """All lines of one sort: how many, and what they come to [millionths of the unit]."""

    lines: int = 0
    change: int = 0


@dataclass(frozen=True)
class Account:
    """The account of one substance in one unit. Amounts are whole millionths of the unit."""

    name: str
    unit: str
    opening: int
    closing: int
    groups: dict[str, Group]
    lines: tuple[Entry, ...]
    found: tuple[Found, ...]
    containers: int
    u: float
    drift: float

    @property
    def adds_up(self) -> bool:
        """Say whether opening and lines come to what is left, to the last millionth."""
        return self.opening + sum(group.change for group in self.groups.values()) == self.closing

    @property
    def many(self) -> int:
        """Return how many lines it has."""
        return sum(group.lines for group in self.groups.values())

    @property
    def tolerance(self) -> Verdict:
        """Return what tolerance makes of the differences found [unit]."""
        return by_tolerance([found.difference for found in self.found])

    def unshown(self, group: str) -> Group:
        """Return what is in a group beyond the lines that are shown."""
        shown = [line.change for line in self.lines if group_of(line) == group]
        whole = self.groups.get(group, Group())
        return Group(whole.lines - len(shown), whole.change - sum(shown))


def group_of(line: Entry) -> str:
    """Return the sort of a line that belongs to an account."""
    return str(line.group)  # type: ignore[attr-defined]  # annotated below


def accounts_of(scope: Scope, also: Sequence[str] = ()) -> list[Account]:
    """Return the accounts of what is asked about, those with most lines first. `also` names what else comes with a line."""
    used = _used_by_person(scope)
    lines = _in_range(scope, used)
    _check_not_too_many(lines)
    groups = _summed(lines.values(*SECTION, "group"), "change")
    touched = scope.containers or Q(
        container__in=lines.order_by().values("container") if used is None else used
    )
    opening = _opening(scope, touched)
    closing, doubts = _standing(scope, touched)
    shown = _shown(lines, also)
    found = _found(lines, scope.until)
    by_section: dict[Section, dict[str, Group]] = defaultdict(dict)
    for key, group in groups.items():
        by_section[key[:-1]][key[-1]] = group
    made = [
        _account(key, by_section[key], opening.get(key, 0), closing.get(key, 0), shown, found, doubts)
        for key in by_section.keys() | opening.keys() | closing.keys()
    ]
    return sorted(made, key=lambda account: (-account.many, account.name, account.unit))


def corrections_of(scope: Scope) -> int | None:
    """Return how many lines correct others: since the first line, by a person in the time asked about; None for a mere period."""
    if scope.containers is not None:
        return Entry.objects.filter(scope.containers, kind__in=CORRECTIONS).count()
    if scope.person is None:
        return None
    return _by_person(scope, "pk", kind__in=CORRECTIONS).count()


# ---------------------------------------------------------------- the questions to the database

Section = tuple[Any, ...]
Sorted = Any  # a QuerySet[Entry] in which every line has its sort as `group`
SECTION = ("container__substance", "container__substance__name", "described", "container__unit")


def _described(lines: QuerySet[Entry]) -> QuerySet[Entry]:
    """Name what has no substance by its description."""
    unnamed = When(container__substance=None, then=F("container__described_as"))
    return lines.annotate(described=Case(unnamed, default=Value(""), output_field=CharField()))


def _used_by_person(scope: Scope) -> list[int] | None:
    """Return the containers that the person asked about touched in that time; None where nobody is asked about."""
    if scope.person is None or scope.containers is not None:
        return None
    found = _by_person(scope, "container")[: MOST_LINES + 1]
    if len(found) > MOST_LINES:
        raise _too_many_lines()
    return sorted(row["container"] for row in found)


def _by_person(scope: Scope, column: str, **narrower: Any) -> Any:
    """Return what a column holds, each once, in the lines a person wrote or had written in the time asked about.

    Two questions in one, each with an index; with OR the engine reads what everybody wrote in that time.
    """
    lines = _within(Entry.objects.order_by(), scope).filter(**narrower)
    theirs, for_them = lines.filter(by=scope.person), lines.filter(for_person=scope.person)
    return theirs.values(column).union(for_them.values(column))


def _in_range(scope: Scope, used: list[int] | None) -> Sorted:
    """Return the lines asked about, each with its sort; for a person also what others did to the same containers."""
    lines = _within(Entry.objects.all(), scope)
    if scope.containers is not None:
        lines = lines.filter(scope.containers)
    elif used is not None:
        lines = lines.filter(container__in=used)
    return _described(lines).annotate(group=_sort_of(scope))


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


def _check_not_too_many(lines: QuerySet[Entry]) -> None:
    if lines.order_by().values("pk")[: MOST_LINES + 1].count() > MOST_LINES:
        raise _too_many_lines()


def _too_many_lines() -> LabError:
    return LabError(
        "too-many-lines",
        "That is more than {most} lines, too many for one account: choose a shorter time, or one lot or container.",
        most=f"{MOST_LINES:,}",
    )


def _summed(rows: Any, column: str) -> dict[Section, Group]:
    summed = rows.order_by().annotate(total=Sum(column), many=Count("pk"))
    return {
        tuple(value for name, value in row.items() if name not in ("total", "many")): Group(
            row["many"], int(row["total"])
        )
        for row in summed
    }


def _opening(scope: Scope, touched: Q) -> dict[Section, int]:
    if scope.since is None:
        return {}
    before = _described(Entry.objects.filter(touched, recorded_at__lt=scope.since))
    return {key: group.change for key, group in _summed(before.values(*SECTION), "change").items()}


def _standing(scope: Scope, touched: Q) -> tuple[dict[Section, int], dict[Section, list[Band]]]:
    """Return what stands at the end and its doubt, container by container, from the containers and not from the lines asked about."""
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
    amounts: dict[Section, int] = defaultdict(int)
    bands: dict[Section, list[Band]] = defaultdict(list)
    for row in (
        rows.annotate(stands=stands, said=said).select_related("substance", "lot").defer("search_text")
    ):
        name = row.substance.name if row.substance else None
        key, amount = (row.substance_id, name, row.described, row.unit), int(row.stands or 0)
        amounts[key] += amount
        bands[key].append(row.evaporated(band_said(row.said), moment, amount))
    return amounts, bands


def _on_container(scope: Scope) -> Q:
    if scope.container is not None:
        return Q(pk=scope.container.pk)
    return Q(lot=scope.lot) if scope.lot is not None else Q(substance=scope.substance)


def _shown(lines: Sorted, also: Sequence[str]) -> list[Entry]:
    """Return the newest lines, oldest of them first."""
    newest = (
        lines.exclude(group=BY_OTHERS)
        .select_related("container__substance", "reverses", "reversed_by", *also)
        .order_by("-recorded_at", "-pk")[:MOST_SHOWN]
    )
    return list(reversed(newest))


def _found(lines: Sorted, until: datetime | None) -> list[Found]:
    """Return the newest differences found."""
    weighings = lines.filter(group=FOUND, kind__in=MEASURED).order_by("-recorded_at", "-pk")
    return differences_found(weighings[:MOST_DIFFERENCES], until)


# ---------------------------------------------------------------- put together


def _account(
    key: Section,
    groups: dict[str, Group],
    opening: int,
    closing: int,
    shown: Iterable[Entry],
    found: Iterable[Found],
    doubts: dict[Section, list[Band]],
) -> Account:
    _, substance, described, unit = key
    bands = doubts.get(key, [])
    return Account(
        name=substance or described or "unknown",
        unit=unit,
        opening=opening,
        closing=closing,
        groups={group: groups[group] for group in GROUPS if group in groups},
        lines=tuple(line for line in shown if section_of(line) == key),
        found=tuple(one for one in found if section_of(one.entry) == key),
        containers=len(bands),
        u=doubt_of_sum(bands),
        drift=sum(band.drift for band in bands),
    )


def section_of(line: Entry) -> Section:
    """Return the substance and unit whose account a line belongs to."""
    container = line.container
    substance = container.substance
    if substance is None:
        return (None, None, container.described_as, container.unit)
    return (substance.pk, substance.name, "", container.unit)


def doubt_of_sum(bands: Iterable[Band]) -> float:
    """Return the standard uncertainty of several book amounts together: what one device did to all adds up as it is."""
    squares, shared, drift = 0.0, defaultdict[str, float](float), 0.0
    for band in bands:
        squares += band.random2
        drift += band.drift
        for device, common in band.commons:
            if device == RECEIPT:
                squares += common**2
            else:
                shared[device] += common
    return float((squares + sum(common**2 for common in shared.values()) + drift**2) ** 0.5)
