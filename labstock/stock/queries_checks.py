"""Questions about stock checks that pages and actions share."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Max, Q, QuerySet
from django.utils import timezone

from labstock.chemistry.differences import Verdict, matched_share
from labstock.stock.models import (
    CheckCount,
    CheckExpected,
    CheckFinding,
    Container,
    Entry,
    Found,
    Kind,
    Location,
    State,
    StateChange,
    StockCheck,
)
from labstock.stock.models.stock_check import SIGHTINGS
from labstock.stock.queries import at_or_below

# What the book says is on the shelf; what it says is empty or disposed of is not looked for.
EXPECTED = (State.IN_USE, State.BLOCKED, State.NOT_SEEN)
# A line that says nothing of who had the bottle in hand.
NOT_IN_HAND = (Kind.REVERSED, Kind.STANDS, Kind.DISPOSED)


def expected_at(place: Location) -> QuerySet[Container]:
    """Return what should stand in a place and below it, in walking order."""
    rows = Container.objects.filter(location__in=at_or_below(place), state__in=EXPECTED)
    return rows.select_related("location", "substance").order_by("location__path", "number")


def is_in(place: Location, around: Location) -> bool:
    """Say whether a place is another one or inside it."""
    return place.pk == around.pk or place.path.startswith(f"{around.path}, ")


def open_checks() -> QuerySet[StockCheck]:
    """Return the checks that go on."""
    return StockCheck.objects.filter(end=None).select_related("place", "by")


def unsettled(stock_check: StockCheck) -> list[CheckCount]:
    """Return the counts that wait for a cause: the newest of each container, if nobody settled it."""
    newest: dict[int, CheckCount] = {}
    rows = stock_check.counts.select_related("settled", "container__substance", "by").order_by("pk")
    for row in rows:
        newest[row.container_id] = row
    return [row for row in newest.values() if not hasattr(row, "settled")]


def last_seen(containers: Iterable[Container]) -> dict[int, datetime]:
    """Return when each container was last in somebody's hand or before somebody's eyes."""
    rows = {container.pk: _noon(container.received_on) for container in containers}
    lines = Entry.objects.filter(container__in=rows).exclude(kind__in=NOT_IN_HAND)
    moves = StateChange.objects.filter(container__in=rows, what="moved")
    sights = CheckFinding.objects.filter(container__in=rows, what__in=SIGHTINGS)
    for found, moment in ((lines, "done_at"), (moves, "at"), (sights, "at")):
        for pk, at in found.order_by().values_list("container").annotate(latest=Max(moment)):
            rows[pk] = max(rows[pk], at)
    return rows


def handled_since(containers: Collection[int], since: datetime) -> set[int]:
    """Return which containers somebody used or moved since a moment."""
    lines = Entry.objects.filter(container__in=containers, recorded_at__gte=since, done_at__gte=since)
    moves = StateChange.objects.filter(Q(what="moved"), container__in=containers, at__gte=since)
    return {*lines.exclude(kind__in=NOT_IN_HAND).values_list("container", flat=True)} | {
        *moves.values_list("container", flat=True)
    }


def _noon(day: date) -> datetime:
    return timezone.make_aware(datetime(day.year, day.month, day.day, 12))


@dataclass(frozen=True)
class Unseen:
    """A container that a check expected and nobody scanned."""

    container: Container
    what: Found
    last_seen_at: datetime

    @property
    def is_lost(self) -> bool:
        """Say whether its state becomes "not seen". What is blocked stays blocked: who finds it must not find it free."""
        return self.what == Found.MISSING and self.container.state == State.IN_USE


def unscanned(stock_check: StockCheck) -> QuerySet[Container]:
    """Return what was expected and not scanned."""
    seen = stock_check.findings.exclude(container=None).values("container")
    wanted = stock_check.expected.exclude(container__in=seen).values("container")
    return Container.objects.filter(pk__in=wanted).select_related("location", "substance")


def judged(stock_check: StockCheck, unscanned: Sequence[Container]) -> list[Unseen]:
    """Say of each that was not scanned whether it is missing, or was used or moved while the check went on."""
    handled = handled_since([row.pk for row in unscanned], stock_check.at)
    seen_at = last_seen(unscanned)
    return [Unseen(row, _unseen(row, row.pk in handled), seen_at[row.pk]) for row in unscanned]


def _unseen(container: Container, is_handled: bool) -> Found:
    if is_handled or container.state not in EXPECTED:
        return Found.HANDLED
    return Found.STILL_MISSING if container.state == State.NOT_SEEN else Found.MISSING


@dataclass(frozen=True)
class Tally:
    """How a check stands: what was looked for, what was right. Overs and unders are never set off against each other."""

    expected: int = 0
    seen: int = 0
    matched: int = 0
    total: int = 0

    @property
    def share(self) -> float | None:
        """Return the share of records that match, 0 to 1."""
        return matched_share(self.matched, self.total)


# Right in the book: seen where it belongs, or written down by whoever had it in hand meanwhile.
MATCHED = (Found.SEEN, Found.HANDLED)
# Already "not seen" before the check: that is no mistake which this check found.
NOT_IN_TOTAL = (Found.STILL_MISSING,)
NOT_FOUND = (Found.MISSING, Found.STILL_MISSING)


def tallies(checks: Collection[int]) -> dict[int, Tally]:
    """Return how each of several checks stands."""
    wanted = dict(
        CheckExpected.objects.filter(stock_check__in=checks)
        .order_by()
        .values_list("stock_check")
        .annotate(Count("pk"))
    )
    rows: dict[int, dict[str, int]] = {pk: {} for pk in checks}
    found = CheckFinding.objects.filter(stock_check__in=checks).order_by().values_list("stock_check", "what")
    for pk, what, many in found.annotate(Count("pk")):
        rows[pk][what] = many
    wrong = _miscounted(checks)
    return {pk: _tally(rows[pk], wanted.get(pk, 0), wrong.get(pk, 0)) for pk in checks}


def _tally(found: Mapping[str, int], expected: int, miscounted: int) -> Tally:
    return Tally(
        expected=expected,
        seen=sum(many for what, many in found.items() if what not in NOT_FOUND),
        matched=sum(found.get(what, 0) for what in MATCHED) - miscounted,
        total=sum(many for what, many in found.items() if what not in NOT_IN_TOTAL),
    )


def _miscounted(checks: Collection[int]) -> dict[int, int]:
    """Return in how many of the records that are right in place the amount was not."""
    newest = {
        (row.stock_check_id, row.container_id): row
        for row in CheckCount.objects.filter(stock_check__in=checks).order_by("pk")
    }
    wrong = {pair for pair, row in newest.items() if row.difference.verdict is Verdict.EXPLAIN}
    pairs = CheckFinding.objects.filter(
        stock_check__in=checks, what__in=MATCHED, container__in={container for _, container in wrong}
    ).values_list("stock_check", "container")
    return Counter(check for check, container in pairs if (check, container) in wrong)
