"""What else happens to a container: losses, finds, moves, states, assays, the end."""

import uuid
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.stock.models import Assay, Kind, State, StateChange
from tests import builders
from tests.bench.conftest import said_by, text_of

pytestmark = pytest.mark.django_db


def act(client, name: str, container, **fields):
    """Open an act's page, then send its form."""
    address = reverse(name, args=[container.code])
    assert client.get(address).status_code == 200
    container.refresh_from_db()
    return client.post(address, {"key": str(uuid.uuid4()), "seen_seq": container.last_seq} | fields)


@pytest.mark.parametrize(
    ("kind", "word"), [("spilt", "spilt"), ("evaporated", "evaporated"), ("wasted", "poured")]
)
def test_a_loss_is_written_with_its_kind(marit, bottle, kind, word):
    response = act(marit, "container-loss", bottle, kind=kind, amount="2", device="by-eye", reason="hood 7")
    entry = bottle.entries.get(seq=2)
    assert (entry.kind, entry.change, entry.reason) == (kind, -2_000_000, "hood 7")
    assert word in said_by(response)[0]


def test_a_loss_of_more_than_is_left_keeps_what_was_typed(marit, bottle):
    response = act(marit, "container-loss", bottle, kind="spilt", amount="80", device="by-eye")
    page = text_of(response)
    assert response.status_code == 422
    assert "80 mL is more than the 53.00 ± 0.31 mL left" in page
    assert 'value="80"' in page
    assert bottle.entries.count() == 1


def test_found_more_needs_a_reason(marit, bottle):
    without = act(marit, "container-found", bottle, amount="3", device="syringe-10")
    assert without.status_code == 422
    assert bottle.entries.count() == 1
    act(marit, "container-found", bottle, amount="3", device="syringe-10", reason="the label was misread")
    assert bottle.entries.get(seq=2).kind == Kind.FOUND


def test_more_than_the_bottle_holds_is_refused(marit, bottle):
    response = act(marit, "container-found", bottle, amount="900", device="by-eye", reason="?")
    assert "holds 100 mL. Check the amount and the unit" in text_of(response)


def test_a_move_is_kept_in_the_containers_history(marit, bottle):
    shelf = builders.place("cupboard 7")
    response = act(marit, "container-move", bottle, to=shelf.pk)
    bottle.refresh_from_db()
    assert bottle.location == shelf
    assert said_by(response) == ["It stands in room 214, cupboard 7 now."]
    assert "moved from room 214, cupboard 4 to room 214, cupboard 7" in text_of(
        marit.get(f"/C/{bottle.code}")
    )


def test_a_bottle_can_be_reported_not_seen_and_is_still_there(marit, bottle):
    act(marit, "container-state", bottle, to="not seen", reason="not in cupboard 4")
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "Ask first: it was not seen where it should be" in page


def test_anybody_at_the_bench_may_block_and_a_safety_officer_frees(as_person, marit, bottle):
    act(marit, "container-state", bottle, to="blocked", reason="smells of acid")
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "No: blocked: smells of acid" in page
    assert "Record a use" not in page
    refused = marit.post(
        reverse("container-state", args=[bottle.code]),
        {"key": str(uuid.uuid4()), "to": "in use", "reason": "fine"},
    )
    assert refused.status_code == 422
    act(as_person("sunniva"), "container-state", bottle, to="in use", reason="smelled again, fine")
    bottle.refresh_from_db()
    assert bottle.state == State.IN_USE


def test_a_state_needs_a_reason(marit, bottle):
    assert act(marit, "container-state", bottle, to="empty", reason="").status_code == 422
    assert StateChange.objects.count() == 0


def test_only_a_steward_disposes(as_person, marit, bottle):
    assert marit.get(reverse("container-dispose", args=[bottle.code])).status_code == 403
    act(as_person("wren"), "container-dispose", bottle, reason="expired, solvent waste")
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "No: disposed of: expired, solvent waste" in page
    assert bottle.entries.get(seq=2).change == -53_000_000


def test_an_assay_decides_the_strength_from_then_on(marit, bottle):
    response = act(
        marit,
        "container-assay",
        bottle,
        percent="97.1",
        expanded="0.8",
        method="titration",
        measured_on="2026-10-09",
    )
    assert response.status_code == 302
    page = text_of(marit.get(f"/C/{bottle.code}"))
    assert "Dose by <b>97.10 ± 0.80 %</b>, label says ≥ 99 %" in page
    assert Assay.objects.get().u_percent == pytest.approx(0.4)


def test_an_assay_sent_twice_is_one_measurement(marit, bottle):
    said = {"percent": "97.1", "expanded": "0.8", "method": "titration", "measured_on": "2026-10-09"}
    act(marit, "container-assay", bottle, **said)
    act(marit, "container-assay", bottle, **said)
    assert Assay.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("percent", "120", "120 % cannot be: a mass fraction lies above 0"),
        ("percent", "-3", "-3 % cannot be"),
        ("expanded", "0", "no measurement is without doubt"),
        ("measured_on", "2020-01-01", "came on 03 Sep 2026, after 01 Jan 2020"),
        ("measured_on", (date.today() + timedelta(days=400)).isoformat(), "is still to come"),
    ],
)
def test_an_assay_that_cannot_be_is_refused(marit, bottle, field, value, words):
    said = {"percent": "97.1", "expanded": "0.8", "method": "titration", "measured_on": "2026-10-09"}
    response = act(marit, "container-assay", bottle, **(said | {field: value}))
    assert words in text_of(response)
    assert f'value="{value}"' in text_of(response)
    assert Assay.objects.count() == 0


@pytest.mark.parametrize("name", ["container-loss", "container-found", "container-move", "container-state"])
def test_a_viewer_does_nothing_to_a_container(as_person, bottle, name):
    assert as_person("kasimir").get(reverse(name, args=[bottle.code])).status_code == 403


def test_sending_a_loss_twice_makes_one_line(marit, bottle):
    form = {"key": str(uuid.uuid4()), "seen_seq": 1, "kind": "spilt", "amount": "2", "device": "by-eye"}
    for _ in range(2):
        assert marit.post(reverse("container-loss", args=[bottle.code]), form).status_code == 302
    assert bottle.entries.count() == 2


def test_an_expired_lot_is_asked_about_first(marit):
    old = builders.container(lot=builders.lot(expires_on=date(2026, 10, 1)), holds="50 mL")
    page = text_of(marit.get(f"/C/{old.code}"))
    assert "Ask first: it expired 1 Oct 2026" in page
    assert "Over since <b>1 Oct 2026</b>" in page


def test_the_earliest_of_retest_and_expiry_wins_and_says_so(marit):
    lot = builders.lot(expires_on=date(2028, 3, 31), retest_on=date(2027, 1, 9))
    fresh = builders.container(lot=lot, holds="50 mL")
    page = text_of(marit.get(f"/C/{fresh.code}"))
    assert "Good until 9 January 2027" in page
    assert '<b>Retest</b><span class="by">earliest, so it wins</span>' in page
    assert timezone.localdate() < date(2027, 1, 9)
