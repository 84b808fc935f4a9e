"""Signs of trouble: three answers, advice by class, and what a sign does at once."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from batches.candidates import candidates_to_hold
from labstock.stock.actions.assays import record_assay
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.looking import record_look
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Sign, State, Trouble
from labstock.stock.signs import RULES, classes_of, doubt_on, latest_signs, rule_for
from tests.builders import (
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    amount,
    container,
    person,
    refused,
    session,
    substance,
)

pytestmark = pytest.mark.django_db
ETHER = {
    "name": "diisopropyl ether", "cas": "108-20-3", "smiles": "CC(C)OC(C)C", "density_g_per_mL": 0.724,
    "is_liquid": True, "is_peroxide_former": True, "peroxide_because": "di-secondary ether",
}  # fmt: skip


def looked(bottle, by="marit", **answers):
    return record_look(container=bottle, answers=answers, doing=Doing(by=person(by)))


def test_not_looked_is_no_row_and_no_is_one():
    bottle = container()
    looked(bottle, smell=False)
    assert {what: sign.is_seen for what, sign in latest_signs(bottle).items()} == {"smell": False}


def test_a_look_at_nothing_is_refused():
    with refused("Nothing was looked at: say “no” or “seen” for at least one"):
        looked(container())


def test_crystals_on_a_peroxide_former_block_it_at_once():
    # PRACTICE B3.3: crystals in or on the container, do not move (three university pages)
    bottle = container(ETHER)
    looked(bottle, crystals=True)
    bottle.refresh_from_db()
    assert (bottle.state, bottle.state_because) == (State.BLOCKED, "crystals in it or round the cap seen")
    assert "Do not touch" in rule_for("crystals", bottle.substance).advice
    with refused("is blocked .crystals"):
        draw(container=bottle, amount=amount("1 mL"), device_code="syringe-1", doing=Doing(by=person()))


def test_crystals_on_an_anhydride_are_acid_and_do_not_block():
    # PRACTICE B3.12: acetic acid freezes at about 16-17 °C, crystals in the cold are no peroxide hazard
    bottle = container()
    looked(bottle, crystals=True)
    bottle.refresh_from_db()
    assert bottle.state == State.IN_USE
    rule = rule_for("crystals", bottle.substance)
    assert "Not a peroxide hazard" in rule.meaning
    assert "warm to room temperature" in rule.advice


def test_smell_on_an_anhydride_takes_it_out_of_planning_until_an_assay():
    bottle = container()
    looked(bottle, smell=True)
    want = [Want(bottle, 1_000_000)]
    with refused("strength of TQ .* is in doubt .acid smell noticed.*Enter an assay"):
        reserve(session=session(), wants=want, by=person())
    record_assay(
        container=bottle, percent=97.0, expanded=0.4, method="titration", measured_on=timezone.localdate(),
        doing=Doing(by=person()),
    )  # fmt: skip
    assert doubt_on(bottle) is None
    assert len(reserve(session=session(), wants=want, by=person())) == 1


def test_a_later_no_does_not_settle_a_strength_in_doubt():
    bottle = container()
    looked(bottle, smell=True)
    looked(bottle, smell=False)
    assert latest_signs(bottle)["smell"].is_seen is False
    assert doubt_on(bottle) is not None


def test_a_doubtful_container_is_a_candidate_that_is_not_offered():
    bottle = container()
    looked(bottle, cloud=True)
    one = candidates_to_hold(substance(ANHYDRIDE), amount("5 mL"), timezone.now())[0]
    assert not one.is_offered
    assert (one.strength_words, one.why) == (
        "strength in doubt", "not offered: its strength is in doubt until it is assayed",
    )  # fmt: skip


def test_a_look_sent_twice_is_one_look():
    bottle, doing = container(), Doing(by=person(), key=uuid4())
    for _ in range(2):
        record_look(container=bottle, answers={"smell": False, "cap": True}, doing=doing)
    assert Sign.objects.count() == 2


def test_a_sign_is_never_changed_afterwards():
    sign = looked(container(), smell=True)[0]
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        Sign.objects.filter(pk=sign.pk).update(is_seen=False)


def test_a_look_before_the_container_came_is_refused():
    bottle = container()
    before = timezone.now().replace(year=2026, month=9, day=1)
    with refused("came on 03 Sep 2026, so nothing was done with it"):
        record_look(container=bottle, answers={"cap": True}, doing=Doing(by=person(), at=before))


def test_every_sign_has_a_rule_for_every_class_and_every_rule_a_source():
    for about in (ETHER, ANHYDRIDE, ACETIC_ACID, ANILINE):
        for what in Trouble:
            assert rule_for(what, substance(about)).what == what
    assert all(rule_for(what, None).what == what for what in Trouble)
    assert all(rule.source and rule.advice for rule in RULES)
    assert len({rule.name for rule in RULES}) == len(RULES)


def test_classes_come_from_what_is_known_of_the_substance():
    assert classes_of(substance(ETHER)) == ("peroxide former", "any")
    assert classes_of(substance(ANHYDRIDE)) == ("makes acid with water", "any")
    assert classes_of(substance(ACETIC_ACID)) == ("freezes near 17 °C", "any")
    assert classes_of(None) == ("unknown", "any")


def test_an_assay_from_before_the_sign_settles_nothing():
    bottle = container()
    record_assay(
        container=bottle, percent=98.0, expanded=0.4, method="titration", measured_on=date(2026, 9, 4),
        doing=Doing(by=person(), at=timezone.now() - timedelta(days=1)),
    )  # fmt: skip
    looked(bottle, smell=True)
    assert doubt_on(bottle) is not None
