"""When a container's use ends: which rule says what, which wins, and why."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.safestring import SafeString

from labstock.look.drawing.date_rules import DateRule, date_rules
from labstock.stock.models import Container

# After this long open, a peroxide former is tested before use; common practice, no source.
PEROXIDE_TEST_AFTER = timedelta(days=90)


@dataclass(frozen=True)
class EndDate:
    """One rule with its date, or the words for having none."""

    rule: str
    ends_on: date | None
    evidence: str
    wins: bool = False
    starts_on: date | None = None


@dataclass(frozen=True)
class Dates:
    """All rules, the earliest date, and whether it has passed."""

    rows: tuple[EndDate, ...]
    ends_on: date | None
    rule: str
    today: date

    @property
    def is_over(self) -> bool:
        """Say whether the earliest date has passed."""
        return self.ends_on is not None and self.ends_on < self.today

    @property
    def headline(self) -> str:
        """Return the answer in one line."""
        if self.ends_on is None:
            return "No end date is on record"
        word = "Over since" if self.is_over else "Good until"
        return f"{word} {self.ends_on.day} {self.ends_on:%B %Y}"

    @property
    def picture(self) -> SafeString:
        """Return the dates on one line of time, or nothing where no rule gives one."""
        rules = [
            DateRule(row.rule.lower(), row.starts_on, row.ends_on)
            for row in self.rows
            if row.ends_on and row.starts_on
        ]
        return SafeString(date_rules(rules, self.today)) if rules else SafeString()


def dates_of(container: Container, today: date) -> Dates:
    """Gather the rules; retest and expiry are kept apart, the earliest date wins."""
    lot = container.lot
    found = [
        _row("Retest", lot.retest_on if lot else None, container, f"lot {lot.number}" if lot and lot.retest_on else "no retest date on record"),
        _row("Expiry: the maker’s", lot.expires_on if lot else None, container, f"label, lot {lot.number}" if lot and lot.expires_on else "no expiry on record"),
        _opened(container, today),
        *_inherited(container),
    ]  # fmt: skip
    dated = [row for row in found if row.ends_on is not None]
    first = min(dated, key=lambda row: row.ends_on or date.max, default=None)
    rows = tuple(
        EndDate(row.rule, row.ends_on, row.evidence, wins=row is first, starts_on=row.starts_on)
        for row in found
    )
    return Dates(rows, first.ends_on if first else None, first.rule if first else "", today)


def _row(rule: str, ends_on: date | None, container: Container, evidence: str) -> EndDate:
    # a line of time needs a beginning before its end, even for a bottle that came in past its date
    starts_on = min(container.received_on, ends_on) if ends_on else None
    return EndDate(rule, ends_on, evidence, starts_on=starts_on)


def _inherited(container: Container) -> list[EndDate]:
    """Return the end that came with what was poured in, where it is earlier than the lot's own."""
    lot, ends_on = container.lot, container.ends_on
    own = [day for day in (lot.retest_on, lot.expires_on) if day] if lot else []
    if ends_on is None or (own and min(own) <= ends_on):
        return []
    return [_row("From what was poured in", ends_on, container, "the worst date rules")]


def _opened(container: Container, today: date) -> EndDate:
    if container.opened_on is None:
        return EndDate("In use: since it was opened", None, "not opened yet")
    days = (today - container.opened_on).days
    ago = {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
    first = f"first draw {container.opened_on.day} {container.opened_on:%b %Y}"
    return EndDate("In use: since it was opened", None, f"{first}, {ago}; no limit is set")


def needs_peroxide_test(container: Container, today: date) -> bool:
    """Say whether it forms peroxides and has been open for long."""
    substance, opened_on = container.substance, container.opened_on
    return bool(
        substance and substance.is_peroxide_former and opened_on and today - opened_on > PEROXIDE_TEST_AFTER
    )
