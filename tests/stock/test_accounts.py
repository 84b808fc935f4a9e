"""Where did it go: opening, every line, what is left; to the last millionth, and what tolerance makes of the rest."""

import random
from datetime import timedelta

import pytest
from django.utils import timezone

from labstock.chemistry.band import Band
from labstock.chemistry.remaining import settle_weighing
from labstock.chemistry.tolerance import by_tolerance, difference_of
from labstock.stock.account_lines import (
    BY_OTHERS,
    CAME_IN,
    DRAWN,
    EARLIER,
    FOUND,
    LOST,
    PAIRED,
    PASSED_ON,
    Scope,
    corrections_of,
)
from labstock.stock.account_sums import Group
from labstock.stock.accounts import accounts_of
from labstock.stock.actions.keeping import dispose
from labstock.stock.actions.ledger import draw, found_more, record_loss
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.transferring import Vessel, decant
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container, Entry, Kind
from tests.builders import ANILINE, amount, container, lot, person, refused

pytestmark = pytest.mark.django_db


def drawn(bottle, text="5 mL", who="marit", hours_ago=0.0, **fields):
    at = timezone.now() - timedelta(hours=hours_ago)
    doing = Doing(by=person(who), at=at, recorded_at=at, **fields)
    return draw(container=bottle, amount=amount(text), device_code="syringe-10", doing=doing)


def old_bottle():
    """A bottle of 100 mL that came 100 hours ago."""
    at = ago(100)
    arrival = Arrival(unit="mL", capacity=amount("100 mL"), amount=amount("100 mL"), lot=lot())
    return receive(arrival=arrival, doing=Doing(by=person("wren"), at=at, recorded_at=at))


def only(scope):
    [account] = accounts_of(scope).sections
    assert account.adds_up
    return account


def ago(hours):
    return timezone.now() - timedelta(hours=hours)


def test_every_sort_of_line_is_summed_apart_and_all_adds_up_to_the_last_millionth():
    bottle = container(gross="400 g")
    drawn(bottle, "5.000001 mL")
    slip = drawn(bottle, "2 mL")
    reverse(entry=slip, doing=Doing(by=person(), reason="wrong bottle"))
    record_loss(
        container=bottle, kind=Kind.SPILT, amount=amount("3 mL"), device_code="by-eye",
        doing=Doing(by=person(), reason="knocked over"),
    )  # fmt: skip
    weigh(container=bottle, gross=amount("391.2 g"), device_code="balance-0.01g", doing=Doing(by=person()))
    account = only(Scope(container=bottle))
    assert account.groups[CAME_IN] == Group(1, 100_000_000)
    assert account.groups[DRAWN] == Group(1, -5_000_001)
    assert account.groups[LOST] == Group(1, -3_000_000)
    assert account.groups[PAIRED] == Group(2, 0)
    assert account.groups[FOUND].lines == 1
    assert account.closing == Container.objects.get().remaining


def test_what_lies_before_the_first_day_is_the_opening_amount():
    bottle = old_bottle()
    drawn(bottle, "7 mL", hours_ago=48)
    drawn(bottle, "2 mL", hours_ago=2)
    drawn(bottle, "1 mL")
    account = only(Scope(container=bottle, since=ago(24), until=ago(1)))
    assert (account.opening, account.closing) == (93_000_000, 91_000_000)
    assert account.u == pytest.approx(Entry.objects.get(seq=3).u_after / 1e6, abs=1e-6)


def test_a_line_that_was_cancelled_later_still_counts_in_the_time_before():
    bottle = old_bottle()
    slip = drawn(bottle, hours_ago=48)
    at = ago(2)
    reverse(entry=slip, doing=Doing(by=person(), at=at, recorded_at=at, reason="wrong bottle"))
    then = only(Scope(container=bottle, since=ago(72), until=ago(24)))
    assert then.groups == {DRAWN: Group(1, -5_000_000)}
    now = only(Scope(container=bottle, since=ago(24)))
    assert now.groups[EARLIER] == Group(1, 5_000_000)
    assert PAIRED not in now.groups


def test_different_units_and_substances_are_kept_apart():
    bottle, jar = container(), container(ANILINE, holds="50 g")
    drawn(bottle, "5 mL")
    draw(container=jar, amount=amount("2 g"), device_code="balance-0.01g", doing=Doing(by=person()))
    accounts = accounts_of(Scope(person=person())).sections
    assert {(one.name, one.unit, one.groups[DRAWN].change) for one in accounts} == {
        ("acetic anhydride", "mL", -5_000_000),
        ("aniline", "g", -2_000_000),
    }
    assert all(one.adds_up for one in accounts)


def test_of_a_person_only_their_own_lines_are_told_and_the_rest_is_one_sum():
    bottle = container()
    drawn(bottle, "5 mL")
    drawn(bottle, "3 mL", who="tobias")
    drawn(bottle, "1 mL", who="tobias", for_person=person())
    account = only(Scope(person=person()))
    assert account.groups[DRAWN] == Group(2, -6_000_000)
    assert account.groups[BY_OTHERS] == Group(2, 97_000_000)
    assert [line.change for line in account.lines] == [-5_000_000, -1_000_000]


def test_somebody_else_s_correction_of_a_person_s_line_is_paired_with_it():
    bottle = container()
    slip = drawn(bottle)
    reverse(entry=slip, doing=Doing(by=person("wren"), reason="wrong bottle"))
    assert only(Scope(person=person())).groups[PAIRED] == Group(2, 0)


def test_a_lot_and_a_substance_gather_their_containers():
    one = lot()
    bottles = [container(lot=one), container(lot=one), container()]
    for bottle in bottles:
        drawn(bottle, "10 mL")
    assert only(Scope(lot=one)).closing == 180_000_000
    account = only(Scope(substance=one.substance))
    assert (account.closing, account.containers, account.groups[DRAWN].lines) == (270_000_000, 3, 3)


def test_a_transfer_leaves_one_container_and_comes_into_another():
    bottle = container()
    child = decant(
        container=bottle, amount=amount("20 mL"), device_code="cylinder-25-b",
        into=Vessel(capacity=amount("50 mL")), doing=Doing(by=person()),
    )  # fmt: skip
    assert only(Scope(container=bottle)).groups[PASSED_ON] == Group(1, -20_000_000)
    assert only(Scope(container=child)).groups[CAME_IN] == Group(1, 20_000_000)
    assert only(Scope(substance=bottle.substance)).closing == 100_000_000


def test_what_was_disposed_of_is_passed_on():
    bottle = container()
    dispose(container=bottle, doing=Doing(by=person("wren"), reason="solvent waste"))
    account = only(Scope(container=bottle))
    assert account.groups[PASSED_ON] == Group(1, -100_000_000)
    assert account.closing == 0


def test_lines_on_other_pages_are_summed_before_and_after_those_shown(monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.LINES_ON_A_PAGE", 2)
    bottle = container()
    for millilitres in range(1, 6):
        drawn(bottle, f"{millilitres} mL")
    newest, middle, oldest = (accounts_of(Scope(container=bottle), page).sections[0] for page in (1, 2, 3))
    assert newest.earlier == {CAME_IN: Group(1, 100_000_000), DRAWN: Group(3, -6_000_000)}
    assert [line.change for line in middle.lines] == [-2_000_000, -3_000_000]
    assert middle.earlier == {CAME_IN: Group(1, 100_000_000), DRAWN: Group(1, -1_000_000)}
    assert {sort: rest for sort, rest in middle.later.items() if rest.lines} == {DRAWN: Group(2, -9_000_000)}
    assert (oldest.earlier, oldest.later[DRAWN]) == ({}, Group(4, -14_000_000))


def test_every_line_stands_on_one_page_and_every_page_tells_the_same_sums(monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.LINES_ON_A_PAGE", 3)
    bottle, jar = container(gross="400 g"), container(ANILINE, holds="50 g")
    for _ in range(4):
        (
            drawn(bottle),
            draw(container=jar, amount=amount("2 g"), device_code="balance-0.01g", doing=Doing(by=person())),
        )
    reverse(entry=drawn(bottle), doing=Doing(by=person(), reason="wrong bottle"))
    every = [accounts_of(Scope(since=ago(1)), page) for page in (1, 2, 3, 4)]
    shown = [line.pk for page in every for section in page.sections for line in section.lines]
    assert sorted(shown) == sorted(Entry.objects.values_list("pk", flat=True))
    assert {page.pages for page in every} == {4}
    for page in every[1:]:
        assert [one.kinds for one in page.sections] == [one.kinds for one in every[0].sections]
        assert [one.draws for one in page.sections] == [one.draws for one in every[0].sections]


def test_many_lines_are_accounted_for_as_few_are(monkeypatch):
    bottle = old_bottle()
    slip = drawn(bottle, hours_ago=48)
    drawn(bottle, "1 mL", who="tobias")
    reverse(entry=slip, doing=Doing(by=person(), reason="wrong bottle"))
    scopes = [Scope(container=bottle), Scope(person=person()), Scope(since=ago(24)), Scope(lot=bottle.lot)]
    few = [only(scope) for scope in scopes]
    monkeypatch.setattr("labstock.stock.account_lines.MOST_NAMED", 0)
    many = [only(scope) for scope in scopes]
    assert [(one.kinds, one.opening, one.draws) for one in many] == [
        (one.kinds, one.opening, one.draws) for one in few
    ]


def test_a_page_beyond_the_last_is_the_last():
    assert accounts_of(Scope(container=container()), 99).page == 1


def test_draws_are_summed_by_purpose_and_only_the_largest_sums_are_told_apart(monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.MOST_DRAWS", 2)
    bottle = container()
    for text, purpose in (("1 mL", "rinsing"), ("2 mL", "course"), ("3 mL", "drying"), ("2 mL", "course")):
        drawn(bottle, text, purpose=purpose)
    told = only(Scope(container=bottle)).draws
    assert [(draws.purpose, draws.change) for draws in told] == [
        ("course", -4_000_000),
        ("drying", -3_000_000),
    ]


def test_refuses_an_account_too_long_to_read(monkeypatch):
    monkeypatch.setattr("labstock.stock.account_lines.MOST_LINES", 2)
    monkeypatch.setattr("labstock.stock.account_lines.MOST_NAMED", 2)
    bottle = container()
    drawn(bottle), drawn(bottle)
    with refused("more than 2 lines, too many for one account: choose a shorter time"):
        accounts_of(Scope(container=bottle))


def test_corrections_are_counted_from_the_first_line_on():
    bottle = container()
    reverse(entry=drawn(bottle), doing=Doing(by=person(), reason="wrong bottle"))
    found_more(
        container=bottle, amount=amount("1 mL"), device_code="syringe-10",
        doing=Doing(by=person(), reason="more than the label says"),
    )  # fmt: skip
    assert corrections_of(Scope(container=bottle)) == 2
    assert corrections_of(Scope()) is None


def test_few_queries_however_many_containers(django_assert_max_num_queries):
    for _ in range(4):
        drawn(container())
    with django_assert_max_num_queries(7):
        accounts_of(Scope(since=ago(24)))


# ---------------------------------------------------------------- tolerance


def test_a_weighing_that_agrees_is_explained_by_tolerance():
    bottle = container(gross="400 g")
    for _ in range(6):
        drawn(bottle, "5 mL")
    # 30 mL of 1.082 g/mL are 32.46 g; 0.2 g more has gone than was booked
    weigh(container=bottle, gross=amount("367.34 g"), device_code="balance-0.01g", doing=Doing(by=person()))
    account = only(Scope(container=bottle))
    [found] = account.found
    assert found.difference.found_less_book == pytest.approx(-0.2 / 1.082, rel=0.01)
    assert account.tolerance.probability > 0.3


def test_sixty_millilitres_are_not_explained_by_tolerance():
    bottle = container(gross="400 g")
    drawn(bottle, "5 mL")
    weigh(
        container=bottle, gross=amount("329.67 g"), device_code="balance-0.01g",
        doing=Doing(by=person(), reason="nobody knows"),
    )  # fmt: skip
    account = only(Scope(container=bottle))
    assert account.tolerance.total == pytest.approx(-60, abs=0.1)
    assert account.tolerance.z > 10
    assert account.tolerance.probability < 1e-9


def test_a_reversed_weighing_explains_nothing_any_more():
    bottle = container(gross="400 g")
    drawn(bottle, "5 mL")
    line = weigh(
        container=bottle, gross=amount("394 g"), device_code="balance-0.01g", doing=Doing(by=person())
    )
    reverse(entry=line, doing=Doing(by=person(), reason="cap was off"))
    assert only(Scope(container=bottle)).found == ()


def test_the_probability_is_calibrated():
    """Of bottles in which nothing but tolerance happened, 5 in 100 get a probability below 5 in 100."""
    chance, low = random.Random(1895), 0
    for _ in range(4000):
        low += by_tolerance(_weighings_of_an_honest_bottle(chance)).probability < 0.05
    assert 0.035 < low / 4000 < 0.06


def _weighings_of_an_honest_bottle(chance):
    """Draw with one syringe whose bias nobody knows, weigh back three times, and return the differences found."""
    truth = book = 500.0
    band, bias, found = Band(), chance.gauss(0, 0.02), []
    for _ in range(3):
        for _ in range(chance.randrange(2, 9)):
            truth -= 5 * (1 + bias) + chance.gauss(0, 0.15)
            book -= 5
            band = band.after_removal(5, "syringe-5", 0.15, 0.1)
        s, u, before, commons = 0.3, band.u, book, band.commons
        settled, after = settle_weighing(book, band, truth + chance.gauss(0, s), s)
        if not settled.is_settled:
            book, band = book + settled.difference, band.replaced_by_weighing(s)
        else:
            book, band = settled.m, after
        found.append(difference_of(book - before, u, s, commons=commons))
    return found
