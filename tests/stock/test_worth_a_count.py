"""The short list: which containers, in which order, with which arithmetic, and the check of exactly these."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import StockCheck
from labstock.stock.pages.check_worth import chosen, worth_page
from tests.builders import ANILINE, amount, container, lot, person, place, refused, session

pytestmark = pytest.mark.django_db
LATER = timedelta(days=100)


def opened(**about):
    bottle = container(**about)
    draw(container=bottle, amount=amount("5 mL"), device_code="syringe-5", doing=Doing(by=person()))
    return bottle


def promised(bottle, much, hours=24.0 * 101):
    reserve(
        session=session(start_hours=hours), wants=[Want(bottle, int(much * 1_000_000))], by=person(),
    )  # fmt: skip


def page(minutes="20", after=LATER):
    return worth_page(minutes, timezone.now() + after)


@pytest.fixture
def marit():
    client = Client()
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_bottle_just_measured_is_on_no_list():
    opened()
    assert page(after=timedelta(0)).rows == ()


def test_a_tight_promise_is_worth_more_than_an_old_record():
    tight, old = opened(), opened()
    promised(tight, 90)
    rows = {row.container: row.worth.value for row in page().rows}
    assert rows[tight] > 10 * rows[old] > 0


def test_a_sealed_bottle_that_nobody_waits_for_is_left_out():
    container()
    assert page().rows == ()


def test_the_list_is_as_long_as_the_minutes_and_takes_the_best():
    shared = lot()
    bottles = [opened(lot=shared) for _ in range(12)]
    promised(bottles[11], 90)
    short = page("10")
    assert len(short.rows) == 10
    assert bottles[11] in [row.container for row in short.rows]


def test_it_is_in_walking_order_not_in_order_of_worth():
    far, near = opened(location=place("cupboard 9")), opened(location=place("cupboard 1"))
    promised(far, 90)
    assert [row.container for row in page().rows] == [near, far]


def test_the_arithmetic_is_said_and_comes_to_the_value():
    bottle = opened()
    promised(bottle, 90)
    row = page().rows[0]
    said = " ".join(row.lines).replace("\u00a0", " ")
    assert "1 session from" in said
    assert "needs 90 mL. Chance that less is there:" in said
    assert "as the only bottle" in said
    assert "Last measured 100 days ago: 22 % of such records are wrong × 0.15" in said
    parts = [float(part) for part in re.findall(r"= (\d\.\d\d)", said)]
    assert sum(parts) == pytest.approx(float(row.value), abs=0.011)


def test_the_list_does_not_tell_what_the_book_has(marit):
    bottle = opened(holds="47.11 mL")
    promised(bottle, 20)
    said = " ".join(page().rows[0].lines)
    assert "42.1" not in said


def test_the_other_bottle_makes_it_less_urgent():
    tight = opened()
    promised(tight, 90)
    alone = page().rows[0].worth.value
    container(lot=tight.lot)
    assert page().rows[0].worth.value < alone


def test_it_leads_into_a_check_of_exactly_these_sent_twice_or_not(marit):
    bottles = [opened(location=place("cupboard 9")), opened(location=place("cupboard 1"))]
    form = {"codes": f"{bottles[1].code},{bottles[0].code}", "key": "0d9c5a1e-3b1f-4c58-9c0e-6b8b5a0c4817"}
    for _ in range(2):
        answer = marit.post(reverse("check-worth"), form)
    made = StockCheck.objects.get()
    assert answer.url == reverse("check", args=[made.pk])
    assert [row.container for row in made.expected.all()] == [bottles[1], bottles[0]]


def test_a_list_with_a_code_that_is_not_there_is_refused():
    with refused("No container has the code TQ9999X: open the list anew"):
        chosen("TQ9999X")


def test_the_list_asks_few_questions(marit, django_assert_max_num_queries):
    shared = lot(ANILINE)
    for _ in range(30):
        promised(opened(lot=shared), 20)
    with django_assert_max_num_queries(12):
        assert marit.get(reverse("check-worth")).status_code == 200
