"""Many people at once: nothing negative, nothing lost, nothing twice, every refusal explained."""

import threading
import time
from contextlib import suppress
from functools import partial

import pytest
from django.db import connection

from batches.actions.plans import hold_for_plan, plan_batch
from batches.drafts import read_preparation
from labstock.bench.actions import record_use
from labstock.bench.speed.site import signed_in
from labstock.chemistry.errors import LabError
from labstock.stock.actions import reservations
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, Entry, Reservation
from labstock.stock.queries import held_by_container, running_hold
from labstock.stock.verifying import find_faults
from labstock.writing import Turn
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANILINE,
    amount,
    container,
    person,
    session,
    substance,
)
from tests.ledger.amounts_of_work import IS_LONG
from tests.ledger.clients import Told, at_once, drain, in_processes, waits, wander
from tests.ledger.servers import Server

pytestmark = pytest.mark.django_db(transaction=True)
CROWD = ("marit", "tobias", "wren", "sunniva")
MILLION = 1_000_000
ACETYLATION = "aniline + acetic anhydride -> acetanilide + acetic acid"


@pytest.fixture(scope="module")
def server(django_db_setup):
    """Serve the test's database to all crowds, from two processes as a lab would."""
    with Server(workers=2, threads=4) as one:
        yield one


def adds_up(told: list[Told]) -> None:
    """Check book, lines and what the people were told against each other, and that nothing is broken."""
    assert [str(fault) for fault in find_faults()] == []
    assert [odd for one in told for odd in one.odd] == []
    assert [words for one in told for words in one.refusals if len(words) <= 30] == []  # each explains itself
    done = {key: drawn for one in told for key, drawn in one.done.items()}
    lines = Entry.objects.filter(kind="drawn").select_related("container")
    assert {str(line.key): (line.container.code, -line.change // MILLION) for line in lines} == done
    for bottle in Container.objects.all():
        assert bottle.remaining == sum(bottle.entries.values_list("change", flat=True)) >= 0


def with_own_connection(call):
    def run():
        try:
            return call()
        finally:
            connection.close()

    return run


def through_the_orm(bottle, who):
    told = Told()
    while True:
        doing = Doing(by=who)
        try:
            draw(container=bottle, amount=amount("1 mL"), device_code="syringe-1", doing=doing)
        except LabError as refusal:
            told.refusals.append(refusal.message.replace("\u00a0", " "))
            return told
        told.done[str(doing.key)] = (bottle.code, 1)


def test_eight_writers_drain_one_bottle_to_the_last_dose():
    bottle = container(holds="200 mL", capacity="200 mL")
    writers = [person(CROWD[number % len(CROWD)]) for number in range(8)]
    told = at_once(with_own_connection(partial(through_the_orm, bottle, who)) for who in writers)
    adds_up(told)
    assert Container.objects.get().remaining == 0
    assert sum(len(one.done) for one in told) == 200
    assert all(one.refusals[0].startswith("1 mL is more than the 0") for one in told)


def test_one_key_sent_eight_times_at_once_makes_one_line():
    bottle, doing = container(), Doing(by=person())
    take = partial(draw, container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=doing)
    told = at_once(with_own_connection(take) for _ in range(8))
    assert len({line.pk for line in told}) == 1
    assert Container.objects.get().remaining == 95 * MILLION


def test_the_last_50_millilitres_are_promised_once():
    bottle, granted, refused = container(), [], []
    asked = [(who, session(who)) for who in map(person, CROWD)]
    want = [reservations.Want(bottle, 50 * MILLION)]

    def ask(who, booked):
        try:
            granted.append(reservations.reserve(session=booked, wants=want, by=who)[0])
        except LabError as refusal:
            refused.append(refusal.message)

    at_once(with_own_connection(partial(ask, *pair)) for pair in asked)
    assert len(granted) == 1
    assert all(str(granted[0].session.owner) in words for words in refused)


def test_sending_a_plan_for_a_session_twice_at_once_makes_one_session():
    key, now = Doing(by=person()).key, session()
    again = partial(
        reservations.plan_session, title="twice", owner=person(), place=now.place,
        starts_at=now.starts_at, ends_at=now.ends_at, key=key,
    )  # fmt: skip
    made = at_once(with_own_connection(again) for _ in range(6))
    assert len({row.pk for row in made}) == 1


def test_holding_drawing_and_letting_go_at_once_promises_nothing_twice():
    bottles = [container() for _ in range(3)]
    asked = [(who, session(who)) for who in map(person, CROWD)]
    over = threading.Event()
    too_much: list[str] = []

    def hold_and_draw(who, booked):
        for number in range(12):
            bottle = bottles[number % 3]
            try:
                row = reservations.reserve(
                    session=booked, wants=[reservations.Want(bottle, 30 * MILLION)], by=who
                )[0]
                hold = running_hold(bottle, who, row.made_at)
                draw(
                    container=bottle, amount=amount("4 mL"), device_code="syringe-10",
                    doing=Doing(by=who), reservation=hold,
                )  # fmt: skip
                if number % 4:
                    reservations.release(reservation=row, by=who)
            except LabError as refusal:
                assert len(refusal.message) > 30  # noqa: PT017  # every refusal explains itself
        over.set()

    def watch():
        while not over.is_set():
            held = held_by_container([bottle.pk for bottle in bottles])
            for pk, promised in held.items():
                now = Container.objects.get(pk=pk)
                # read one after the other: what was drawn in between is less than one dose of each person
                if promised > now.remaining - now.heel + 4 * 4 * MILLION:
                    too_much.append(f"{promised} promised of {now.remaining}")

    at_once(
        [with_own_connection(partial(hold_and_draw, *pair)) for pair in asked] + [with_own_connection(watch)]
    )
    assert [str(fault) for fault in find_faults()] == []
    assert too_much == []
    for row in Reservation.objects.all():
        drawn = -sum(row.entries.values_list("change", flat=True))
        assert row.drawn == drawn


def test_a_crowd_over_http_drains_one_bottle_and_is_told_the_truth(server):
    doses, processes, writers = (2000, 4, 32) if IS_LONG else (80, 1, 8)
    bottle = container(holds=f"{doses} mL", capacity=f"{doses} mL")
    keys = [signed_in(person(CROWD[number % len(CROWD)])) for number in range(writers)]
    told = in_processes([partial(drain, server.port, bottle.code, key) for key in keys], processes)
    print(f"{writers} writers on one bottle, {connection.vendor}: {waits(told)}")
    adds_up(told)
    assert sum(len(one.done) for one in told) == doses
    assert all("1 mL is more than the 0" in one.refusals[0] for one in told)


def test_a_crowd_over_http_holds_and_draws_at_random(server):
    many, processes, clients, seconds = (50, 4, 64, 60) if IS_LONG else (6, 1, 8, 3)
    codes = [container().code for _ in range(many)]
    people = [person(CROWD[number % len(CROWD)]) for number in range(clients)]
    calls = [
        partial(wander, session_key=signed_in(who), session=session(who, hours=9).pk, seed=number)
        for number, who in enumerate(people)
    ]
    told = in_processes([partial(call, server.port, codes, seconds) for call in calls], processes)
    print(f"{clients} clients over {many} bottles, {connection.vendor}: {waits(told)}")
    adds_up(told)
    assert Reservation.objects.count() == sum(one.held for one in told) > 0
    for row in Reservation.objects.prefetch_related("entries", "events"):
        assert row.drawn == -sum(line.change for line in row.entries.all())
        assert [event.what for event in row.events.all()][:1] == ["held"]


def test_drawing_into_a_batch_while_its_plan_holds_more_ends_for_both():
    bottle, who = container(holds="500 mL", capacity="500 mL"), person()
    for about in (ANILINE, ACETANILIDE, ACETIC_ACID):
        substance(about)
    drafts = read_preparation(ACETYLATION)
    made = plan_batch(
        title="Acetanilide", owner=who, equation=ACETYLATION, drafts=drafts, scale="10 mmol", scale_line=1,
        session=session(who),
    )  # fmt: skip
    line = made.lines.get(name="acetic anhydride")

    def use():
        for _ in range(15):
            record_use(
                container=bottle,
                amount=amount("1 mL"),
                device_code="syringe-1",
                doing=Doing(by=who),
                batch=made,
            )

    def hold():
        for _ in range(15):
            hold_for_plan(batch=made, choices={line.position: bottle}, by=who)
            for row in Reservation.objects.filter(state="held"):
                with suppress(LabError):  # drawn to its end meanwhile
                    reservations.release(reservation=row, by=who)

    at_once(with_own_connection(work) for work in (use, hold))
    assert made.inputs.count() == 15
    assert [str(fault) for fault in find_faults()] == []


def test_the_turn_to_write_goes_to_whoever_has_waited_longest():
    turn, came = Turn(), []

    def write(number):
        with turn:
            came.append(number)

    with turn:
        waiting = [threading.Thread(target=write, args=(number,)) for number in range(20)]
        for thread in waiting:
            before = len(turn._waiting)
            thread.start()
            while len(turn._waiting) == before:
                time.sleep(0.001)
    for thread in waiting:
        thread.join()
    assert came == list(range(20))
