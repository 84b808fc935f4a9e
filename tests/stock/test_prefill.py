import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from labstock.chemistry.reference import PropertyRow, SubstanceRow, write_reference
from labstock.stock.models import Substance
from labstock.stock.prefill import look_up
from tests.builders import ANILINE, person, substance

# Density and fixed points of acetic anhydride as in handbooks, from memory; here they only play the reference.
ROWS = [
    SubstanceRow(
        "108-24-7", "acetic anhydride", "C4H6O3", 102.09, smiles="CC(=O)OC(C)=O",
        names=("acetic anhydride", "ethanoic anhydride", "acetyl oxide"),
    ),
    SubstanceRow("62-53-3", "aniline", "C6H7N", 93.13, smiles="Nc1ccccc1", names=("aniline", "aminobenzene", "blue oil")),
    SubstanceRow("100-01-6", "4-nitroaniline", "C6H6N2O2", 138.12, names=("4-nitroaniline", "blue oil")),
]  # fmt: skip
PROPERTIES = [
    PropertyRow("108-24-7", "density", 1.082, "Table D of a handbook", 20.0),
    PropertyRow("108-24-7", "melting point", -73.1, "Table M of a handbook"),
    PropertyRow("108-24-7", "boiling point", 139.5, "Table M of a handbook"),
]


@pytest.fixture
def reference(settings, tmp_path):
    settings.REFERENCE_FILE = tmp_path / "reference.sqlite3"
    write_reference(
        settings.REFERENCE_FILE, ROWS, PROPERTIES, {"source": "a small reference (invented), tables"}
    )


@pytest.fixture
def steward(client, db):
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.usefixtures("reference")
@pytest.mark.parametrize("typed", ["Acetic Anhydride", "ethanoic anhydride", "108-24-7", "CAS 108–24–7"])
def test_a_name_or_a_cas_number_brings_suggestions_each_with_its_source(typed):
    found = look_up(typed).suggestions
    assert found["name"].fills == {"name": "acetic anhydride"}
    assert found["name"].source == "a small reference (invented)"
    assert (found["density"].shown, found["density"].source) == (
        "1.082 g/mL at 20 °C",
        "Table D of a handbook",
    )
    assert found["is_liquid"].shown == "melts at -73.1 °C, boils at 139.5 °C: a liquid"
    assert (found["boiling_point"].shown, found["boiling_point"].source) == (
        "139.5 °C",
        "Table M of a handbook",
    )


@pytest.mark.usefixtures("reference")
def test_a_formula_is_never_resolved():
    looked = look_up("C4H6O3")
    assert looked.record is None
    assert "'C4H6O3' is a formula, and many substances share one" in looked.refusal


@pytest.mark.usefixtures("reference")
def test_a_wrong_check_digit_is_named_before_anything_is_looked_up():
    assert "the check digit should be 7 for 108-24, not 8" in look_up("108-24-8").refusal


@pytest.mark.usefixtures("reference")
def test_a_name_of_two_substances_is_asked_not_guessed():
    looked = look_up("blue oil")
    assert looked.record is None
    assert {hit.cas for hit in looked.choices} == {"62-53-3", "100-01-6"}


@pytest.mark.usefixtures("reference")
def test_an_unknown_name_is_said_to_be_unknown():
    assert look_up("unobtainium phosphate").is_missing


def test_without_the_file_the_page_says_how_to_build_it(steward, settings, tmp_path):
    settings.REFERENCE_FILE = tmp_path / "nothing.sqlite3"
    page = steward.get(reverse("substance-add"), {"look": "aniline"}).content.decode()
    assert "manage.py reference" in page
    assert 'name="name"' in page


@pytest.mark.usefixtures("reference")
def test_nothing_is_filled_in_before_it_is_ticked(steward):
    page = steward.get(reverse("substance-add"), {"look": "acetic anhydride"})
    form = page.context["page"].form
    assert not form["cas"].value()
    assert "Suggested, from Table D of a handbook; not verified." in page.content.decode()


ASKED = {"look": "108-24-7", "name": "", "moisture": "proposed", "peroxide": "proposed"}


@pytest.mark.usefixtures("reference")
def test_only_ticked_fields_are_filled_in_and_keep_their_source(steward):
    steward.post(
        reverse("substance-add"), {**ASKED, "take_name": "on", "take_smiles": "on", "take_density": "on"}
    )
    made = Substance.objects.get()
    assert (made.name, made.cas, made.density_g_per_mL, made.density_at_celsius) == (
        "acetic anhydride",
        "",
        1.082,
        20,
    )
    assert made.sources["density"].startswith("Table D of a handbook; confirmed by W. Halloran")
    assert "cas" not in made.sources


@pytest.mark.usefixtures("reference")
def test_a_boiling_point_is_taken_with_its_source_and_shown_with_it(steward):
    steward.post(reverse("substance-add"), {**ASKED, "take_name": "on", "take_boiling_point": "on"})
    made = Substance.objects.get()
    assert made.boiling_point_celsius == 139.5
    assert made.sources["boiling_point"].startswith("Table M of a handbook; confirmed by W. Halloran")
    assert "139.5 °C" in steward.get(reverse("substance", args=[made.pk])).content.decode()


@pytest.mark.usefixtures("reference")
def test_what_was_typed_is_never_overwritten(steward):
    typed = {
        **ASKED,
        "name": "our own name",
        "take_name": "on",
        "density": "1.08 g/mL",
        "density_at": "25",
        "take_density": "on",
    }
    steward.post(reverse("substance-add"), typed)
    made = Substance.objects.get()
    assert (made.name, made.density_g_per_mL, made.density_at_celsius) == ("our own name", 1.08, 25)
    assert made.sources["density"].startswith("entered by W. Halloran")


@pytest.mark.usefixtures("reference")
def test_filling_in_keeps_nothing_yet_and_draws_the_structure(steward):
    page = steward.post(reverse("substance-add"), {**ASKED, "take_smiles": "on", "fill": "look"})
    assert page.status_code == 200
    assert not Substance.objects.exists()
    assert page.context["page"].form["smiles"].value() == "CC(=O)OC(C)=O"
    assert page.context["page"].proposed.moisture.startswith("acid anhydride")


@pytest.mark.usefixtures("reference")
def test_a_look_up_of_a_known_substance_leaves_its_fields_alone(steward):
    pk = substance(ANILINE).pk
    page = steward.get(reverse("substance-edit", args=[pk]), {"look": "aniline"}).content.decode()
    assert 'value="1.022 g/mL"' in page
    assert "The reference data says the same" in page


@pytest.mark.usefixtures("reference")
def test_another_spelling_of_the_same_structure_is_the_same(steward):
    page = steward.post(reverse("substance-add"), {**ASKED, "smiles": "O=C(C)OC(=O)C", "fill": "look"})
    assert page.context["page"].offered["smiles"]["is_same"]


@pytest.mark.usefixtures("reference")
def test_looking_up_what_is_on_the_list_leads_there(steward):
    known = substance(ANILINE)
    page = steward.get(reverse("substance-add"), {"look": "aminobenzene"}).content.decode()
    assert "It is on the list already" in page
    assert reverse("substance", args=[known.pk]) in page


def test_a_folder_that_is_missing_stops_the_building(settings, tmp_path):
    settings.REFERENCE_FILE = tmp_path / "missing" / "reference.sqlite3"
    with pytest.raises(CommandError, match="cannot be written"):
        call_command("reference", verbosity=0)
