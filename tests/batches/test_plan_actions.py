"""A plan is made once, worked out again, and held whole or not at all."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.db import connection
from django.utils import timezone

from batches.actions.plans import hold_for_plan, replan
from batches.drafts import Draft, read_preparation
from batches.models import Batch
from batches.planning import drafts_of
from batches.reserving import When, best_to_hold, give_session, hold_amount, prepare
from labstock.chemistry.errors import LabError
from labstock.stock.actions.reservations import lapse_due, release
from labstock.stock.models import HoldState, Reservation, Session
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    amount,
    container,
    hood,
    person,
    refused,
    session,
    substance,
)

ACETYLATION = "C6H7N + C4H6O3 -> C8H9NO + C2H4O2"


def when(hours=1, length=2):
    start = timezone.now() + timedelta(hours=hours)
    return When(None, hood(), start, start + timedelta(hours=length))


def planned(who="marit", scale="100 mmol", key=None, **fields):
    for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID):
        substance(about)
    drafts = read_preparation(ACETYLATION)
    return prepare(
        title="acetanilide", owner=person(who), equation=ACETYLATION, drafts=drafts, scale=scale,
        scale_line=1, when=fields.get("when") or when(), key=key,
    )  # fmt: skip


@pytest.mark.django_db
def test_a_plan_and_its_session_are_made_in_one_act():
    batch = planned()
    assert (batch.session.owner, batch.session.title) == (person(), "acetanilide")
    assert [line.name for line in batch.lines.all()][1] == "acetic anhydride"


@pytest.mark.django_db
def test_a_plan_that_cannot_be_worked_out_leaves_no_session_behind():
    with refused("has no unit"):
        planned(scale="100")
    assert not Session.objects.exists()
    assert not Batch.objects.exists()


@pytest.mark.django_db
def test_sending_the_plan_twice_makes_one_plan_and_one_session():
    key = uuid.uuid4()
    assert planned(key=key) == planned(key=key)
    assert (Batch.objects.count(), Session.objects.count()) == (1, 1)


@pytest.mark.django_db
def test_numbers_run_without_a_gap():
    first, second = planned(), planned()
    assert int(second.number[-3:]) == int(first.number[-3:]) + 1


@pytest.mark.django_db
def test_a_session_in_the_past_is_refused_with_the_plan():
    with refused("choose a time that is still to come"):
        planned(when=when(hours=-5))
    assert not Batch.objects.exists()


@pytest.mark.django_db
def test_all_lines_are_held_in_one_act_and_the_amounts_are_measurable():
    aniline, anhydride = container(ANILINE), container()
    made = hold_for_plan(batch=planned(), choices={1: aniline, 2: anhydride}, by=person())
    # by hand: 0.1 mol · 93.129 g/mol / 0.995 / 1.022 g/mL = 9.158 mL, up to 9.16; anhydride 9.483 up to 9.49
    assert [row.amount for row in made] == [9_160_000, 9_490_000]


@pytest.mark.django_db
def test_one_line_that_cannot_be_held_holds_nothing_of_the_others():
    aniline, anhydride = container(ANILINE), container(holds="5 mL")
    with refused("9.49 mL of acetic anhydride is wanted and 3.5 mL of .* is free"):
        hold_for_plan(batch=planned(), choices={1: aniline, 2: anhydride}, by=person())
    assert not Reservation.objects.exists()


@pytest.mark.django_db
def test_holding_twice_holds_once():
    batch, bottle = planned(), container()
    assert len(hold_for_plan(batch=batch, choices={2: bottle}, by=person())) == 1
    assert hold_for_plan(batch=batch, choices={2: bottle}, by=person()) == []
    assert Reservation.objects.count() == 1


@pytest.mark.django_db
def test_a_line_let_go_may_be_held_again():
    batch, bottle = planned(), container()
    release(reservation=hold_for_plan(batch=batch, choices={2: bottle}, by=person())[0], by=person())
    assert len(hold_for_plan(batch=batch, choices={2: bottle}, by=person())) == 1


@pytest.mark.django_db
def test_a_bottle_of_something_else_is_refused():
    with refused("line 2 of this plan does not ask for it"):
        hold_for_plan(batch=planned(), choices={2: container(ANILINE)}, by=person())


@pytest.mark.django_db
def test_nobody_holds_for_somebody_elses_plan():
    with refused("Marit Solberg"):
        hold_for_plan(batch=planned(), choices={2: container()}, by=person("tobias"))


@pytest.mark.django_db
def test_a_plan_is_worked_out_again_with_another_equation():
    batch = planned()
    water = "C4H6O3 + H2O -> 2 C2H4O2"
    replan(
        batch=batch,
        by=person(),
        drafts=read_preparation(water),
        scale="10 mmol",
        scale_line=1,
        equation=water,
    )
    batch.refresh_from_db()
    assert (batch.equation, batch.lines.count(), batch.scale) == (water, 3, "10 mmol")


@pytest.mark.django_db
def test_a_plan_with_holds_is_not_changed_until_they_are_let_go():
    batch = planned()
    row = hold_for_plan(batch=batch, choices={2: container()}, by=person())[0]
    again = {
        "batch": batch,
        "by": person(),
        "drafts": drafts_of(batch.lines.all()),
        "scale": "50 mmol",
        "scale_line": 1,
    }
    with refused("let the holds go before changing it"):
        replan(**again)
    release(reservation=row, by=person())
    assert replan(**again).scale == "50 mmol"


@pytest.mark.django_db
def test_a_plan_whose_holds_lapsed_is_put_into_another_session():
    batch = planned()
    row = hold_for_plan(batch=batch, choices={2: container()}, by=person())[0]
    lapse_due(at=batch.session.ends_at)
    row.refresh_from_db()
    moved = give_session(batch=batch, by=person(), when=when(hours=24))
    assert (row.state, moved.session != row.session) == (HoldState.LAPSED, True)


@pytest.mark.django_db
def test_an_amount_is_held_without_a_plan_and_sent_twice_is_held_once():
    bottle, key = container(), uuid.uuid4()
    asked = {
        "title": "rinse",
        "owner": person(),
        "container": bottle,
        "quantity": amount("12 mL"),
        "when": when(),
    }
    first = hold_amount(**asked, key=key)
    assert hold_amount(**asked, key=key) == first
    assert (first.amount, Reservation.objects.count(), Session.objects.count()) == (12_000_000, 1, 1)


@pytest.mark.django_db
def test_a_refused_hold_leaves_no_session_behind():
    asked = {
        "title": "x",
        "owner": person(),
        "container": container(),
        "quantity": amount("99 mL"),
        "when": when(),
    }
    with refused("99 mL of acetic anhydride is wanted and 98.5 mL"):
        hold_amount(**asked)
    assert not Session.objects.exists()


@pytest.mark.django_db
def test_the_best_container_for_an_amount_is_one_that_has_it():
    container(holds="5 mL")
    full = container()
    assert best_to_hold(substance(ANHYDRIDE), amount("12 mL")) == full


@pytest.mark.django_db
def test_an_amount_of_what_nobody_has_says_so():
    with refused("12 mL of acetic anhydride is wanted and no container of it may be used"):
        best_to_hold(substance(ANHYDRIDE), amount("12 mL"))


@pytest.mark.django_db
def test_an_amount_of_the_wrong_dimension_says_which_would_be_right():
    container()
    with refused("'3 mmol' of acetic anhydride cannot be held: .*Give the amount in mL"):
        best_to_hold(substance(ANHYDRIDE), amount("3 mmol"))


def attempt(batch, bottle, who, start):
    start.wait()
    try:
        hold_for_plan(batch=batch, choices={2: bottle}, by=who)
        return "held"
    except LabError as error:
        return str(error).replace("\u00a0", " ")
    finally:
        connection.close()


@pytest.mark.django_db(transaction=True)
def test_of_two_people_after_the_last_of_a_bottle_one_is_told_at_once_who_holds_it():
    bottle = container(holds="15 mL")
    container()
    plans = [(planned("marit"), person("marit")), (planned("tobias"), person("tobias"))]
    start = Barrier(2)
    with ThreadPoolExecutor(2) as pool:
        said = list(pool.map(lambda plan: attempt(plan[0], bottle, plan[1], start), plans))
    winner = plans[said.index("held")][1]
    told = next(text for text in said if text != "held")
    assert Reservation.objects.filter(container=bottle).count() == 1
    assert (
        f"9.49 mL of acetic anhydride is wanted and 4.01 mL of TQ 1001 Z is free. {winner} holds 9.49 mL until"
        in told
    )
    assert "What else would do: TQ 1002 X has 98.5 mL free" in told


@pytest.mark.django_db(transaction=True)
def test_two_plans_sent_at_the_same_time_with_one_key_make_one():
    key, chosen = uuid.uuid4(), session(start_hours=2)
    for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID):
        substance(about)
    start = Barrier(2)

    def send(_):
        start.wait()
        try:
            return planned(key=key, when=When(chosen)).number
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        assert len(set(pool.map(send, range(2)))) == 1
    assert Batch.objects.count() == 1


@pytest.mark.django_db
def test_a_saved_line_keeps_what_was_typed_beside_it():
    batch = planned()
    drafts = drafts_of(batch.lines.all())
    drafts.append(Draft("quench", "water", amount="0.2 mL/mmol"))
    replan(batch=batch, by=person(), drafts=drafts, scale="100 mmol", scale_line=1)
    line = batch.lines.last()
    assert (line.amount_typed, line.dispense, line.dispense_unit) == ("0.2 mL/mmol", pytest.approx(20), "mL")
