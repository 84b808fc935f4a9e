from datetime import date

import pytest
from django.urls import reverse

from labstock.stock.actions.catalogue import add_substance, change_substance
from labstock.stock.models import Container, Substance
from tests.builders import ANHYDRIDE, ANILINE, container, lot, person, refused, session, substance

TYPED = {
    "name": "acetic anhydride", "synonyms": "Ac2O\nethanoic anhydride", "cas": "108-24-7", "smiles": "CC(=O)OC(C)=O",
    "density": "1.082 ± 0.001 g/mL (k=2)", "density_at": "20 °C", "density_source": "a handbook", "is_liquid": "on",
    "hazards": "H226 3\nH302, 4\nH314 (1B)", "moisture": "proposed", "peroxide": "proposed",
}  # fmt: skip


@pytest.fixture
def steward(client, db):
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def errors(response):
    assert response.status_code == 422
    form = response.context["page"].form
    return {name: " ".join(found) for name, found in form.errors.items()}


def test_a_substance_is_added_with_everything_that_follows_from_its_structure(steward):
    response = steward.post(reverse("substance-add"), TYPED)
    made = Substance.objects.get()
    assert response.url == reverse("substance", args=[made.pk])
    assert made.formula == "C4H6O3"
    # molar mass of C4H6O3: 102.09 (Commission on Isotopic Abundances and Atomic Weights, abridged weights 2021:
    # 4 × 12.011 + 6 × 1.008 + 3 × 15.999 = 102.089)
    assert made.molar_mass_g_per_mol == pytest.approx(102.089, abs=0.002)
    assert made.molar_mass.std_dev == pytest.approx(0.0025, rel=0.05)
    assert (made.density_g_per_mL, made.density_u_g_per_mL, made.density_at_celsius) == (1.082, 0.0005, 20)
    assert made.hazards == [["H226", "3"], ["H302", "4"], ["H314", "1B"]]


def test_flags_are_proposed_from_the_structure_with_the_reason(steward):
    steward.post(reverse("substance-add"), TYPED)
    made = Substance.objects.get()
    assert made.is_moisture_sensitive
    assert made.moisture_because.startswith("acid anhydride: ")
    assert not made.is_peroxide_former


def test_deciding_against_the_proposal_needs_a_reason(steward):
    found = errors(steward.post(reverse("substance-add"), {**TYPED, "moisture": "no"}))
    assert "The structure says it is moisture-sensitive (acid anhydride" in found["moisture_because"]
    assert not Substance.objects.exists()


def test_a_decision_with_its_reason_is_kept(steward):
    steward.post(
        reverse("substance-add"), {**TYPED, "peroxide": "yes", "peroxide_because": "seen in an old bottle"}
    )
    made = Substance.objects.get()
    assert (made.is_peroxide_former, made.peroxide_because) == (True, "seen in an old bottle")


def test_without_a_structure_nothing_is_proposed_and_a_yes_needs_a_reason(steward):
    typed = {"name": "old varnish", "moisture": "yes", "peroxide": "proposed"}
    assert (
        "Without a structure nothing is proposed"
        in errors(steward.post(reverse("substance-add"), typed))["moisture_because"]
    )


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("cas", "108-24-8", "the check digit should be 7 for 108-24, not 8"),
        ("smiles", "CC(=O", "is no readable SMILES"),
        ("formula", "C4H6O4", "two different things"),
        ("molar_mass", "202.09", "does not fit the formula C4H6O3, which weighs 102.08"),
        ("molar_mass", "-3", "below zero"),
        ("density", "1.082 g", "is a mass"),
        ("density", "1082 g/mL", "lies between 0.01 and 25 g/mL"),
        ("density", "1,082 g/mL", "Do you mean 1.082 g/mL or 1082 g/mL?"),
        ("density_at", "", "A density holds at a temperature"),
        ("hazards", "H999", "no hazard statement known here"),
        ("hazards", "H314 7", "H314 has no category 7"),
        ("name", "", "It is empty"),
    ],
)
def test_a_bad_value_is_named_and_everything_typed_is_kept(steward, field, typed, words):
    response = steward.post(reverse("substance-add"), {**TYPED, field: typed})
    assert words in errors(response)[field].replace("\u00a0", " ")
    assert response.context["page"].form["synonyms"].value() == TYPED["synonyms"]
    assert not Substance.objects.exists()


def test_a_cas_number_that_is_on_the_list_is_refused_with_its_owner(steward):
    substance(ANHYDRIDE)
    found = errors(
        steward.post(reverse("substance-add"), {**TYPED, "name": "something else", "synonyms": ""})
    )
    assert "CAS number 108-24-7 belongs to acetic anhydride" in found["__all__"]


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["Aniline", "PHENYLAMINE", "phenylamine"])
def test_a_name_that_is_taken_meets_its_substance(name):
    add_substance(by=person("wren"), name="aniline", synonyms=["phenylamine"])
    with refused("already (the name of a substance|another name of aniline) on the list"):
        add_substance(by=person("wren"), name=name)


@pytest.mark.django_db
def test_another_name_that_is_taken_is_refused_and_nothing_is_kept():
    add_substance(by=person("wren"), name="aniline")
    with refused("'aniline' is already the name of a substance"):
        add_substance(by=person("wren"), name="acetic acid", synonyms=["aniline"])
    assert Substance.objects.count() == 1


def test_a_double_press_adds_it_once(steward):
    steward.post(reverse("substance-add"), TYPED)
    again = steward.post(reverse("substance-add"), TYPED)
    assert again.status_code == 422
    assert Substance.objects.count() == 1


@pytest.mark.django_db
def test_containers_are_found_by_a_new_name_at_once():
    bottle = container(ANILINE)
    change_substance(substance=substance(ANILINE), by=person("wren"), synonyms=["phenylamine"])
    assert Container.objects.get(search_text__contains="phenylamine") == bottle


def test_opening_the_form_and_pressing_keep_changes_nothing(steward):
    steward.post(reverse("substance-add"), {**TYPED, "peroxide": "yes", "peroxide_because": "seen"})
    before = Substance.objects.values().get()
    edit = reverse("substance-edit", args=[before["id"]])
    form = steward.get(edit).context["page"].form
    again = {
        name: "on" if form[name].value() is True else form[name].value()
        for name in form.fields
        if form[name].value()
    }
    assert steward.post(edit, again).status_code == 302
    assert Substance.objects.values().get() == before


def test_a_changed_number_loses_the_source_it_had(steward):
    steward.post(reverse("substance-add"), TYPED)
    edit = reverse("substance-edit", args=[Substance.objects.get().pk])
    steward.post(edit, {**TYPED, "density": "1.09 g/mL", "density_source": ""})
    assert Substance.objects.get().sources["density"].startswith("entered by W. Halloran")


@pytest.mark.django_db
def test_the_page_answers_how_much_is_usable_in_all(client):
    first, _ = container(ANILINE), container(ANILINE)
    client.force_login(person("marit"), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("substance", args=[first.substance_id]))
    # 2 × (100 mL − 1.5 mL heel)
    assert page.context["page"].totals[0].startswith("197.0")
    assert f"{reverse('plan-start')}?substance={first.substance_id}" in page.content.decode()


@pytest.mark.django_db
def test_what_is_past_its_date_comes_last_and_opened_before_sealed(client):
    sealed = container(ANILINE)
    opened = container(ANILINE)
    Container.objects.filter(pk=opened.pk).update(opened_on=date(2026, 10, 1))
    past = container(ANILINE, lot=lot(ANILINE, number="old", expires_on=date(2020, 1, 1)))
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    page = client.get(reverse("substance", args=[sealed.substance_id])).context["page"]
    assert [row.container.pk for row in page.standing] == [opened.pk, sealed.pk, past.pk]


@pytest.mark.django_db
def test_a_viewer_sees_no_way_to_change_and_is_refused(client):
    pk = substance(ANILINE).pk
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    assert (
        reverse("substance-edit", args=[pk])
        not in client.get(reverse("substance", args=[pk])).content.decode()
    )
    assert client.get(reverse("substance-edit", args=[pk])).status_code == 403
    assert client.get(reverse("substance-add")).status_code == 403


@pytest.mark.django_db
def test_the_list_takes_few_queries_and_finds_by_any_name(client, django_assert_max_num_queries):
    add_substance(by=person("wren"), name="aniline", synonyms=["phenylamine"], cas="62-53-3")
    add_substance(by=person("wren"), name="acetic acid")
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    with django_assert_max_num_queries(12):
        page = client.get(reverse("substance-list"), {"q": "PHENYL"}).content.decode()
    assert ">aniline</a>" in page
    assert ">acetic acid</a>" not in page


@pytest.mark.django_db
def test_the_page_takes_few_queries(client, django_assert_max_num_queries):
    bottles = [container(ANILINE) for _ in range(4)]
    session()
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    with django_assert_max_num_queries(12):
        client.get(reverse("substance", args=[bottles[0].substance_id]))


def test_a_boiling_point_is_kept_with_its_source_and_one_that_is_not_known_is_said(steward):
    steward.post(reverse("substance-add"), TYPED | {"boiling_point": "139.5 °C"})
    made = Substance.objects.get()
    assert made.boiling_point_celsius == 139.5
    assert made.sources["boiling_point"].startswith("entered by W. Halloran")
    steward.post(reverse("substance-edit", args=[made.pk]), TYPED | {"boiling_point": ""})
    assert Substance.objects.get().boiling_point_celsius is None
    page = steward.get(reverse("substance", args=[made.pk])).content.decode()
    assert "no allowance for evaporation is made" in page


def test_a_boiling_point_of_water_in_kelvin_is_read_and_nonsense_is_refused(steward):
    steward.post(reverse("substance-add"), TYPED | {"boiling_point": "373.15 K"})
    assert Substance.objects.get().boiling_point_celsius == pytest.approx(100)
    said = errors(
        steward.post(
            reverse("substance-add"), TYPED | {"name": "other", "cas": "", "boiling_point": "9000 °C"}
        )
    )
    assert "boiling_point" in said
