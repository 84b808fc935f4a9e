"""The strength that amounts are worked out with: measured before stated, stated before modelled, and says which."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from labstock.stock.actions.assays import record_assay
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.strength import effective_purity, moisture_since
from tests.builders import ANILINE, amount, container, lot, person

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)
SUCCINIC = {
    "name": "succinic anhydride",
    "formula": "C4H4O3",
    "smiles": "O=C1CCC(=O)O1",
    "molar_mass_g_per_mol": 100.073,
    "is_moisture_sensitive": True,
}


def opened(bottle, days_ago=90, draws=1):
    """Draw from a bottle some days ago, which opens it."""
    for number in range(draws):
        at = timezone.now() - timedelta(days=days_ago - number)
        draw(
            container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=person(), at=at)
        )
    bottle.refresh_from_db()
    return bottle


def bottle(**fields):
    return container(lot=lot(purity_percent=99, **fields))


def test_a_sealed_bottle_has_the_strength_its_label_states():
    strength = effective_purity(bottle(), timezone.localdate())
    assert not strength.is_model
    assert strength.fraction.n == pytest.approx(0.995)  # ≥ 99 %: the middle of 99 to 100


def test_an_opened_anhydride_is_carried_on_by_the_moisture_model_and_says_so():
    made = bottle()
    made.received_on = TODAY - timedelta(days=200)
    made.save()
    strength = effective_purity(opened(made), timezone.localdate())
    assert strength.is_model
    assert strength.fraction.n < 0.995
    assert "not a measurement" in strength.words


def test_the_model_destroys_what_the_water_can():
    made = bottle()
    made.received_on = TODAY - timedelta(days=200)
    made.save()
    model = moisture_since(opened(made), timezone.localdate(), None)
    share = model.water_g.n / model.content_g
    # 1 g of water destroys 102.089/18.015 = 5.667 g of acetic anhydride (mass balance of the hydrolysis)
    expected = (0.995 - 102.089 / 18.015 * share) / (1 + share)
    assert effective_purity(made, timezone.localdate()).fraction.n == pytest.approx(expected, rel=1e-4)


def test_more_openings_and_more_time_never_make_it_stronger():
    made = bottle()
    made.received_on = TODAY - timedelta(days=400)
    made.save()
    once = effective_purity(opened(made, days_ago=90), timezone.localdate()).fraction.n
    often = effective_purity(opened(made, days_ago=60, draws=4), timezone.localdate()).fraction.n
    assert often < once


def test_an_assay_of_today_wins_over_label_and_model():
    made = bottle()
    made.received_on = TODAY - timedelta(days=200)
    made.save()
    opened(made)
    record_assay(
        container=made,
        percent=93.6,
        expanded=0.4,
        method="titration",
        measured_on=timezone.localdate(),
        doing=Doing(by=person()),
    )
    strength = effective_purity(made, timezone.localdate())
    assert strength.fraction.n == pytest.approx(0.936, abs=2e-4)


def test_solids_and_what_water_leaves_alone_have_no_model():
    powder = container(SUCCINIC, "50 g", lot=lot(SUCCINIC))
    draw(container=powder, amount=amount("5 g"), device_code="balance-0.01g", doing=Doing(by=person()))
    powder.refresh_from_db()
    assert moisture_since(powder, timezone.localdate(), None) is None
    assert moisture_since(opened(container(ANILINE, lot=lot(ANILINE)), 0), timezone.localdate(), None) is None


def test_nothing_on_record_is_taken_as_pure_and_said():
    made = container(lot=lot(purity_kind="unknown", purity_percent=None))
    assert effective_purity(made, timezone.localdate()).words.startswith("taken as 100")
