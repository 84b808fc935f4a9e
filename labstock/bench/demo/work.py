"""Batches that were made, sessions that run today, and the cabinet of old samples."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from batches.actions import plans, products, record
from batches.drafts import Draft, read_preparation, substance_called
from batches.models import Batch
from batches.retained.actions import Keeping, OldLabel, add_provenance, catalogue_old, put_aside
from batches.retained.models import KeptFor, RetainedSample
from labstock.bench.demo.people_and_places import place_called
from labstock.bench.demo.scenario import Scenario
from labstock.bench.demo.shelf import People, past
from labstock.chemistry.quantities import parse_quantity
from labstock.people.models import LabGroup
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.receiving import Arrival
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container, Session, State, Substance

Event = tuple[datetime, Callable[[], object]]


def drafts_from(about: dict[str, Any]) -> list[Draft]:
    """Return the lines of a preparation as the fixture writes them."""
    wanted = about.get("equivalents", {})
    lines = [
        Draft(
            **{**vars(draft), "equivalents": wanted.get(draft.name, "") if draft.role == "reactant" else ""}
        )
        for draft in read_preparation(about["equation"])
    ]
    for role, name, amount in about.get("extra", []):
        lines.append(Draft(role, name, substance=substance_called(name), amount=amount))
    return lines


def batch_events(scenario: Scenario, people: People) -> Iterator[Event]:
    """Yield what happened in each batch, one event a batch: it is planned, drawn for, watched and finished."""
    for about in scenario.batches["batch"]:
        start = scenario.on(about["days_ago"], about["hours"][0])
        yield start, partial(make_batch, scenario, about, people)


def make_batch(scenario: Scenario, about: dict[str, Any], people: People) -> Batch:
    """Live through one batch of the past."""
    owner = people[about["owner"]]
    start, end = (scenario.on(about["days_ago"], clock) for clock in about["hours"])
    session = Session.objects.create(
        title=about["title"], owner=owner, place=place_called(about["place"]), starts_at=start, ends_at=end
    )
    batch = plans.plan_batch(
        title=about["title"], owner=owner, equation=about["equation"], drafts=drafts_from(about),
        scale=about["scale"], scale_line=1, session=session, at=start,
    )  # fmt: skip
    for position, number, amount, device, clock in about["draws"]:
        at = scenario.on(about["days_ago"], clock)
        doing = past(owner, at, purpose=f"batch {batch.number}")
        entry = draw(
            container=Container.objects.get(number=number),
            amount=parse_quantity(amount),
            device_code=device,
            doing=doing,
        )
        record.attach_draw(batch=batch, entry=entry, line=batch.lines.get(position=position))
    for clock, text, is_departure in about["observations"]:
        at = scenario.on(about["days_ago"], clock)
        record.observe(batch=batch, by=owner, text=text, at=at, is_departure=is_departure, recorded_at=at)
    return _finish(batch, about, end)


def _finish(batch: Batch, about: dict[str, Any], end: datetime) -> Batch:
    made, owner = about["product"], batch.owner
    mass = parse_quantity(made["mass"])
    result = record.Result(mass, 0.01, made["percent"], made["percent_u"])
    batch = record.finish(batch=batch, by=owner, result=result, at=end)
    container = products.put_in_container(
        batch=batch,
        product=batch.lines.filter(role="product").order_by("position")[0].substance,
        arrival=Arrival(
            unit="g", capacity=parse_quantity(made["capacity"]), amount=mass, vessel=made["vessel"],
            location=place_called(made["place"]), owner_group=owner.group, number=made["number"], u_amount=0.01,
        ),
        doing=past(owner, end),
    )  # fmt: skip
    if kept := about.get("retained"):
        put_aside(
            product=container,
            amount=parse_quantity(kept["amount"]),
            keeping=Keeping(location=place_called(kept["place"]), owner_group=owner.group),
            doing=past(owner, end + timedelta(minutes=10)),
            number=kept["number"],
        )
    if about.get("after"):
        later = end + timedelta(minutes=20)
        record.observe(batch=batch, by=owner, text=about["after"], at=later, recorded_at=later)
    return batch


def load_sessions(scenario: Scenario, people: People) -> Iterator[Session]:
    """Make today's sessions with what is held for them."""
    for about in scenario.batches["session"]:
        owner = people[about["owner"]]
        first, last = (scenario.now + timedelta(hours=hours) for hours in about["offset_hours"])
        session = Session.objects.create(
            title=about["title"], owner=owner, place=place_called(about["place"]),
            starts_at=_quarter(first), ends_at=_quarter(last),
        )  # fmt: skip
        if "equation" in about:
            _plan_and_hold(session, about, scenario.now)
        wants = [
            Want(Container.objects.get(number=number), parse_quantity(amount).millionths("mL"))
            for number, amount in about.get("holds", [])
        ]
        reserve(session=session, wants=wants, by=owner, at=scenario.now)
        yield session


def _quarter(moment: datetime) -> datetime:
    """Return the quarter of an hour before a moment."""
    return moment.replace(minute=moment.minute // 15 * 15, second=0, microsecond=0)


def _plan_and_hold(session: Session, about: dict[str, Any], now: datetime) -> None:
    batch = plans.plan_batch(
        title=about["title"], owner=session.owner, equation=about["equation"], drafts=drafts_from(about),
        scale=about["scale"], scale_line=1, session=session, at=now,
    )  # fmt: skip
    choices = {
        int(line): Container.objects.get(number=number) for line, number in about["hold_lines"].items()
    }
    plans.hold_for_plan(batch=batch, choices=choices, by=session.owner, at=now)


def load_samples(scenario: Scenario, people: People) -> Iterator[RetainedSample]:
    """Catalogue the old samples."""
    keeper = people["sunniva"]
    for days, about in enumerate(reversed(scenario.samples["sample"]), 40):
        amount = parse_quantity(about["amount"])
        at = scenario.on(days, "10:00")
        sample = catalogue_old(
            label=OldLabel(
                name=about["name"],
                label_as_written=about["label"],
                date_as_written=about["date_as_written"],
                date_edtf=about["date"],
                maker=about["maker"],
                other_numbers=about["numbers"],
                substance=Substance.objects.filter(name=about.get("substance", "")).first(),
            ),
            arrival=Arrival(
                unit="g", capacity=parse_quantity("20 g"), amount=amount, number=about["number"],
                u_amount=float(amount.value) * 0.1,
            ),
            keeping=Keeping(
                kept_for=KeptFor.HISTORY,
                location=place_called(about["place"]),
                owner_group=LabGroup.objects.get(name="Sanderling group"),
            ),
            doing=past(keeper, at),
        )  # fmt: skip
        for subject, date, text, evidence in about.get("provenance", []):
            add_provenance(
                sample=sample, by=keeper, subject=subject, text=text, date_edtf=date, evidence=evidence
            )
        if "blocked" in about and sample.container.is_usable:  # some labels block it by themselves
            change_state(
                container=sample.container, to=State.BLOCKED, doing=past(keeper, at, about["blocked"])
            )
        yield sample
