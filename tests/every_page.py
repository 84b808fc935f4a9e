"""Every address of the site with something behind it: what the walks over all pages share."""

import io
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any

from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone
from PIL import Image

from batches.actions.plans import hold_for_plan, plan_batch
from batches.actions.products import put_in_container
from batches.actions.record import Result, finish, observe
from batches.drafts import read_preparation
from batches.models import Batch
from batches.retained.actions import Keeping, put_aside
from labstock.bench.actions import record_use
from labstock.bench.offline import Sent, Told, take
from labstock.bench.sums.subjects import SUBJECTS
from labstock.labels.codes_read import batch_code, location_code, person_code
from labstock.people.models import User
from labstock.people.roles import Act
from labstock.stock.actions.checking import start
from labstock.stock.actions.counting import count_blind
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.looking import record_look
from labstock.stock.actions.receiving import Arrival
from labstock.stock.actions.transferring import Vessel, decant, top_up
from labstock.stock.actions.unknown import Find, log_unknown
from labstock.stock.models import (
    CheckCount,
    Container,
    QueuedEntry,
    Reservation,
    Session,
    State,
    StateChange,
    UnknownFind,
)
from labstock.stock.photos import drawn_anew
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    amount,
    container,
    person,
    place,
    session,
    substance,
)

EQUATION = "aniline + acetic anhydride -> acetanilide + acetic acid"
CORROSIVE = [["H226", "3"], ["H302", "4"], ["H314", "1B"], ["H331", "3"]]
# Pages that everybody who is in may open, whatever the role.
WITHOUT_ACT = {
    "login",
    "logout",
    "admin-login",
    "me",
    "password-change",
    "tablet",
    "tablet-badge",
    "offline",
    "offline-worker",
}
# Pages that nobody needs to be in for.
OPEN = {"login", "admin-login", "tablet", "tablet-badge", "offline", "offline-worker"}


@dataclass(frozen=True)
class World:
    """One of each thing that an address can name."""

    bottle: Container
    sample: Container
    batch: Batch
    finished: Batch
    session: Session
    hold: Reservation
    person: User
    find: UnknownFind
    count: CheckCount
    difference: QueuedEntry


@dataclass(frozen=True)
class Place:
    """One address of the site and the view behind it."""

    name: str
    path: str
    view: Callable[..., Any]

    @property
    def act(self) -> Act | None:
        """Return what the view asks of a role."""
        return getattr(self.view, "act", None)


def world() -> World:
    """Make a lab in which every address leads somewhere: a running batch, a finished one, a sample."""
    marit = person("marit")
    for about in (ACETANILIDE, ACETIC_ACID):
        substance(about)
    bottles = {1: container(ANILINE, gross="200 g"), 2: container(ANHYDRIDE | {"hazards": CORROSIVE})}
    now = session(marit)
    running, done = (_planned(marit, now) for _ in range(2))
    holds = hold_for_plan(batch=running, choices={2: bottles[2]}, by=marit)
    for batch, used in ((running, "1 mL"), (done, "5 mL")):
        for bottle in bottles.values():
            record_use(
                container=bottle,
                amount=amount(used),
                device_code="syringe-10",
                doing=Doing(by=marit),
                batch=batch,
            )
        observe(batch=batch, by=marit, text="White crystals.")
    result = Result(mass=amount("4.10 g"), mass_u_g=0.001, percent=98.0, percent_u=0.5)
    done = finish(batch=done, by=marit, result=result)
    product = put_in_container(
        batch=done,
        product=substance(ACETANILIDE),
        arrival=Arrival(unit="g", capacity=amount("10 g"), amount=amount("4.10 g"), vessel="vial"),
        doing=Doing(by=marit),
    )
    sample = put_aside(product=product, amount=amount("0.2 g"), keeping=Keeping(), doing=Doing(by=marit))
    return World(
        bottles[2], sample.container, running, done, now, holds[0], marit, _story_of(bottles[2], marit),
        _check_of(bottles[2], marit),
        _queued_on(bottles[2], marit),
    )  # fmt: skip


def _story_of(bottle: Container, by: User) -> UnknownFind:
    """Give a bottle children, a mixture and a look; return an unknown bottle that another one might be."""
    child, fresh = (
        decant(
            container=bottle,
            amount=amount(much),
            device_code="cylinder-25-b",
            into=Vessel(amount("25 mL")),
            doing=Doing(by=by),
        )
        for much in ("10 mL", "5 mL")
    )
    top_up(container=child, into=fresh, amount=amount("2 mL"), device_code="syringe-2", doing=Doing(by=by))
    record_look(container=bottle, answers={"smell": True, "cap": False}, doing=Doing(by=by))
    change_state(container=child, to=State.NOT_SEEN, doing=Doing(by=by, reason="not on its shelf"))
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "brown").save(picture, "JPEG")
    find = Find(
        size=amount("25 mL"),
        appearance="colourless liquid",
        place=bottle.location or place(),
        vessel="bottle",
        photo=drawn_anew(picture, len(picture.getvalue())),
    )
    return log_unknown(find=find, doing=Doing(by=by))


def _check_of(bottle: Container, by: User) -> CheckCount:
    """Check the place of a bottle, and count it: far off, so that a cause is wanted."""
    return count_blind(
        stock_check=start(place=bottle.location or place(), doing=Doing(by=by)),
        container=bottle,
        found=amount("1 mL"),
        device_code="by-eye",
        is_gross=False,
        doing=Doing(by=by),
    )


def _queued_on(bottle: Container, by: User) -> QueuedEntry:
    """Send an entry from a device without signal that the book refuses: more than is left."""
    told = Told("use", "900 mL", device="syringe-5")
    now = timezone.now()
    sent = Sent(uuid.uuid4(), bottle.code, told, now, by.pk, raw={"told": vars(told)})
    return take(sent=sent, device_at=now, by=by)


def _planned(owner: User, on: Session) -> Batch:
    return plan_batch(
        title="Acetanilide",
        owner=owner,
        equation=EQUATION,
        drafts=read_preparation(EQUATION),
        scale="5 mL",
        scale_line=1,
        session=on,
    )


def places(lab: World) -> list[Place]:
    """Return every address but the administrator's own, each with its parts filled in."""
    return [
        Place(name, reverse(name, kwargs=parts) + _query(name, lab), pattern.callback)
        for name, pattern in _patterns(get_resolver().url_patterns)
        for parts in _parts(pattern, lab)
    ]


def _patterns(patterns: list[URLPattern | URLResolver]) -> Iterator[tuple[str, URLPattern]]:
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            yield str(pattern.name), pattern
        elif pattern.namespace != "admin":
            yield from _patterns(pattern.url_patterns)


def _query(name: str, lab: World) -> str:
    return f"?codes={lab.bottle.code},{lab.sample.code}" if name in ("label-print", "label-sheet") else ""


def _parts(pattern: URLPattern, lab: World) -> list[dict[str, Any]]:
    """Fill in what an address asks for: which thing a "code" or a "pk" is, its name's first word says."""
    if "subject" in pattern.pattern.converters:
        return [{"subject": subject.slug} for subject in SUBJECTS]
    family = str(pattern.name).split("-")[0]
    lot = lab.bottle.lot
    known = {
        "code": {
            "sample": lab.sample.code,
            "location": location_code(lab.bottle.location_id or 0),
            "person": person_code(lab.person.pk),
            "batch": batch_code(lab.batch.number),
        }.get(family, lab.bottle.code),
        "number": lab.batch.number,
        "seq": lab.bottle.last_seq,
        "count": lab.count.pk,
        "pk": {
            "session": lab.session.pk,
            "reservation": lab.hold.pk,
            "substance": lab.bottle.substance_id,
            "lot": lot.pk if lot and pattern.name != "lot-add" else lab.bottle.substance_id,
            "location": lab.bottle.location_id,
            "person": lab.person.pk,
            "unknown": lab.find.pk,
            "change": StateChange.objects.values_list("pk", flat=True).first(),
            "check": lab.count.stock_check_id,
            "difference": lab.difference.pk,
        }.get(family),
    }
    wanted = {name: known.get(name) for name in pattern.pattern.converters}
    unknown = [name for name, value in wanted.items() if value is None]
    assert not unknown, (
        f"tests/every_page.py does not know what {unknown[0]} is in the address {pattern.name!r}"
    )
    return [wanted]


def visitor(who: User | None) -> Client:
    """Return a browser in which this person is logged in; nobody if None. A page that breaks answers 500."""
    client = Client(raise_request_exception=False)
    if who is not None:
        client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    return client


class Inspector(HTMLParser):
    """Reads a page as a browser does and notes what our policy forbids or a browser would trip over."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.faults: list[str] = []
        self._ids: set[str] = set()
        self._post_forms: list[bool] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note inline style and script, foreign files, ids used twice."""
        has = {name: value or "" for name, value in attrs}
        if tag == "style" or (tag == "script" and not has.get("src")):
            self.faults.append(f"inline <{tag}>")
        self.faults += [f"{name}= on <{tag}>" for name in has if name == "style" or name.startswith("on")]
        for name in ("href", "src", "action", "formaction"):
            if has.get(name, "").lower().startswith(("http:", "https:", "//", "javascript:", "data:text")):
                self.faults.append(f"{name}={has[name]!r} leads off the site")
        if has.get("id") in self._ids:
            self.faults.append(f"id={has['id']!r} twice")
        self._ids.add(has.get("id") or f"<{len(self._ids)}>")
        if tag == "form" and has.get("method", "").lower() == "post":
            self._post_forms.append(False)
        if tag == "input" and has.get("name") == "csrfmiddlewaretoken" and self._post_forms:
            self._post_forms[-1] = True

    def verdict(self) -> list[str]:
        """Return everything that was noted."""
        return self.faults + ["a form that sends without a token"] * self._post_forms.count(False)
