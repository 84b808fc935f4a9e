"""The batch record's pages as people use them."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from batches.actions.plans import plan_batch
from batches.actions.record import finish, observe
from batches.drafts import Draft
from batches.models import Batch, BatchState
from labstock.stock import guards
from labstock.stock.actions.assays import record_assay
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse
from labstock.stock.models import Container
from tests.batches.preparations import RESULT, aniline, drawn_for, filled, finished, planned, running
from tests.builders import ANHYDRIDE, container, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def marit(client):
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def words(response):
    """Return a page as it is read: without tags, no-break spaces and runs of white space as one space."""
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", text.replace("\u00a0", " ").replace("&nbsp;", " ").replace("&#x27;", "'"))


def key_in(response):
    return re.findall(r'name="key" value="([^"]+)"', response.content.decode())[0]


def test_a_plan_says_that_nothing_is_in_yet(marit):
    batch = planned()
    assert "Planned: nothing is in yet" in words(marit.get(f"/batches/{batch.number}/"))


def test_a_running_batch_says_which_lines_are_missing(marit):
    page = words(marit.get(f"/batches/{running().number}/"))
    assert "Running: 2 of 3 lines are in" in page
    assert "Still to come: acetic acid" in page


def test_a_finished_batch_answers_with_its_yield(marit):
    page = words(marit.get(f"/batches/{finished().number}/"))
    assert re.search(r"6\.020 ± 0\.040 g, 73\.6\d ± \d\.\d+ % of theory", page)
    assert "it is the same" in page


def test_a_record_changed_past_the_site_says_so(marit):
    batch = finished()
    guards.remove(connection)  # the database itself refuses it otherwise
    batch.lines.filter(position=1).update(name="something else")
    assert "changed after the finish" in words(marit.get(f"/batches/{batch.number}/"))


def test_planned_stands_beside_actual_with_container_person_and_strength(marit):
    batch = running()
    page = words(marit.get(f"/batches/{batch.number}/"))
    bottle = batch.inputs.first().entry.container
    assert f"/C/{bottle.code}" in marit.get(f"/batches/{batch.number}/").content.decode()
    # by hand: 60 mmol x 93.129 g/mol / 1.022 g/mL = 5.47 mL; no bottle was there yet when it was planned
    assert "planned 5.47 mL 100 % 60.0 1.00 actual 5.610 g ± 0.035" in page
    assert "lot SK 40817, 5.610 ± 0.035 g" in page


def test_a_reversed_draw_is_struck_and_says_why(marit):
    batch = running()
    entry = drawn_for(batch, aniline(), "2 g", "balance-0.01g", 1).entry
    reverse(entry=entry, doing=Doing(by=person(), reason="wrong bottle"))
    page = marit.get(f"/batches/{batch.number}/")
    assert "<s>2.000" in page.content.decode()
    assert "reversed: wrong bottle" in words(page)


def test_a_draw_that_no_line_asked_for_stands_apart(marit):
    batch = running()
    drawn_for(batch, container({"name": "charcoal"}, holds="50 g"), "0.2 g", "balance-0.1g")
    assert "Not in the plan charcoal" in words(marit.get(f"/batches/{batch.number}/"))


def test_a_measured_strength_is_compared_with_the_label(marit):
    batch, bottle = planned(), container(ANHYDRIDE)
    record_assay(
        container=bottle, percent=95.4, expanded=1.6, method="titration", measured_on=timezone.localdate(),
        doing=Doing(by=person()),
    )  # fmt: skip
    drawn_for(batch, aniline(), "5.61 g", "balance-0.01g", 1)
    drawn_for(batch, bottle, "7.2 mL", "syringe-10", 2)
    page = words(marit.get(f"/batches/{batch.number}/"))
    # by hand: 7.2 mL x 1.082 g/mL / 102.089 g/mol = 76.31 mmol; x 0.995 = 75.9, x 0.954 = 72.8
    assert re.search(r"Believing the label .* would read 75\.9 mmol", page)
    assert "By its strength on the day it was 72.8" in page


def test_an_observation_is_written_with_its_time(marit):
    batch = running()
    seen = timezone.localtime() - timedelta(minutes=40)
    sent = {"text": "Turned yellow.", "at": seen.strftime("%Y-%m-%dT%H:%M"), "is_departure": "on"}
    sent["key"] = key_in(marit.get(f"/batches/{batch.number}/"))
    marit.post(f"/batches/{batch.number}/observe", sent)
    marit.post(f"/batches/{batch.number}/observe", sent)
    note = batch.observations.get()
    assert (note.at.minute, note.is_departure) == (seen.minute, True)
    assert "Departure from the plan" in words(marit.get(f"/batches/{batch.number}/"))


def test_a_refused_observation_keeps_what_was_typed(marit):
    batch = running()
    later = (timezone.localtime() + timedelta(hours=3)).strftime("%Y-%m-%dT%H:%M")
    page = marit.post(
        f"/batches/{batch.number}/observe",
        {"text": "White needles.", "at": later, "key": key_in(marit.get(f"/batches/{batch.number}/"))},
    )
    assert page.status_code == 422
    assert "still to come" in words(page)
    assert "White needles." in words(page)
    assert not batch.observations.exists()


def finish_form(marit, batch, **said):
    page = marit.get(f"/batches/{batch.number}/finish")
    typed = {
        "mass": "6.02 g",
        "balance": "balance-0.01g",
        "meaning": "measured",
        "percent": "99.1",
        "doubt": "0.8",
    }
    return marit.post(f"/batches/{batch.number}/finish", {**typed, "key": key_in(page), **said})


def test_the_product_finishes_the_batch(marit):
    batch = running()
    assert finish_form(marit, batch, how="titration").status_code == 302
    batch.refresh_from_db()
    assert batch.state == BatchState.FINISHED
    assert batch.product_percent_u == pytest.approx(0.4)
    assert "Purity 99.1 ± 0.8 % (k = 2): titration." in batch.observations.get().text


def test_at_least_98_percent_is_half_way_to_100(marit):
    # JCGM 100:2008, 4.3.7: a rectangle from 98 to 100 has its mean at 99 and u = 1/sqrt(3)
    batch = running()
    finish_form(marit, batch, meaning="at least", percent="98", doubt="")
    batch.refresh_from_db()
    assert (batch.product_percent, batch.product_percent_u) == (
        pytest.approx(99),
        pytest.approx(0.577, abs=0.001),
    )


def test_a_purity_nobody_measured_makes_the_yield_an_upper_limit(marit):
    batch = running()
    finish_form(marit, batch, meaning="not measured", percent="", doubt="")
    assert "the yield is an upper limit" in words(marit.get(f"/batches/{batch.number}/"))


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({"mass": "5 mL"}, "is a volume"),
        ({"mass": "1,500 g"}, "is not clear. Do you mean 1.5 g or 1500 g?"),
        ({"mass": "-2 g"}, "is below zero"),
        ({"percent": "140"}, "140 % is more than all of it"),
        ({"percent": ""}, "Give the purity in %"),
        ({"doubt": ""}, "A measured purity has a doubt"),
    ],
)
def test_a_product_that_cannot_be_is_refused_and_kept(marit, said, refusal):
    batch = running()
    page = finish_form(marit, batch, **said)
    assert page.status_code == 422
    assert refusal in words(page)
    assert all(f'value="{typed}"' in page.content.decode() for typed in said.values() if typed)
    batch.refresh_from_db()
    assert batch.state == BatchState.RUNNING


def test_a_batch_is_abandoned_with_a_reason(marit):
    batch = running()
    key = key_in(marit.get(f"/batches/{batch.number}/abandon"))
    assert marit.post(f"/batches/{batch.number}/abandon", {"reason": "", "key": key}).status_code == 422
    marit.post(f"/batches/{batch.number}/abandon", {"reason": "flask cracked", "key": key})
    page = words(marit.get(f"/batches/{batch.number}/"))
    assert "Abandoned" in page
    assert "flask cracked" in page


def test_the_product_gets_a_container_and_a_label(marit):
    batch = finished()
    key = key_in(marit.get(f"/batches/{batch.number}/product"))
    sent = {"amount": "6.02 g", "vessel": "jar", "capacity": "20 g", "key": key}
    assert marit.post(f"/batches/{batch.number}/product", sent).status_code == 302
    jar = Container.objects.get(purpose="product")
    page = marit.get(f"/batches/{batch.number}/").content.decode()
    assert f"/C/{jar.code}" in page
    assert f"/labels/{jar.code}.pdf" in page


def test_more_than_was_made_is_refused_on_the_page(marit):
    batch = finished()
    key = key_in(marit.get(f"/batches/{batch.number}/product"))
    page = marit.post(f"/batches/{batch.number}/product", {"amount": "9 g", "vessel": "jar", "key": key})
    assert page.status_code == 422
    assert "9 g is more than there is" in words(page)
    assert not Container.objects.filter(purpose="product").exists()


def test_a_viewer_reads_and_is_offered_nothing_to_write(client):
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    batch = running()
    page = words(client.get(f"/batches/{batch.number}/"))
    assert "Write it down" not in page
    assert "Write down the product" not in page
    assert client.post(f"/batches/{batch.number}/observe", {"text": "x"}).status_code == 403


def test_a_colleague_may_add_but_not_finish(client):
    client.force_login(person("tobias"), backend="django.contrib.auth.backends.ModelBackend")
    batch = running()
    page = words(client.get(f"/batches/{batch.number}/"))
    assert "Write it down" in page
    assert "Write down the product" not in page


def test_an_unknown_batch_is_not_found(marit):
    assert marit.get("/batches/99-999/").status_code == 404


def test_a_batch_page_needs_few_queries_however_much_was_drawn(marit, django_assert_max_num_queries):
    batch, bottle = running(), container(ANHYDRIDE)
    for _ in range(6):
        drawn_for(batch, bottle, "1 mL", "syringe-1", 2)
        observe(batch=batch, by=person(), text="Another portion.")
    batch = finish(batch=batch, by=person(), result=RESULT)
    filled(batch)
    with django_assert_max_num_queries(24):
        marit.get(f"/batches/{batch.number}/")


def test_the_list_has_one_s_own_open_batches_first(marit):
    done, others, own = finished(), planned(person("tobias"), title="Toluidide"), planned(title="Own")
    page = marit.get("/batches/").content.decode()
    places = [page.index(f"/batches/{batch.number}/") for batch in (own, others, done)]
    assert places == sorted(places)


def test_the_list_is_narrowed_by_words_state_person_and_year(marit):
    done, other = finished(), planned(person("tobias"), title="Toluidide")
    for query, found in [
        ("q=tolui", other), ("q=aniline acet&state=finished", done), ("state=finished", done),
        (f"owner={other.owner_id}", other),
    ]:  # fmt: skip
        page = marit.get(f"/batches/?{query}").content.decode()
        assert [batch for batch in (done, other) if f"/batches/{batch.number}/" in page] == [found], query
    assert "No batch is like that" in words(marit.get("/batches/?year=1999"))


def test_the_list_needs_at_most_12_queries(marit, django_assert_max_num_queries):
    for number in range(30):
        plan_batch(
            title=f"Try {number}", owner=person(), equation="", session=None, scale="1 g", scale_line=1,
            drafts=[Draft("reactant", "benzaldehyde", "C7H6O")],
        )  # fmt: skip
    with django_assert_max_num_queries(12):
        page = marit.get("/batches/?page=2")
    assert Batch.objects.count() == 30
    assert "Try 2" in words(page)


def test_a_bare_number_is_written_down_with_the_unit_it_stood_beside(marit):
    batch = running()
    finish_form(marit, batch, mass="6.02")
    batch.refresh_from_db()
    assert batch.product_typed == "6.02 g"
