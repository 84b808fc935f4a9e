"""From a scan or a typed code to the container's page, or to words that say what is wrong with it."""

import pytest
from django.urls import reverse

from labstock.stock.codes import make_code
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def known(db):
    return builders.container(number=4817)


@pytest.mark.parametrize(
    "typed", ["TQ4817K", "tq 4817 k", "tq-4817-k", " TQ4817K ", "HTTPS://STOCK.EXAMPLE/C/TQ4817K"]
)
def test_any_spelling_of_a_code_opens_the_page(marit, known, typed):
    response = marit.get(reverse("scan"), {"code": typed})
    assert response.headers["Location"] == "/C/TQ4817K"


@pytest.mark.parametrize("typed", ["tq4817k", "TQ 4817 K", "tq-4817-k"])
def test_an_address_in_another_spelling_leads_to_the_one_on_the_label(marit, known, typed):
    response = marit.get(f"/C/{typed}")
    assert response.headers["Location"] == "/C/TQ4817K"


def test_a_wrong_character_is_named_and_the_right_bottle_offered(marit, known):
    response = marit.get(reverse("scan"), {"code": "TQ4817X"})
    page = text_of(response)
    assert response.status_code == 404
    assert "“TQ4817X” is not a code of this lab. It may be TQ 4817 K" in page
    assert 'href="/C/TQ4817K"' in page
    assert "acetic anhydride" in page
    assert 'value="TQ4817X"' in page


def test_two_swapped_characters_are_called_swapped(marit, known):
    page = text_of(marit.get("/C/TQ4871K"))
    assert "swapped" in page
    assert 'href="/C/TQ4817K"' in page


def test_only_candidates_that_exist_are_offered(marit, known):
    page = text_of(marit.get("/C/TQ4871K"))
    assert page.count("This one") == 1


def test_a_well_formed_code_that_no_container_has_is_not_called_mistyped(marit):
    code = make_code("TQ", 7001)
    response = marit.get(f"/C/{code}")
    assert response.status_code == 404
    assert f"{code} is written like one of our codes, but no container has it" in text_of(response)
    assert f'value="{code}"' in text_of(response)


def test_a_cas_number_is_told_apart_from_a_code(marit):
    page = text_of(marit.get(reverse("scan"), {"code": "108-24-7"}))
    assert "is a CAS number: it names a substance, not a container" in page


def test_an_empty_scan_shows_the_field(marit):
    page = text_of(marit.get(reverse("scan")))
    assert "autofocus" in page
    assert "Code on the label" in page


def test_who_is_not_logged_in_lands_on_the_scanned_page_after_login(client, known):
    builders.person("marit")
    to_login = client.get("/C/TQ4817K")
    after = client.post(
        to_login.headers["Location"],
        {"username": "marit", "password": "quay-side-tern", "next": "/C/TQ4817K"},
    )
    assert "next=/C/TQ4817K" in to_login.headers["Location"]
    assert after.headers["Location"] == "/C/TQ4817K"
