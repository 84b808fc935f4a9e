"""Bottles without a readable label: logged, out of use at once, and named by a steward only."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.roles import Act, may, refusal
from labstock.stock.actions.keeping import dispose
from labstock.stock.actions.lines import Doing, check_time, lock, note_change
from labstock.stock.actions.looking import record_look
from labstock.stock.actions.receiving import Arrival, receive, received_before
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Location, State, UnknownClaim, UnknownFind
from labstock.stock.photos import keep_photo
from labstock.writing import writing

NO_IDENTITY = "nobody knows what is in it: do not open, smell or move it"


@dataclass(frozen=True)
class Find:
    """What can be said of a bottle without opening it."""

    size: Quantity
    appearance: str
    place: Location
    vessel: str
    photo: bytes = b""
    form: str = ""
    level_percent: int | None = None
    neighbours: str = ""
    signs: Mapping[str, bool] = field(default_factory=dict)


def log_unknown(*, find: Find, doing: Doing) -> UnknownFind:
    """Give an unknown bottle a code, block it, and keep the signs that were seen on it."""
    if not find.appearance.strip():
        raise LabError("no-appearance", "Say what it looks like through the glass: colour, liquid or solid.")
    with writing():
        if done := received_before(doing):
            return done.found_unknown
        container = receive(arrival=_arrival(find), doing=replace(doing, purpose="found without a label"))
        check_time(container, doing)
        note_change(container, replace(doing, reason=NO_IDENTITY), "state", State.IN_USE, State.BLOCKED)
        container.state, container.state_because = State.BLOCKED, NO_IDENTITY
        container.save(update_fields=["state", "state_because"])
        photo, digest = keep_photo(find.photo) if find.photo else ("", "")
        if find.signs:
            record_look(container=container, answers=find.signs, doing=replace(doing, reason=""))
        return UnknownFind.objects.create(
            container=container,
            size=_size(find, container.unit),
            appearance=find.appearance.strip(),
            form=find.form,
            level_percent=find.level_percent,
            neighbours=find.neighbours.strip(),
            photo=photo,
            photo_sha256=digest,
            by=doing.by,
            at=doing.at,
        )


def _arrival(find: Find) -> Arrival:
    unit = {"mass": "g", "volume": "mL"}.get(find.size.dimension, "")
    if not unit:
        raise LabError(
            "no-size",
            "'{typed}' is no size of a bottle: give what it holds, such as 500 mL or 100 g.",
            typed=find.size.typed,
        )
    size = float(find.size.in_unit(unit))
    share, share_u = _how_full(find)
    inside = replace(find.size, value=find.size.value * Decimal(share) / 100, typed="")
    return Arrival(
        unit=unit,
        capacity=find.size,
        amount=inside,
        described_as=f"unknown: {find.appearance.strip()}"[:200],
        vessel=find.vessel,
        location=find.place,
        u_amount=size * share_u,
    )


def _how_full(find: Find) -> tuple[int, float]:
    """Return how full it is taken to be [%], and the standard uncertainty as a share of its size [-].

    A rectangle (JCGM 100, 4.3.7): from empty to full where nobody could see, else 15 % of the size either way by eye
    through brown glass; common practice, no source.
    """
    if find.level_percent is None:
        return 50, 1 / 12**0.5
    return find.level_percent, 0.15 / 3**0.5


def _size(find: Find, unit: str) -> str:
    """Return the size as it was given, with a unit."""
    typed = find.size.typed.strip()
    return typed if typed[-1:].isalpha() else f"{typed} {unit}"


def claim_unknown(*, find: UnknownFind, container: Container, doing: Doing) -> UnknownClaim:
    """Say that a found bottle is one that was missing. A steward says so, and why; its stopgap record is closed."""
    if not may(doing.by, Act.CORRECT):
        raise LabError("not-yours", "{refusal}", refusal=refusal(doing.by, Act.CORRECT))
    if not doing.reason.strip():
        raise LabError("no-reason", "Say what makes it this one: code, handwriting, fill, an assay.")
    with writing():
        both = {pk: lock(Container(pk=pk)) for pk in sorted({find.container_id, container.pk})}
        found, missing = both[find.container_id], both[container.pk]
        if done := UnknownClaim.objects.filter(find=find).select_related("container").first():
            return _same_again(done, missing, doing)
        _check_missing(missing, found)
        _bring_back(missing, found, doing)
        about = f"it is {show_code(missing.code)}: {doing.reason.strip()}"
        dispose(container=found, doing=replace(doing, reason=about[:300], seen_seq=None))
        return UnknownClaim.objects.create(
            find=find, container=missing, reason=doing.reason.strip(), by=doing.by, at=doing.at
        )


def _same_again(done: UnknownClaim, missing: Container, doing: Doing) -> UnknownClaim:
    if (done.container_id, done.by_id) == (missing.pk, doing.by.pk):
        return done
    raise LabError(
        "claimed",
        "{who} said on {at:%d %b %Y} that this is {code}: if that is wrong, ask them.",
        who=done.by,
        at=done.at,
        code=show_code(done.container.code),
    )


def _check_missing(missing: Container, found: Container) -> None:
    if missing.pk != found.pk and missing.state == State.NOT_SEEN:
        return
    raise LabError(
        "not-missing",
        "{code} is {state}: only a container that is not seen where it should be can be this bottle. "
        "If it is missing, say so on its page first.",
        code=show_code(missing.code),
        state=missing.get_state_display(),
    )


def _bring_back(missing: Container, found: Container, doing: Doing) -> None:
    """Put the missing container where the bottle was found, blocked: it has no label on it yet."""
    fields: dict[str, Any] = {
        "state": State.BLOCKED,
        "state_because": "found without a label: print it, then free it",
    }
    if found.location is not None and missing.location_id != found.location_id:
        before = missing.location.path if missing.location else ""
        note_change(missing, doing, "moved", before, found.location.path)
        fields["location"] = found.location
        missing.state = State.IN_USE  # a move finds it
    note_change(missing, doing, "state", missing.state, State.BLOCKED)
    for name, value in fields.items():
        setattr(missing, name, value)
    missing.save(update_fields=list(fields))
