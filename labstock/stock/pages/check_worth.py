"""The containers whose count is worth most, in walking order, with the arithmetic of each in words."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, F, Max, Min, Sum
from django.utils import timezone

from labstock.chemistry.count_value import ANY_RECORD, HAZARD, UNNOTICED_END, Record, Worth, worth_of_count
from labstock.chemistry.display import NO_BREAK, show
from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import label_elements
from labstock.stock.models import Container, Entry, Kind, Reservation, State, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.queries import holding

# About a minute for a bottle: find it, scan it, look; common practice, no source.
MINUTES_A_BOTTLE = 1
MINUTES = (10, 20, 40)
MOST_PROMISED = MOST_OPENED = 400
DAYS_AHEAD = 60
# Below this the list would say 0.00.
LEAST_WORTH = 0.005
# A line that somebody measured the whole for.
MEASURED = (Kind.RECEIVED, Kind.TRANSFERRED_IN, Kind.WEIGHED_BACK, Kind.COUNTED)


@dataclass(frozen=True)
class Promise:
    """What coming sessions were promised of one container."""

    need: float
    sessions: int
    first_at: datetime


@dataclass(frozen=True)
class WorthRow:
    """One container worth a count."""

    container: Container
    record: Record
    worth: Worth
    first_at: datetime | None

    @property
    def value(self) -> str:
        """Return what a count is worth [failed sessions]."""
        return f"{self.worth.value:.2f}"

    @property
    def lines(self) -> list[str]:
        """Return the arithmetic, a product a line."""
        return list(self._lines())

    def _lines(self) -> Iterator[str]:
        """Yield each product. What the book has is left out: whoever reads this is about to count."""
        worth, record = self.worth, self.record
        if record.sessions and self.first_at is not None:
            day = timezone.localtime(self.first_at)
            only = " + 1 as the only bottle" if record.is_only else ""
            yield (
                f"{_several(record.sessions, 'session')} from {day:%a} {day.day} {day:%b} "
                f"{'needs' if record.sessions == 1 else 'need'} {show(record.need, self.container.unit)}. "
                f"Chance that less is there: {_percent(worth.short)}, so that a count turns the plan in "
                f"{_percent(worth.turns)} × ({record.sessions} at stake{only}) = {worth.turns * worth.stake:.2f}"
            )
        age = "today" if record.days < 1 else f"{_several(round(record.days), 'day')} ago"
        yield (
            f"Last measured {age}: {_percent(worth.wrong)} of such records are wrong × {worth.other:.2f} "
            f"({self._because()}) = {worth.wrong * worth.other:.2f}"
        )

    def _because(self) -> str:
        reasons = [f"any record {ANY_RECORD:.2f}"]
        reasons += [f"danger on the label {HAZARD:.2f}"] if self.record.is_dangerous else []
        reasons += [f"the only bottle {UNNOTICED_END:.2f}"] if self.record.is_only else []
        return " + ".join(reasons)


@dataclass(frozen=True)
class WorthPage:
    """The short list."""

    minutes: int
    rows: tuple[WorthRow, ...]
    looked_at: int

    @property
    def choices(self) -> tuple[int, ...]:
        """Return the times to choose from."""
        return MINUTES

    @property
    def codes(self) -> str:
        """Return the codes, for the check of exactly these."""
        return ",".join(row.container.code for row in self.rows)

    @property
    def total(self) -> str:
        """Return what all of it is worth [failed sessions]."""
        return f"{sum(row.worth.value for row in self.rows):.2f}"

    @property
    def word(self) -> str:
        """Return the answer: how many, and what they are worth together."""
        return f"{_several(len(self.rows), 'container')}, worth {self.total} failed sessions together"


def worth_page(asked: str, now: datetime | None = None) -> WorthPage:
    """Choose what is worth most in the minutes there are, and put it in walking order."""
    minutes = int(asked) if asked in {str(choice) for choice in MINUTES} else 20
    rows = _rows(now or timezone.now())
    worthy = [row for row in rows if row.worth.value >= LEAST_WORTH]
    best = sorted(worthy, key=lambda row: (-row.worth.value, row.container.number))[
        : minutes // MINUTES_A_BOTTLE
    ]
    walked = sorted(best, key=lambda row: (_way_to(row.container), row.container.number))
    return WorthPage(minutes, tuple(walked), len(rows))


def chosen(codes: str) -> list[Container]:
    """Return the containers of a list of codes, in its order; one that is not there is refused."""
    wanted = [code for code in codes.split(",") if code][:200]
    found = {row.code: row for row in Container.objects.filter(code__in=wanted).select_related("location")}
    if missing := [code for code in wanted if code not in found]:
        raise LabError(
            "unknown-code", "No container has the code {code}: open the list anew.", code=missing[0][:20]
        )
    return [found[code] for code in dict.fromkeys(wanted)]


def _way_to(container: Container) -> str:
    return container.location.path if container.location else "\uffff"


def _rows(now: datetime) -> list[WorthRow]:
    promises = _promises(now)
    containers = list(_candidates(promises))
    measured = dict(
        Entry.objects.filter(container__in=containers, kind__in=MEASURED, reversed_by=None)
        .order_by()
        .values_list("container")
        .annotate(Max("done_at"))
    )
    usable = dict(
        Container.objects.filter(
            substance__in={row.substance_id for row in containers},
            state=State.IN_USE,
            remaining__gt=F("heel"),
        )
        .order_by()
        .values_list("substance")
        .annotate(Count("pk"))
    )
    return [
        _row(row, promises.get(row.pk), measured.get(row.pk), usable.get(row.substance_id, 0), now)
        for row in containers
    ]


def _promises(now: datetime) -> dict[int, Promise]:
    """Return what is promised of each container in the days ahead, the most urgent first."""
    rows = (
        Reservation.objects.filter(holding(now), session__starts_at__lt=now + timedelta(days=DAYS_AHEAD))
        .order_by()
        .values("container")
        .annotate(
            promised=Sum(F("amount") - F("drawn")),
            sessions=Count("session", distinct=True),
            first=Min("session__starts_at"),
        )
        .order_by("first", "container")[:MOST_PROMISED]
    )
    return {
        row["container"]: Promise(row["promised"] / MILLION, row["sessions"], row["first"]) for row in rows
    }


def _candidates(promises: Iterable[int]) -> Iterable[Container]:
    """Return what is promised, and of the rest what has been open longest: a sealed bottle is as it came."""
    rows = Container.objects.filter(state=State.IN_USE).select_related(
        "substance", "location", "lot__substance"
    )
    rows = rows.defer("search_text")
    yield from rows.filter(pk__in=list(promises)).order_by("number")
    opened = rows.filter(opened_on__isnull=False, remaining__gt=0).exclude(pk__in=list(promises))
    yield from opened.order_by("opened_on", "number")[:MOST_OPENED]


def _row(
    container: Container, promise: Promise | None, measured_at: datetime | None, usable: int, now: datetime
) -> WorthRow:
    doubt = container.doubt
    record = Record(
        book=max(container.amount - doubt.drift, 0.0),
        u=doubt.spread,
        heel=container.heel / MILLION,
        days=max((now - measured_at).total_seconds() / 86_400, 0.0) if measured_at else 365.0,
        need=promise.need if promise else 0.0,
        sessions=promise.sessions if promise else 0,
        is_only=container.substance_id is not None and usable <= 1,
        is_dangerous=_is_dangerous(container.substance),
    )
    return WorthRow(container, record, worth_of_count(record), promise.first_at if promise else None)


def _is_dangerous(substance: Substance | None) -> bool:
    if substance is None or not substance.hazards:
        return False
    return label_elements([(code, category) for code, category in substance.hazards]).signal_word == "Danger"


def _percent(chance: float) -> str:
    """Write a chance: a model is never written finer than a per cent."""
    if 0 < chance < 0.005:
        return f"under 1{NO_BREAK}%"
    return f"{100 * chance:.0f}{NO_BREAK}%"


def _several(many: int, what: str) -> str:
    return f"1 {what}" if many == 1 else f"{many} {what}s"
