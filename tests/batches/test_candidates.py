"""Which bottle a line is taken from, how much of it is held, and what is said about each."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from batches.candidates import amount_to_hold, candidates_by_line, candidates_to_hold
from batches.drafts import read_preparation
from batches.reserving import When, prepare
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Assay, State
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    amount,
    container,
    lot,
    person,
    session,
    substance,
)

pytestmark = pytest.mark.django_db


def lines_of_a_plan():
    for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID):
        substance(about)
    drafts = read_preparation("aniline + acetic anhydride -> acetanilide + acetic acid")
    batch = prepare(
        title="acetanilide", owner=person(), equation="", drafts=drafts, scale="100 mmol", scale_line=1,
        when=When(session(start_hours=2)),
    )  # fmt: skip
    return batch.lines.select_related("substance").prefetch_related("reservations")


def candidates():
    return candidates_by_line(lines_of_a_plan(), timezone.now())[2]


def hold(bottle, millilitres, who="tobias"):
    wants = [Want(bottle, millilitres * 1_000_000)]
    return reserve(session=session(person(who)), wants=wants, by=person(who))[0]


@pytest.mark.parametrize(
    ("need", "held"),
    [
        (37.98, 38_000_000),
        (38.0, 38_000_000),
        (0.30013, 301_000),
        (132.01, 133_000_000),
        (1234.2, 1_240_000_000),
    ],
)
def test_what_is_held_is_rounded_up_to_what_can_be_measured(need, held):
    assert amount_to_hold(need) == held


def test_an_open_bottle_goes_before_a_sealed_one_and_says_why():
    sealed, opened = container(), container()
    draw(container=opened, amount=amount("1 mL"), device_code="syringe-10", doing=Doing(by=person()))
    found = candidates()
    assert [c.container for c in found] == [opened, sealed]
    assert [c.why for c in found] == ["already open", "sealed: would break a seal"]


def test_what_ends_first_goes_first():
    late = container(lot=lot(expires_on=date(2028, 1, 1)))
    soon = container(lot=lot(expires_on=date(2027, 2, 1)))
    assert [c.container for c in candidates()] == [soon, late]
    assert candidates()[0].why == "sealed: would break a seal, ends 01 Feb 2027"


def test_enough_goes_before_open():
    opened, full = container(holds="20 mL"), container()
    draw(container=opened, amount=amount("15 mL"), device_code="syringe-10", doing=Doing(by=person()))
    best, other = candidates()
    assert (best.container, other.container) == (full, opened)
    assert (other.why, other.probability < 0.01) == ("too little is free", True)


def test_the_heel_and_what_others_hold_are_not_offered():
    bottle = container()
    hold(bottle, 90)
    found = candidates()[0]
    assert found.availability.usable == pytest.approx(8.5)
    # by hand: 0.100 mol · 102.089 g/mol / 0.995 (≥ 99 %) / 1.082 g/mL = 9.48 mL, held as 9.49 mL
    assert found.need_millionths == 9_490_000
    assert found.short == pytest.approx(0.99)
    assert [h.session.owner for h in found.others] == [person("tobias")]


def test_a_blocked_bottle_is_shown_and_not_offered():
    bottle = container()
    bottle.state, bottle.state_because = State.BLOCKED, "crystals"
    bottle.save()
    found = candidates()[0]
    assert (found.is_offered, found.probability, found.warnings[0]) == (False, 0.0, "blocked: crystals")


def test_a_bottle_that_is_gone_is_not_shown():
    bottle = container()
    bottle.state = State.DISPOSED
    bottle.save()
    assert candidates() == []


def test_old_dates_are_said():
    today = timezone.localdate()
    about = lot(expires_on=today - timedelta(days=1), retest_on=today - timedelta(days=2))
    words = candidates_words(container(lot=about))
    assert [word.split(" ")[0] for word in words] == ["expired", "retest"]


def test_a_wet_prone_bottle_says_how_long_it_was_open():
    bottle = container()
    bottle.opened_on = timezone.localdate() - timedelta(days=120)
    bottle.save()
    assert "takes up water; opened 120 days ago" in candidates_words(bottle)


def candidates_words(bottle):
    return next(c.warnings for c in candidates() if c.container == bottle)


def test_each_bottle_counts_with_its_own_strength():
    weak, strong = container(), container()
    Assay.objects.create(
        container=weak,
        percent=90,
        u_percent=0.5,
        method="titration",
        measured_on=date(2026, 11, 1),
        by=person(),
    )
    needs = {c.container: c.need.n for c in candidates()}
    # by hand: 0.100 mol · 102.089 g/mol / 1.082 g/mL = 9.435 mL pure; /0.90 and /0.995
    assert needs[weak] == pytest.approx(10.48, abs=0.01)
    assert needs[strong] == pytest.approx(9.48, abs=0.01)


def test_a_bottle_kept_in_grams_is_asked_for_grams():
    container(holds="80 g")
    found = candidates()[0]
    assert found.need.n == pytest.approx(10.26, abs=0.01)  # 0.100 mol · 102.089 g/mol / 0.995


def test_a_plain_hold_is_offered_from_every_bottle_that_can_give_it():
    container(), container(holds="80 g")
    found = candidates_to_hold(substance(ANHYDRIDE), amount("12 mL"), timezone.now())
    assert sorted((c.container.unit, c.need_millionths) for c in found) == [
        ("g", 13_000_000),
        ("mL", 12_000_000),
    ]


def test_all_lines_take_three_queries(django_assert_num_queries):
    container(), container(ANILINE), container(ACETIC_ACID)
    lines = list(lines_of_a_plan())
    with django_assert_num_queries(3):
        found = candidates_by_line(lines, timezone.now())
    assert sorted(found) == [1, 2]
