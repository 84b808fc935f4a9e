"""Where did it go? What there was, every line since, and what is left, adding up to the last millionth.

Dates are those on which lines were written: what the book said on a day is then the same for ever, and the same as on a
print-out of that day. A line written late shows when it was done.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any, TypeVar

from django.db.models import Q

from labstock.chemistry.tolerance import Verdict, by_tolerance
from labstock.stock import account_sums
from labstock.stock.account_lines import BY_OTHERS, FOUND, GROUPS, Scope, group_of, lines_of, used_by_person
from labstock.stock.account_sums import SECTION, Draws, Group, Section, Standing, section_of
from labstock.stock.found import MEASURED, Found
from labstock.stock.models import Entry


@dataclass(frozen=True)
class Account:
    """The account of one substance in one unit. Amounts are whole millionths of the unit.

    `kinds` sums every line by its sort and kind; `earlier` and `later` sum, by sort, the lines on other pages.
    """

    name: str
    unit: str
    opening: int
    closing: int
    kinds: dict[tuple[str, str], Group]
    draws: tuple[Draws, ...]
    earlier: dict[str, Group]
    lines: tuple[Entry, ...]
    later: dict[str, Group]
    found: tuple[Found, ...]
    containers: int
    u: float
    drift: float

    @property
    def groups(self) -> dict[str, Group]:
        """Return the sums of all lines by their sort."""
        return by_sort(self.kinds)

    @property
    def adds_up(self) -> bool:
        """Say whether opening and lines come to what is left, to the last millionth."""
        return self.opening + sum(group.change for group in self.kinds.values()) == self.closing

    @property
    def many(self) -> int:
        """Return how many lines it has."""
        return sum(group.lines for group in self.kinds.values())

    @property
    def measured(self) -> int:
        """Return how many weighings and counts it has; `found` holds the newest of them."""
        return sum(self.kinds[FOUND, kind].lines for kind in MEASURED if (FOUND, kind) in self.kinds)

    @property
    def tolerance(self) -> Verdict:
        """Return what tolerance makes of the differences found [unit]."""
        return by_tolerance([found.difference for found in self.found])


@dataclass(frozen=True)
class Accounts:
    """The accounts of what is asked about, and which page of their lines they show; page 1 has the newest lines."""

    sections: list[Account]
    page: int
    pages: int


def accounts_of(
    scope: Scope, page: int = 1, also: Sequence[str] = (), went_into: Sequence[str] = ()
) -> Accounts:
    """Return the accounts of what is asked about, those with most lines first.

    `also` names what else comes with a line, `went_into` the columns that tell what a draw went into.
    """
    used = used_by_person(scope)
    lines = lines_of(scope, used)
    kinds = account_sums.summed(lines, *SECTION, "group", "kind")
    many = sum(group.lines for key, group in kinds.items() if key[-2] != BY_OTHERS)
    pages = max(ceil(many / account_sums.LINES_ON_A_PAGE), 1)
    page = min(max(page, 1), pages)
    shown = account_sums.shown(lines, page, also)
    touched = scope.containers or Q(
        container__in=lines.order_by().values("container") if used is None else used
    )
    told = _Told(
        page=page,
        pages=pages,
        opening=account_sums.opening(scope, touched),
        standing=account_sums.standing(scope, touched),
        kinds=_by_section(kinds),
        draws=account_sums.draws(lines, went_into),
        before=_by_section(account_sums.before(lines, shown, page, pages)),
        shown=apart(shown, section_of),
        found=apart(account_sums.found(lines, scope), lambda one: section_of(one.entry)),
    )
    sections = sorted(told.accounts(), key=lambda account: (-account.many, account.name, account.unit))
    return Accounts(sections, page, pages)


T = TypeVar("T")
Sums = dict[tuple[str, str], Group]


@dataclass(frozen=True)
class _Told:
    """What the database told of all sections together."""

    page: int
    pages: int
    opening: dict[Section, int]
    standing: dict[Section, Standing]
    kinds: dict[Section, Sums]
    draws: dict[Section, list[Draws]]
    before: dict[Section, Sums]
    shown: dict[Section, list[Entry]]
    found: dict[Section, list[Found]]

    def accounts(self) -> Iterator[Account]:
        """Yield the account of each section."""
        for key, standing in self.standing.items():
            yield self._account(key, standing)

    def _account(self, key: Section, standing: Standing) -> Account:
        shown = self.shown.get(key, [])
        earlier, later = self._on_other_pages(key, shown)
        return Account(
            name=standing.name,
            unit=key[-1],
            opening=self.opening.get(key, 0),
            closing=standing.amount,
            kinds=self.kinds.get(key, {}),
            draws=tuple(self.draws.get(key, ())),
            earlier=earlier,
            lines=tuple(shown),
            later=later,
            found=tuple(self.found.get(key, ())),
            containers=standing.doubt.containers,
            u=standing.doubt.u,
            drift=standing.doubt.drift,
        )

    def _on_other_pages(self, key: Section, shown: list[Entry]) -> tuple[dict[str, Group], dict[str, Group]]:
        """Return the sums, by sort, of what was written before the lines shown, and of what was written after them."""
        others = by_sort(self.kinds.get(key, {}))
        others.pop(BY_OTHERS, None)
        for line in shown:
            others[group_of(line)] -= Group(1, line.change)
        if self.page == self.pages:
            return {}, others
        if self.page == 1:
            return others, {}
        before = by_sort(self.before.get(key, {}))
        return before, {sort: group - before.get(sort, Group()) for sort, group in others.items()}


def by_sort(kinds: Sums) -> dict[str, Group]:
    """Sum the kinds of each sort, in the order in which sorts are told."""
    sums = {sort: Group() for sort in GROUPS if any(sort == one for one, _ in kinds)}
    for (sort, _), group in kinds.items():
        sums[sort] += group
    return sums


def apart(things: Iterable[T], section: Callable[[T], Section]) -> dict[Section, list[T]]:
    """Put things apart by their section."""
    made: dict[Section, list[T]] = defaultdict(list)
    for thing in things:
        made[section(thing)].append(thing)
    return made


def _by_section(sums: dict[tuple[Any, ...], Group]) -> dict[Section, Sums]:
    made: dict[Section, Sums] = defaultdict(dict)
    for key, group in sums.items():
        made[key[:-2]][key[-2:]] = group
    return made
