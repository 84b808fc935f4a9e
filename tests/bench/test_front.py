"""The front page: today, what needs a look, what was just recorded, and what lapsed."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.bench.pages.front import front_page
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, lapse_due, reserve
from labstock.stock.models import State
from tests.builders import ANHYDRIDE, amount, container, lot, person, session

pytestmark = pytest.mark.django_db
TETRAHYDROFURAN = {
    "name": "tetrahydrofuran",
    "formula": "C4H8O",
    "is_liquid": True,
    "is_peroxide_former": True,
}


def test_an_empty_lab_is_told_what_to_do_next(client):
    client.force_login(person())
    page = client.get(reverse("front")).content.decode()
    assert "Nobody has a session today." in page
    assert "Nothing has been recorded yet." in page


def test_todays_sessions_show_what_is_held_and_whose_they_are():
    mine = session(person())
    reserve(session=mine, wants=[Want(container(), 12_000_000)], by=person())
    session(person("tobias"), title="Ether")
    page = front_page(person(), timezone.now())
    assert [row.is_yours for row in page.sessions] == [True, False]
    assert page.sessions[0].holds[0].left == 12_000_000


def test_the_worst_comes_first():
    container(lot=lot(retest_on=date.today() + timedelta(days=2)))
    container(TETRAHYDROFURAN, lot=lot(TETRAHYDROFURAN, retest_on=date.today() - timedelta(days=7)))
    blocked = container()
    change_state(container=blocked, to=State.BLOCKED, doing=Doing(by=person("wren"), reason="acid smell"))
    look = front_page(person(), timezone.now()).look
    assert [row.sign for row in look] == ["stop", "ask", "caution"]
    assert "7 days ago" in look[0].what
    assert look[1].why == "Acid smell."


def test_only_ones_own_fresh_line_can_be_undone():
    bottle = container(ANHYDRIDE)
    draw(container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=person()))
    assert front_page(person(), timezone.now()).recorded[0].can_undo
    assert not front_page(person("tobias"), timezone.now()).recorded[0].can_undo
    later = timezone.now() + timedelta(seconds=61)
    assert not front_page(person(), later).recorded[0].can_undo


def test_what_lapsed_unused_says_so(client):
    mine = session(person(), start_hours=-3, hours=3.001)
    reserve(session=mine, wants=[Want(container(), 12_000_000)], by=person())
    lapse_due(at=mine.ends_at + timedelta(seconds=1))
    client.force_login(person())
    assert "lapsed unused" in client.get(reverse("front")).content.decode()


def test_the_front_page_asks_few_questions(client, django_assert_max_num_queries):
    for _ in range(3):
        reserve(session=session(person()), wants=[Want(container(), 2_000_000)], by=person())
    client.force_login(person())
    with django_assert_max_num_queries(16):
        client.get(reverse("front"))
