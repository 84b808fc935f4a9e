"""Looking at a retained sample: what was seen stays, the next look answers it."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.retained.looking import Seen, check_condition
from batches.retained.models import ConditionCheck, RetainedSample
from batches.retained.pages import next_look
from labstock.stock.actions.keeping import change_state, dispose
from labstock.stock.actions.lines import Doing
from labstock.stock.models import State
from tests.builders import container, noon, person, refused

pytestmark = pytest.mark.django_db


def tube():
    return RetainedSample.objects.create(
        container=container(), name="old tube", catalogued_by=person(), catalogued_at=noon()
    )


def look(sample, scale=5, **fields):
    doing = fields.pop("doing", None) or Doing(by=person())
    next_on = fields.pop("next_on", None)
    return check_condition(sample=sample, seen=Seen(scale, **fields), doing=doing, next_on=next_on)


def test_a_look_is_kept_and_sets_the_day_of_the_next():
    sample = tube()
    row = look(sample, 4, changed="paler at the top", colour=" red ", next_on=date(2035, 3, 1))
    assert (row.scale, row.colour, row.changed, row.closure) == (4, "red", "paler at the top", "")
    assert RetainedSample.objects.get().review_on == date(2035, 3, 1)


def test_a_look_entered_late_does_not_move_the_day_that_a_newer_one_set():
    sample = tube()
    look(sample, next_on=date(2035, 3, 1))
    look(sample, next_on=date(2030, 1, 1), doing=Doing(by=person(), at=timezone.now() - timedelta(days=40)))
    assert RetainedSample.objects.get().review_on == date(2035, 3, 1)


@pytest.mark.parametrize(
    ("scale", "fields", "words"),
    [
        (3, {}, "It is no longer as it was: say in a few words what changed"),
        (0, {"changed": "gone"}, r"0 is no step of the scale: choose 5 \(as it was\) to 1 \(lost\)"),
        (5, {"next_on": date(2026, 1, 1)}, "The next look on 01 Jan 2026 would not come after this one"),
        (5, {"doing_at": timedelta(days=1)}, "is still to come"),
        (5, {"doing_at": timedelta(days=-400)}, "so nothing was done with it on"),
    ],
)
def test_refuses_what_cannot_have_been_seen(scale, fields, words):
    at = fields.pop("doing_at", None)
    with refused(words):
        look(tube(), scale, doing=Doing(by=person(), at=timezone.now() + (at or timedelta())), **fields)
    assert not ConditionCheck.objects.exists()


def test_sent_twice_it_is_kept_once_and_never_for_another_sample():
    sample, doing = tube(), Doing(by=person())
    assert look(sample, doing=doing) == look(sample, doing=doing)
    with refused("This form was already sent for another sample"):
        look(tube(), doing=doing)


def test_looking_finds_a_sample_that_was_not_seen_and_refuses_one_that_is_gone():
    sample, wren = tube(), person("wren")
    change_state(container=sample.container, to=State.NOT_SEEN, doing=Doing(by=wren, reason="not there"))
    look(sample)
    sample.container.refresh_from_db()
    assert sample.container.state == State.IN_USE
    dispose(container=sample.container, doing=Doing(by=wren, reason="waste round"))
    with refused("was disposed of: its ledger is closed"):
        look(sample)


def test_a_year_on_is_the_usual_next_look():
    assert next_look(date(2026, 11, 25)) == date(2027, 11, 25)
    assert next_look(date(2028, 2, 29)) == date(2029, 2, 28)


def page_of(client, sample, **form):
    client.force_login(person())
    address = reverse("sample-condition", args=[sample.container.code])
    return client.post(address, {"key": uuid4(), **form})


def test_the_sample_page_shows_the_last_look_and_what_is_due(client):
    sample = tube()
    response = page_of(client, sample, scale=4, colour="red", changed="paler", next_on="2035-03-01")
    assert response.status_code == 302
    page = client.get(response.url).content.decode()
    assert "4: a little changed" in page
    assert 'aria-label="4 of 5"' in page
    assert "1 Mar 2035" in page
    assert "closure: not looked at" in page
    RetainedSample.objects.update(review_on=timezone.localdate())
    assert ": due</dd>" in client.get(response.url).content.decode()


def test_what_was_typed_comes_back_when_it_is_refused(client):
    response = page_of(client, tube(), scale=3, colour="brown", at="")
    page = response.content.decode()
    assert response.status_code == 422
    assert "say in a few words what changed" in page
    assert 'value="brown"' in page


def test_nobody_who_may_only_see_writes_a_look(client):
    sample = tube()
    client.force_login(person("kasimir"))
    address = reverse("sample-condition", args=[sample.container.code])
    assert client.get(address).status_code == 403
    assert address not in client.get(reverse("sample", args=[sample.container.code])).content.decode()
