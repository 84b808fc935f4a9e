"""What may be written into a batch record, and when no more."""

import uuid
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from batches.actions.products import put_in_container
from batches.actions.record import Result, abandon, finish, observe
from batches.digests import digest
from batches.models import Batch, BatchLine, BatchState
from batches.queries import not_put_away_ug
from labstock.chemistry.purity import Claim
from labstock.stock import guards
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival
from labstock.stock.actions.reversing import reverse
from labstock.stock.models import Container, Kind, Lot
from tests.batches.preparations import RESULT, aniline, drawn_for, filled, finished, planned, running
from tests.builders import ACETANILIDE, amount, person, refused, substance

pytestmark = pytest.mark.django_db


def test_the_first_draw_starts_the_batch():
    batch = planned()
    drawn_for(batch, aniline(), "5.61 g", "balance-0.01g", 1)
    batch.refresh_from_db()
    assert batch.state == BatchState.RUNNING
    assert batch.started_at == batch.inputs.get().entry.done_at


def test_refuses_an_observation_of_nothing():
    with refused("Nothing was written"):
        observe(batch=running(), by=person(), text="  ")


def test_refuses_an_observation_from_the_future():
    with refused("still to come"):
        observe(batch=running(), by=person(), text="white", at=timezone.now() + timedelta(hours=2))


def test_an_observation_sent_twice_is_written_once():
    batch, key = running(), uuid.uuid4()
    first = observe(batch=batch, by=person(), text="Came down at once, white.", key=key)
    assert observe(batch=batch, by=person(), text="Came down at once, white.", key=key) == first
    assert batch.observations.count() == 1


def test_a_note_after_the_finish_is_an_addition_and_leaves_the_digest_alone():
    batch = finished()
    note = observe(batch=batch, by=person("tobias"), text="Melts at 113.5 to 114.5 °C.")
    assert note.is_addition
    assert digest(Batch.objects.get(pk=batch.pk)) == batch.digest


def test_a_note_on_an_abandoned_batch_is_an_addition_too():
    batch = abandon(batch=running(), by=person(), reason="spilt in the bath")
    assert observe(batch=batch, by=person(), text="Bath cleaned.").is_addition


def test_the_database_refuses_to_change_a_finished_batch():
    batch = finished()
    with pytest.raises(DatabaseError, match="frozen"), transaction.atomic():
        Batch.objects.filter(pk=batch.pk).update(yield_percent=99)


def test_the_digest_shows_a_plan_that_was_changed_after_the_finish():
    batch = finished()
    guards.remove(connection)  # the database itself refuses it otherwise
    BatchLine.objects.filter(batch=batch, position=1).update(fraction=0.5)
    assert digest(Batch.objects.get(pk=batch.pk)) != batch.digest


def test_refuses_a_draw_into_a_finished_batch():
    batch = finished()
    with refused(r"is finished since .* cannot be changed: write an addition"):
        drawn_for(batch, aniline(), "1 g", "balance-0.01g", 1)


def test_refuses_to_finish_what_nothing_went_into():
    with refused("No amount of a reactant is on record"):
        finish(batch=planned(), by=person(), result=RESULT)


def test_refuses_to_finish_somebody_else_s_batch():
    with refused("is Marit Solberg's: add an observation, or ask Marit Solberg"):
        finish(batch=running(), by=person("tobias"), result=RESULT)


def test_finishing_sent_twice_finishes_once():
    batch = running()
    first = finish(batch=batch, by=person(), result=RESULT)
    assert finish(batch=batch, by=person(), result=RESULT).finished_at == first.finished_at


def test_refuses_to_finish_again_with_another_mass():
    batch = finished()
    with refused("cannot be changed"):
        finish(batch=batch, by=person(), result=Result(amount("7 g"), 0.02, 99.1, 0.4))


def test_refuses_to_abandon_without_a_reason():
    with refused("failures are results too"):
        abandon(batch=running(), by=person(), reason=" ")


def test_refuses_a_container_before_the_finish():
    with refused("Finish the batch first"):
        filled(running())


def test_the_product_s_lot_claims_what_was_measured():
    batch = finished()
    lot = filled(batch).lot
    assert (lot.number, lot.purity_kind) == (batch.number, "assay")
    assert lot.claim == Claim("assay", 99.1, 0.4)


def test_a_purity_nobody_measured_is_not_claimed():
    batch = finish(batch=running(), by=person(), result=Result(amount("6.02 g"), 0.02, 100.0, 0.0))
    assert filled(batch).lot.purity_kind == "unknown"


def test_product_may_go_into_several_containers_up_to_what_was_made():
    batch = finished()
    filled(batch, "4.00 g")
    filled(batch, "2.02 g")
    assert not_put_away_ug(batch) == 0


def test_refuses_more_in_containers_than_was_made():
    batch = finished()
    filled(batch, "4.00 g")
    with refused(
        r"'?2.10 g'? is more than there is: batch .* gave 6.02 g, and 2.02 g of it has no container yet"
    ):
        filled(batch, "2.10 g")
    assert (batch.products.count(), Lot.objects.filter(number=batch.number).count()) == (1, 1)


def test_a_receipt_that_was_reversed_leaves_room_again():
    batch = finished()
    jar = filled(batch, "6.02 g")
    receipt = jar.entries.get(kind=Kind.RECEIVED)
    reverse(entry=receipt, doing=Doing(by=person(), reason="wrong jar"))
    assert not_put_away_ug(batch) == 6_020_000


def test_putting_in_sent_twice_makes_one_container_and_one_lot():
    batch, doing = finished(), Doing(by=person())
    arrival = Arrival(unit="g", capacity=amount("20 g"), amount=amount("6.02 g"), vessel="jar")
    jars = [
        put_in_container(batch=batch, product=substance(ACETANILIDE), arrival=arrival, doing=doing)
        for _ in range(2)
    ]
    assert jars[0] == jars[1]
    assert (
        Container.objects.filter(purpose="product").count(),
        Lot.objects.filter(number=batch.number).count(),
    ) == (1, 1)


def test_refuses_a_volume_of_a_product_without_density():
    with refused("is a volume, and the product was weighed: give the amount in g"):
        arrival = Arrival(unit="mL", capacity=amount("20 mL"), amount=amount("6 mL"))
        put_in_container(
            batch=finished(), product=substance(ACETANILIDE), arrival=arrival, doing=Doing(by=person())
        )
