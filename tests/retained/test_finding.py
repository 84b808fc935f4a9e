"""Finding an old sample."""

import pytest

from batches.retained.queries import did_you_mean, find_samples, inside, made_between, samples
from labstock.stock.actions.catalogue import change_substance
from labstock.stock.models import Location
from tests.builders import ACETANILIDE, person, place, substance
from tests.retained.test_samples import aside, catalogued

pytestmark = pytest.mark.django_db


@pytest.fixture
def marit(client):
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def found(text):
    return [sample.name for sample in find_samples(samples(), text).rows]


def test_finds_by_part_of_the_name_and_without_accents():
    catalogued("Fluoresceïn, gereinigt")
    catalogued("Alizarin")
    assert found("FLUORESCEIN") == found("oresc") == found("gerein fluor") == ["Fluoresceïn, gereinigt"]


def test_every_word_must_be_there():
    catalogued("Alizarin", maker="Harbour dye works (invented)")
    catalogued("Alizarin")
    assert len(found("alizarin")) == 2
    assert len(found("alizarin harbour")) == 1
    assert found("alizarin indigo") == []


def test_finds_by_maker_number_and_words_on_the_label():
    catalogued(
        "unknown",
        label_as_written="aus Phtals.-anh.\nNo. 44",
        other_numbers="C/3/17",
        maker="E. Quill (invented)",
    )
    assert found("phtals") == found("c/3/17") == found("quill") == found("44") == ["unknown"]


def test_finds_by_a_synonym_even_one_added_later():
    known = substance(ACETANILIDE)
    catalogued("old white leaflets", substance=known)
    assert found("antifebrin") == []
    change_substance(substance=known, by=person("wren"), synonyms=["antifebrin"])
    assert found("antifebrin") == ["old white leaflets"]


def test_a_whole_code_is_that_one_sample():
    sample = catalogued("Fluorescein")
    catalogued(f"copy of {sample.container.code}")
    spaced = f"{sample.container.code[:2]} {sample.container.code[2:-1]} {sample.container.code[-1]}".lower()
    assert found(spaced) == ["Fluorescein"]


def test_a_range_of_years_meets_every_date_that_may_lie_in_it():
    for name, edtf in [
        ("a", "1934~"),
        ("b", "193X"),
        ("c", "../1939"),
        ("d", "1950"),
        ("e", ""),
        ("f", "1936/.."),
    ]:
        catalogued(name, edtf=edtf)

    def made(first, last):
        return sorted(sample.name for sample in samples().filter(made_between(first, last)))

    assert made(1935, 1938) == ["b", "c", "f"]
    assert made(None, 1934) == ["a", "b", "c"]
    assert made(1940, None) == ["d", "f"]


def test_a_place_holds_what_stands_inside_it():
    cabinet, other = place("cabinet A"), place("cabinet AB")
    drawer = Location.objects.create(
        name="drawer 3", kind="drawer", parent=cabinet, path="room 214, cabinet A, drawer 3"
    )
    for name, where in [("in the drawer", drawer), ("beside", other)]:
        container = catalogued(name).container
        container.location = where
        container.save(update_fields=["location"])
    assert [sample.name for sample in samples().filter(inside(cabinet))] == ["in the drawer"]
    assert samples().filter(inside(Location.objects.get(path="room 214"))).count() == 2


def test_the_oldest_stands_first_and_the_undated_last():
    for name, edtf in [("new", "1990"), ("undated", ""), ("open", "../1910"), ("old", "1894?")]:
        catalogued(name, edtf=edtf)
    assert [sample.name for sample in samples()] == ["old", "open", "new", "undated"]


def test_a_slip_of_the_pen_is_answered_with_a_name_that_is_there():
    catalogued("Fluorescein")
    substance({"name": "fluorene"})
    assert did_you_mean("flourescein") == ["Fluorescein"]
    assert did_you_mean("xyzzy") == []


def page_of(marit, query):
    return marit.get(f"/samples/?{query}").content.decode()


def test_the_page_shows_age_date_as_written_and_as_understood(marit):
    catalogued("Alizarin, sublimed", written="ca. 1898", edtf="1898~")
    page = page_of(marit, "q=alizarin")
    assert "about 127 to 128 years" in page
    assert "ca. 1898" in page
    assert "about 1898" in page
    assert "room 214, cabinet C" in page


def test_the_page_narrows_by_everything_at_once(marit):
    sample = aside(location=place("cabinet A"))
    catalogued("Alizarin", edtf="1898~", maker="E. Quill (invented)")
    one = f"q=acet&batch={sample.batch.number}&location={place('cabinet A').pk}&kept_for=retention&made_from=2020&maker=solberg"
    page = page_of(marit, one)
    assert f"/samples/{sample.container.code}/" in page
    assert "Alizarin" not in page
    assert "No sample is like that" in page_of(marit, one.replace("retention", "history"))


def test_the_page_asks_did_you_mean(marit):
    catalogued("Fluorescein")
    assert "Did you mean <a" in page_of(marit, "q=flourescein")


@pytest.mark.parametrize(
    ("query", "refusal"),
    [
        ("made_from=94", "is no year: write four digits"),
        ("made_from=1950&made_to=1940", "1940 comes before 1950"),
    ],
)
def test_years_that_cannot_be_are_refused_and_kept(marit, query, refusal):
    page = marit.get(f"/samples/?q=alizarin&{query}")
    assert page.status_code == 422
    assert refusal in page.content.decode()
    assert 'value="alizarin"' in page.content.decode()


def test_the_list_needs_at_most_12_queries(marit, django_assert_max_num_queries):
    for number in range(30):
        catalogued(f"Alizarin {number}", edtf="1898~")
    with django_assert_max_num_queries(12):
        page_of(marit, "q=alizarin&made_from=1890&page=2")


def test_an_empty_cabinet_says_what_to_do(marit):
    assert "Catalogue a sample" in page_of(marit, "")
