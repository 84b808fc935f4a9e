"""What a check came to: the share of records that match, and every difference, those without a cause first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils import timezone

from labstock.chemistry.devices import DEVICES
from labstock.chemistry.differences import AIM, Difference, Verdict
from labstock.chemistry.display import show, show_percent
from labstock.stock.codes import show_code
from labstock.stock.models import CheckCount, CheckFinding, Found, StockCheck
from labstock.stock.models.container import MILLION
from labstock.stock.queries_checks import Tally, tallies

HEADINGS = (
    "code", "name", "found", "place it was seen in", "place by the book", "seen by", "seen at", "last seen before",
    "unit", "counted as", "how", "counted by", "counted at", "book before", "may have evaporated", "± book (k = 2)",
    "count", "± count (k = 2)", "difference", "z", "cause", "settled by", "settled at", "ledger line",
)  # fmt: skip


NOTES: dict[str, str] = {
    Found.MISSING: "Not seen is not gone: it stays on the list, and a scan brings it back",
    Found.STILL_MISSING: "Not seen before this check either; not in the share",
    Found.FOREIGN: "Log each as an unknown bottle",
    Found.HANDLED: "Somebody wrote a line about it while the check went on",
}


@dataclass(frozen=True)
class CountRow:
    """One count beside the book."""

    count: CheckCount
    difference: Difference
    is_waiting: bool

    @property
    def book(self) -> str:
        """Return what the book said before, with its doubt."""
        return show(self.difference.book, self.count.container.unit, self.difference.u_book)

    @property
    def found(self) -> str:
        """Return what was found, with its doubt."""
        return show(self.difference.count, self.count.container.unit, self.difference.u_count)

    @property
    def signed(self) -> str:
        """Return the difference, with its sign and doubt."""
        sign = "+" if self.difference.signed > 0 else ""
        return sign + show(self.difference.signed, self.count.container.unit, self.difference.u)

    @property
    def how(self) -> str:
        """Return how it was measured."""
        tool = DEVICES.get(self.count.device)
        name = tool.name if tool else self.count.device
        return f"weighed, {name}" if self.count.gross_ug is not None else name

    @property
    def evaporated(self) -> str:
        """Return what may have evaporated since the last line, where a model says so."""
        return (
            show(self.count.evaporated / MILLION, self.count.container.unit) if self.count.evaporated else ""
        )

    @property
    def sign(self) -> str:
        """Return the sign of what it came to."""
        return "yes" if self.difference.verdict is Verdict.FITS else "caution"

    @property
    def is_explained(self) -> bool:
        """Say whether somebody gave a cause."""
        return not self.is_waiting and bool(self.count.settled.cause)

    @property
    def word(self) -> str:
        """Return what it came to."""
        if self.difference.verdict is Verdict.FITS:
            return "It fits the book"
        return "Explained" if self.is_explained else "It fits, but watch it"

    @property
    def after(self) -> str:
        """Return what the book says since the count was settled."""
        entry = self.count.settled.entry
        return show(entry.after / MILLION, self.count.container.unit, entry.u_after / MILLION)


@dataclass(frozen=True)
class Group:
    """What was found of one kind."""

    what: Found
    rows: tuple[CheckFinding, ...]

    @property
    def title(self) -> str:
        """Return what they have in common."""
        return self.what.label.capitalize()

    @property
    def slug(self) -> str:
        """Return a name for the address of the section."""
        return self.what.value.replace(" ", "-")

    @property
    def note(self) -> str:
        """Return what is to be kept in mind."""
        return NOTES.get(self.what, "")


@dataclass(frozen=True)
class ResultPage:
    """A check that goes on or is ended."""

    stock_check: StockCheck
    is_ended: bool
    tally: Tally
    waiting: tuple[CountRow, ...]
    differing: tuple[CountRow, ...]
    fitting: tuple[CountRow, ...]
    groups: tuple[Group, ...]
    seen: tuple[CheckFinding, ...]

    @property
    def sign(self) -> str:
        """Return the sign of the answer."""
        if self.waiting or self.tally.share is None:
            return "ask"
        return "yes" if self.tally.share >= AIM else "caution"

    @property
    def word(self) -> str:
        """Return the answer: how many records match."""
        share = self.tally.share
        if share is None:
            return "Nothing was looked at yet"
        return f"{self.tally.matched} of {self.tally.total} records match: {show_percent(share)}"

    @property
    def aim(self) -> str:
        """Return the share that is aimed at."""
        return show_percent(AIM)

    @property
    def unlooked(self) -> int:
        """Return how many were never looked for."""
        looked = sum(
            len(group.rows) for group in self.groups if group.what in (Found.MISSING, Found.STILL_MISSING)
        )
        return max(self.tally.expected - self.tally.seen - looked, 0)


def result_page(stock_check: StockCheck) -> ResultPage:
    """Gather the result of a check."""
    findings = _findings(stock_check)
    counts = _newest(_counts(stock_check))
    far = sorted(
        (row for row in counts if row.difference.verdict is not Verdict.FITS),
        key=lambda row: -row.difference.z,
    )
    return ResultPage(
        stock_check=stock_check,
        is_ended=hasattr(stock_check, "end"),
        tally=tallies([stock_check.pk])[stock_check.pk],
        waiting=tuple(row for row in far if row.is_waiting),
        differing=tuple(row for row in far if not row.is_waiting),
        fitting=tuple(row for row in counts if row.difference.verdict is Verdict.FITS),
        groups=tuple(_groups(findings)),
        seen=tuple(row for row in findings if row.what == Found.SEEN),
    )


def count_row(count: CheckCount) -> CountRow:
    """Set one count beside the book."""
    return CountRow(count, count.difference, not hasattr(count, "settled"))


def rows_to_export(stock_check: StockCheck) -> list[tuple[object, ...]]:
    """Return everything the check holds, one row for each finding and count, as plain values."""
    by_container: dict[int, list[CountRow]] = {}
    for row in _counts(stock_check):
        by_container.setdefault(row.count.container_id, []).append(row)
    return [
        _found(finding) + counted
        for finding in _findings(stock_check)
        for counted in [_counted(row) for row in by_container.get(finding.container_id or 0, [])]
        or [("",) * 16]
    ]


def _findings(stock_check: StockCheck) -> list[CheckFinding]:
    rows = stock_check.findings.select_related("container__substance", "container__location", "place", "by")
    return sorted(rows, key=lambda row: (row.book_place or (row.place.path if row.place else ""), row.pk))


def _counts(stock_check: StockCheck) -> list[CountRow]:
    rows = stock_check.counts.select_related("container__substance", "by", "settled__by", "settled__entry")
    return [count_row(row) for row in rows.order_by("pk")]


def _newest(rows: Sequence[CountRow]) -> list[CountRow]:
    return list({row.count.container_id: row for row in rows}.values())


def _groups(findings: Sequence[CheckFinding]) -> Iterator[Group]:
    worst_first = (
        Found.MISSING, Found.FOREIGN, Found.DISPOSED, Found.ELSEWHERE, Found.EMPTY, Found.BACK, Found.STILL_MISSING,
        Found.HANDLED,
    )  # fmt: skip
    for what in worst_first:
        rows = tuple(row for row in findings if row.what == what)
        if rows:
            yield Group(what, rows)


def _found(finding: CheckFinding) -> tuple[object, ...]:
    container = finding.container
    is_seen = finding.place_id is not None
    return (
        show_code(container.code) if container else finding.foreign,
        container.name if container else "",
        finding.get_what_display(),
        str(finding.place or ""),
        finding.book_place,
        str(finding.by) if is_seen else "",
        timezone.localtime(finding.at) if is_seen else None,
        timezone.localtime(finding.last_seen_at) if finding.last_seen_at else None,
    )


def _counted(row: CountRow) -> tuple[object, ...]:
    count, gap = row.count, row.difference
    settled = None if row.is_waiting else count.settled
    return (
        count.container.unit, count.typed, row.how, str(count.by), timezone.localtime(count.at),
        count.book / MILLION, count.evaporated / MILLION, 2 * gap.u_book, gap.count, 2 * gap.u_count, gap.signed,
        gap.z if gap.u else row.difference.words,
        settled.cause if settled else "not explained yet", str(settled.by) if settled else "",
        timezone.localtime(settled.at) if settled else None, settled.entry.seq if settled else None,
    )  # fmt: skip
