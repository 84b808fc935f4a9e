"""Putting samples aside and cataloguing old ones."""

import uuid
from datetime import date

import pytest
from django.db import DatabaseError, transaction

from batches.retained.actions import Keeping, OldLabel, Statement, add_provenance, catalogue_old, put_aside
from batches.retained.label_cautions import cautions_of
from batches.retained.models import ProvenanceNote, RetainedSample
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.search_text import normalised
from tests.batches.preparations import filled, finished
from tests.builders import amount, container, person, place, refused

pytestmark = pytest.mark.django_db


def aside(text="200 mg", **fields):
    """Put a portion of a finished acetanilide aside."""
    doing = fields.pop("doing", None) or Doing(by=person())
    return put_aside(product=filled(finished()), amount=amount(text), keeping=Keeping(**fields), doing=doing)


def catalogued(name="Fluorescein", written="", edtf="", holds="1.8 g", **label):
    """Catalogue a historic sample; `holds` is its amount."""
    return catalogue_old(
        label=OldLabel(name=name, date_as_written=written, date_edtf=edtf, **label),
        arrival=Arrival(unit="g", capacity=amount("5 g"), amount=amount(holds)),
        keeping=Keeping(kept_for="history", location=place("cabinet C")),
        doing=Doing(by=person("sunniva")),
    )


def test_a_portion_leaves_the_product_and_becomes_a_sample_in_one_act():
    sample = aside()
    jar = sample.batch.products.get().container
    assert (jar.remaining, sample.container.remaining) == (5_820_000, 200_000)
    assert [entry.kind for entry in jar.entries.all()] == [Kind.RECEIVED, Kind.TRANSFERRED_OUT]
    assert sample.container.purpose == "retained"


def test_a_sample_is_linked_to_its_batch_both_ways():
    sample = aside()
    assert sample.batch.retained_samples.get() == sample
    assert sample.date_edtf == sample.batch.finished_at.date().isoformat()


def test_refuses_to_put_aside_more_than_the_product():
    with refused("7 g is more than the 6.02 g of product left. Put less aside"):
        aside("7 g")
    assert not RetainedSample.objects.exists()
    assert not Entry.objects.filter(kind=Kind.TRANSFERRED_OUT).exists()


def test_putting_aside_sent_twice_makes_one_sample():
    jar, doing = filled(finished()), Doing(by=person())
    both = [put_aside(product=jar, amount=amount("200 mg"), keeping=Keeping(), doing=doing) for _ in range(2)]
    assert both[0] == both[1]
    assert Container.objects.get(pk=jar.pk).remaining == 5_820_000


def test_refuses_to_put_aside_from_what_was_not_made_here():
    with refused("was not made in a batch here: catalogue the sample by hand"):
        put_aside(product=container(), amount=amount("1 mL"), keeping=Keeping(), doing=Doing(by=person()))


@pytest.mark.parametrize(
    ("edtf", "first", "last"),
    [
        ("1934~", date(1934, 1, 1), date(1934, 12, 31)),
        ("193X", date(1930, 1, 1), date(1939, 12, 31)),
        ("../1939", None, date(1939, 12, 31)),
    ],
)
def test_a_historic_date_is_kept_as_written_and_as_understood(edtf, first, last):
    # ISO 8601-2:2019: X stands for any digit, ~ does not widen the bounds, .. leaves an end open
    sample = catalogued(written="um vierunddreissig", edtf=edtf)
    assert (sample.date_as_written, sample.date_edtf) == ("um vierunddreissig", edtf)
    assert (sample.earliest_on, sample.latest_on) == (first, last)


def test_an_impossible_date_changes_nothing():
    with refused("1934-02-30|30 February"):
        catalogued(edtf="1934-02-30")
    assert not Container.objects.exists()


def test_refuses_a_sample_without_a_name():
    with refused("write what the label says, or 'unknown'"):
        catalogued(name="  ")


def test_provenance_is_written_with_the_sample():
    sample = catalogue_old(
        label=OldLabel("Eosin"),
        arrival=Arrival(unit="g", capacity=amount("5 g"), amount=amount("2 g")),
        keeping=Keeping(),
        doing=Doing(by=person()),
        provenance=Statement("Found in the store, box 12.", evidence="survey sheet"),
    )
    assert sample.provenance.get().subject == "found"


def test_provenance_is_added_and_never_changed():
    sample = catalogued()
    add_provenance(sample=sample, by=person(), subject="custody", text="E. Quill had it.", date_edtf="1931")
    with pytest.raises(DatabaseError, match="history"), transaction.atomic():
        ProvenanceNote.objects.update(text="somebody else had it")


def test_a_statement_sent_twice_is_added_once():
    sample, key = catalogued(), uuid.uuid4()
    for _ in range(2):
        add_provenance(sample=sample, by=person(), subject="found", text="In box 12.", key=key)
    assert sample.provenance.count() == 1


def test_refuses_a_statement_with_an_impossible_date():
    with refused("13"):
        add_provenance(sample=catalogued(), by=person(), subject="found", text="box 12", date_edtf="1931-13")
    assert not ProvenanceNote.objects.exists()


def test_a_better_reading_of_the_date_replaces_it_and_both_stay():
    sample = catalogued(edtf="189X")
    add_provenance(
        sample=sample, by=person("sunniva"), subject="reading", text="the last figure is a 4", understood_as="1894?"
    )  # fmt: skip
    sample.refresh_from_db()
    assert (sample.date_edtf, sample.latest_on) == ("1894?", date(1894, 12, 31))
    said = [note.text for note in sample.provenance.all()]
    assert said == [
        "Date understood as 189X when it was catalogued.",
        "Date understood as 1894?: the last figure is a 4",
    ]


def test_when_something_happened_is_not_when_the_sample_was_made():
    sample = catalogued(edtf="189X")
    add_provenance(
        sample=sample, by=person(), subject="reading", text="line 3 is a date", date_edtf="2026-10-12"
    )
    sample.refresh_from_db()
    assert sample.date_edtf == "189X"


def test_a_label_that_names_picric_acid_is_blocked_at_once():
    sample = catalogued(name="yellow needles", label_as_written="Pikrinsäure\num 1902")
    assert sample.container.state == State.BLOCKED
    assert "picric acid or a picrate. Ask the safety officer" in sample.container.state_because


@pytest.mark.parametrize(
    ("label", "danger"),
    [
        ("Pikrins. umkryst.", "picric acid or a picrate"),
        ("Ammonium picrate", "picric acid or a picrate"),
        ("Welter's Bitter", "picric acid, called Welter's bitter"),
        ("Natriumazid", "an azide"),
        ("Kaliumperchlorat", "a perchlorate or perchloric acid"),
        ("Überchlorsäure", "a perchlorate or perchloric acid"),
        ("Äther puriss.", "an ether"),
        ("Diisopropyl ether", "an ether"),
        ("Benzoylperoxyd", "a peroxide"),
        ("Knallquecksilber", "a fulminate"),
    ],
)
def test_old_names_of_what_must_not_be_opened_are_known(label, danger):
    assert danger in [caution.may_be for caution in cautions_of(normalised(label))]


@pytest.mark.parametrize(
    "label",
    [
        "Fluoresceïn aus Phtals.-anh.",
        "Alizarin subl.",
        "together with leather dye",
        "Azobenzol",
        "Petroleum ether",
        "Kaliumchlorid",
    ],
)
def test_harmless_labels_raise_no_alarm(label):
    assert cautions_of(normalised(label)) == []
