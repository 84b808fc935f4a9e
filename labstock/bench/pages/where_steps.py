"""The steps of the waterfall: each sort of line gets a bar, draws a bar for each batch or purpose."""

from collections import defaultdict
from collections.abc import Iterator

from labstock.bench.pages.where_rows import short
from labstock.chemistry.display import show_number
from labstock.look.drawing import waterfall
from labstock.look.drawing.waterfall import Bar
from labstock.stock.account_lines import (
    BY_OTHERS,
    CAME_IN,
    DRAWN,
    EARLIER,
    FOUND,
    GROUP_OF,
    LOST,
    PAIRED,
    PASSED_ON,
)
from labstock.stock.account_sums import Draws, Group
from labstock.stock.accounts import Account
from labstock.stock.models import Kind
from labstock.stock.models.container import MILLION


def steps_of(account: Account, *, has_start: bool, is_past: bool) -> Iterator[Bar]:
    """Yield the bars from what there was to what is left."""
    if has_start or account.opening:
        yield _bar("At the start", waterfall.STANDS, account.opening)
    yield from _whole(account, BY_OTHERS, "By others", waterfall.WENT_OUT)
    yield from _whole(account, CAME_IN, "Came in", waterfall.CAME_IN)
    for name, change in _draws(account):
        yield _bar(name, waterfall.WENT_OUT, change)
    yield from _losses(account)
    yield from _whole(account, PASSED_ON, "Transferred or disposed of", waterfall.WENT_OUT)
    yield from _whole(account, EARLIER, "Corrections of earlier lines", waterfall.CAME_IN)
    pairs = account.groups.get(PAIRED)
    if pairs is not None:
        many = f"{pairs.lines // 2} line{'s' if pairs.lines > 3 else ''} reversed"
        yield _bar(many, waterfall.REVERSED, pairs.change)
    yield from _differences(account)
    last = "At the end" if is_past else "Now"
    yield _bar(last, waterfall.STANDS, account.closing, u=account.u)


def _bar(name: str, kind: str, change: int, u: float = 0.0) -> Bar:
    if kind == waterfall.STANDS:
        return Bar(name, kind, change / MILLION, show_number(change / MILLION, u) if u else short(change), u)
    return Bar(name, kind, change / MILLION, short(change, sign=True))


def _whole(account: Account, group: str, name: str, kind: str) -> Iterator[Bar]:
    """Yield one bar for a whole sort of lines; its sign decides whether it goes up or down."""
    if group in account.groups:
        change = account.groups[group].change
        if change:
            yield _bar(name, waterfall.CAME_IN if change > 0 else waterfall.WENT_OUT, change)


def _draws(account: Account) -> Iterator[tuple[str, int]]:
    """Yield the draws, one sum for each batch or purpose, the rest of many in one."""
    sums: dict[str, int] = defaultdict(int)
    for draws in account.draws:
        sums[_went_into(draws)] += draws.change
    yield from sums.items()
    rest = account.groups[DRAWN].change - sum(sums.values()) if DRAWN in account.groups else 0
    if rest:
        yield "Other draws", rest


def _went_into(draws: Draws) -> str:
    number, title = draws.went_into
    if number:
        return f"Batch {number}, {title}"
    purpose = draws.purpose
    return purpose[:1].upper() + purpose[1:] if purpose else f"Drawn by {draws.by_name}"


def _losses(account: Account) -> Iterator[Bar]:
    for kind in GROUP_OF[LOST]:
        if (LOST, kind) in account.kinds:
            yield _bar(kind.label, waterfall.LOST, account.kinds[LOST, kind].change)


def _differences(account: Account) -> Iterator[Bar]:
    """Yield what somebody found and gave a reason for, and what only a weighing or a count says."""
    if FOUND not in account.groups:
        return
    named = account.kinds.get((FOUND, Kind.FOUND), Group()).change
    if named:
        yield _bar("Found, with a reason", waterfall.CAME_IN, named)
    rest = account.groups[FOUND].change - named
    yield _bar("Unexplained: weighed or counted", waterfall.UNEXPLAINED, rest)
