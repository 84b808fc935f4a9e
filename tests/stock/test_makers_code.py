"""A maker's code, scanned when a delivery comes: its lot and expiry are there without typing."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

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


@pytest.mark.parametrize("text", ["", "TQ4817K", "9506000134352", "(10)AB", "https://a.example/x", "01ABC"])
def test_what_names_no_product_is_no_makers_code(text):
    assert find_makers_code(text, TODAY) is None


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
