"""What every change of an amount keeps true."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from labstock.stock.actions.keeping import change_state, dispose
from labstock.stock.actions.ledger import draw, found_more, record_loss
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse, undo
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container, Entry, Kind, State
from tests.builders import ACETANILIDE, amount, container, lot, person, refused

pytestmark = pytest.mark.django_db
SYRINGE = "syringe-10"


def take(bottle, text="5 mL", who="marit", device=SYRINGE, **doing):
    return draw(
        container=bottle, amount=amount(text), device_code=device, doing=Doing(by=person(who), **doing)
    )


def left(bottle):
    bottle.refresh_from_db()
    assert bottle.remaining == sum(bottle.entries.values_list("change", flat=True))
    return bottle.remaining


def test_a_draw_takes_exactly_what_was_typed():
    bottle = container()
    take(bottle, "7.25 mL")
    assert left(bottle) == 92_750_000


def test_the_first_draw_sets_the_opened_date_and_the_second_keeps_it():
    bottle = container()
    assert bottle.opened_on is None
    day = timezone.now() - timedelta(days=3)
    take(bottle, at=day)
    take(bottle)
    bottle.refresh_from_db()
    assert bottle.opened_on == timezone.localdate(day)


def test_sending_the_same_key_twice_makes_one_line():
    bottle, key = container(), uuid.uuid4()
    first, second = take(bottle, key=key), take(bottle, key=key)
    assert first.pk == second.pk
    assert left(bottle) == 95_000_000


def test_a_key_of_somebody_else_is_refused():
    bottle, key = container(), uuid.uuid4()
    take(bottle, key=key)
    with refused(r"already sent for TQ 1001 Z by Marit Solberg"):
        take(bottle, key=key, who="tobias")


def test_refuses_to_draw_more_than_is_left():
    bottle = container()
    with refused(r"101 mL is more than the 100\.0.*left in TQ 1001 Z. Nothing was recorded"):
        take(bottle, "101 mL")
    assert left(bottle) == 100_000_000


def test_a_mass_from_a_volume_ledger_goes_through_the_density_of_the_lot():
    bottle = container()
    take(bottle, "10.82 g", device="balance-0.01g")  # 10.82 g / 1.082 g/mL is 10 mL by definition
    assert left(bottle) == 90_000_000


def test_a_mass_without_a_density_is_refused_with_the_way_out():
    bottle = container(lot=lot({"name": "a liquid", "formula": "C4H6O3"}))
    with refused(r"'5 g' is a mass, TQ 1001 Z is kept in mL.*enter the density of the lot"):
        take(bottle, "5 g")


def test_pieces_cannot_be_drawn_from_a_volume_ledger():
    with refused(r"'3 pieces' is a count, and TQ 1001 Z is kept in mL"):
        take(container(), "3 pieces")


@pytest.mark.parametrize(("state", "words"), [(State.BLOCKED, "is blocked"), (State.EMPTY, "is empty")])
def test_a_container_out_of_use_refuses_draws(state, words):
    bottle = container()
    change_state(container=bottle, to=state, doing=Doing(by=person("wren"), reason="acid smell"))
    with refused(rf"TQ 1001 Z {words} \(acid smell\)"):
        take(bottle)


def test_a_disposed_container_is_written_off_and_closed():
    bottle = container()
    dispose(container=bottle, doing=Doing(by=person("wren"), reason="to the waste store"))
    assert left(bottle) == 0
    with refused("disposed of"):
        take(bottle)


def test_undo_within_a_minute_restores_the_amount_and_the_doubt():
    bottle = container()
    before = bottle.doubt.u
    undo(entry=take(bottle), doing=Doing(by=person()))
    assert left(bottle) == 100_000_000
    assert bottle.doubt.u == pytest.approx(before)


def test_undo_after_a_minute_asks_for_a_reversal():
    entry = take(container())
    later = timezone.now() + timedelta(seconds=61)
    with refused("Reverse it with a reason instead"):
        undo(entry=entry, doing=Doing(by=person(), at=later))


def test_a_reversal_needs_a_reason_and_points_at_its_line():
    entry = take(container())
    with refused("A correction needs a reason"):
        reverse(entry=entry, doing=Doing(by=person()))
    line = reverse(entry=entry, doing=Doing(by=person(), reason="wrong bottle"))
    assert (line.reverses, line.change, line.reason) == (entry, 5_000_000, "wrong bottle")


def test_a_line_is_reversed_once_and_a_reversal_never():
    entry = take(container())
    line = reverse(entry=entry, doing=Doing(by=person(), reason="wrong bottle"))
    with refused("Line 2 was reversed before"):
        reverse(entry=entry, doing=Doing(by=person(), reason="again"))
    with refused("Line 3 is itself a reversal"):
        reverse(entry=line, doing=Doing(by=person(), reason="again"))


def test_only_its_writer_or_a_steward_reverses_a_line():
    entry = take(container())
    with refused("A member may not reverse other people's entries"):
        reverse(entry=entry, doing=Doing(by=person("tobias"), reason="wrong"))
    assert reverse(entry=entry, doing=Doing(by=person("wren"), reason="wrong bottle")).by == person("wren")


def test_reversing_the_receipt_of_a_used_bottle_is_refused():
    bottle = container()
    take(bottle, "40 mL")
    receipt = bottle.entries.get(seq=1)
    with refused("Reversing line 1 would leave"):
        reverse(entry=receipt, doing=Doing(by=person("wren"), reason="never came"))


def test_weigh_back_needs_no_tare():
    bottle = container(gross="286.40 g")
    take(bottle, "10 mL")
    # 10 mL at 1.082 g/mL weigh 10.82 g, so the balance confirms the book
    weigh(container=bottle, gross=amount("275.58 g"), device_code="balance-0.01g", doing=Doing(by=person()))
    assert left(bottle) == pytest.approx(90_000_000, abs=1000)


def test_weigh_back_far_from_the_book_is_explained_before_it_is_believed():
    bottle = container(gross="286.40 g")
    weighed = {"container": bottle, "gross": amount("264.76 g"), "device_code": "balance-0.01g"}
    with refused("too far apart for the devices used"):
        weigh(**weighed, doing=Doing(by=person()))
    weigh(**weighed, doing=Doing(by=person(), reason="draws of Monday were not written down"))
    assert left(bottle) == pytest.approx(80_000_000, abs=1000)


def test_weigh_back_without_a_receipt_weighing_says_so():
    with refused("was not weighed when it came"):
        weigh(
            container=container(),
            gross=amount("200 g"),
            device_code="balance-0.01g",
            doing=Doing(by=person()),
        )


def test_an_impossible_gross_mass_is_refused():
    bottle = container(gross="286.40 g")
    with refused(r"500 g cannot be right for TQ 1001 Z: it weighed 286\.4"):
        weigh(container=bottle, gross=amount("500 g"), device_code="balance-0.1g", doing=Doing(by=person()))


def test_a_page_opened_before_somebody_elses_draw_is_refused_once():
    bottle = container()
    seen = bottle.last_seq
    take(bottle, "5 mL", who="tobias")
    with refused(r"Since you opened this page Tobias Renn recorded: drawn −5 mL"):
        take(bottle, seen_seq=seen)
    bottle.refresh_from_db()
    take(bottle, seen_seq=bottle.last_seq)
    assert left(bottle) == 90_000_000


def test_losses_and_finds_are_lines_of_their_own():
    bottle = container()
    record_loss(
        container=bottle,
        kind=Kind.SPILT,
        amount=amount("4 mL"),
        device_code="by-eye",
        doing=Doing(by=person()),
    )
    found_more(
        container=bottle,
        amount=amount("2 mL"),
        device_code="by-eye",
        doing=Doing(by=person(), reason="saw it"),
    )
    assert list(bottle.entries.values_list("kind", flat=True)) == ["received", "spilt", "found"]
    assert left(bottle) == 98_000_000


def test_more_than_the_bottle_holds_is_not_found():
    bottle = container()
    with refused("TQ 1001 Z holds 100"):
        found_more(
            container=bottle,
            amount=amount("50 mL"),
            device_code="by-eye",
            doing=Doing(by=person(), reason="?"),
        )


def test_every_line_carries_the_hash_of_the_one_before():
    bottle = container({**ACETANILIDE}, "50 g")
    take(bottle, "1 g", device="balance-0.01g")
    take(bottle, "2 g", device="balance-0.01g")
    first, second, third = Entry.objects.filter(container=bottle)
    assert (first.previous_hash, second.previous_hash, third.previous_hash) == ("", first.hash, second.hash)
    assert Container.objects.get(pk=bottle.pk).last_hash == third.hash


def test_a_late_entry_says_so():
    late = take(container(), at=timezone.now() - timedelta(hours=2))
    assert late.is_late
    assert not take(container()).is_late


def test_a_small_spill_judged_by_eye_is_doubted_by_no_more_than_itself():
    bottle = container()
    before = bottle.doubt.u
    record_loss(
        container=bottle,
        kind=Kind.SPILT,
        amount=amount("1 mL"),
        device_code="by-eye",
        doing=Doing(by=person()),
    )
    bottle.refresh_from_db()
    # between none and 2 mL: a rectangle of half width 1 mL, u = 1/√3 mL (JCGM 100:2008, 4.3.7)
    assert bottle.doubt.u == pytest.approx((before**2 + 1 / 3) ** 0.5, rel=1e-3)
