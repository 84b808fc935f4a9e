"""What may have evaporated widens the doubt with time and is never booked."""

from datetime import timedelta

import pytest
from django.utils import timezone

from batches.candidates import candidates_to_hold
from labstock.chemistry.evaporation import SECONDS_PER_MONTH
from labstock.stock.account_lines import Scope
from labstock.stock.accounts import accounts_of
from labstock.stock.actions.ledger import draw, record_loss
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container, Kind
from labstock.stock.queries import availability
from labstock.stock.verifying import find_faults
from tests.builders import ACETANILIDE, amount, container, lot, person, refused, substance

pytestmark = pytest.mark.django_db
ETHER = {
    "name": "diethyl ether", "cas": "60-29-7", "formula": "C4H10O", "is_liquid": True,
    "density_g_per_mL": 0.714, "density_u_g_per_mL": 0.001, "boiling_point_celsius": 34.6,
}  # fmt: skip
NOW = timezone.now()
MONTH = timedelta(seconds=SECONDS_PER_MONTH)
OPENED = NOW - 2 * MONTH
# per cent of the capacity a month, boiling below 50 °C: between 0.5 and 2 (estimates, from memory), so 1.25 ± 0.38
LOSS, U_LOSS = 1.25, 0.75 / 1.96


def doing(at=NOW, reason=""):
    return Doing(by=person("wren"), at=at, reason=reason)


def bottle(about=ETHER, **fields):
    return container(about, at=OPENED - timedelta(days=1), **fields)


def opened(about=ETHER, at=OPENED, **fields):
    one = bottle(about, **fields)
    draw(container=one, amount=amount("10 mL"), device_code="cylinder-10-a", doing=doing(at))
    return Container.objects.get(pk=one.pk)


def months_open(now=NOW, opened_at=OPENED):
    """Return the months since the end of the day it was opened on."""
    midnight = timezone.localtime(opened_at).replace(hour=0, minute=0, second=0, microsecond=0)
    return (now - midnight - timedelta(days=1)).total_seconds() / SECONDS_PER_MONTH


def test_a_sealed_bottle_loses_nothing():
    one = bottle()
    assert one.doubt_at(NOW + 24 * MONTH).drift == 0


def test_an_opened_one_is_expected_to_have_less_in_it_and_the_book_does_not_change():
    one, months = opened(), months_open()
    doubt = one.doubt_at(NOW)
    assert doubt.drift == pytest.approx(LOSS * months, rel=1e-3)
    assert dict(doubt.commons)["evaporation"] == pytest.approx(U_LOSS * months, rel=1e-3)
    assert one.remaining == 90_000_000
    assert one.doubt_at(OPENED).drift == 0


@pytest.mark.parametrize(
    "about",
    [
        {**ETHER, "boiling_point_celsius": None}, {**ETHER, "is_liquid": False},
        {**ETHER, "name": "ether in hexane", "cas": ""},
    ],
)  # fmt: skip
def test_without_a_boiling_point_for_a_solid_and_for_a_solution_there_is_no_model(about):
    is_solution = about["name"] == "ether in hexane"
    one = opened(about, lot=lot(about, concentration_mol_per_L=1.0 if is_solution else None))
    assert (one.loss_per_month, one.doubt_at(NOW).drift) == (None, 0)


def test_a_solid_kept_by_mass_has_no_model():
    one = container({**ACETANILIDE, "boiling_point_celsius": 304}, "50 g")
    draw(container=one, amount=amount("1 g"), device_code="balance-0.01g", doing=doing(OPENED))
    assert Container.objects.get(pk=one.pk).doubt_at(NOW).drift == 0


def test_each_line_takes_the_time_before_it_into_the_kept_doubt_once():
    one = opened()
    draw(container=one, amount=amount("10 mL"), device_code="cylinder-10-a", doing=doing(NOW - MONTH))
    line = draw(container=one, amount=amount("10 mL"), device_code="cylinder-10-a", doing=doing(NOW))
    kept = Container.objects.get(pk=one.pk)
    assert kept.band["drift"] == pytest.approx(LOSS * months_open(), rel=1e-3)
    assert kept.doubt_at(NOW).u == pytest.approx(line.u_after / 1e6, abs=1e-6)
    assert [str(fault) for fault in find_faults()] == []


def test_a_line_entered_late_does_not_count_the_time_twice():
    one = opened()
    draw(container=one, amount=amount("10 mL"), device_code="cylinder-10-a", doing=doing(NOW))
    before = Container.objects.get(pk=one.pk).band["drift"]
    draw(container=one, amount=amount("10 mL"), device_code="cylinder-10-a", doing=doing(NOW - MONTH))
    assert Container.objects.get(pk=one.pk).band["drift"] == before


def test_a_weighing_brings_it_into_the_book_and_starts_anew():
    one = opened(gross="200.00 g")
    gone = 10 + LOSS * months_open()
    line = weigh(
        container=one, gross=amount(f"{200 - gone * 0.714:.2f} g"), device_code="balance-0.01g", doing=doing()
    )
    assert line.after / 1e6 == pytest.approx(100 - gone, abs=0.02)
    assert Container.objects.get(pk=one.pk).doubt_at(NOW).drift == 0


def test_a_difference_beyond_the_doubt_at_that_moment_is_to_be_explained_and_says_what_evaporated():
    one = opened(gross="200.00 g")
    fields = {"container": one, "gross": amount(f"{200 - 22 * 0.714:.2f} g"), "device_code": "balance-0.01g"}
    with refused(
        r"By mass there is 78\.\d+ ± .* in it, by the book 90\.?\d* ± .* mL, of which about 2\.\d mL may have evap"
    ):
        weigh(**fields, doing=doing())
    # twelve months later so much may well be gone
    later = NOW + 7 * MONTH
    band = Container.objects.get(pk=one.pk).doubt_at(later)
    assert abs(90 - band.drift - 78) < 3 * band.spread


def test_what_can_be_counted_on_and_the_chance_of_enough_fall_with_time():
    one = opened()
    then, now = (availability(one, None, at=at) for at in (OPENED, NOW))
    assert (now.book, now.usable) == (then.book, then.usable)
    assert now.sure < then.sure - LOSS
    assert now.probability(87) < then.probability(87)
    # by hand: 90 less 1.5 that stays behind less the drift, over the spread
    assert now.likely == pytest.approx(90 - LOSS * months_open(), rel=1e-3)


def test_what_somebody_booked_as_evaporated_is_not_expected_once_more():
    one = opened()
    expected = one.doubt_at(NOW).drift
    line = record_loss(
        container=one, kind=Kind.EVAPORATED, amount=amount("1 mL"), device_code="cylinder-10-a", doing=doing()
    )
    assert Container.objects.get(pk=one.pk).doubt_at(NOW).drift == pytest.approx(expected - 1, abs=1e-6)
    reverse(entry=line, doing=doing(reason="it was the bottle beside it"))
    assert Container.objects.get(pk=one.pk).doubt_at(NOW).drift == pytest.approx(expected, abs=1e-6)


def test_the_account_allows_for_it_before_it_calls_a_difference_unexplained():
    with_model, without = (
        opened(gross="200.00 g"),
        opened({**ETHER, "name": "ether", "cas": "", "boiling_point_celsius": None}, gross="200.00 g"),
    )
    for one in (with_model, without):
        weigh(
            container=one, gross=amount(f"{200 - 12.4 * 0.714:.2f} g"), device_code="balance-0.01g",
            doing=doing(reason="as the balance says"),
        )  # fmt: skip
    told, untold = (accounts_of(Scope(container=one)).sections[0] for one in (with_model, without))
    assert told.adds_up
    assert untold.adds_up
    assert told.found[0].drift == pytest.approx(LOSS * months_open(), rel=1e-3)
    assert told.tolerance.probability > 0.5 > 0.01 > untold.tolerance.probability


def test_an_account_of_a_past_day_has_the_doubt_of_that_day():
    one = opened()
    account = accounts_of(Scope(container=one, until=timezone.now() + 12 * MONTH)).sections[0]
    assert account.drift == pytest.approx(LOSS * (months_open() + 12), rel=0.01)
    assert account.u > account.drift


def test_a_session_to_come_is_offered_what_will_surely_be_left():
    opened()
    now, later = (
        candidates_to_hold(substance(ETHER), amount("84 mL"), at)[0] for at in (NOW, NOW + 3 * MONTH)
    )
    assert (now.is_enough, later.is_enough) == (True, False)
    assert later.probability < now.probability
    # held is granted by the book all the same: what may have evaporated is no line
    assert later.availability.usable == now.availability.usable
