"""The pages of a retained sample as people use them."""

import re

import pytest

from batches.retained.actions import add_provenance
from batches.retained.models import RetainedSample
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, State
from tests.batches.preparations import filled, finished
from tests.batches.test_record_pages import key_in, words
from tests.builders import ACETANILIDE, amount, person, place, substance
from tests.retained.test_samples import aside, catalogued

pytestmark = pytest.mark.django_db


@pytest.fixture
def marit(client):
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def page_of(marit, sample):
    return marit.get(f"/samples/{sample.container.code}/")


def test_the_page_answers_where_it_is_and_whether_to_open_it(marit):
    assert "Room 214, cabinet C. Look, do not open" in words(page_of(marit, catalogued()))


def test_a_dangerous_label_is_told_in_red(marit):
    page = words(page_of(marit, catalogued(label_as_written="Pikrins.")))
    assert "Do not open it, do not move it" in page
    assert "this may be picric acid or a picrate" in page


def test_the_batch_and_every_container_behind_it_are_one_click_away_and_back(marit):
    sample = aside()
    page = page_of(marit, sample).content.decode()
    behind = [row.entry.container.code for row in sample.batch.inputs.all()]
    assert f'href="/batches/{sample.batch.number}/"' in page
    assert all(f'href="/C/{code}"' in page for code in behind)
    assert f'href="/C/{sample.container.code}"' in page
    assert (
        f"/samples/{sample.container.code}/" in marit.get(f"/batches/{sample.batch.number}/").content.decode()
    )


def test_the_label_stands_beside_what_it_is_taken_to_mean(marit):
    sample = catalogued(label_as_written="Fluoresceïn ⟨…⟩\n12. XI. 9[4?]", substance=substance(ACETANILIDE))
    add_provenance(
        sample=sample, by=person("sunniva"), subject="reading", text="the last figure is a 4", evidence="photograph"
    )  # fmt: skip
    page = page_of(marit, sample)
    assert '<span class="gap">⟨…⟩</span>' in page.content.decode()
    assert '<span class="doubt">[4?]</span>' in page.content.decode()
    assert "the last figure is a 4 S. Pryce" in words(page)


def test_the_date_shows_words_bounds_and_age(marit):
    page = words(page_of(marit, catalogued(written="12. XI. 9", edtf="189X-11-12")))
    assert "12 November 1890 to 12 November 1899" in page
    assert "127 to 136 years" in page


def test_an_unread_date_is_met_with_suggestions_that_nobody_took(marit):
    sample = catalogued(written="um 1934")
    page = page_of(marit, sample)
    assert "None is taken without you" in words(page)
    assert "?date=1934~#add" in page.content.decode()
    sample.refresh_from_db()
    assert sample.date_edtf == ""


def test_a_suggestion_fills_the_form_and_is_taken_by_sending_it(marit):
    sample = catalogued(written="um 1934")
    form = marit.get(f"/samples/{sample.container.code}/?date=1934~")
    assert 'value="1934~"' in form.content.decode()
    sent = {"subject": "reading", "text": "um means about", "understood_as": "1934~", "key": key_in(form)}
    marit.post(f"/samples/{sample.container.code}/provenance", sent)
    sample.refresh_from_db()
    assert sample.date_edtf == "1934~"


def test_custody_and_ownership_are_told_apart_with_the_years_without_paper(marit):
    sample = catalogued()
    for subject, when, text in [
        ("made", "1894", "Made at Nordwall."),
        ("custody", "1931", "With E. Quill."),
        ("ownership", "1931", "Owned by the college."),
    ]:
        add_provenance(sample=sample, by=person(), subject=subject, text=text, date_edtf=when)
    page = words(page_of(marit, sample))
    who_had, _, whose = page.partition("Who had it")[2].partition("Whose it was")
    assert "Made at Nordwall." in who_had
    assert "37 years, no paper" in who_had
    assert "Owned by the college." in whose


def test_a_refused_statement_keeps_what_was_typed(marit):
    sample = catalogued()
    sent = {
        "subject": "found",
        "text": "In box 12.",
        "date_edtf": "1931-02-30",
        "key": key_in(page_of(marit, sample)),
    }
    page = marit.post(f"/samples/{sample.container.code}/provenance", sent)
    assert page.status_code == 422
    assert "In box 12." in words(page)
    assert 'value="1931-02-30"' in page.content.decode()
    assert not sample.provenance.exists()


def test_old_and_new_stand_side_by_side(marit):
    old = catalogued("Acetanilid", edtf="1934~", substance=substance(ACETANILIDE))
    new = aside()
    page = words(page_of(marit, new))
    assert "Acetanilid" in page
    assert "about 1934 is before" in page
    assert f"/samples/{new.container.code}/" in page_of(marit, old).content.decode()


def test_other_spellings_of_a_code_lead_to_the_sample_and_other_codes_to_nothing(marit):
    code = catalogued().container.code
    assert marit.get(f"/samples/{code.lower()}/").status_code == 200
    assert marit.get("/samples/TQ9999Z/").status_code == 404


def form_of(marit, **said):
    typed = {
        "name": "Eosin", "label_as_written": "Eosin bl.\n190⟨…⟩", "date_as_written": "190⟨…⟩", "date_edtf": "190X",
        "amount": "2.2 g", "known_by": "by eye", "vessel": "tube", "location": place("cabinet C").pk,
        "kept_for": "history", "found": "Found in the store, box 12.", "evidence": "survey sheet",
        "key": key_in(marit.get("/samples/add/")),
    }  # fmt: skip
    return marit.post("/samples/add/", typed | said)


def test_a_historic_sample_is_catalogued_without_a_batch(marit):
    assert form_of(marit).status_code == 302
    sample = RetainedSample.objects.get()
    assert (sample.batch, sample.date_edtf, sample.kept_for) == (None, "190X", "history")
    assert sample.provenance.get().evidence == "survey sheet"


def test_an_amount_judged_by_eye_is_thirty_percent_wide(marit):
    # a rectangle of half width 0.3 x 2.2 g has u = 0.66 g / sqrt(3) = 0.381 g (JCGM 100:2008, 4.3.7)
    form_of(marit)
    assert RetainedSample.objects.get().container.doubt.u == pytest.approx(0.381, abs=0.001)


def test_an_amount_nobody_knows_is_anything_from_nothing_to_full_and_says_so(marit):
    # a rectangle from 0 to 5 g: mean 2.5 g, u = 5 g / sqrt(12) = 1.443 g (JCGM 100:2008, 4.3.7)
    form_of(marit, amount="", known_by="not known", capacity="5 g")
    sample = RetainedSample.objects.get()
    assert sample.container.amount == 2.5
    assert sample.container.doubt.u == pytest.approx(1.443, abs=0.001)
    assert "In it not known" in words(page_of(marit, sample))


def test_a_label_with_a_dangerous_word_is_catalogued_shut(marit):
    page = words(marit.get(form_of(marit, name="unknown", label_as_written="Pikrinsäure").url))
    assert RetainedSample.objects.get().container.state == State.BLOCKED
    assert "is blocked. Do not open or move it" in page


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        ({"date_edtf": "1934-13"}, "month"),
        ({"date_edtf": "um 1934", "date_as_written": "um 1934"}, "1934~"),
        ({"amount": ""}, "choose “not known” below"),
        ({"amount": "1,500 g"}, "is not clear"),
        ({"amount": "", "known_by": "not known"}, "what it would hold when full"),
        ({"amount": "50 g", "capacity": "5 g"}, "does not fit into"),
        ({"name": ""}, "write what the label says, or “unknown”"),
    ],
)
def test_what_cannot_be_is_refused_and_everything_typed_is_kept(marit, said, refusal):
    page = form_of(marit, **said)
    assert page.status_code == 422
    assert refusal in words(page)
    assert "Eosin bl." in page.content.decode()
    assert not Container.objects.exists()


def test_catalogued_twice_by_a_double_press_is_one_sample(marit):
    key = key_in(marit.get("/samples/add/"))
    assert form_of(marit, key=key).url == form_of(marit, key=key).url
    assert RetainedSample.objects.count() == 1


def test_a_portion_is_put_aside_on_one_page(marit):
    batch = finished()
    jar = filled(batch)
    page = marit.get(f"/batches/{batch.number}/retain")
    sent = {
        "product": jar.pk,
        "amount": "200 mg",
        "vessel": "tube",
        "kept_for": "retention",
        "key": key_in(page),
    }
    assert (
        marit.post(f"/batches/{batch.number}/retain", sent).url
        == f"/samples/{RetainedSample.objects.get().container.code}/"
    )
    assert Container.objects.get(pk=jar.pk).remaining == 5_820_000


def test_more_than_the_product_is_refused_on_the_page(marit):
    batch = finished()
    jar = filled(batch)
    key = key_in(marit.get(f"/batches/{batch.number}/retain"))
    sent = {"product": jar.pk, "amount": "7 g", "vessel": "tube", "kept_for": "retention", "key": key}
    page = marit.post(f"/batches/{batch.number}/retain", sent)
    assert page.status_code == 422
    assert "7 g is more than the 6.02 g of product left" in words(page)


def test_a_batch_without_product_says_what_comes_first(marit):
    assert "Put it in one first" in words(marit.get(f"/batches/{finished().number}/retain"))


def test_a_viewer_reads_and_is_offered_nothing_to_write(client):
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    sample = catalogued()
    assert "Add what you know" not in words(page_of(client, sample))
    assert client.get("/samples/add/").status_code == 403
    assert client.post(f"/samples/{sample.container.code}/provenance", {}).status_code == 403


def test_a_sample_s_page_needs_few_queries(marit, django_assert_max_num_queries):
    sample = aside()
    for _ in range(6):
        add_provenance(sample=sample, by=person(), subject="custody", text="moved")
    with django_assert_max_num_queries(20):
        page_of(marit, sample)


def test_what_was_taken_since_shows_in_the_amount(marit):
    sample = catalogued(holds="1.8 g")
    draw(
        container=sample.container,
        amount=amount("0.3 g"),
        device_code="balance-1mg",
        doing=Doing(by=person()),
    )
    assert re.search(r"In it 1\.50\d* ±", words(page_of(marit, sample)))
