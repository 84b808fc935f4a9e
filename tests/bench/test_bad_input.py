"""Bad input at a container: a clear text, what was typed is kept, nothing changes."""

import uuid

import pytest
from django.urls import reverse

from labstock.stock.models import Entry, State
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


def refused(response, typed: str, words: str) -> None:
    """Check that a draw was refused in words, with what was typed in the field and no line written."""
    page = text_of(response)
    assert response.status_code == 422
    assert words in page
    assert f'value="{typed}"' in page
    assert Entry.objects.exclude(kind="received").count() == 0


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("60", "60 mL is more than the 53.00 ± 0.31 mL left in"),
        ("1,500 mL", "'1,500 mL' is not clear. Do you mean 1.5 mL or 1500 mL?"),
        ("-5", "'-5' is below zero: give an amount of 0 or more"),
        ("0", "'0' is nothing: give an amount above 0"),
        ("1e15", "'1e15' is more than 1,000,000,000 mL: check the number and the unit"),
        ("5 mol", "'5 mol' is an amount"),
        ("5 furlongs", "'5 furlongs' cannot be read"),
        ("half", "'half' is not read as an amount: write a number and a unit"),
        ("", "Give one number: what you took, such as 5.0 mL"),
    ],
)
def test_an_amount_that_cannot_be_is_refused_in_words(marit, use, typed, words):
    refused(use(marit, amount=typed), typed, words)


def test_grams_from_a_bottle_in_millilitres_need_a_density(marit, use):
    powder = builders.container(
        builders.ACETIC_ACID | {"density_g_per_mL": None, "name": "mother liquor", "cas": ""}, holds="50 mL"
    )
    response = use(marit, powder, amount="5 g")
    refused(response, "5 g", "its lot has no density to go from one to the other")


def test_a_gross_mass_above_that_at_receipt_is_refused(marit, bottle, use):
    refused(use(marit, way="mass", gross="400"), "400", "400 g cannot be right for")


def test_a_weighing_without_a_mass_at_receipt_says_what_to_give_instead(marit, use):
    unweighed = builders.container(builders.ANILINE, holds="50 mL")
    response = use(marit, unweighed, way="mass", gross="100")
    assert "was not weighed when it came" in text_of(response)


@pytest.mark.parametrize(
    ("state", "because", "words"),
    [
        (State.BLOCKED, "smells of acid", "is blocked (smells of acid). Take another container"),
        (
            State.EMPTY,
            "all used",
            "is empty (all used). If there is something in it after all, record 'found more'",
        ),
        (State.DISPOSED, "solvent waste", "is disposed of (solvent waste). Check the code on the label"),
    ],
)
def test_a_draw_from_a_closed_container_says_why_and_what_to_do(marit, bottle, use, state, because, words):
    type(bottle).objects.update(state=state, state_because=because)
    response = use(marit, bottle, amount="5.0")
    assert response.status_code == 422
    assert words in text_of(response)
    assert 'value="5.0"' in text_of(response)
    assert bottle.entries.count() == 1


def test_a_draw_from_an_unknown_code_writes_nothing(marit, db):
    response = marit.post("/C/TQ4817K/use", {"amount": "5.0", "key": str(uuid.uuid4())})
    assert response.status_code == 404
    assert "no container has it" in text_of(response)


def test_a_draw_without_a_device_asks_for_it(marit, use):
    refused(use(marit, amount="5.0", device=""), "5.0", "Choose what you measured with")


def test_an_invented_device_is_refused(marit, use):
    refused(use(marit, amount="5.0", device="bucket"), "5.0", "“bucket” is not one of the choices here")


def test_a_time_still_to_come_is_refused(marit, use):
    refused(use(marit, amount="5.0", at="2126-01-01T10:00"), "5.0", "01 Jan 2126 10:00 is still to come")


def test_a_time_before_the_bottle_came_is_refused(marit, use):
    refused(
        use(marit, amount="5.0", at="2020-01-01T10:00"), "5.0", "so nothing was done with it on 01 Jan 2020"
    )


def test_a_form_that_lost_its_key_says_what_to_do(marit, use):
    refused(use(marit, amount="5.0", key="nonsense"), "5.0", "open the container again and enter it anew")


def test_a_key_used_for_another_bottle_writes_nothing_here(marit, bottle, use):
    other = builders.container(builders.ANILINE, holds="50 mL")
    key = str(uuid.uuid4())
    use(marit, other, amount="1.0", key=key)
    response = use(marit, bottle, amount="5.0", key=key)
    assert "This form was already sent for" in text_of(response)
    assert bottle.entries.count() == 1


def test_a_viewer_may_look_and_not_draw(as_person, bottle, use):
    client = as_person("kasimir")
    assert "Record a use" not in text_of(client.get(f"/C/{bottle.code}"))
    assert use(client, amount="5.0").status_code == 403
    assert bottle.entries.count() == 1


def test_what_a_person_types_is_never_markup(marit, use):
    page = text_of(use(marit, amount="<script>alert(1)</script>"))
    assert "<script>alert" not in page


def test_a_text_longer_than_any_amount_is_refused(marit, use):
    assert use(marit, amount="5" * 200).status_code == 422


def test_a_plain_visit_to_the_forms_address_leads_to_the_container(marit, bottle):
    response = marit.get(reverse("container-use", args=[bottle.code]))
    assert response.headers["Location"] == f"/C/{bottle.code}"
