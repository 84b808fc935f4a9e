"""A stock check: begin it, say what was seen, end it. Nothing that is not seen is ever deleted."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.stock.actions.lines import Doing, lock, note_change, use_again
from labstock.stock.models import (
    CheckEnd,
    CheckExpected,
    CheckFinding,
    Container,
    Found,
    Location,
    State,
    StockCheck,
)
from labstock.stock.queries import at_or_below
from labstock.stock.queries_checks import EXPECTED, expected_at, judged, open_checks, unscanned
from labstock.writing import writing

MOST_EXPECTED = 2_000
LONGEST_FOREIGN = 120


@dataclass(frozen=True)
class Sighting:
    """What a scan came to; `is_again` where it was scanned before and counts once."""

    finding: CheckFinding
    is_again: bool


def start(*, place: Location, doing: Doing) -> StockCheck:
    """Begin the check of a place with all that is below it."""
    with writing():
        if done := _started_before(doing):
            return done
        if other := open_checks().filter(place=place).first():
            raise LabError(
                "check-open",
                "A check of {place} is going on since {at:%d %b %H:%M}, begun by {who}: go on with that one.",
                place=place,
                at=timezone.localtime(other.at),
                who=other.by,
            )
        expected = list(expected_at(place)[: MOST_EXPECTED + 1])
        return _begin(expected, place.path, place, doing)


def start_list(*, containers: Sequence[Container], title: str, doing: Doing) -> StockCheck:
    """Begin the check of chosen containers, to be looked for in the order given."""
    with writing():
        if done := _started_before(doing):
            return done
        return _begin([row for row in containers if row.state in EXPECTED], title, None, doing)


def _started_before(doing: Doing) -> StockCheck | None:
    return StockCheck.objects.filter(key=doing.key, by=doing.by).first()


def _begin(expected: Sequence[Container], title: str, place: Location | None, doing: Doing) -> StockCheck:
    if not expected:
        raise LabError(
            "nothing-to-check",
            "By the book nothing stands in {title}: there is nothing to look for. Choose a place where something stands.",
            title=title,
        )
    if len(expected) > MOST_EXPECTED:
        raise LabError(
            "too-much-to-check",
            "More than {most:,} containers stand in {title}: nobody walks that in one go. Choose a place inside it.",
            most=MOST_EXPECTED,
            title=title,
        )
    made = StockCheck.objects.create(title=title, place=place, key=doing.key, by=doing.by, at=doing.at)
    rows = [CheckExpected(stock_check=made, container=row, place_id=row.location_id) for row in expected]
    for row in rows:
        row.seal = row.digest()
    CheckExpected.objects.bulk_create(rows)
    return made


def sight(*, stock_check: StockCheck, container: Container, place: Location | None, doing: Doing) -> Sighting:
    """Say that a container is here. Seen twice, it counts once; one that was not seen is back in use."""
    with writing():
        check_goes_on(stock_check)
        return see(stock_check, lock(container), place or stock_check.place, doing)


def see(stock_check: StockCheck, locked: Container, place: Location | None, doing: Doing) -> Sighting:
    """Write the finding of a locked container, unless this check has one."""
    if done := stock_check.findings.filter(container=locked).first():
        return Sighting(done, is_again=True)
    what = _what_is_seen(locked, place)
    if locked.state == State.NOT_SEEN:
        use_again(locked, replace(doing, reason=_because(stock_check)))
        locked.save(update_fields=["state", "state_because"])
    made = CheckFinding.objects.create(
        stock_check=stock_check,
        container=locked,
        what=what,
        place=place or locked.location,
        book_place=locked.location.path if locked.location else "",
        by=doing.by,
        at=doing.at,
    )
    return Sighting(made, is_again=False)


def _what_is_seen(locked: Container, place: Location | None) -> Found:
    if locked.state in (State.DISPOSED, State.EMPTY):
        return Found.DISPOSED if locked.state == State.DISPOSED else Found.EMPTY
    if place is not None and locked.location_id not in at_or_below(place):
        return Found.ELSEWHERE
    return Found.BACK if locked.state == State.NOT_SEEN else Found.SEEN


def note_foreign(*, stock_check: StockCheck, text: str, place: Location | None, doing: Doing) -> Sighting:
    """Note a bottle whose label the book does not know."""
    said = "".join(letter for letter in " ".join(text.split()) if letter.isprintable())[:LONGEST_FOREIGN]
    if not said:
        raise LabError("no-label", "Say what is on its label, or log it as a bottle without a label.")
    with writing():
        check_goes_on(stock_check)
        if done := stock_check.findings.filter(container=None, foreign=said).first():
            return Sighting(done, is_again=True)
        made = CheckFinding.objects.create(
            stock_check=stock_check,
            foreign=said,
            what=Found.FOREIGN,
            place=place or stock_check.place,
            by=doing.by,
            at=doing.at,
        )
        return Sighting(made, is_again=False)


def check_goes_on(stock_check: StockCheck) -> None:
    """Lock a check against two people ending and going on with it at once; refuse one that is ended."""
    StockCheck.objects.select_for_update().get(pk=stock_check.pk)
    if end := CheckEnd.objects.filter(stock_check=stock_check).select_related("by").first():
        raise LabError(
            "check-ended",
            "{who} ended this check on {at:%d %b %Y %H:%M}. Begin another one for what is still to be looked at.",
            who=end.by,
            at=timezone.localtime(end.at),
        )


def finish(*, stock_check: StockCheck, is_whole: bool, doing: Doing) -> CheckEnd:
    """End a check. Where all was looked for, what was not seen is now "not seen"; else it stays as it was."""
    with writing():
        StockCheck.objects.select_for_update().get(pk=stock_check.pk)
        end = CheckEnd.objects.filter(stock_check=stock_check).first()
        if end is not None and (end.by_id, end.is_whole) == (doing.by.pk, is_whole):
            return end
        check_goes_on(stock_check)
        if is_whole:
            _miss_the_rest(stock_check, doing)
        return CheckEnd.objects.create(stock_check=stock_check, is_whole=is_whole, by=doing.by, at=doing.at)


def _miss_the_rest(stock_check: StockCheck, doing: Doing) -> None:
    rows = unscanned(stock_check).select_for_update(of=("self",)).order_by("pk")
    for one in judged(stock_check, list(rows)):
        locked = one.container
        CheckFinding.objects.create(
            stock_check=stock_check,
            container=locked,
            what=one.what,
            book_place=locked.location.path if locked.location else "",
            last_seen_at=one.last_seen_at,
            by=doing.by,
            at=doing.at,
        )
        if one.is_lost:
            last = f"; last seen {timezone.localtime(one.last_seen_at):%d %b %Y}"
            _lose(locked, replace(doing, reason=f"{_because(stock_check)}{last}"))


def _lose(locked: Container, doing: Doing) -> None:
    note_change(locked, doing, "state", locked.state, State.NOT_SEEN)
    locked.state, locked.state_because = State.NOT_SEEN, doing.reason
    locked.save(update_fields=["state", "state_because"])


def _because(stock_check: StockCheck) -> str:
    return f"stock check of {stock_check.title}"[:240]
