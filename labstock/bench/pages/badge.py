"""A person's badge as it is printed, and read back."""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.utils.safestring import SafeString

from labstock.chemistry.errors import LabError
from labstock.labels.codes_read import person_code, what_is
from labstock.labels.qr import qr_svg
from labstock.people.models import Badge, User
from labstock.people.queries import badge_of, find_badge, is_badge_number
from labstock.people.roles import needs_pin

SQUARE_MM = 30


@dataclass(frozen=True)
class BadgePage:
    """One's own badge, drawn; and whether a PIN belongs to it."""

    made_at: datetime | None
    square: SafeString
    needs_pin: bool
    has_pin: bool


def badge_page(person: User) -> BadgePage:
    """Gather what the page of one's badge shows."""
    badge = badge_of(person)
    return BadgePage(
        made_at=badge.made_at if badge else None,
        square=SafeString(qr_svg(badge_code(badge), SQUARE_MM)) if badge else SafeString(),
        needs_pin=needs_pin(person),
        has_pin=bool(person.pin),
    )


def badge_code(badge: Badge) -> str:
    """Return what a badge's square code says."""
    return person_code(badge.number)


def read_badge(text: str, waiting: int | None) -> User:
    """Return whose badge was scanned; with nothing scanned, whose badge waits to be confirmed."""
    if not text.strip():
        badge = Badge.objects.filter(pk=waiting).first() if waiting is not None else None
        if badge is None:
            raise LabError("no-badge-scanned", "No badge was scanned. Hold it in front of the scanner.")
        return find_badge(badge.number).person
    read = what_is(text, settings.LABSTOCK_CODE_PREFIX)
    if read.kind != "person" or not is_badge_number(read.number):
        raise LabError(
            "not-a-badge",
            "This is the code of a {kind}, not a badge. Scan the badge that you made on the page under your name.",
            kind=read.kind,
        )
    return find_badge(read.number).person
