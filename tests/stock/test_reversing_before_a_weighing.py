"""A line is reversed that a later weighing had already put right: the weighing stands, and both ledgers are true."""

from datetime import timedelta

import pytest
from django.utils import timezone

from labstock.stock.account_lines import Scope
from labstock.stock.accounts import accounts_of
from labstock.stock.actions.counting import count
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw, found_more
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse, undo
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.verifying import find_faults
from tests.builders import amount, container, person, refused

pytestmark = pytest.mark.django_db
BALANCE = "balance-0.01g"


def bottle():
    """Return 100 mL of acetic anhydride, 1.082 g/mL, 286.40 g when it came."""
    return container(gross="286.40 g")


def doing(reason=""):
    return Doing(by=person("wren"), reason=reason)


def drawn(from_, much, device="cylinder-50-b"):
    return draw(container=from_, amount=amount(much), device_code=device, doing=doing())


def weighed(one, gone_mL, reason=""):
    gross = f"{286.40 - gone_mL * 1.082:.2f} g"
    return weigh(container=one, gross=amount(gross), device_code=BALANCE, doing=doing(reason))


def left(one):
    return Container.objects.get(pk=one.pk).remaining / 1e6


def test_a_draw_that_never_was_leaves_what_a_believed_weighing_found():
    one = bottle()
    line = drawn(one, "40 mL")
    found = weighed(one, 0, "booked on the wrong bottle").after
    reverse(entry=line, doing=doing("it came out of the other bottle"))
    assert left(one) == found / 1e6
    kinds = list(one.entries.order_by("seq").values_list("kind", "change")[3:])
    assert kinds == [(Kind.REVERSED, 40_000_000), (Kind.STANDS, -40_000_000)]
    assert one.entries.last().purpose == "as found in line 3, which had put line 2 right"
    assert [str(fault) for fault in find_faults()] == []


def test_the_draw_booked_on_the_wrong_bottle_is_moved_to_the_right_one():
    wrong, right = bottle(), bottle()
    line = drawn(wrong, "40 mL")
    weighed(wrong, 0, "forty too much")
    reverse(entry=line, doing=doing("came out of the other"))
    drawn(right, "40 mL")
    assert left(wrong) == pytest.approx(100, abs=0.5)
    assert left(right) == 60
    used = -sum(row.change for row in Entry.objects.filter(kind=Kind.DRAWN, reversed_by=None)) / 1e6
    assert used == 40


def weight_of_the_book(line, weighing):
    """Work out the weight of the book in its mean with a weighing, s²/(u² + s²), where the line was all its doubt."""
    u2 = line.u_random**2 + line.u_common**2
    return weighing.u_random**2 / (u2 + weighing.u_random**2)


def test_an_averaged_weighing_had_put_right_only_its_share():
    one = bottle()
    line = drawn(one, "1 mL", "by-eye")
    weighing = weighed(one, 0.4)
    w = weight_of_the_book(line, weighing)
    reverse(entry=line, doing=doing("never happened"))
    assert 0.02 < w < 0.5
    assert one.entries.get(kind=Kind.STANDS).change == pytest.approx(-(1 - w) * 1_000_000, abs=2)
    # the mean of a book that says 100 and the 99.6 that were weighed
    assert left(one) == pytest.approx(w * 100 + (1 - w) * 99.6, abs=0.01)


def test_two_weighings_leave_the_product_of_their_shares():
    one = bottle()
    line = drawn(one, "1 mL", "by-eye")
    first, second = weighed(one, 0.4), weighed(one, 0.4)
    # after a mean the book's own doubt is 1/u² + 1/s², so that the second weighing weighs as much as the first
    u2, s2 = line.u_random**2 + line.u_common**2, first.u_random**2
    after_first = u2 * s2 / (u2 + s2)
    share = weight_of_the_book(line, first) * s2 / (after_first + s2)
    before = second.after
    reverse(entry=line, doing=doing("never happened"))
    assert left(one) * 1e6 - before == pytest.approx(share * 1_000_000, abs=3)


def test_what_was_found_too_much_may_be_reversed_even_when_less_is_left_now():
    one = bottle()
    drawn(one, "60 mL")
    line = found_more(
        container=one, amount=amount("50 mL"), device_code="cylinder-50-b", doing=doing("typed 50 for 5")
    )
    weighed(one, 60, "fifty too much")
    drawn(one, "30 mL")
    reverse(entry=line, doing=doing("it was 5"))
    assert left(one) == pytest.approx(10, abs=0.6)
    last_two = list(one.entries.order_by("seq").values_list("kind", flat=True))[-2:]
    assert last_two == [Kind.STANDS, Kind.REVERSED]


def test_a_count_stands_as_a_weighing_does():
    one = bottle()
    line = drawn(one, "40 mL")
    count(container=one, found=amount("99 mL"), device_code="cylinder-50-b", doing=doing("wrong bottle"))
    reverse(entry=line, doing=doing("wrong bottle"))
    assert left(one) == 99


def test_undo_of_the_newest_line_is_as_before():
    one = bottle()
    weighed(one, 0.2)
    was, band = left(one), Container.objects.get(pk=one.pk).doubt
    undo(entry=drawn(one, "40 mL"), doing=doing())
    assert left(one) == was
    assert not one.entries.filter(kind=Kind.STANDS).exists()
    assert Container.objects.get(pk=one.pk).doubt.u == pytest.approx(band.u)


def test_reversing_the_weighing_itself_gives_the_book_back():
    one = bottle()
    drawn(one, "40 mL")
    u = Container.objects.get(pk=one.pk).doubt.u
    line = weighed(one, 41)
    reverse(entry=line, doing=doing("another bottle was on the balance"))
    assert left(one) == 60
    assert Container.objects.get(pk=one.pk).doubt.u == pytest.approx(u)


def test_the_doubt_is_as_if_the_draw_had_never_been():
    one, other = bottle(), bottle()
    line = drawn(one, "40 mL")
    weighed(one, 0, "wrong bottle")
    weighed(other, 0, "so as to compare")
    drawn(one, "5 mL")
    drawn(other, "5 mL")
    reverse(entry=line, doing=doing("wrong bottle"))
    assert left(one) == pytest.approx(left(other), abs=0.2)
    assert Container.objects.get(pk=one.pk).doubt.u == pytest.approx(
        Container.objects.get(pk=other.pk).doubt.u, rel=0.05
    )


def test_the_account_adds_up_and_calls_nothing_unexplained_any_more():
    one = bottle()
    line = drawn(one, "40 mL")
    weighed(one, 0, "wrong bottle")
    assert abs(accounts_of(Scope(container=one)).sections[0].found[0].difference.found_less_book) > 39
    reverse(entry=line, doing=doing("wrong bottle"))
    account = accounts_of(Scope(container=one)).sections[0]
    assert account.adds_up
    assert account.groups["found"].change == pytest.approx(0, abs=500_000)
    assert account.tolerance.probability > 0.05
    # and over a time that begins after all of it, nothing is left but what stands
    later = accounts_of(Scope(container=one, since=timezone.now() + timedelta(seconds=1)))
    assert all(account.adds_up for account in later.sections)


def test_the_line_that_says_a_weighing_stands_is_not_reversed_by_itself():
    one = bottle()
    line = drawn(one, "40 mL")
    weighed(one, 0, "wrong bottle")
    reverse(entry=line, doing=doing("wrong bottle"))
    with refused("Line 5 goes with a reversal and says that a weighing stands: weigh again"):
        reverse(entry=one.entries.get(kind=Kind.STANDS), doing=doing("why not"))


def test_sent_twice_it_is_written_once():
    one = bottle()
    line = drawn(one, "40 mL")
    weighed(one, 0, "wrong bottle")
    how = doing("wrong bottle")
    assert reverse(entry=line, doing=how) == reverse(entry=line, doing=how)
    assert one.entries.count() == 5


def test_reversing_on_paper_does_not_find_a_container_that_was_not_seen():
    one = bottle()
    line = drawn(one, "40 mL")
    weighed(one, 0, "wrong bottle")
    change_state(container=one, to=State.NOT_SEEN, doing=doing("not on its shelf"))
    reverse(entry=line, doing=doing("wrong bottle"))
    assert Container.objects.get(pk=one.pk).state == State.NOT_SEEN
