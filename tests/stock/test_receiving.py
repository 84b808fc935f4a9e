"""Containers come in."""

import uuid
from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.stock.actions.deliveries import receive_delivery
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Container, Entry, Lot
from tests.builders import ACETANILIDE, ANHYDRIDE, amount, lot, person, place, refused, substance

pytestmark = pytest.mark.django_db


@pytest.fixture
def steward(client):
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def asked(**fields):
    about = fields.pop("about", ANHYDRIDE)
    return {
        "substance": substance(about).pk,
        "key": str(uuid.uuid4()),
        "capacity": "500 mL",
        "unit": "mL",
        "vessel": "bottle",
        "received_on": "2026-11-20",
    } | fields


def errors(response):
    assert response.status_code == 422
    form = response.context["form"]
    both = {**form.errors, **{f"new-{name}": found for name, found in form.new_lot.errors.items()}}
    return {name: " ".join(found).replace("\u00a0", " ") for name, found in both.items()}


def arrival(**fields):
    size = amount(fields.pop("size", "500 mL"))
    about: dict[str, Any] = {"unit": "mL", "capacity": size, "amount": size, "lot": lot()}
    return Arrival(**(about | fields))


def test_two_equal_bottles_in_one_act_each_with_its_own_code_and_ledger(steward):
    response = steward.post(reverse("container-receive"), asked(capacity="2 x 500 mL", gross="812.40\n809,7"))
    first, second = Container.objects.order_by("number")
    assert first.code != second.code
    assert [row.remaining for row in (first, second)] == [500_000_000] * 2
    assert [row.gross_at_receipt_ug for row in (first, second)] == [812_400_000, 809_700_000]
    assert [entry.gross_ug for entry in Entry.objects.order_by("container__number")] == [
        812_400_000,
        809_700_000,
    ]
    page = steward.get(response.url).content.decode()
    assert f"{reverse('label-print')}?codes={first.code},{second.code}" in page


def test_sending_it_twice_receives_it_once(steward):
    typed = asked(capacity="2 x 500 mL", **{"new-number": "SK 40817", "new-supplier": "Skerrow (invented)"})
    assert [steward.post(reverse("container-receive"), typed).status_code for _ in range(2)] == [302, 302]
    assert Container.objects.count() == 2
    assert Lot.objects.count() == 1


def test_a_new_lot_is_described_on_the_way(steward):
    claim = {
        "new-number": "SK 1",
        "new-purity_kind": "at least",
        "new-purity_percent": "99",
        "new-expires_on": "2028-03-31",
    }
    steward.post(reverse("container-receive"), asked(**claim))
    bottle = Container.objects.select_related("lot").get()
    assert bottle.lot.claim.words.replace("\u00a0", " ").startswith("≥ 99 %")
    assert bottle.ends_on == date(2028, 3, 31)


def test_without_a_word_about_the_lot_none_is_made_up(steward):
    steward.post(reverse("container-receive"), asked(**{"new-purity_kind": "unknown"}))
    assert Container.objects.get().lot is None
    assert not Lot.objects.exists()


def test_a_chosen_lot_leaves_the_blank_one_unread(steward):
    known = lot()
    steward.post(reverse("container-receive"), asked(lot=known.pk, **{"new-expires_on": "nonsense"}))
    assert Container.objects.get().lot == known


def test_a_lot_of_another_substance_is_refused(steward):
    other = lot(ACETANILIDE)
    assert "lot" in errors(steward.post(reverse("container-receive"), asked(lot=other.pk)))


def test_needs_are_proposed_from_the_flags_and_the_statements(steward):
    about = {**ANHYDRIDE, "is_peroxide_former": True, "hazards": [["H226", "3"], ["H331", "3"]]}
    form = steward.get(reverse("container-receive"), {"substance": substance(about).pk}).context["form"]
    assert form["needs"].value() == ["dry", "dark", "vented"]


def test_a_mass_meets_a_volume_through_the_density(steward):
    # 541 g at 1.082 g/mL are 500 mL
    steward.post(reverse("container-receive"), asked(capacity="541 g"))
    bottle = Container.objects.get()
    assert (bottle.capacity, bottle.remaining) == (500_000_000, 500_000_000)
    assert Entry.objects.get().typed == "541 g"


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("capacity", "", "It is empty"),
        ("capacity", "1,500 mL", "Do you mean 1.5 mL or 1500 mL?"),
        ("capacity", "-500 mL", "below zero"),
        ("capacity", "0 mL", "is nothing"),
        ("capacity", "500", "has no unit"),
        ("capacity", "500 mmol", "is an amount of substance"),
        ("capacity", "9999999999 mL", "check the number and the unit"),
        ("amount", "600 mL", "600 mL does not fit into 500 mL"),
        ("heel", "500 mL", "leaves nothing of 500 mL"),
        ("gross", "800\n801", "2 gross masses for 1 container"),
        ("gross", "heavy", "Line 1:"),
        ("gross", "30", "the contents alone weigh 541"),
        ("received_on", "2030-01-01", "It cannot have been received on 01 Jan 2030"),
        ("received_on", "31.02.2026", "no day of the calendar"),
        ("opened_on", "2026-11-01", "lies before received 20 Nov 2026"),
        ("capacity", "51 x 1 mL", "51 containers at once cannot be received"),
        ("unit", "piece", "change one of them"),
        ("key", "", "lost a part of itself"),
    ],
)
def test_a_bad_value_is_named_and_nothing_is_received(steward, field, typed, words):
    response = steward.post(reverse("container-receive"), asked(**{field: typed, "new-number": "SK 7"}))
    assert words in " ".join(errors(response).values())
    assert not Container.objects.exists()
    assert not Lot.objects.exists()
    form = response.context["form"]
    assert form[field].value() == typed
    assert form.new_lot["number"].value() == "SK 7"


def test_a_bad_lot_is_said_together_with_what_else_is_wrong(steward):
    found = errors(
        steward.post(reverse("container-receive"), asked(capacity="", **{"new-purity_percent": "98"}))
    )
    assert "say what it means" in found["new-purity_kind"]
    assert "capacity" in found


def test_a_substance_that_is_not_there_is_no_page(steward):
    assert steward.get(reverse("container-receive"), {"substance": "99999"}).status_code == 404
    assert steward.get(reverse("container-receive"), {"substance": "9" * 30}).status_code == 404
    assert steward.get(reverse("container-receive"), {"substance": "x"}).status_code == 200


def test_the_first_question_finds_by_any_name_and_offers_to_add(steward):
    substance(ANHYDRIDE)
    assert (
        "acetic anhydride"
        in steward.get(reverse("container-receive"), {"find": "ANHYDRIDE acetic"}).content.decode()
    )
    page = steward.get(reverse("container-receive"), {"find": "zinc dust"}).content.decode()
    assert f"{reverse('substance-add')}?look=zinc%20dust" in page


def test_only_a_steward_receives(client):
    client.force_login(person("marit"), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("container-receive")).status_code == 403


def test_somebody_elses_key_receives_nothing():
    doing = Doing(by=person("wren"))
    receive(arrival=arrival(), doing=doing)
    with refused("already sent by Wren Halloran"):
        receive(arrival=arrival(), doing=Doing(by=person("marit"), key=doing.key))


def test_a_delivery_is_all_or_nothing():
    gross = [amount("800 g"), amount("1 g")]
    with refused("1 g cannot be the gross mass"):
        receive_delivery(arrival=arrival(), count=2, gross=gross, doing=Doing(by=person("wren")))
    assert not Container.objects.exists()


def test_a_bottle_opened_before_it_was_entered_is_not_drawn_as_sealed():
    bottle = receive(
        arrival=arrival(received_on=date(2026, 9, 1), opened_on=date(2026, 10, 1)),
        doing=Doing(by=person("wren")),
    )
    assert bottle.is_opened


def test_a_receipt_in_the_future_is_refused():
    tomorrow = timezone.localdate() + timedelta(days=1)
    with refused("It cannot have been received on"):
        receive(arrival=arrival(received_on=tomorrow), doing=Doing(by=person("wren")))


def test_pieces_come_in_without_doubt():
    pieces = amount("24 pieces")
    box = receive(
        arrival=arrival(unit="piece", capacity=pieces, amount=pieces, location=place()),
        doing=Doing(by=person("wren")),
    )
    assert (box.remaining, box.doubt.u) == (24_000_000, 0)


def test_a_doubt_that_was_typed_is_kept():
    bottle = receive(arrival=arrival(amount=amount("250 ± 10 mL (k=2)")), doing=Doing(by=person("wren")))
    assert bottle.doubt.u == pytest.approx(5)


def test_the_gross_mass_at_receipt_serves_the_first_weighing_back():
    bottle = receive(arrival=arrival(gross=amount("812.4 g")), doing=Doing(by=person("wren")))
    # 108.2 g lighter at 1.082 g/mL: 100 mL went
    weigh(
        container=bottle,
        gross=amount("704.2 g"),
        device_code="balance-0.01g",
        doing=Doing(by=person("marit"), reason="used"),
    )
    bottle.refresh_from_db()
    assert bottle.remaining == pytest.approx(400_000_000, abs=2_000_000)
