"""A maker's code, scanned when a delivery comes: its lot and expiry are there without typing."""

import re
from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from labstock.stock.actions import transferring
from labstock.stock.actions.lines import Doing
from labstock.stock.makers_code import MakersCode, find_makers_code
from tests import builders

TODAY = date(2026, 11, 25)
# from memory: GTIN 09506000134352 stands in GS1's own examples
GTIN = "09506000134352"
LAST = date(2027, 12, 31)


@pytest.mark.parametrize(
    ("text", "lot", "expires"),
    [
        (f"(01){GTIN}(17)271231(10)AB-123", "AB-123", LAST),
        (f"]d201{GTIN}17271231" + "10AB-123", "AB-123", LAST),
        (f"01{GTIN}10AB-123\x1d17271231", "AB-123", LAST),
        (f"01{GTIN}10AB-123\x1d21SER9\x1d17271200", "AB-123", LAST),
        (f"https://id.example/01/{GTIN}/10/AB-123?17=271231", "AB-123", LAST),
        (f"01{GTIN}", "", None),
        (f"01{GTIN}17271331", "", None),
        (f"01{GTIN}9912345", "", None),
    ],
)
def test_lot_and_expiry_are_read_however_the_code_is_written(text, lot, expires):
    assert find_makers_code(text, TODAY) == MakersCode(GTIN, lot, expires)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "TQ4817K",
        "9506000134351",
        "108247",
        "(10)AB",
        "(01)09506000134351(10)AB",
        "https://a.example/x",
        "01ABC",
    ],
)
def test_what_names_no_product_is_no_makers_code(text):
    assert find_makers_code(text, TODAY) is None


@pytest.mark.parametrize("text", ["9506000134352", "09506000134352"])
def test_a_bar_code_of_digits_alone_names_the_product(text):
    assert find_makers_code(text, TODAY) == MakersCode(GTIN)


def test_the_check_digit_is_that_of_the_worked_example():
    # GS1 General Specifications, 7.9.1, and GS1's page on check digits: 629104150021 has the check digit 3 (from memory)
    found = [digit for digit in range(10) if find_makers_code(f"629104150021{digit}", TODAY)]
    assert found == [3]


def test_a_year_of_two_digits_is_the_nearest_one():
    # GS1 General Specifications, 7.12: 51 to 99 years ahead is the century before, 50 and more behind the one after
    years = [find_makers_code(f"01{GTIN}17{yy:02d}0131", TODAY).expires_on.year for yy in (26, 76, 77, 99, 0)]
    assert years == [2026, 2076, 1977, 1999, 2000]


@pytest.fixture
def steward(client):
    client.force_login(builders.person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.django_db
def test_one_scan_of_the_makers_code_fills_in_lot_and_expiry(steward):
    bottle = builders.container()
    code = f"01{GTIN}17271231" + "10SK 50111"
    asked = steward.get(reverse("container-receive"), {"find": code})
    words = strip_tags(asked.content.decode()).replace("\xa0", " ")
    assert "Lot SK 50111, expires 31 Dec 2027, says the maker" in words
    assert f"?substance={bottle.substance_id}&amp;makers=01{GTIN}" in asked.content.decode()
    page = steward.get(reverse("container-receive"), {"substance": bottle.substance_id, "makers": code})
    assert 'value="SK 50111"' in page.content.decode()
    assert 'value="2027-12-31"' in page.content.decode() or 'value="31 Dec 2027"' in page.content.decode()


@pytest.mark.django_db
def test_a_lot_that_is_here_already_is_chosen(steward):
    bottle = builders.container(lot=builders.lot(number="SK 50111"))
    code = f"01{GTIN}10SK 50111"
    page = steward.get(reverse("container-receive"), {"substance": bottle.substance_id, "makers": code})
    assert f'<option value="{bottle.lot_id}" selected>' in page.content.decode()


@pytest.mark.django_db
def test_the_code_scanned_anywhere_leads_there(steward):
    page = steward.get(reverse("scan"), {"code": f"01{GTIN}17271231"})
    assert f'href="/stock/receive/?makers=01{GTIN}17271231"' in page.content.decode()


def arrived(steward, code, **typed):
    """Receive acetic anhydride by its maker's code and return the lot."""
    substance = builders.substance()
    asked = {"substance": substance.pk, "makers": code}
    page = steward.get(reverse("container-receive"), asked).content.decode()
    sent = dict(re.findall(r'name="(key|substance|new-product_number)" value="([^"]*)"', page))
    today = timezone.localdate().isoformat()
    form = {"capacity": "500 mL", "unit": "mL", "vessel": "bottle", "received_on": today} | sent | typed
    response = steward.post(reverse("container-receive"), form)
    assert response.status_code == 302, strip_tags(response.content.decode())
    return substance.lots.latest("pk")


@pytest.mark.django_db
def test_a_product_number_that_came_before_names_the_substance_the_next_time(steward):
    lot = arrived(
        steward, f"01{GTIN}10SK 1", **{"new-number": "SK 1", "new-supplier": "Skerrow", "vessel": "ampoule"}
    )
    assert (lot.product_number, lot.number) == (GTIN, "SK 1")
    page = steward.get(
        reverse("container-receive"), {"find": f"01{GTIN}17271231" + "10SK 2"}
    ).content.decode()
    said = strip_tags(page).replace("\xa0", " ")
    assert "It came before" in said
    assert "acetic anhydride" in said
    assert "lot SK 1, Skerrow" in said
    assert f"?substance={lot.substance_id}&amp;makers=01{GTIN}1727123110SK%202" in page


@pytest.mark.django_db
def test_the_pack_and_the_maker_are_filled_in_as_they_were_and_the_lot_is_the_new_one(steward):
    lot = arrived(
        steward, f"01{GTIN}10SK 1", **{"new-number": "SK 1", "new-supplier": "Skerrow", "capacity": "250 mL"}
    )
    page = steward.get(
        reverse("container-receive"), {"substance": lot.substance_id, "makers": f"01{GTIN}10SK 2"}
    )
    form = page.context["form"]
    assert (form["capacity"].value(), form["vessel"].value()) == ("250 mL", "bottle")
    assert (form.new_lot["supplier"].value(), form.new_lot["number"].value()) == ("Skerrow", "SK 2")


@pytest.mark.django_db
def test_a_product_number_nobody_scanned_before_says_that_it_will_be_known(steward):
    builders.container()
    said = strip_tags(steward.get(reverse("container-receive"), {"find": GTIN}).content.decode())
    assert "names a product, no lot and no expiry" in said
    assert "choose that below; next time it is known" in said
    assert "It came before" not in said


@pytest.mark.django_db
def test_digits_that_are_no_product_number_are_refused_in_words_and_kept(steward):
    substance = builders.substance()
    form = {
        "substance": substance.pk,
        "new-product_number": "9506000134351",
        "capacity": "500 mL",
        "unit": "mL",
    }
    response = steward.post(reverse("container-receive"), form)
    assert response.status_code == 422
    assert "‘9506000134351’ is no number of a product: give the 12 to 14 digits" in response.content.decode()
    assert 'value="9506000134351"' in response.content.decode()
    assert substance.containers.count() == 0


@pytest.mark.django_db
def test_a_number_that_was_learnt_for_the_wrong_substance_is_taken_off_its_lot(steward):
    lot = arrived(steward, f"01{GTIN}10SK 1", **{"new-number": "SK 1"})
    address = reverse("lot-edit", args=[lot.pk])
    assert f'value="{GTIN}"' in steward.get(address).content.decode()
    steward.post(address, {"number": "SK 1", "product_number": ""})
    page = steward.get(reverse("container-receive"), {"find": GTIN})
    assert "It came before" not in page.content.decode()


@pytest.mark.django_db
def test_a_small_bottle_poured_off_it_is_not_the_pack_it_comes_in(steward):
    lot = arrived(steward, f"01{GTIN}10SK 1", **{"new-number": "SK 1"})
    transferring.decant(
        container=lot.containers.get(), amount=builders.amount("20 mL"), device_code="cylinder-25-b",
        into=transferring.Vessel(capacity=builders.amount("25 mL")), doing=Doing(by=builders.person()),
    )  # fmt: skip
    asked = {"substance": lot.substance_id, "makers": f"01{GTIN}10SK 2"}
    assert steward.get(reverse("container-receive"), asked).context["form"]["capacity"].value() == "500 mL"
