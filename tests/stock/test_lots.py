"""Lots: what a label claims, and the two dates."""

from datetime import date

import pytest
from django.urls import reverse

from labstock.stock.actions.catalogue import add_lot, change_lot
from labstock.stock.models import Container, Lot
from tests.builders import ANHYDRIDE, container, lot, person, refused, substance

pytestmark = pytest.mark.django_db


@pytest.fixture
def steward(client):
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def add(client, **typed):
    return client.post(reverse("lot-add", args=[substance(ANHYDRIDE).pk]), {"purity_kind": "unknown"} | typed)


def errors(response):
    assert response.status_code == 422
    return {
        name: " ".join(found).replace("\u00a0", " ")
        for name, found in response.context["form"].errors.items()
    }


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"purity_kind": "at least", "purity_percent": "98"}, "≥ 98 %"),
        (
            {"purity_kind": "certificate", "purity_percent": "99.7 %", "purity_half_width": "0.2"},
            "99.7 ± 0.2 %",
        ),
        ({"purity_kind": "nominal", "purity_percent": "97"}, "97"),
        ({"purity_kind": "unknown"}, "not"),
    ],
)
def test_a_purity_is_kept_with_its_meaning(steward, typed, words):
    assert add(steward, **typed).status_code == 302
    assert words in Lot.objects.get().claim.words.replace("\u00a0", " ")


def test_the_plus_minus_of_a_certificate_is_expanded(steward):
    add(steward, purity_kind="certificate", purity_percent="99.7", purity_half_width="0.2")
    assert Lot.objects.get().claim.u == pytest.approx(0.1)


def test_expiry_and_retest_are_two_dates(steward):
    add(steward, expires_on="2028-03-31", retest_on="2027-03-31")
    made = Lot.objects.get()
    assert (made.expires_on, made.retest_on) == (date(2028, 3, 31), date(2027, 3, 31))


def test_a_solution_has_its_concentration_with_its_doubt(steward):
    add(steward, concentration="2.50 ± 0.06 mol/L (k=2)")
    made = Lot.objects.get()
    assert (made.concentration_mol_per_L, made.concentration_u_mol_per_L) == (2.5, pytest.approx(0.03))


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"purity_percent": "98"}, "purity_kind", "'98 %' is given: say what it means"),
        ({"purity_kind": "at least"}, "purity_percent", "needs a number"),
        ({"purity_kind": "at least", "purity_percent": "0.98"}, "purity_percent", "write 98 for 98 %"),
        ({"purity_kind": "certificate", "purity_percent": "100.4"}, "purity_percent", "over 100 %"),
        ({"purity_kind": "at least", "purity_percent": "98", "purity_half_width": "1"}, "purity_half_width", "belongs to a certificate"),
        ({"purity_kind": "at least", "purity_percent": "-98"}, "purity_percent", "below zero"),
        ({"purity_kind": "at least", "purity_percent": "98 g"}, "purity_percent", "is a mass"),
        ({"purity_kind": "sworn"}, "purity_kind", "sworn"),
        ({"expires_on": "2026-01-01", "retest_on": "2027-01-01"}, "retest_on", "comes after it expires (01 Jan 2026)"),
        ({"expires_on": "0026-01-01"}, "expires_on", "cannot be meant"),
        ({"density": "13.6 kg"}, "density", "is a mass"),
        ({"concentration": "200 mol/L"}, "concentration", "lies between"),
    ],
)  # fmt: skip
def test_a_bad_value_is_named_and_kept(steward, typed, field, words):
    response = add(steward, number="SK 1", **typed)
    assert words in errors(response)[field]
    assert response.context["form"]["number"].value() == "SK 1"
    assert not Lot.objects.exists()


def test_changing_the_dates_moves_the_end_of_its_containers():
    known = lot(number="A", expires_on=date(2027, 1, 1))
    bottle = container(lot=known)
    assert bottle.ends_on == date(2027, 1, 1)
    change_lot(lot=known, by=person("wren"), retest_on=date(2026, 12, 1))
    bottle.refresh_from_db()
    assert bottle.ends_on == date(2026, 12, 1)


def test_a_changed_number_is_found_at_once():
    known = lot(number="A")
    bottle = container(lot=known)
    change_lot(lot=known, by=person("wren"), number="ZZ 9")
    assert Container.objects.get(search_text__contains="zz 9") == bottle


def test_opening_the_form_and_pressing_keep_changes_nothing(steward):
    add(steward, purity_kind="certificate", purity_percent="99.70", purity_half_width="0.2", expires_on="2028-03-31",
        density="1.0815 ± 0.0004 g/mL (k=2)", number="SK 1")  # fmt: skip
    before = Lot.objects.values().get()
    edit = reverse("lot-edit", args=[before["id"]])
    form = steward.get(edit).context["form"]
    steward.post(edit, {name: form[name].value() for name in form.fields if form[name].value() is not None})
    assert Lot.objects.values().get() == before


def test_a_lot_that_is_known_is_refused_with_what_to_do():
    known = lot(number="SK 1", supplier="Skerrow (invented)")
    with refused(r"Lot sk 1 of acetic anhydride from Skerrow \(invented\) is on the list already"):
        add_lot(
            by=person("wren"),
            substance=known.substance,
            number="sk 1",
            supplier="Skerrow (invented)",
            grade="x",
        )


def test_a_form_sent_twice_makes_one_lot(steward):
    for _ in range(2):
        assert (
            add(
                steward, supplier="Skerrow (invented)", purity_kind="at least", purity_percent="98"
            ).status_code
            == 302
        )
    assert Lot.objects.count() == 1
