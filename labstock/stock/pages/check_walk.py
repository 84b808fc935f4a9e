"""The page on which a place is walked: what the last scan came to, and what is still to be seen. It tells no amounts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urlencode

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.stock.codes import is_code
from labstock.stock.models import CheckExpected, CheckFinding, Container, Found, Location, State, StockCheck
from labstock.stock.models.container import MILLION
from labstock.stock.places import misfit
from labstock.stock.queries_checks import is_in, unsettled

JUST_SCANNED = 5
WORDS: dict[str, tuple[str, str]] = {
    Found.SEEN: ("yes", "Seen. It belongs here."),
    Found.ELSEWHERE: ("ask", "Wrong place."),
    Found.BACK: ("yes", "Seen again."),
    Found.EMPTY: ("empty", "Seen. The book says empty."),
    Found.DISPOSED: ("stop", "Seen. The book says disposed of."),
    Found.FOREIGN: ("no", "Not in the book."),
}


@dataclass(frozen=True)
class Said:
    """What the page says, large, of the last scan."""

    finding: CheckFinding
    sign: str
    word: str
    why: tuple[str, ...]
    caution: str
    can_move: bool
    can_count: bool

    @property
    def capacity(self) -> float:
        """Return the size of the container [container's unit]."""
        return self.finding.container.capacity / MILLION if self.finding.container else 0.0


@dataclass(frozen=True)
class Stop:
    """One place on the way, with what is still to be seen there."""

    place: str
    rows: tuple[Container, ...]


@dataclass(frozen=True)
class WalkPage:
    """A check that goes on."""

    stock_check: StockCheck
    at: Location | None
    said: Said | None
    error: LabError | None
    typed: str
    expected: int
    seen: int
    besides: int
    waiting: int
    stops: tuple[Stop, ...]
    recent: tuple[CheckFinding, ...]

    @property
    def left(self) -> int:
        """Return how many are still to be seen."""
        return self.expected - self.seen

    @property
    def left_words(self) -> str:
        """Say how many are still to be seen, for the margin."""
        return "This shelf first" if self.at is not None and self.at != self.stock_check.place else ""

    @property
    def is_bottle(self) -> bool:
        """Say whether what stands in the field is the code of a container."""
        return is_code(self.typed, settings.LABSTOCK_CODE_PREFIX)

    @property
    def correct(self) -> str:
        """Return the address that puts what was refused into the field; by itself the field waits for the next scan."""
        query = urlencode({"at": self.at.pk if self.at else "", "typed": self.typed})
        return f"{reverse('check', args=[self.stock_check.pk])}?{query}"

    @property
    def is_foreign(self) -> bool:
        """Say whether the text that was refused may be the label of a bottle that the book does not know."""
        return self.error is not None and self.error.code in FOREIGN_CODES


# Well written, or plainly another's: not a slip of a finger on one of ours.
FOREIGN_CODES = (
    "code-maker", "code-cas", "code-address", "code-not-ours", "code-foreign", "unknown-code", "code-too-long",
    "code-too-short",
)  # fmt: skip


def walk_page(
    stock_check: StockCheck,
    at: Location | None,
    *,
    last: int = 0,
    is_again: bool = False,
    error: LabError | None = None,
    typed: str = "",
) -> WalkPage:
    """Gather the page of a check that goes on, at the shelf a person stands before."""
    rows = stock_check.findings.select_related("container__substance", "container__location", "place", "by")
    findings = list(rows.order_by("pk"))
    found = {row.container_id for row in findings}
    expected = list(stock_check.expected.select_related("container__substance", "place").order_by("pk"))
    newest = next((row for row in findings if row.pk == last), None)
    to_see = [row for row in expected if row.container_id not in found]
    return WalkPage(
        stock_check=stock_check,
        at=at,
        said=said_of(newest, is_again=is_again) if newest else None,
        error=error,
        typed=typed,
        expected=len(expected),
        seen=len(expected) - len(to_see),
        besides=len(findings) - (len(expected) - len(to_see)),
        waiting=len(unsettled(stock_check)),
        stops=tuple(_stops(to_see, at)),
        recent=tuple(row for row in reversed(findings) if row is not newest)[:JUST_SCANNED],
    )


def walk_address(
    stock_check: StockCheck, at: Location | None, last: int = 0, *, is_again: bool = False
) -> str:
    """Return the address of the walk at a shelf, saying what the last scan came to."""
    said = {"at": at.pk if at else "", "last": last or "", "twice": "yes" if is_again else ""}
    query = urlencode({name: value for name, value in said.items() if value})
    return f"{reverse('check', args=[stock_check.pk])}{'?' if query else ''}{query}"


def place_walked(stock_check: StockCheck, asked: str) -> Location | None:
    """Return the shelf a person stands before: the one asked for, if the check goes that far; else all of it."""
    if not asked.isascii() or not asked.isdigit():
        return stock_check.place
    place = Location.objects.filter(pk=min(int(asked), 2**62)).first()
    if place is None or (stock_check.place is not None and not is_in(place, stock_check.place)):
        return stock_check.place
    return place


def said_of(finding: CheckFinding, *, is_again: bool = False) -> Said:
    """Say what a scan came to."""
    sign, word = WORDS.get(finding.what, ("yes", f"{finding.get_what_display().capitalize()}."))
    container = finding.container
    is_moved = container is not None and container.location_id == finding.place_id
    if finding.what == Found.ELSEWHERE and is_moved:
        sign, word = "yes", "It is here now."
    if is_again:
        word = f"Scanned twice. {word}"
    wrong = misfit(container, finding.place) if container and finding.place else None
    return Said(
        finding=finding,
        sign=sign,
        word=word,
        why=tuple(_why(finding, is_again, is_moved)),
        caution=wrong.words if wrong else "",
        can_move=finding.what == Found.ELSEWHERE and not is_moved,
        can_count=container is not None and container.state != State.DISPOSED,
    )


def _why(finding: CheckFinding, is_again: bool, is_moved: bool) -> Iterable[str]:
    if is_again:
        at = timezone.localtime(finding.at)
        yield f"{finding.by} scanned it on {at:%d %b} at {at:%H:%M}. It counts once."
    if finding.what == Found.ELSEWHERE:
        home = finding.book_place or "no place at all"
        yield f"{'It was booked in' if is_moved else 'By the book it belongs in'} {home}."
    elif finding.what == Found.EMPTY:
        yield "If something is in it, count it: then it is in use again. If nothing is, it can be disposed of."
    elif finding.what == Found.DISPOSED:
        yield "It carries an old label or was never thrown away: use nothing from it and ask a steward."
    elif finding.what == Found.BACK:
        yield "The book had it as not seen."
    if finding.container is not None and finding.container.state == State.BLOCKED:
        yield f"It is blocked: {finding.container.state_because}"


def _stops(to_see: Sequence[CheckExpected], at: Location | None) -> Iterable[Stop]:
    """Yield the places in walking order; the shelf a person stands before comes first."""
    here = [row for row in to_see if at is not None and row.place is not None and is_in(row.place, at)]
    there = [row for row in to_see if row not in here]
    for rows in (here, there):
        for name, group in groupby(
            rows, key=lambda row: row.place.path if row.place else "no place in the book"
        ):
            yield Stop(name, tuple(row.container for row in group))
