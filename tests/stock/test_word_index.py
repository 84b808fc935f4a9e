"""Finding rows by words, fast: the same rows as by reading the whole table, whoever writes them."""

import pytest
from django.db import connection
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labstock.stock import word_index
from labstock.stock.models import Container, Substance
from labstock.stock.search_text import normalised
from labstock.stock.word_index import holding
from tests.builders import container, substance

pytestmark = pytest.mark.django_db


def named(*names):
    """Put substances on the list, past all forms and actions."""
    return Substance.objects.bulk_create(Substance(name=n, search_text=normalised(n)) for n in names)


def found(*words):
    return sorted(row.name for row in holding(Substance.objects.all(), words).rows)


def test_words_are_found_in_any_order_and_inside_others():
    named("2-methyl-benzanilide", "benzene", "methyl benzoate")
    assert found("benz", "methyl") == ["2-methyl-benzanilide", "methyl benzoate"]
    assert found("zanil") == ["2-methyl-benzanilide"]
    assert found("toluene") == []


def test_a_short_word_narrows_what_a_long_one_finds():
    named("acid 2-b", "acid 3-b", "water")
    assert found("acid", "2-") == ["acid 2-b"]
    assert found("2-") == ["acid 2-b"]


@pytest.mark.parametrize("word", ['a"b', "100%", "a_c", "near(x", "-not", "c*", "a'b", "and"])
def test_signs_that_mean_something_to_an_engine_are_letters_here(word):
    named(f"sample {word} x", "sample aabc x")
    assert found(word, "sample") == [f"sample {word} x"]


def test_what_is_changed_or_deleted_is_followed_at_once():
    row, gone = named("anisole", "phenetole")
    Substance.objects.filter(pk=row.pk).update(search_text="guaiacol")
    gone.delete()
    assert found("anisole") == found("phenetole") == []
    assert found("guaiacol") == ["anisole"]


def test_a_few_are_counted_and_very_many_are_not(monkeypatch):
    monkeypatch.setattr(word_index, "FEWEST_LOOKED_UP", 2)
    monkeypatch.setattr(word_index, "PAGE", 0)
    named("toluene a", "toluene b", "toluene c", "xylene")
    many, few = (holding(Substance.objects.all(), [word]) for word in ("toluene", "xylene"))
    assert (many.are_few, many.rows.count()) == (False, 3)
    assert (few.are_few, few.rows.count()) == (True, 1)


def test_without_its_index_a_table_is_read_through():
    named("anisole", "phenetole")
    word_index.remove(connection)
    try:
        assert found("anis") == ["anisole"]
    finally:
        word_index.install(connection)


def test_an_index_put_up_again_knows_what_was_written_meanwhile():
    word_index.remove(connection)
    named("anisole")
    word_index.install(connection)
    held = holding(Substance.objects.all(), ["niso"])
    assert ([row.name for row in held.rows], held.are_few) == (["anisole"], True)


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    texts=st.lists(st.text("abc12-%_\"' ", max_size=12), max_size=6),
    words=st.lists(st.text("abc12-%_\"'", min_size=1, max_size=5), min_size=1, max_size=3),
)
def test_the_same_rows_are_found_as_by_reading_every_text(texts, words):
    Substance.objects.all().delete()
    Substance.objects.bulk_create(Substance(name=f"{n}", search_text=text) for n, text in enumerate(texts))
    by_hand = [f"{n}" for n, text in enumerate(texts) if all(word in text for word in words)]
    assert found(*words) == by_hand


def page(client, query):
    return client.get(f"/stock/?{query}").content.decode()


@pytest.fixture
def shelf(client, monkeypatch):
    from tests.builders import person

    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    monkeypatch.setattr("labstock.stock.tables.PER_PAGE", 2)
    monkeypatch.setattr(word_index, "FEWEST_LOOKED_UP", 3)
    monkeypatch.setattr(word_index, "PAGE", 0)
    for _ in range(5):
        container()
    return client


def test_a_list_of_very_many_hits_says_that_there_are_more_and_turns_pages(shelf):
    first, last = page(shelf, "q=anhydride"), page(shelf, "q=anhydride&page=3")
    assert "More than 2 containers: turn the pages, or narrow the list" in first
    assert 'rel="next"' in first
    assert "5 containers" in last
    assert 'rel="next"' not in last


def test_a_page_beyond_the_last_of_very_many_is_the_last(shelf):
    assert "5 containers" in page(shelf, "q=anhydride&page=9")


def test_a_list_of_few_hits_says_how_many(shelf):
    code = Container.objects.first().code
    assert "1 container<" in page(shelf, f"q={code}")


def test_a_substance_is_found_by_accents_folded_and_greek_spelled():
    substance({"name": "α-Terpinéol"})
    assert found(*normalised("ALPHA-terpineol").split()) == ["α-Terpinéol"]
