"""Any single change of any stored field of the ledger, and of what hangs on it, is found and its place is named."""

import uuid
from datetime import date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone

from batches.actions.record import observe
from batches.models import Batch, BatchInput, BatchLine, BatchProduct, Observation
from batches.retained.actions import Keeping, add_provenance, put_aside
from batches.retained.looking import Seen, check_condition
from batches.retained.models import ConditionCheck, ProvenanceNote
from labstock.bench.offline import Sent, Told, settle, take
from labstock.stock import guards
from labstock.stock.actions.assays import record_assay
from labstock.stock.actions.checking import finish, note_foreign, start
from labstock.stock.actions.counting import count_blind
from labstock.stock.actions.keeping import change_state, move
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.looking import record_look
from labstock.stock.actions.reservations import Want, release, reserve
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.transferring import Vessel, decant
from labstock.stock.actions.unknown import Find, claim_unknown, log_unknown
from labstock.stock.actions.weighing import weigh
from labstock.stock.heads import site_head
from labstock.stock.models import (
    Assay,
    CheckCount,
    CheckEnd,
    CheckExpected,
    CheckFinding,
    CheckSettled,
    Container,
    Entry,
    KeptHead,
    Lineage,
    QueuedEntry,
    Reservation,
    ReservationEvent,
    Settlement,
    Sign,
    State,
    StateChange,
    StockCheck,
    UnknownClaim,
    UnknownFind,
    Way,
)
from labstock.stock.verifying import sealed_models
from tests.batches.preparations import filled, finished
from tests.builders import amount, container, noon, person, place, session

pytestmark = pytest.mark.django_db

A_ROW_S_OWN_NUMBER = "the row's own number says nothing; what points at it is held by foreign keys"
FOLLOWS_FROM_HISTORY = (
    "not an amount: a copy for lists; its changes are kept in state changes, which are sealed"
)
FROM_THE_CATALOGUE = "worked out anew from the catalogue whenever that changes"
# Fields of protected tables that verify does not look at, and why.
UNPROTECTED = {
    **dict.fromkeys(
        [
            f"{model.__name__}.id"
            for model in (
                Entry,
                Reservation,
                ReservationEvent,
                StateChange,
                Assay,
                KeptHead,
                Lineage,
                Sign,
                UnknownFind,
                UnknownClaim,
                QueuedEntry,
                Settlement,
                StockCheck,
                CheckExpected,
                CheckFinding,
                CheckCount,
                CheckSettled,
                CheckEnd,
                Batch,
                BatchLine,
                BatchInput,
                BatchProduct,
                Observation,
                ProvenanceNote,
                ConditionCheck,
                Container,
            )
        ],
        A_ROW_S_OWN_NUMBER,
    ),
    **dict.fromkeys(
        ["QueuedEntry.refusal_code", "Settlement.way", "Settlement.entry"],
        "the database itself refuses a row that made a line and was refused, or settled by words with a line",
    ),
    "CheckFinding.foreign": "the database itself refuses a finding that is of ours and foreign at once",
    "Container.location": FOLLOWS_FROM_HISTORY,
    "Container.state_because": FOLLOWS_FROM_HISTORY,
    "Container.ends_on": FROM_THE_CATALOGUE,
    "Container.search_text": FROM_THE_CATALOGUE,
    "Container.owner_group": "who looks after it may change without a line, as people come and go",
    "Container.needs": "storage advice, no part of the amounts",
}


@pytest.fixture
def lab():
    """A shelf on which everything that can be written has been written, with spare rows to point at."""
    by = person()
    spare = container()
    bottle = container(gross="400 g")
    run = session()
    hold = reserve(session=run, wants=[Want(bottle, 20_000_000)], by=by)[0]
    draw(
        container=bottle, amount=amount("5 mL"), device_code="syringe-10", reservation=hold,
        doing=Doing(by=by, for_person=person("tobias"), purpose="teaching", reason="first try"),
    )  # fmt: skip
    slip = draw(container=bottle, amount=amount("2 mL"), device_code="syringe-10", doing=Doing(by=by))
    reverse(entry=slip, doing=Doing(by=by, reason="wrong bottle"))
    weigh(container=bottle, gross=amount("394.6 g"), device_code="balance-0.01g", doing=Doing(by=by))
    release(reservation=hold, by=by, reason="done early")
    other = reserve(session=session(title="Later"), wants=[Want(bottle, 10_000_000)], by=by)[0]
    move(container=bottle, to=place("cupboard 5"), doing=Doing(by=by))
    change_state(container=bottle, to=State.BLOCKED, doing=Doing(by=person("wren"), reason="to be retested"))
    for percent in (98.1, 98.3):
        record_assay(
            container=bottle, percent=percent, expanded=0.4, method="titration", measured_on=date(2026, 9, 4),
            doing=Doing(by=by),
        )  # fmt: skip
    batch = finished()
    observe(batch=batch, by=by, text="it smelt of acetic acid, seen after the finish")
    Batch.objects.create(number="26-900", title="to point at", owner=by, planned_at=noon())
    jar = filled(batch)
    sample, _ = (
        put_aside(product=jar, amount=amount("0.5 g"), keeping=Keeping(), doing=Doing(by=by))
        for _ in range(2)
    )
    add_provenance(sample=sample, by=by, subject="custody", text="in the cabinet of room 214")
    seen = Seen(4, "dark red", "fine crystals", "tight", "fading", "the label fades", "stands in the light")
    check_condition(sample=sample, seen=seen, doing=Doing(by=by), next_on=date(2035, 1, 1))
    draw(container=spare, amount=amount("1 mL"), device_code="syringe-5", doing=Doing(by=by))
    stories = told_of(spare)
    queue = [queued("1 mL"), queued("900 mL")]
    settle(queued=queue[1], way=Way.NOT_DONE, reason="a slip", by=by)
    stories["check"] = checked(bottle)
    KeptHead.objects.create(upto=Entry.objects.latest("pk").pk, head=site_head())
    return {"bottle": bottle, "hold": hold, "other": other, "batch": batch, "queue": queue, **stories}


def queued(much):
    """Send what a device wrote down without signal."""
    told = Told("use", much, device="syringe-5")
    sent = Sent(uuid.uuid4(), "TQ 1001 Z", told, timezone.now(), person().pk, raw={"told": vars(told)})
    return take(sent=sent, device_at=timezone.now(), by=person())


def told_of(spare):
    """Pour from a container, look at it, lose it, and find it again without a label."""
    by, wren = person(), person("wren")
    child = decant(
        container=spare, amount=amount("10 mL"), device_code="cylinder-25-b", into=Vessel(amount("25 mL")),
        doing=Doing(by=by),
    )  # fmt: skip
    signs = record_look(container=spare, answers={"colour": True}, doing=Doing(by=by, reason="tea"))
    change_state(container=child, to=State.NOT_SEEN, doing=Doing(by=by, reason="not on its shelf"))
    finds = [
        log_unknown(find=Find(amount("25 mL"), "colourless", place(), "bottle"), doing=Doing(by=by))
        for _ in range(2)
    ]
    claim = claim_unknown(find=finds[0], container=child, doing=Doing(by=wren, reason="handwriting"))
    return {"lineage": list(Lineage.objects.all()), "signs": signs, "finds": finds, "claim": claim}


def checked(bottle):
    """Check the place of a bottle: one counted, one strange label, the rest not looked for or not seen."""
    by = person()
    for spot in (place("cupboard 9"), bottle.location):
        container(location=spot)
        made = start(place=spot, doing=Doing(by=by))
        note_foreign(stock_check=made, text="a strange label", place=None, doing=Doing(by=by))
        for text in ("30 mL", "31 mL"):
            count_blind(
                stock_check=made, container=container(holds="30 mL", location=spot), found=amount(text),
                device_code="by-eye", is_gross=False, doing=Doing(by=by),
            )  # fmt: skip
        finish(stock_check=made, is_whole=True, doing=Doing(by=by))
    count_blind(
        stock_check=start(place=place("cupboard 9"), doing=Doing(by=by)), found=amount("3 mL"), is_gross=False,
        container=container(location=place("cupboard 9")), device_code="by-eye", doing=Doing(by=by),
    )  # fmt: skip
    return made


def verify():
    err = StringIO()
    try:
        call_command("verify", stdout=StringIO(), stderr=err, verbosity=0)
    except SystemExit:
        return err.getvalue()
    return ""


def another(field, row):
    """Return a value for the field that the database takes and that is not the one it has."""
    value = getattr(row, field.attname)
    if field.is_relation:
        free = field.related_model._default_manager.exclude(pk=value)
        if field.model is Entry and field.name == "container":
            free = free.exclude(last_seq__gte=row.seq)
        if field.one_to_one:
            free = free.exclude(**{f"{field.related_query_name()}__isnull": False})
        return free.order_by("-pk").first().pk
    if field.choices:
        return next(choice for choice, _ in field.choices if choice != value)
    return _changed(value, field)


def _changed(value, field):
    kind = field.get_internal_type()
    if kind == "UUIDField":
        return uuid.UUID(int=7)
    if isinstance(value, bool):
        return not value
    if isinstance(value, datetime | date):
        return value + timedelta(days=1)
    if value is None:
        return {"DateTimeField": datetime.now().astimezone(), "DateField": date(2026, 1, 1)}.get(kind, 1)
    if isinstance(value, str):
        return (
            value[:-1] + ("y" if value[-1] == "x" else "x") if len(value) == field.max_length else value + "x"
        )
    if isinstance(value, dict):
        return value | {"more": 1}
    return [*value, "more"] if isinstance(value, list) else value + (1 if isinstance(value, float) else 100)


def words_after_change(row, field):
    """Change one field past every guard, ask verify, and put it back."""
    with transaction.atomic():
        guards.remove(connection)
        type(row)._base_manager.filter(pk=row.pk).update(**{field.attname: another(field, row)})
        connection.check_constraints()
        guards.install(connection)
        words = verify()
        transaction.set_rollback(True)
    return words


CASES = [
    (Entry, lambda lab: lab["bottle"].entries.all(), "TQ 1002 "),
    (Container, lambda lab: [lab["bottle"]], "TQ"),
    (Reservation, lambda lab: [lab["hold"], lab["other"]], "hold"),
    (ReservationEvent, lambda lab: lab["hold"].events.all(), "hold"),
    (StateChange, lambda lab: lab["bottle"].state_changes.all(), "TQ"),
    (Assay, lambda lab: lab["bottle"].assays.all(), "assay"),
    (Lineage, lambda lab: lab["lineage"], "lineage"),
    (Sign, lambda lab: lab["signs"], "sign"),
    (UnknownFind, lambda lab: lab["finds"], "unknown find"),
    (UnknownClaim, lambda lab: [lab["claim"]], "unknown claim"),
    (QueuedEntry, lambda lab: lab["queue"][:1], "queued entry"),
    (Settlement, lambda lab: Settlement.objects.all(), "settlement"),
    (Batch, lambda lab: [lab["batch"]], "batch"),
    (BatchProduct, lambda lab: lab["batch"].products.all(), "batch product"),
    (ProvenanceNote, lambda lab: ProvenanceNote.objects.all(), "provenance note"),
    (ConditionCheck, lambda lab: ConditionCheck.objects.all(), "condition check"),
    (BatchLine, lambda lab: lab["batch"].lines.all(), "batch 26-001"),
    (BatchInput, lambda lab: lab["batch"].inputs.all(), "batch"),
    (Observation, lambda lab: lab["batch"].observations.all(), "observation"),
    (StockCheck, lambda lab: [lab["check"]], "stock check"),
    (CheckExpected, lambda lab: lab["check"].expected.all()[:2], "check expected"),
    (CheckFinding, lambda lab: lab["check"].findings.exclude(container=None), "check finding"),
    (CheckCount, lambda lab: lab["check"].counts.all(), "check count"),
    (CheckSettled, lambda lab: CheckSettled.objects.all(), "check settled"),
    (CheckEnd, lambda lab: [lab["check"].end], "check end"),
    (KeptHead, lambda lab: KeptHead.objects.all(), "head kept"),
]


@pytest.mark.parametrize(
    ("model", "rows", "place_named"), CASES, ids=lambda one: getattr(one, "__name__", "")
)
def test_a_change_of_any_field_is_found_and_its_place_is_named(lab, model, rows, place_named):
    assert verify() == ""
    unnoticed = []
    for row in model._default_manager.filter(pk__in=[one.pk for one in rows(lab)]):
        for field in model._meta.concrete_fields:
            name = f"{model.__name__}.{field.name}"
            if name in UNPROTECTED or (name == "Entry.container" and row.seq == 1):
                continue  # every container has a line 1 already: the database itself refuses a second one
            if place_named not in words_after_change(row, field):
                unnoticed.append(f"{name} of row {row.pk}")
    assert unnoticed == []


def test_a_changed_line_is_named_by_its_number(lab):
    for line in lab["bottle"].entries.all():
        for field in Entry._meta.concrete_fields:
            if field.name not in ("id", "container", "seq"):
                assert f"BROKEN TQ 1002 X, line {line.seq}: " in words_after_change(line, field), field.name


def test_every_sealed_table_is_put_to_the_test():
    assert {model.__name__ for model in sealed_models()} <= {case[0].__name__ for case in CASES}
