"""A stock check: what a scan comes to, what is counted blind, what happens to the rest."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from labstock.stock import guards
from labstock.stock.actions.checking import finish, note_foreign, sight, start, start_list
from labstock.stock.actions.counting import count_blind, explain
from labstock.stock.actions.keeping import change_state, dispose, move
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.weighing import weigh
from labstock.stock.codes import show_code
from labstock.stock.models import (
    CheckCount,
    CheckFinding,
    CheckSettled,
    Container,
    Found,
    Kind,
    Location,
    State,
)
from labstock.stock.queries_checks import last_seen, tallies, unsettled
from labstock.stock.verifying import find_faults
from tests.builders import ANILINE, amount, container, lot, person, place, refused

pytestmark = pytest.mark.django_db


def by(name="marit", **about):
    return Doing(by=person(name), **about)


def shelf(name, inside):
    return Location.objects.create(parent=inside, name=name, kind="shelf", path=f"{inside.path}, {name}")


def check_of(spot, **about):
    return start(place=spot, doing=by(**about))


def seen(stock_check, bottle, spot=None, name="marit"):
    return sight(stock_check=stock_check, container=bottle, place=spot, doing=by(name))


def counted(stock_check, bottle, found, device="cylinder-100-b", doing=None, is_gross=False):
    return count_blind(
        stock_check=stock_check, container=bottle, found=amount(found), device_code=device, is_gross=is_gross,
        doing=doing or by(),
    )  # fmt: skip


def found_in(stock_check, bottle):
    return stock_check.findings.get(container=bottle)


def again(bottle):
    return Container.objects.get(pk=bottle.pk)


def share(stock_check):
    tally = tallies([stock_check.pk])[stock_check.pk]
    return tally.matched, tally.total


# ------------------------------------------------------------ what a scan comes to


def test_a_check_expects_what_stands_in_the_place_and_below_it():
    top = shelf("shelf 1", place())
    inside, beside = container(location=top), container(location=place("cupboard 5"))
    stock_check = check_of(place())
    assert [row.container for row in stock_check.expected.all()] == [inside]
    assert beside.pk not in stock_check.expected.values_list("container", flat=True)


def test_a_bottle_in_its_place_is_seen():
    bottle = container()
    made = seen(check_of(place()), bottle)
    assert (made.finding.what, made.is_again) == (Found.SEEN, False)


def test_a_bottle_scanned_twice_counts_once_whoever_scans_it():
    bottle = container()
    stock_check = check_of(place())
    first = seen(stock_check, bottle)
    second = seen(stock_check, bottle, name="tobias")
    assert (second.finding, second.is_again) == (first.finding, True)
    assert stock_check.findings.count() == 1


def test_a_bottle_of_another_cupboard_is_in_the_wrong_place_and_stays_booked_where_it_was():
    container()
    stray = container(location=place("cupboard 5"))
    stock_check = check_of(place())
    made = seen(stock_check, stray)
    assert (made.finding.what, made.finding.book_place) == (Found.ELSEWHERE, "room 214, cupboard 5")
    assert again(stray).location == place("cupboard 5")


def test_a_bottle_on_another_shelf_of_the_same_cupboard_is_in_the_wrong_place_too():
    one, two = shelf("shelf 1", place()), shelf("shelf 2", place())
    bottle = container(location=one)
    stock_check = check_of(place())
    assert seen(stock_check, bottle, two).finding.what == Found.ELSEWHERE


def test_without_a_shelf_scanned_anywhere_below_the_place_is_right():
    bottle = container(location=shelf("shelf 1", place()))
    assert seen(check_of(place()), bottle).finding.what == Found.SEEN


def test_what_the_book_says_is_empty_or_disposed_of_is_said_so():
    empty, gone = container(), container()
    container()
    change_state(container=empty, to=State.EMPTY, doing=by(reason="dripped out"))
    dispose(container=gone, doing=by("wren", reason="waste round"))
    stock_check = check_of(place())
    assert seen(stock_check, empty).finding.what == Found.EMPTY
    assert seen(stock_check, gone).finding.what == Found.DISPOSED
    assert again(empty).state == State.EMPTY


def test_a_bottle_that_was_not_seen_before_is_back_in_use():
    bottle = container()
    change_state(container=bottle, to=State.NOT_SEEN, doing=by(reason="not in its cupboard"))
    made = seen(check_of(place()), bottle)
    assert (made.finding.what, again(bottle).state, again(bottle).state_because) == (
        Found.BACK,
        State.IN_USE,
        "",
    )


def test_a_blocked_bottle_that_was_not_seen_is_blocked_again_not_free():
    bottle = container()
    change_state(container=bottle, to=State.BLOCKED, doing=by(reason="crystals at the cap"))
    change_state(container=bottle, to=State.NOT_SEEN, doing=by("wren", reason="not in its cupboard"))
    seen(check_of(place()), bottle)
    assert (again(bottle).state, again(bottle).state_because) == (State.BLOCKED, "crystals at the cap")


def test_what_came_in_after_the_beginning_belongs_here_too():
    container()
    stock_check = check_of(place())
    assert seen(stock_check, container()).finding.what == Found.SEEN
    assert tallies([stock_check.pk])[stock_check.pk].expected == 1


def test_a_strange_label_is_noted_once():
    container()
    stock_check = check_of(place())
    for text in ("4006381 333931", "  4006381   333931 "):
        made = note_foreign(stock_check=stock_check, text=text, place=None, doing=by())
    assert (made.is_again, stock_check.findings.count(), made.finding.what) == (True, 1, Found.FOREIGN)


def test_a_check_is_begun_once_however_often_the_form_is_sent():
    container()
    doing = by()
    assert start(place=place(), doing=doing) == start(place=place(), doing=doing)


def test_a_second_check_of_the_same_place_is_refused_while_one_goes_on():
    container()
    check_of(place())
    with refused(
        "A check of room 214, cupboard 4 is going on since .*, begun by Marit Solberg: go on with that one"
    ):
        start(place=place(), doing=by("tobias"))


def test_a_place_where_nothing_stands_is_not_checked():
    with refused("By the book nothing stands in room 214, cupboard 4: there is nothing to look for"):
        check_of(place())


def test_a_check_of_chosen_containers_keeps_their_order():
    bottles = [container(), container(), container()]
    chosen = [bottles[2], bottles[0]]
    stock_check = start_list(containers=chosen, title="two", doing=by())
    assert [row.container for row in stock_check.expected.all()] == chosen


# ------------------------------------------------------------ counted blind


def test_a_count_within_the_tolerance_moves_the_book_with_the_reason_count():
    bottle = container()
    row = counted(check_of(place()), bottle, "99.5 mL")
    line = row.settled.entry
    assert (line.kind, line.reason, row.settled.cause) == (Kind.COUNTED, "count", "")
    assert 99.5 <= again(bottle).amount <= 100
    assert row.book == 100_000_000


def test_counting_a_bottle_is_seeing_it():
    bottle = container()
    stock_check = check_of(place())
    counted(stock_check, bottle, "99.5 mL")
    assert found_in(stock_check, bottle).what == Found.SEEN


def test_a_count_far_off_is_kept_and_changes_nothing_until_it_is_explained():
    bottle = container()
    stock_check = check_of(place())
    row = counted(stock_check, bottle, "60 mL")
    assert again(bottle).amount == 100
    assert unsettled(stock_check) == [row]
    settled = explain(count=row, cause="a draw was not written down", doing=by("tobias"))
    assert (again(bottle).amount, settled.entry.reason) == (60, "a draw was not written down")
    assert unsettled(stock_check) == []


def test_a_second_count_takes_the_place_of_the_first():
    bottle = container()
    stock_check = check_of(place())
    first, second = counted(stock_check, bottle, "60 mL"), counted(stock_check, bottle, "99 mL")
    assert unsettled(stock_check) == []
    with refused("Marit Solberg counted it once more: 99 mL"):
        explain(count=first, cause="not found out", doing=by())
    assert hasattr(second, "settled")


def test_a_difference_is_not_settled_without_a_cause():
    row = counted(check_of_one(), Container.objects.get(), "60 mL")
    with refused("Say what the cause is"):
        explain(count=row, cause="  ", doing=by())


def check_of_one():
    container()
    return check_of(place())


def test_a_draw_between_count_and_cause_stays_drawn():
    stock_check = check_of_one()
    bottle = Container.objects.get()
    row = counted(stock_check, bottle, "60 mL")
    draw(container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=by())
    explain(count=row, cause="not found out", doing=by())
    after = again(bottle)
    assert after.amount == 55
    # the cylinder's doubt and the syringe's together: each is in it, nothing is lost and nothing comes twice
    tool = row.difference.u_count
    line = bottle.entries.get(kind=Kind.DRAWN)
    drawn = ((line.u_random**2 + line.u_common**2) ** 0.5) / 1e6
    assert after.doubt.spread == pytest.approx((tool**2 + drawn**2) ** 0.5, rel=1e-3)


def test_a_count_that_was_overtaken_by_a_weighing_is_not_settled():
    bottle = container(gross="400 g")
    stock_check = check_of(place())
    row = counted(stock_check, bottle, "60 mL")
    weigh(container=bottle, gross=amount("400 g"), device_code="balance-0.01g", doing=by("tobias"))
    with refused("lines were written that do not go with it: count it once more"):
        explain(count=row, cause="not found out", doing=by())


def test_a_gross_mass_is_a_weigh_back_and_keeps_the_mass():
    bottle = container(gross="400 g")
    draw(container=bottle, amount=amount("10 mL"), device_code="syringe-10", doing=by())
    # 10 mL of 1.082 g/mL went: 400 - 10.82
    row = counted(check_of(place()), bottle, "389.18 g", "balance-0.01g", is_gross=True)
    line = row.settled.entry
    assert (line.kind, line.gross_ug, row.amount) == (Kind.WEIGHED_BACK, 389_180_000, 90_000_000)


def test_a_gross_mass_far_off_is_kept_without_telling_the_book():
    bottle = container(gross="400 g")
    row = counted(check_of(place()), bottle, "360 g", "balance-0.01g", is_gross=True)
    assert not CheckSettled.objects.filter(count=row).exists()
    assert again(bottle).amount == 100


def test_pieces_that_differ_by_one_need_a_cause():
    about = Arrival(
        "piece", amount("20 pieces"), amount("12 pieces"), described_as="stir bars", location=place()
    )
    bottle = receive(arrival=about, doing=by("wren"))
    row = counted(check_of(place()), bottle, "11 pieces", "counted")
    assert row.difference.words == "two counts of whole pieces cannot differ by chance"
    assert unsettled(row.stock_check) == [row]


def test_an_empty_bottle_with_something_in_it_is_in_use_again():
    bottle, _ = container(holds="5 mL"), container()
    change_state(container=bottle, to=State.EMPTY, doing=by(reason="looked empty"))
    counted(check_of(place()), bottle, "5 mL", "by-eye")
    assert again(bottle).state == State.IN_USE


def test_a_count_sent_twice_is_one_and_another_amount_under_its_key_is_refused():
    stock_check = check_of_one()
    bottle, doing = Container.objects.get(), by()
    assert counted(stock_check, bottle, "99 mL", doing=doing) == counted(
        stock_check, bottle, "99 mL", doing=doing
    )
    with refused("already sent: 99 mL in TQ 1001 Z, counted by Marit Solberg"):
        counted(stock_check, bottle, "90 mL", doing=doing)
    assert bottle.entries.count() == 2


def test_a_count_from_before_another_line_is_asked_again_without_an_amount():
    stock_check = check_of_one()
    bottle = Container.objects.get()
    draw(container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=by("tobias"))
    with refused("Since you opened this page something was recorded") as told:
        counted(stock_check, bottle, "99 mL", doing=by(seen_seq=1))
    assert "95" not in told.value.message
    assert CheckCount.objects.count() == 0


# ------------------------------------------------------------ the end


def test_what_was_not_seen_is_not_seen_with_the_day_it_was_last_seen():
    bottle, other = container(), container()
    stock_check = check_of(place())
    seen(stock_check, other)
    finish(stock_check=stock_check, is_whole=True, doing=by())
    lost = again(bottle)
    assert (lost.state, again(other).state) == (State.NOT_SEEN, State.IN_USE)
    assert "last seen" in lost.state_because
    assert found_in(stock_check, bottle).last_seen_at is not None
    assert share(stock_check) == (1, 2)


def test_where_not_everything_was_looked_at_the_rest_stays_as_it_was():
    bottle, other = container(), container()
    stock_check = check_of(place())
    seen(stock_check, other)
    finish(stock_check=stock_check, is_whole=False, doing=by())
    assert again(bottle).state == State.IN_USE
    assert share(stock_check) == (1, 1)


def test_what_is_blocked_and_not_seen_stays_blocked():
    bottle, other = container(), container()
    change_state(container=bottle, to=State.BLOCKED, doing=by(reason="crystals at the cap"))
    stock_check = check_of(place())
    seen(stock_check, other)
    finish(stock_check=stock_check, is_whole=True, doing=by())
    assert again(bottle).state == State.BLOCKED
    assert found_in(stock_check, bottle).what == Found.MISSING


def test_what_somebody_used_or_moved_meanwhile_is_not_lost():
    used, moved, other = container(), container(), container()
    stock_check = check_of(place())
    draw(container=used, amount=amount("5 mL"), device_code="syringe-10", doing=by("tobias"))
    move(container=moved, to=place("cupboard 5"), doing=by("tobias"))
    seen(stock_check, other)
    finish(stock_check=stock_check, is_whole=True, doing=by())
    assert {found_in(stock_check, one).what for one in (used, moved)} == {Found.HANDLED}
    assert share(stock_check) == (3, 3)


def test_what_was_not_seen_before_either_is_no_new_mistake():
    bottle, other = container(), container()
    change_state(container=bottle, to=State.NOT_SEEN, doing=by(reason="not in its cupboard"))
    stock_check = check_of(place())
    seen(stock_check, other)
    finish(stock_check=stock_check, is_whole=True, doing=by())
    assert found_in(stock_check, bottle).what == Found.STILL_MISSING
    assert share(stock_check) == (1, 1)


def test_a_sighting_in_a_later_check_puts_it_back():
    bottle, other = container(), container()
    first = check_of(place())
    seen(first, other)
    finish(stock_check=first, is_whole=True, doing=by())
    seen(check_of(place()), bottle)
    assert again(bottle).state == State.IN_USE
    assert [row.after for row in bottle.state_changes.all()] == ["not seen", "in use"]


def test_an_ended_check_takes_no_more_scans():
    bottle = container()
    stock_check = check_of(place())
    finish(stock_check=stock_check, is_whole=False, doing=by())
    with refused("Marit Solberg ended this check on .* Begin another one"):
        seen(stock_check, bottle)


def test_ending_twice_by_one_person_is_one_end():
    container()
    stock_check = check_of(place())
    ends = {finish(stock_check=stock_check, is_whole=True, doing=by()) for _ in range(2)}
    assert len(ends) == 1
    with refused("Marit Solberg ended this check"):
        finish(stock_check=stock_check, is_whole=True, doing=by("tobias"))


def test_two_people_walk_one_check_and_one_goes_on_tomorrow():
    bottles = [container() for _ in range(3)]
    stock_check = check_of(place())
    seen(stock_check, bottles[0])
    seen(stock_check, bottles[1], name="tobias")
    tomorrow = replace(by("tobias"), at=stock_check.at + timedelta(days=1))
    sight(stock_check=stock_check, container=bottles[2], place=None, doing=tomorrow)
    assert {row.by for row in stock_check.findings.all()} == {person(), person("tobias")}
    assert share(stock_check) == (3, 3)


# ------------------------------------------------------------ the share, and what is kept


def test_an_over_and_an_under_are_two_mistakes_and_not_none():
    over, under = container(holds="50 mL"), container(ANILINE, holds="50 mL")
    stock_check = check_of(place())
    counted(stock_check, over, "80 mL")
    counted(stock_check, under, "20 mL")
    assert share(stock_check) == (0, 2)


def test_explaining_a_difference_does_not_make_the_record_right_afterwards():
    stock_check = check_of_one()
    row = counted(stock_check, Container.objects.get(), "60 mL")
    explain(count=row, cause="not found out", doing=by())
    assert share(stock_check) == (0, 1)


def test_last_seen_is_the_latest_of_line_move_and_sighting():
    bottle = container()
    assert last_seen([bottle])[bottle.pk] == bottle.entries.get().done_at
    moved = move(container=bottle, to=place("cupboard 5"), doing=by())
    at = moved.state_changes.get().at
    assert last_seen([bottle])[bottle.pk] == at
    made = seen(check_of(place("cupboard 5")), bottle)
    assert last_seen([bottle])[bottle.pk] == made.finding.at


@pytest.mark.parametrize("model", [CheckFinding, CheckCount, CheckSettled])
def test_the_database_refuses_to_change_what_a_check_found(model):
    counted(check_of_one(), Container.objects.get(), "99 mL")
    row = model.objects.get()
    for sql in (f"UPDATE {model._meta.db_table} SET by_id = by_id", f"DELETE FROM {model._meta.db_table}"):
        with (
            pytest.raises(DatabaseError, match="history"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(sql)
    assert model.objects.get() == row


def test_one_container_has_one_finding_in_a_check_whatever_comes():
    stock_check = check_of_one()
    made = seen(stock_check, Container.objects.get()).finding
    with pytest.raises(DatabaseError), transaction.atomic():
        CheckFinding(
            stock_check=stock_check, container=made.container, what=Found.MISSING, by=made.by, at=made.at
        ).save()


@pytest.mark.django_db(transaction=True)
def test_two_scanners_at_once_find_each_bottle_once():
    bottles = [container(lot=made) for made in [lot()] for _ in range(8)]
    stock_check, who = check_of(place()), [person("marit"), person("tobias")]

    def walk(by):
        try:
            return [
                sight(stock_check=stock_check, container=row, place=None, doing=Doing(by=by)).is_again
                for row in bottles
            ]
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(walk, who))
    assert stock_check.findings.count() == 8
    assert sorted(answers[0] + answers[1]) == [False] * 8 + [True] * 8


# ------------------------------------------------------------ a count and its line


def swapped(settled, **fields):
    """Change a settlement past the site, and put a right seal on it."""
    guards.remove(connection)
    CheckSettled.objects.filter(pk=settled.pk).update(**fields)
    row = CheckSettled.objects.get(pk=settled.pk)
    CheckSettled.objects.filter(pk=settled.pk).update(seal=row.digest())
    guards.install(connection)


def test_a_count_settled_by_the_line_of_another_bottle_is_found():
    spot = place()
    one, other = container(location=spot), container(location=spot)
    count = counted(check_of(spot), one, "99 mL")
    assert list(find_faults()) == []
    swapped(count.settled, entry=other.entries.get())
    assert [str(fault) for fault in find_faults()] == [
        f"{show_code(one.code)}, count {count.pk}: is settled by a line of another container, {show_code(other.code)}".replace(
            "\u00a0", " "
        )
    ]


def test_a_count_settled_by_a_line_that_says_another_amount_is_found():
    spot = place()
    one = container(location=spot)
    count = counted(check_of(spot), one, "99 mL")
    swapped(count.settled, entry=one.entries.get(seq=1))
    [fault] = find_faults()
    assert "says 99 mL, line 1 that settles it says 100 mL" in str(fault).replace("\u00a0", " ")
