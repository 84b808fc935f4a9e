"""One landing for every way to scan: from a text to where it leads, or to words that say which mistake it was."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch
from labstock.bench.pages.amounts import left_words
from labstock.chemistry.errors import LabError
from labstock.labels.codes_read import Read, what_is
from labstock.labels.models import LabelPrint, Printed
from labstock.people.models import Badge, User
from labstock.people.queries import find_badge, is_badge_number
from labstock.people.roles import Act, may
from labstock.stock.codes import narrow_mistake, read_code, show_code
from labstock.stock.models import Container, Location, State, StateChange
from labstock.stock.models.container import MILLION
from labstock.stock.queries import get_container

ALSO = ("made_in__batch", "retained_sample")
IN_ROW = ("substance", "location", "retained_sample")
KIND_WORDS = {"amount": "amount card", "act": "card", "location": "place"}


@dataclass(frozen=True)
class Landing:
    """Where a code leads: what it is, its name, the address, and what to know before."""

    kind: str
    name: str
    url: str
    container: Container | None = None
    badge: Badge | None = None
    location: Location | None = None
    value: str = ""
    note: str = ""


@dataclass(frozen=True)
class Row:
    """One code of a photograph: where it leads, or why nowhere."""

    text: str
    landing: Landing | None
    refusal: str = ""

    @property
    def kind(self) -> str:
        """Return what sort of thing the code stands for, in words."""
        return KIND_WORDS.get(self.landing.kind, self.landing.kind) if self.landing else ""

    @property
    def capacity(self) -> float:
        """Return the size of the container [container's unit]."""
        container = self.landing.container if self.landing else None
        return container.capacity / MILLION if container else 0.0

    @property
    def left(self) -> str:
        """Return what is left in the container, with its doubt."""
        container = self.landing.container if self.landing else None
        return left_words(container) if container else ""


def land(text: str, person: User) -> Landing:
    """Return where a text leads for this person; every mistake is a refusal of its own kind."""
    try:
        read = what_is(text, settings.LABSTOCK_CODE_PREFIX)
    except LabError as error:
        raise narrow_mistake(error, existing(error)) from error
    landing = _land(read, person, {})
    if landing.container is not None and landing.container.state == State.DISPOSED:
        return replace(landing, note=retired_words(landing.container))
    return landing


def land_all(texts: Iterable[str], person: User) -> list[Row]:
    """Return where each of many texts leads; the containers among them come in one query."""
    reads: dict[str, Read | LabError] = {}
    for text in texts:
        try:
            reads[text] = what_is(text, settings.LABSTOCK_CODE_PREFIX)
        except LabError as error:
            reads[text] = narrow_mistake(error, existing(error))
    codes = [read.value for read in reads.values() if isinstance(read, Read)]
    known = {row.code: row for row in Container.objects.filter(code__in=codes).select_related(*IN_ROW)}
    return [_row(text, read, person, known) for text, read in reads.items()]


def find_typed(typed: str, *, is_shown: bool = True) -> Container:
    """Return the container a text means; a mistake is narrowed to candidates that exist."""
    try:
        return _container(read_code(typed, settings.LABSTOCK_CODE_PREFIX), is_shown=is_shown)
    except LabError as error:
        raise narrow_mistake(error, existing(error)) from error


def existing(error: LabError) -> list[str]:
    """Return those codes that exist of the ones a mistyped code may have meant."""
    wanted = error.parts.get("candidates")
    if not isinstance(wanted, list) or not wanted:
        return []
    return list(Container.objects.filter(code__in=wanted).values_list("code", flat=True))


def _container(code: str, *, is_shown: bool = True) -> Container:
    """Return the container with this code; of a blank label that no container has taken yet, say so."""
    try:
        return get_container(code, *ALSO, is_shown=is_shown)
    except LabError:
        blank = LabelPrint.objects.filter(code=code, what=Printed.BLANK).select_related("by").first()
        if blank is None:
            raise
        raise LabError(
            "blank-unclaimed",
            "{shown} is a blank label, printed on {at:%d %b %Y} by {who}: no container has taken it yet. Receive what "
            "it is stuck on, with this label.",
            shown=show_code(code),
            code=code,
            at=timezone.localtime(blank.at),
            who=blank.by,
        ) from None


def _row(text: str, read: Read | LabError, person: User, known: Mapping[str, Container]) -> Row:
    try:
        if isinstance(read, LabError):
            raise read
        return Row(text, _land(read, person, known))
    except LabError as error:
        return Row(text, None, error.message)


def _land(read: Read, person: User, known: Mapping[str, Container]) -> Landing:
    if read.kind in ("container", "sample"):
        return _at_container(known.get(read.value) or _container(read.value))
    if read.kind == "batch":
        return _at_batch(read.value)
    if read.kind == "location":
        return _at_location(read.number)
    if read.kind == "person":
        return _at_person(read.number, person)
    return Landing(
        read.kind,
        f"the card “{read.value}”",
        reverse("hands-free"),
        value=read.value,
        note=f"“{read.value}” is a card for the hands-free page: scan the bottle there first, then this card.",
    )


def _at_container(container: Container) -> Landing:
    sample = getattr(container, "retained_sample", None)
    return Landing(
        "sample" if sample else "container",
        container.name,
        reverse("container", args=[container.code]),
        container,
    )


def retired_words(container: Container) -> str:
    """Say of a code that is out of use since when, and what to do with a bottle that still carries it."""
    change = (
        StateChange.objects.filter(container=container, what="state", after=State.DISPOSED)
        .select_related("by")
        .order_by("-id")
        .first()
    )
    since = f" on {timezone.localtime(change.at):%d %b %Y} by {change.by}" if change else ""
    return (
        f"{show_code(container.code)} is retired: its container was disposed of{since}. If the bottle is in your hand, "
        "it carries an old label or was never thrown away: use nothing from it and ask a steward."
    )


def _at_batch(number: str) -> Landing:
    batch = Batch.objects.filter(number=number).first()
    if batch is None:
        raise _nothing_has_it("batch", number, "Compare it with the batch list.")
    return Landing("batch", str(batch), reverse("batch", args=[batch.number]))


def place_scanned(text: str) -> Location:
    """Return the place whose label was scanned."""
    read = what_is(text, settings.LABSTOCK_CODE_PREFIX)
    if read.kind != "location":
        raise LabError(
            "no-place",
            "“{typed}” is the code of a {kind}, not of a place: scan the label on the shelf, or choose the place.",
            typed=text.strip()[:40],
            kind=read.kind,
        )
    return _location(read.number)


def _location(number: int) -> Location:
    location = Location.objects.filter(pk=number).first()
    if location is None:
        raise _nothing_has_it("place", str(number), "Choose the place from the list of locations.")
    return location


def _at_location(number: int) -> Landing:
    location = _location(number)
    return Landing("location", str(location), reverse("location", args=[location.pk]), location=location)


def _at_person(number: int, person: User) -> Landing:
    if is_badge_number(number):
        badge = find_badge(number)
        return Landing("person", str(badge.person), reverse("tablet"), badge=badge)
    named = User.objects.filter(pk=number).first()
    if named is None:
        raise _nothing_has_it("person", str(number), "Ask a steward for a new badge.")
    if may(person, Act.PEOPLE):
        return Landing("person", str(named), reverse("person", args=[named.pk]))
    return Landing(
        "person",
        str(named),
        f"{reverse('where-did-it-go')}?person={named.pk}",
        note=f"This label names {named} and is no badge. A badge is made on the page under one’s name.",
    )


def _nothing_has_it(kind: str, value: str, remedy: str) -> LabError:
    return LabError(
        f"unknown-{kind}",
        "The code is written like one of ours, but no {kind} has the number {value}. {remedy}",
        kind=kind,
        value=value,
        remedy=remedy,
    )
