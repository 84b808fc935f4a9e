"""What is typed at a session: another time or place."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from batches.forms_plan import EARLIEST_YEAR, LATEST_YEAR, WhenForm
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.models import Session


class MoveForm(WhenForm):
    """Another time, place or title for a session that is not over."""

    title = forms.CharField(max_length=120, label="What for")

    def __init__(self, *args: Any, moved: Session, person: User, **options: Any) -> None:
        super().__init__(*args, person=person, initial=as_typed(moved), **options)
        del self.fields["session"]


def as_typed(session: Session) -> dict[str, object]:
    """Return a session's title, place and times as its form shows them."""
    start, end = timezone.localtime(session.starts_at), timezone.localtime(session.ends_at)
    return {
        "title": session.title, "place": session.place_id, "on": start.date(), "starts": start.time(),
        "ends": end.time(), "ends_on": end.date() if end.date() != start.date() else None,
    }  # fmt: skip


def moved_to(session: Session, moment: str) -> dict[str, str]:
    """Return the form of a session as it would be sent to begin at another moment, as long as before."""
    try:
        start = parse_datetime(moment)
    except ValueError:
        start = None
    if start is None or timezone.is_naive(start) or not EARLIEST_YEAR <= start.year <= LATEST_YEAR:
        raise LabError(
            "bad-moment", "'{moment}' is no moment to begin at: give day and time below.", moment=moment[:40]
        )
    first = timezone.localtime(start)
    last = timezone.localtime(start + (session.ends_at - session.starts_at))
    return {
        "title": session.title, "place": str(session.place_id), "on": f"{first:%Y-%m-%d}",
        "starts": f"{first:%H:%M}", "ends": f"{last:%H:%M}", "ends_on": f"{last:%Y-%m-%d}",
    }  # fmt: skip
