"""The container's page: the answer first, in few queries and little weight."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.bench.forms import usual_devices
from labstock.bench.forms_deeds import next_states
from labstock.bench.pages.amounts import exactly, rounded_down
from labstock.bench.pages.ledger import steps_of_ledger
from labstock.bench.pages.record import in_two_lines, taps_for
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container, State
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


def test_the_answer_is_what_is_95_percent_sure_rounded_down(marit, bottle):
    # 53 mL, u = 53 · 0.005/√3 = 0.153; 53 - 1.645 · 0.153 - heel 1.5 = 51.248, by hand
    assert "Yes, up to 51.24 mL" in text_of(marit.get(f"/C/{bottle.code}"))


def test_what_others_hold_is_taken_off_the_answer_and_listed(marit, bottle):
    session = builders.session(builders.person("tobias"), title="Teaching set")
    reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("tobias"))
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "Yes, up to 39.24 mL" in page
    assert "<b>Tobias Renn</b>" in page
    assert "Teaching set" in page


def test_all_of_it_held_by_others_is_a_no(marit, bottle):
    session = builders.session(builders.person("tobias"))
    reserve(session=session, wants=[Want(bottle, 51_500_000)], by=builders.person("tobias"))
    assert "No: all of it is held by others" in text_of(marit.get(f"/C/{bottle.code}"))


def test_a_hold_of_ones_own_can_be_let_go_from_here(marit, bottle):
    session = builders.session(builders.person("marit"))
    hold = reserve(session=session, wants=[Want(bottle, 5_000_000)], by=builders.person("marit"))[0]
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert reverse("reservation-release", args=[hold.pk]) in page
    assert "<b>You</b>" in page


def test_a_container_without_substance_or_lot_still_has_a_page(marit):

    arrival = Arrival(
        unit="g",
        capacity=builders.amount("10 g"),
        amount=builders.amount("3 g"),
        described_as="yellow powder",
    )
    powder = receive(arrival=arrival, doing=Doing(by=builders.person("wren")))
    page = text_of(marit.get(f"/C/{powder.code}"))
    assert "Yellow powder" in page
    assert "not known: only described in words" in page


def test_the_page_of_a_used_bottle_takes_few_queries_and_little_weight(
    marit, bottle, django_assert_max_num_queries
):
    people = [builders.person("marit"), builders.person("tobias")]
    for turn in range(14):
        amount = builders.amount("1.5 mL")
        draw(container=bottle, amount=amount, device_code="syringe-2", doing=Doing(by=people[turn % 2]))
    for person in people:
        session = builders.session(person)
        reserve(session=session, wants=[Want(bottle, 2_000_000)], by=person)
    with django_assert_max_num_queries(20):
        response = marit.get(f"/C/{bottle.code}")
    assert len(response.content) < 60_000


def test_old_lines_are_folded_away_and_all_of_them_can_be_asked_for(marit, bottle):
    for _ in range(64):
        draw(
            container=bottle,
            amount=builders.amount("0.1 mL"),
            device_code="syringe-1",
            doing=Doing(by=builders.person("tobias")),
        )
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "All 65 lines" in page
    assert page.count('<th scope="row" class="num">') == 60
    assert text_of(marit.get(f"/C/{bottle.code}?lines=all")).count('<th scope="row" class="num">') == 65


def test_pages_have_no_inline_style_or_script(marit, bottle):
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "style=" not in page
    assert "<script>" not in page
    assert "onclick" not in page


def test_taps_suit_the_size_of_the_container():
    sizes = {
        "100": ("1", "2", "5", "10"),
        "5": ("0.1", "0.2", "0.5", "1.0"),
        "500": ("10", "20", "50", "100"),
    }
    for size, taps in sizes.items():
        assert taps_for(Container(unit="mL", capacity=int(size) * 1_000_000)) == taps


def test_pieces_are_tapped_in_pieces():
    assert taps_for(Container(unit="piece", capacity=50_000_000)) == ("1", "2", "5", "10")


def test_the_device_used_last_is_always_among_the_four():
    container = Container(unit="mL", capacity=100_000_000)
    offered = [row.code for row in usual_devices(container, 5.0, last="beaker-marks")]
    assert len(offered) == 4
    assert offered[-1] == "beaker-marks"


@pytest.mark.parametrize(
    ("amount", "decimals", "words"),
    [(37.56, 1, "37.5"), (37.499999999999, 1, "37.5"), (0.0, 2, "0.00"), (9.9, 0, "9")],
)
def test_what_may_be_taken_is_rounded_down(amount, decimals, words):
    assert rounded_down(amount, decimals) == words


def test_a_ledger_amount_is_written_to_its_last_digit():
    assert [exactly(n) for n in (53_000_000, 53_040_000, 1, -6_000_000)] == ["53", "53.04", "0.000001", "-6"]


def test_a_long_device_name_is_parted_so_that_it_fits_a_key():
    assert in_two_lines("5 mL one-mark pipette, class A") == ("one-mark pipette", "5 mL, class A")
    assert in_two_lines("poured by beaker marks") == ("poured", "by beaker marks")


def test_a_member_is_not_offered_to_free_a_blocked_container():
    blocked = Container(state=State.BLOCKED)
    assert State.IN_USE not in next_states(blocked, builders.person("marit"))
    assert State.IN_USE in next_states(blocked, builders.person("wren"))


def test_pieces_are_counted_without_a_choice_of_unit(marit, use):
    arrival = Arrival(
        unit="piece",
        capacity=builders.amount("50 pieces"),
        amount=builders.amount("12 pieces"),
        described_as="tablets",
    )
    tablets = receive(arrival=arrival, doing=Doing(by=builders.person("wren")))
    page = text_of(marit.get(f"/C/{tablets.code}"))
    assert "Yes, up to 12 pieces" in page
    use(marit, tablets, amount="3", device="counted")
    tablets.refresh_from_db()
    assert tablets.remaining == 9_000_000


def test_a_line_written_down_late_stands_where_it_was_done_and_the_picture_ends_at_the_book(
    marit, bottle, use
):
    earlier = timezone.localtime() - timedelta(hours=3)
    use(marit, amount="5.0")
    use(marit, amount="2.0", at=earlier.strftime("%Y-%m-%dT%H:%M"))
    bottle.refresh_from_db()
    steps = steps_of_ledger(list(bottle.entries.order_by("-seq")))
    assert [step.m for step in steps] == [53, 51, 46]
    assert steps[-1].u == pytest.approx(bottle.doubt.u, abs=1e-6)
