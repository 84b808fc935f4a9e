"""Undo within the minute for what is no ledger line, and a line that stood on the wrong bottle."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.urls import reverse
from django.utils import timezone

from labstock.bench.actions import book_on_another, record_use
from labstock.stock.actions.keeping import change_state, move, undo_change
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.looking import record_look, undo_look
from labstock.stock.actions.reversing import reverse as reverse_line
from labstock.stock.models import Kind, State
from labstock.stock.signs import doubt_on, latest_signs
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


def doing(name: str = "marit", **more) -> Doing:
    return Doing(by=builders.person(name), **more)


def test_a_move_is_taken_back_and_both_stay_on_record(bottle):
    before = bottle.location
    move(container=bottle, to=builders.place("hood 4", "hood"), doing=doing())
    change = bottle.state_changes.get()
    undo_change(change=change, doing=doing())
    bottle.refresh_from_db()
    assert bottle.location == before
    assert [row.reason for row in bottle.state_changes.all()] == ["", f"undone at once (change {change.pk})"]


def test_taking_back_twice_is_once(bottle):
    change_state(container=bottle, to=State.EMPTY, doing=doing(reason="used up"))
    change = bottle.state_changes.get()
    undo_change(change=change, doing=doing())
    undo_change(change=change, doing=doing())
    bottle.refresh_from_db()
    assert (bottle.state, bottle.state_changes.count()) == (State.IN_USE, 2)


@pytest.mark.parametrize(("who", "later_s"), [("tobias", 0), ("marit", 61)])
def test_a_change_is_taken_back_by_its_own_person_within_the_minute_only(bottle, who, later_s):
    change_state(container=bottle, to=State.EMPTY, doing=doing(reason="used up"))
    at = timezone.now() + timedelta(seconds=later_s)
    with builders.refused("Undo is for the person who said it, within 60 s"):
        undo_change(change=bottle.state_changes.get(), doing=doing(who, at=at))


def test_a_block_that_a_sign_brought_goes_with_the_look_and_not_without_it(bottle):
    record_look(container=bottle, answers={"pressure": True}, doing=doing())
    with builders.refused("it follows from another record: nothing was undone"):
        undo_change(change=bottle.state_changes.get(), doing=doing())
    undo_look(container=bottle, doing=doing())
    bottle.refresh_from_db()
    assert bottle.state == State.IN_USE
    assert not latest_signs(bottle)["pressure"].is_seen


def test_a_look_taken_back_leaves_the_strength_undoubted_and_the_answer_of_before(bottle):
    record_look(container=bottle, answers={"cloud": False}, doing=doing())
    record_look(container=bottle, answers={"smell": True, "cloud": True}, doing=doing())
    assert doubt_on(bottle) is not None
    undo_look(container=bottle, doing=doing())
    assert doubt_on(bottle) is None
    assert not latest_signs(bottle)["cloud"].is_seen
    with builders.refused("Undo is for the person who looked"):
        undo_look(container=bottle, doing=doing())


def test_a_doubt_of_before_comes_back_with_the_answer_of_before(bottle):
    record_look(container=bottle, answers={"smell": True}, doing=doing())
    record_look(container=bottle, answers={"smell": False}, doing=doing())
    undo_look(container=bottle, doing=doing())
    assert latest_signs(bottle)["smell"].is_seen
    assert doubt_on(bottle) is not None


def test_a_look_of_somebody_else_stays(bottle):
    record_look(container=bottle, answers={"smell": True}, doing=doing("tobias"))
    with builders.refused("Undo is for the person who looked, within 60 s"):
        undo_look(container=bottle, doing=doing())


def test_a_solution_never_made_gives_back_what_went_into_it(marit, bottle):
    marit.post(
        reverse("container-solution", args=[bottle.code]),
        {
            "key": "0c8e7d8e-6a56-4c0b-8a39-0a8b7e2f5a01",
            "amount": "5",
            "device": "syringe-20",
            "flask": "100 mL",
            "made_in": "flask",
            "vessel": "bottle",
        },
    )
    child = bottle.went_into.get().child
    reverse_line(entry=child.entries.get(), doing=doing(reason="not made"))
    for container, left in ((child, 0), (bottle, 53_000_000)):
        container.refresh_from_db()
        assert container.remaining == left


def test_the_right_bottle_gets_the_line_for_whoever_took_it(bottle):
    other = builders.container(holds="50 mL")
    entry = record_use(
        container=bottle, amount=builders.amount("5 mL"), device_code="syringe-5", doing=doing()
    )
    line = book_on_another(entry=entry, other=other, doing=doing("wren"))
    bottle.refresh_from_db()
    assert (bottle.remaining, line.change, line.kind) == (53_000_000, -5_000_000, Kind.DRAWN)
    assert (line.by.username, line.for_person.username, line.done_at) == ("wren", "marit", entry.done_at)


def test_more_than_the_right_bottle_holds_is_refused_and_nothing_is_reversed(bottle):
    other = builders.container(holds="3 mL")
    entry = record_use(
        container=bottle, amount=builders.amount("5 mL"), device_code="syringe-5", doing=doing()
    )
    with builders.refused("5 mL is more than the 3"):
        book_on_another(entry=entry, other=other, doing=doing())
    assert bottle.entries.count() == 2


def test_a_delivery_is_not_booked_on_another_bottle(bottle):
    with builders.refused("only what was used or lost can be booked on another bottle"):
        book_on_another(entry=bottle.entries.get(), other=builders.container(), doing=doing("wren"))


def test_the_front_page_says_for_whom_and_takes_back_with_its_own_key(marit, bottle):
    record_use(
        container=bottle,
        amount=builders.amount("5 mL"),
        device_code="syringe-5",
        doing=doing(for_person=builders.person("tobias")),
    )
    page = text_of(marit.get("/"))
    assert "<b>You</b> for <b>Tobias Renn</b>:" in page
    key = page.split('undo/2"')[1].split('name="key" value="')[1].split('"')[0]
    marit.post(reverse("entry-undo", args=[bottle.code, 2]), {"key": key})
    bottle.refresh_from_db()
    assert bottle.remaining == 53_000_000


def test_a_bottle_from_the_cold_says_to_warm_it_shut_and_again_at_take_out(marit, bottle):
    fridge = builders.place("refrigerator 2", "cold")
    fridge.offers = ["cold"]
    fridge.save()
    move(container=bottle, to=fridge, doing=doing())
    assert "let it warm up shut, until the glass is dry, before you open it" in text_of(
        marit.get(f"/C/{bottle.code}")
    )
    answer = marit.post(
        reverse("container-move", args=[bottle.code]),
        {"key": "0c8e7d8e-6a56-4c0b-8a39-0a8b7e2f5a02", "to": builders.hood().pk},
        follow=True,
    )
    assert "and it takes up water" in text_of(answer)
    assert "let it warm up shut" not in text_of(marit.get(f"/C/{bottle.code}"))


def test_names_easily_taken_for_one_another_show_where_they_differ(marit, bottle):
    cache.delete("names-in-stock")  # another test may have looked
    builders.container(builders.ACETIC_ACID)
    builders.container(builders.ANILINE)
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert '<p class="caption alike">Not acetic <b>acid</b></p>' in page
    assert 'data-say-name="acetic anhydride. TQ' in page
