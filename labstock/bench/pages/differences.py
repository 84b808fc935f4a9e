"""Differences between what was done without signal and what the book says: the list, and one to settle."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from labstock.bench.offline import ACTS, may_settle
from labstock.bench.pages.after import line_words
from labstock.bench.pages.amounts import left_words
from labstock.bench.pages.clock import clock_words
from labstock.chemistry.devices import DEVICES
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.models import Container, Entry, Kind, QueuedEntry

MOST_ROWS = 50
MOST_LINES = 5


@dataclass(frozen=True)
class Difference:
    """One entry that the book refused: what was done, by whom, and why it is not in the book."""

    queued: QueuedEntry
    done: str
    who: str
    clock: str
    container: Container | None

    @property
    def settlement(self) -> Any:
        """Return how it was settled, or None while it is open."""
        return getattr(self.queued, "settlement", None)


@dataclass(frozen=True)
class DifferencePage:
    """One difference with what the book says now."""

    row: Difference
    left: str
    state: str
    since: Sequence[str]
    may_settle: bool


def open_differences(person: User) -> QuerySet[QueuedEntry]:
    """Return what this person has to settle; a steward sees everybody's."""
    rows = QueuedEntry.objects.filter(entry=None, settlement=None)
    return rows if may(person, Act.CORRECT) else rows.filter(_of(person))


def differences_page(person: User) -> tuple[list[Difference], list[Difference]]:
    """Return the open differences, oldest doing first, and the last ones that were settled."""
    also = (
        "owner",
        "sent_by",
        "container__substance",
        "container__location",
        "settlement__by",
        "settlement__entry",
    )
    first = open_differences(person).select_related(*also).order_by("done_at", "id")[:MOST_ROWS]
    done = QueuedEntry.objects.filter(entry=None, settlement__isnull=False)
    done = done if may(person, Act.CORRECT) else done.filter(_of(person))
    last = done.select_related(*also).order_by("-settlement__at", "-id")[:MOST_ROWS]
    return [difference(row) for row in first], [difference(row) for row in last]


def _of(person: User) -> Q:
    return Q(owner=person) | Q(sent_by=person)


def difference(queued: QueuedEntry) -> Difference:
    """Shape one difference for the pages."""
    told = queued.sent.get("told", {})
    return Difference(queued, told_words(told), who_words(queued), clock_words(queued), queued.container)


def told_words(told: dict[str, Any]) -> str:
    """Return what a person said was done: Used 5 mL, with a 5 mL syringe."""
    act = ACTS.get(str(told.get("act")), str(told.get("act")))
    unit = "g" if told.get("act") == "weigh" else told.get("unit") or ""
    number = str(told.get("amount", ""))
    amount = f"{number}\N{NO-BREAK SPACE}{unit}" if unit and number[-1:].isdigit() else number
    tool = DEVICES.get(str(told.get("device")))
    return f"{act} {amount}" + (f", {tool.name}" if tool else "")


def who_words(queued: QueuedEntry) -> str:
    """Say who did it and who sent it."""
    if queued.owner is None:
        return f"{queued.sent_by}; nobody was signed in on the device"
    if queued.owner_id == queued.sent_by_id:
        return str(queued.owner)
    return f"{queued.owner}, sent by {queued.sent_by}"


def difference_page(queued: QueuedEntry, person: User) -> DifferencePage:
    """Gather one difference: what was done, and what the book says now."""
    container = queued.container
    return DifferencePage(
        row=difference(queued),
        left=left_words(container) if container else "",
        state=_state(container) if container else "",
        since=[line_words(entry) for entry in _lines_since(queued)] if container else (),
        may_settle=may_settle(queued, person)
        and not hasattr(queued, "settlement")
        and queued.entry_id is None,
    )


def _state(container: Container) -> str:
    because = f": {container.state_because}" if container.state_because else ""
    return f"{container.get_state_display()}{because}"


def _lines_since(queued: QueuedEntry) -> Sequence[Entry]:
    rows = Entry.objects.filter(container=queued.container, done_at__gt=queued.done_at)
    return list(
        rows.exclude(kind=Kind.RECEIVED).select_related("container").order_by("-done_at")[:MOST_LINES]
    )


def said_in_answer(queued: QueuedEntry, left: str = "") -> dict[str, Any]:
    """Return what became of a queued entry, as the device is told."""
    settled = getattr(queued, "settlement", None)
    return {
        "key": str(queued.key),
        "state": "recorded" if queued.entry_id else "settled" if settled else "difference",
        "said": left or queued.refusal,
        "pk": queued.pk,
        "at": timezone.localtime(queued.done_at).strftime("%H:%M"),
    }
