"""An amount is promised once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import (
    Want,
    cancel_session,
    lapse_due,
    plan_session,
    release,
    reserve,
)
from labstock.stock.models import HoldState
from labstock.stock.queries import availability, running_hold
from tests.builders import amount, container, hood, person, place, refused, session

pytestmark = pytest.mark.django_db


def hold(bottle, millilitres, who="marit", booked=None):
    who = person(who)
    return reserve(
        session=booked or session(who), wants=[Want(bottle, round(millilitres * 1_000_000))], by=who
    )[0]


def test_two_holds_stand_together_when_their_sum_fits():
    bottle = container()
    hold(bottle, 40)
    hold(bottle, 58.5, who="tobias")
    assert availability(bottle, person("wren")).usable == 0


def test_the_second_after_the_last_50_mL_learns_who_holds_it_and_what_else_would_do():
    bottle, other = container(), container()
    hold(bottle, 90)
    with pytest.raises(LabError) as caught:
        hold(bottle, 50, who="tobias")
    text = str(caught.value).replace("\u00a0", " ")
    assert "50 mL of acetic anhydride is wanted and 8.5 mL of TQ 1001 Z is free" in text
    assert "Marit Solberg holds 90 mL until" in text
    assert "What else would do: TQ 1002 X has 98.5 mL free (room 214, cupboard 4)" in text
    assert caught.value.parts["others"] == [other.pk]


def test_a_plan_is_held_whole_or_not_at_all():
    bottle, other = container(), container()
    wants = [Want(other, 10_000_000), Want(bottle, 99_000_000)]
    with pytest.raises(LabError):
        reserve(session=session(), wants=wants, by=person())
    assert not other.reservations.exists()


def test_the_heel_is_never_promised():
    with refused(r"98\.5"):
        hold(container(), 99)


def test_a_hold_ends_with_its_session_and_says_so():
    bottle = container()
    row = hold(bottle, 40)
    after = row.session.ends_at + timedelta(seconds=1)
    assert availability(bottle, person("tobias")).held_by_others == 40
    assert lapse_due(at=after) == 1
    row.refresh_from_db()
    assert row.state == HoldState.LAPSED
    assert [event.what for event in row.events.all()] == ["held", "lapsed unused"]


def test_a_session_in_the_past_is_refused():
    now = timezone.now()
    with refused("choose a time that is still to come"):
        plan_session(
            title="x",
            owner=person(),
            place=hood(),
            starts_at=now - timedelta(hours=4),
            ends_at=now - timedelta(hours=1),
        )


def test_a_session_that_ends_before_it_starts_is_refused():
    now = timezone.now()
    with refused("the end comes after the start"):
        plan_session(title="x", owner=person(), place=hood(), starts_at=now, ends_at=now - timedelta(hours=1))


def test_a_cupboard_is_no_place_to_work():
    now = timezone.now()
    with refused("is no bench or hood"):
        plan_session(
            title="x", owner=person(), place=place(), starts_at=now, ends_at=now + timedelta(hours=1)
        )


def test_only_the_owner_or_a_steward_lets_a_hold_go():
    row = hold(container(), 40)
    with refused("only Marit Solberg or a steward can let it go"):
        release(reservation=row, by=person("tobias"))
    assert release(reservation=row, by=person("wren")).state == HoldState.RELEASED


def test_cancelling_a_session_frees_what_it_held():
    bottle = container()
    row = hold(bottle, 40)
    cancel_session(session=row.session, by=person())
    assert availability(bottle, person("tobias")).free == 98.5


def test_a_draw_under_a_hold_counts_against_it():
    bottle = container()
    row = hold(bottle, 10)
    found = running_hold(bottle, person(), timezone.now())
    assert found == row
    draw(
        container=bottle,
        amount=amount("4 mL"),
        device_code="syringe-10",
        doing=Doing(by=person()),
        reservation=row,
    )
    row.refresh_from_db()
    assert (row.drawn, row.left) == (4_000_000, 6_000_000)


def test_a_hold_of_a_session_that_has_not_begun_is_not_running():
    bottle = container()
    hold(bottle, 10, booked=session(start_hours=2))
    assert running_hold(bottle, person(), timezone.now()) is None


def test_nothing_and_less_than_nothing_cannot_be_held():
    with refused("give an amount above zero"):
        hold(container(), 0)
