"""Where did it go: the page's words, pictures and rows, from the accounts."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from labstock.bench.pages.where_rows import Row, Weighing, exact, places_of, rows_of, short, weighings_of
from labstock.bench.pages.where_steps import steps_of
from labstock.chemistry.display import show, with_unit
from labstock.chemistry.evaporation import words_for_loss
from labstock.chemistry.tolerance import words_for_tolerance
from labstock.look.drawing.waterfall import Bar
from labstock.stock.account_lines import DRAWN, FOUND, LOST, PASSED_ON, Scope, corrections_of
from labstock.stock.accounts import Account, accounts_of
from labstock.stock.codes import show_code
from labstock.stock.heads import head_of_this_moment
from labstock.stock.models.container import MILLION
from labstock.stock.pages.proof import Proof, proof_by
from labstock.stock.snapshot import one_moment

MOST_PICTURES = 12
MOST_IN_SHORT = 200
BATCH = "batch_input__batch"


@dataclass(frozen=True)
class Section:
    """One substance in one unit: the sentence, the picture, the lines, the differences found."""

    account: Account
    title: str
    sign: str
    word: str
    why: tuple[str, ...]
    steps: tuple[Bar, ...]
    rows: tuple[Row, ...]
    opening: str
    closing: str
    doubt: str
    weighings: tuple[Weighing, ...]
    verdict: str


@dataclass(frozen=True)
class WherePage:
    """The whole account."""

    scope: Scope
    subject: str
    link: str
    days: str
    sections: tuple[Section, ...]
    in_short: tuple[Section, ...]
    untold: int
    is_empty: bool
    page: int
    pages: int
    newer: str
    older: str
    corrections: int | None
    proof: Proof
    ranges: tuple[tuple[str, str, bool], ...]
    has_one_container: bool


def where_page(scope: Scope, page: int = 1, now: datetime | None = None) -> WherePage:
    """Gather the accounts of what is asked about, and the head that confirms them, all of one moment."""
    now = now or timezone.now()
    with one_moment():
        accounts = accounts_of(scope, page, also=(BATCH,), went_into=(f"{BATCH}__number", f"{BATCH}__title"))
        corrections, head = corrections_of(scope), head_of_this_moment()
    told = [account for account in accounts.sections if account.many or account.opening]
    made = tuple(_section(account, scope) for account in told[: MOST_PICTURES + MOST_IN_SHORT])
    subject, link = _subject(scope)
    return WherePage(
        scope=scope,
        subject=subject,
        link=link,
        days=_days(scope, now),
        sections=made[:MOST_PICTURES],
        in_short=made[MOST_PICTURES:],
        untold=len(told) - len(made),
        is_empty=not made,
        page=accounts.page,
        pages=accounts.pages,
        newer=_address_of_page(scope, accounts.page - 1) if accounts.page > 1 else "",
        older=_address_of_page(scope, accounts.page + 1) if accounts.page < accounts.pages else "",
        corrections=corrections,
        proof=proof_by(head),
        ranges=tuple(_ranges(scope, now)),
        has_one_container=scope.container is not None,
    )


def _section(account: Account, scope: Scope) -> Section:
    places = places_of(account)
    tolerance = account.tolerance
    return Section(
        account=account,
        title=account.name[:1].upper() + account.name[1:],
        sign=_sign(account),
        word=_answer(account),
        why=tuple(_why(account)),
        steps=tuple(steps_of(account, has_start=scope.since is not None, is_past=scope.until is not None)),
        rows=tuple(rows_of(account, places, is_one=scope.container is not None)),
        opening=exact(account.opening, places),
        closing=exact(account.closing, places),
        doubt=exact(round(2 * account.u * MILLION), None) if account.u else "",
        weighings=tuple(weighings_of(account)),
        verdict=words_for_tolerance(tolerance) if account.found else "",
    )


def _sign(account: Account) -> str:
    if not account.adds_up:
        return "stop"
    probability = account.tolerance.probability if account.found else 1.0
    return "stop" if probability < 0.0027 else "limit" if probability < 0.046 else "yes"


def _answer(account: Account) -> str:
    left = show(account.closing / MILLION, account.unit, account.u or None)
    if not account.adds_up:
        return "It does not add up: run manage.py verify and tell the administrator"
    drawn = account.groups.get(DRAWN)
    if drawn is None:
        return f"Nothing was drawn; {left} is there"
    draws = f"{drawn.lines} draw{'s' if drawn.lines > 1 else ''}"
    return f"{with_unit(short(-drawn.change), account.unit)} went into {draws}; {left} is left"


def _why(account: Account) -> list[str]:
    words = {LOST: "was spilt, evaporated or poured away", PASSED_ON: "was transferred or disposed of"}
    said = [
        f"{with_unit(short(-account.groups[group].change), account.unit)} {deed}"
        for group, deed in words.items()
        if group in account.groups
    ]
    found = account.groups.get(FOUND)
    if found is not None:
        change = with_unit(short(found.change, sign=True), account.unit)
        said.append(f"The book was changed by {change} after weighing back, counting and finding")
    said += _evaporation(account)
    if account.found:
        said.append(words_for_tolerance(account.tolerance))
    elif account.u:
        said.append(
            "Nothing was weighed back or counted in this time, so nothing is known to be missing; the devices used "
            f"{'and what may have evaporated ' if _lost_since(account) else ''}leave "
            f"±\u00a0{with_unit(exact(round(2 * account.u * MILLION), None), account.unit)} of doubt"
        )
    return said


def _lost_since(account: Account) -> str:
    """Return what may have evaporated since the last weighing, or empty."""
    return words_for_loss(account.drift, account.unit)


def _evaporation(account: Account) -> list[str]:
    """Say what a model expects to have evaporated: before each weighing, and since the last one."""
    told = words_for_loss(sum(found.drift for found in account.found), account.unit)
    since = _lost_since(account)
    said = []
    if told:
        said.append(
            f"Of what weighing and counting changed, {told} was expected to have evaporated (a model)"
        )
    if since:
        when = "since anybody weighed or counted" if account.found else "by now"
        said.append(f"{since[:1].upper()}{since[1:]} may have evaporated {when} (a model, not booked)")
    return said


def _subject(scope: Scope) -> tuple[str, str]:
    """Return what is asked about, and the page of it."""
    if scope.container is not None:
        container = scope.container
        return f"{container.name}, {show_code(container.code)}", reverse("container", args=[container.code])
    if scope.lot is not None:
        return f"lot {scope.lot.number or 'without number'} of {scope.lot.substance}", reverse(
            "substance", args=[scope.lot.substance_id]
        )
    if scope.substance is not None:
        return str(scope.substance), reverse("substance", args=[scope.substance.pk])
    return (f"what {scope.person} used", "") if scope.person is not None else ("everything", "")


def _days(scope: Scope, now: datetime) -> str:
    if scope.since is None and scope.until is None:
        return "from the first line to now"
    first = f"from {_day(scope.since)}" if scope.since else "from the first line"
    last = f"to {_day(scope.until - timedelta(days=1))}" if scope.until else "to now"
    return f"{first} {last}, by the day a line was written"


def _day(moment: datetime) -> str:
    local = timezone.localtime(moment)
    return f"{local.day} {local:%b %Y}"


def _ranges(scope: Scope, now: datetime) -> Sequence[tuple[str, str, bool]]:
    """Return ready-made stretches of time: words, address, and whether it is the one shown."""
    today = timezone.localdate(now)
    starts = [
        ("Last 30 days", today - timedelta(days=30)),
        ("This year", today.replace(month=1, day=1)),
        ("Last 365 days", today - timedelta(days=365)),
    ]
    since = timezone.localdate(scope.since) if scope.since else None
    made = [
        (words, address_of(scope, **{"from": day}), since == day and scope.until is None)
        for words, day in starts
    ]
    if scope.containers is not None:
        made.insert(0, ("All of it", address_of(scope), since is None and scope.until is None))
    return made


def address_of(scope: Scope, **days: Any) -> str:
    """Return the address of an account of the same thing."""
    subject: dict[str, Any] = {}
    if scope.container is not None:
        subject["container"] = scope.container.code
    for name in ("lot", "substance", "person"):
        if (row := getattr(scope, name)) is not None:
            subject[name] = row.pk
    return f"{reverse('where-did-it-go')}?{urlencode(subject | days)}"


def _address_of_page(scope: Scope, page: int) -> str:
    """Return the address of another page of the same account, over the same days."""
    days: dict[str, Any] = {}
    if scope.since is not None:
        days["from"] = timezone.localdate(scope.since)
    if scope.until is not None:
        days["to"] = timezone.localdate(scope.until - timedelta(days=1))
    return address_of(scope, **days, page=page)
