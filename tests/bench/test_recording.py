"""One number at the bench: what it writes, what it says, and what may be taken back."""

import uuid
from datetime import timedelta
from unittest.mock import patch

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch, BatchInput
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Entry, Kind, Reservation
from tests import builders
from tests.bench.conftest import said_by, text_of

pytestmark = pytest.mark.django_db


def test_one_number_is_recorded_and_what_is_left_is_said(marit, bottle, use):
    response = use(marit, amount="5.0")
    bottle.refresh_from_db()
    assert response.headers["Location"] == f"/C/{bottle.code}"
    assert bottle.remaining == 48_000_000
    assert said_by(response) == ["5.0 mL recorded, 48.00 ± 0.38 mL left."]


def test_the_first_draw_opens_the_bottle(marit, bottle, use):
    use(marit, amount="5.0")
    bottle.refresh_from_db()
    assert bottle.opened_on == timezone.localdate()


def test_another_unit_goes_through_the_density_and_is_kept_as_typed(marit, bottle, use):
    use(marit, amount="5.41", unit="g", device="balance-0.01g")
    entry = bottle.entries.get(seq=2)
    # 5.41 g / 1.082 g/mL = 5.000 mL, by hand
    assert entry.change == -5_000_000
    assert "5.41" in entry.typed


def test_a_unit_written_behind_the_number_wins_over_the_one_beside_the_field(marit, bottle, use):
    use(marit, amount="500 µL", unit="mL")
    assert bottle.entries.get(seq=2).change == -500_000


def test_sending_the_form_twice_makes_one_line(marit, bottle, use):
    key = str(uuid.uuid4())
    first, second = use(marit, amount="5.0", key=key), use(marit, amount="5.0", key=key)
    assert (first.status_code, second.status_code) == (302, 302)
    assert bottle.entries.count() == 2


def test_unit_and_device_are_offered_again_next_time(marit, bottle, use):
    use(marit, amount="500", unit="µL", device="piston-1000")
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "<option selected>µL</option>" in page
    assert 'value="piston-1000" checked' in page


def test_a_weighing_corrects_the_book(marit, bottle, use):
    use(marit, amount="5.0")
    # gross at receipt less 5.05 mL of 1.082 g/mL: 286.40 - 5.46 = 280.94 g, by hand
    response = use(marit, way="mass", gross="280.94")
    entry = bottle.entries.get(seq=3)
    assert entry.kind == Kind.WEIGHED_BACK
    assert entry.gross_ug == 280_940_000
    assert 47_900_000 < entry.after < 48_000_000
    assert said_by(response)[-1].startswith("Gross mass 280.94 g recorded, 47.9")


def test_a_mass_far_from_the_book_asks_what_happened_and_then_believes_it(marit, bottle, use):
    asked = use(marit, way="mass", gross="270.00")
    page = text_of(asked)
    assert asked.status_code == 422
    assert bottle.entries.count() == 1
    assert "too far apart for the devices used" in page
    assert 'name="reason"' in page
    assert 'value="270.00"' in page
    use(marit, way="mass", gross="270.00", reason="somebody poured without writing")
    assert bottle.entries.get(seq=2).reason == "somebody poured without writing"


def test_a_browser_that_shows_both_fields_may_leave_the_choice_untouched(marit, bottle, use):
    use(marit, way="amount", gross="286.40")
    assert bottle.entries.get(seq=2).kind == Kind.WEIGHED_BACK


@pytest.fixture
def held(bottle) -> Reservation:
    """Hold 12 mL for Tobias until the end of his session."""
    session = builders.session(builders.person("tobias"))
    return reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("tobias"))[0]


def test_a_draw_into_what_others_hold_says_whose_and_how_much(marit, bottle, held, use):
    response = use(marit, amount="45 mL")
    warning = said_by(response)[1]
    assert "This cuts into what is held: Tobias Renn holds 12 mL until" in warning
    assert "and 6.5 ± 1.9 mL can be got out" in warning


def test_a_draw_that_leaves_every_promise_whole_does_not_warn(marit, held, use):
    assert len(said_by(use(marit, amount="30 mL"))) == 1


def test_a_draw_in_a_running_session_counts_against_its_hold(marit, bottle, use):
    session = builders.session(builders.person("marit"))
    hold = reserve(session=session, wants=[Want(bottle, 5_000_000)], by=builders.person("marit"))[0]
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "for your" in page
    assert 'value="5"' in page
    use(marit, amount="5.0")
    hold.refresh_from_db()
    assert hold.drawn == 5_000_000
    assert bottle.entries.get(seq=2).reservation == hold


def test_a_draw_can_be_written_down_later_and_says_so(marit, bottle, use):
    earlier = timezone.localtime() - timedelta(hours=2)
    use(marit, amount="5.0", at=earlier.strftime("%Y-%m-%dT%H:%M"))
    assert bottle.entries.get(seq=2).is_late
    assert "written down" in text_of(marit.get(f"/C/{bottle.code}"))


def undo(client, bottle, seq: int):
    return client.post(reverse("entry-undo", args=[bottle.code, seq]), {"key": str(uuid.uuid4())})


def test_undo_is_offered_for_a_minute_and_takes_the_line_back(marit, bottle, use):
    use(marit, amount="5.0")
    assert "Undo line 2" in text_of(marit.get(f"/C/{bottle.code}"))
    response = undo(marit, bottle, 2)
    bottle.refresh_from_db()
    assert bottle.remaining == 53_000_000
    assert said_by(response)[-1].startswith("Line 2 reversed, 53.00 ± 0.31 mL left.")


def test_undo_is_not_offered_to_others(as_person, marit, bottle, use):
    use(marit, amount="5.0")
    assert "Undo line" not in text_of(as_person("tobias").get(f"/C/{bottle.code}"))
    refused = undo(as_person("tobias"), bottle, 2)
    assert "Undo is for the person who recorded it" in said_by(refused)[-1]


def test_undo_is_gone_after_a_minute_and_points_to_the_reversal(marit, bottle, use):
    use(marit, amount="5.0")
    later = timezone.now() + timedelta(seconds=61)
    with patch("django.utils.timezone.now", return_value=later):
        assert "Undo line" not in text_of(marit.get(f"/C/{bottle.code}"))
        refused = undo(marit, bottle, 2)
    assert "Reverse it with a reason instead" in said_by(refused)[-1]


def test_a_reversal_needs_a_reason_and_keeps_both_lines(marit, bottle, use):
    use(marit, amount="5.0")
    address = reverse("entry-reverse", args=[bottle.code, 2])
    form = {"key": str(uuid.uuid4()), "seen_seq": 2}
    refused = marit.post(address, form | {"reason": "  "})
    assert refused.status_code == 422
    assert bottle.entries.count() == 2
    marit.post(address, form | {"reason": "it came from another bottle"})
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "reversed by line 3" in page
    assert "it came from another bottle" in page


def test_only_own_lines_are_offered_for_reversal_but_a_steward_may_reverse_any(as_person, marit, bottle, use):
    use(marit, amount="5.0")
    address = reverse("entry-reverse", args=[bottle.code, 2])
    assert address in text_of(marit.get(f"/C/{bottle.code}"))
    assert address in text_of(as_person("wren").get(f"/C/{bottle.code}"))
    assert address not in text_of(as_person("tobias").get(f"/C/{bottle.code}"))
    refused = as_person("tobias").post(address, {"key": str(uuid.uuid4()), "reason": "mine"})
    assert "A member may not reverse other people's entries" in text_of(refused)
    assert Entry.objects.filter(reverses__isnull=False).count() == 0


def test_a_draw_for_an_open_batch_of_ones_own_goes_into_its_record(marit, bottle, use):
    batch = Batch.objects.create(
        number="26-001", title="Acetanilide", owner=builders.person("marit"), planned_at=timezone.now()
    )
    use(marit, amount="5.0", batch=batch.pk)
    assert BatchInput.objects.get().batch == batch
    assert "batch 26-001" in text_of(marit.get(f"/C/{bottle.code}"))


def test_somebody_elses_newer_line_is_shown_before_anything_is_written(marit, bottle, use):
    draw(
        container=bottle,
        amount=builders.amount("7 mL"),
        device_code="syringe-10",
        doing=Doing(by=builders.person("tobias")),
    )
    refused = use(marit, amount="5.0", seen_seq=1)
    page = text_of(refused)
    assert refused.status_code == 422
    assert bottle.entries.count() == 2
    assert "Since you opened this page Tobias Renn recorded: drawn −7 mL" in page
    assert 'value="5.0"' in page
    assert 'name="seen_seq" value="2"' in page
    assert use(marit, amount="5.0", seen_seq=2).status_code == 302


def test_undoing_a_weighing_brings_its_doubt_back_too(marit, bottle, use):
    use(marit, amount="5.0")
    use(marit, way="mass", gross="280.94")
    assert "48.00 ± 0.38 mL left" not in said_by(use(marit, amount="1.0"))[-1]
    undo(marit, bottle, 4)
    response = undo(marit, bottle, 3)
    assert said_by(response)[-1] == "Line 3 reversed, 48.00 ± 0.38 mL left."


def test_a_draw_in_a_running_session_goes_to_its_batch_without_asking(marit, bottle, use):
    owner = builders.person("marit")
    session = builders.session(owner)
    hold = reserve(session=session, wants=[Want(bottle, 5_000_000)], by=owner)[0]
    batch = Batch.objects.create(number="26-117", title="Acetanilide", owner=owner, planned_at=timezone.now())
    line = batch.lines.create(
        position=1, role="reactant", name="acetic anhydride", substance=bottle.substance
    )
    line.reservations.add(hold)
    page = text_of(marit.get(f"/C/{bottle.code}"))
    start = timezone.localtime(session.starts_at)
    assert f"for your {start:%H:%M} session, batch 26-117" in page
    response = use(marit, amount="5.0")
    assert BatchInput.objects.get().line == line
    assert said_by(response)[-1] == "5.0 mL recorded for batch 26-117, 48.00 ± 0.38 mL left."


def test_a_hold_of_a_session_still_to_come_is_left_alone(marit, bottle, use):
    owner = builders.person("marit")
    later = builders.session(owner, start_hours=5)
    hold = reserve(session=later, wants=[Want(bottle, 5_000_000)], by=owner)[0]
    assert "for your" not in text_of(marit.get(f"/C/{bottle.code}"))
    use(marit, amount="5.0")
    hold.refresh_from_db()
    assert hold.drawn == 0


def test_asking_for_more_fields_keeps_what_was_typed_and_writes_nothing(marit, bottle, use):
    response = use(marit, amount="5.0", more="yes")
    page = text_of(response)
    assert response.status_code == 200
    assert 'value="5.0"' in page
    assert "Done earlier, at" in page
    assert "poured by beaker marks" in page
    assert bottle.entries.count() == 1


def test_a_device_off_the_usual_ones_can_be_chosen(marit, bottle, use):
    use(marit, amount="5.0", other_device="burette-25-a")
    assert bottle.entries.get(seq=2).device == "burette-25-a"
