"""The bench sums as pages: every subject answers, every number carries unit, ± and source."""

import re
from html import unescape
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from labstock.bench.sums.subjects import SUBJECTS
from tests import builders
from tests.batches import preparations

pytestmark = pytest.mark.django_db


@pytest.fixture
def marit(client):
    client.force_login(builders.person("marit"))
    return client


def page(client, subject: str, query: str = "", status: Any = 200, **fields: str) -> str:
    """Return the words of a page, spaces made plain."""
    response = client.get(f"{reverse('sum', args=[subject])}?{query}", fields or None)
    words = unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))
    text = " ".join(words.replace("\u00a0", " ").split())
    assert response.status_code == status, text
    return text


def number_after(text: str, label: str) -> float:
    """Return the first number that stands behind some words."""
    found = re.search(re.escape(label) + r"\D*?(−?\d+(?:\.\d+)?)", text)
    assert found, f"no number behind {label!r} in {text}"
    return float(found[1].replace("−", "-"))


@pytest.mark.parametrize("subject", SUBJECTS, ids=lambda subject: subject.slug)
def test_every_example_is_answered_with_unit_and_source(marit, subject):
    text = page(marit, subject.slug, subject.example)
    assert "Sources" in text
    assert subject.question in text


@pytest.mark.parametrize("subject", SUBJECTS, ids=lambda subject: subject.slug)
def test_every_subject_opens_empty(marit, subject):
    text = page(marit, subject.slug)
    assert text.count("Work it out") == len(subject.parts)
    assert "Sources" not in text


def test_the_list_leads_to_every_subject_and_the_head_leads_to_the_list(marit):
    html = marit.get(reverse("sums")).content.decode()
    assert all(f'href="{reverse("sum", args=[subject.slug])}"' in html for subject in SUBJECTS)
    assert f'<a href="{reverse("sums")}" aria-current="page">Sums</a>' in html


def test_a_viewer_may_work_sums_out_and_a_stranger_may_not(client):
    assert client.get(reverse("sums")).status_code == 302
    client.force_login(builders.person("kasimir"))
    assert client.get(reverse("sums")).status_code == 200


def test_an_unknown_subject_is_not_there(marit):
    assert marit.get("/sums/alchemy/").status_code == 404


def test_what_was_typed_stays_when_it_is_refused(marit):
    response = marit.get(reverse("sum", args=["amounts"]), {"ask": "read", "amount": "1,500 mL"})
    assert response.status_code == 422
    html = unescape(response.content.decode()).replace("\u00a0", " ")
    assert "Do you mean 1.5 mL or 1500 mL?" in html
    assert 'value="1,500 mL"' in html


def test_amounts_are_read_in_every_unit_with_devices(marit):
    text = page(marit, "amounts", ask="read", amount="5 mL", device="syringe-10")
    assert "in µL 5000" in text
    assert "5 000 000 nL" in text
    # ISO 7886-1, from memory: 4 % of 5 mL is 0.2 mL; u = 0.2/√3 = 0.115 mL, ± 4.6 %
    assert "10 mL syringe Limit" not in text
    assert "0.115 4.6 %" in text
    assert "ISO 7886-1" in text


def test_a_device_that_measures_something_else_is_refused(marit):
    text = page(marit, "amounts", status=422, ask="read", amount="5 g", device="syringe-10")
    assert "A 10 mL syringe measures mL, and the amount is in g" in text


def test_mass_volume_and_amount_go_through_purity_and_density(marit):
    fields = {"portion": "5.0 mL", "kind": "C4H6O3", "purity": "≥ 99 %", "density": "1.082 ± 0.001 g/mL"}
    text = page(marit, "amounts", ask="turn", **fields)
    # 5.0 mL · 1.082 g/mL = 5.41 g; · 0.995 / 102.089 g/mol = 52.73 mmol
    assert "52.73 ± 0.31 mmol of C4H6O3" in text
    assert "Mass, as it is in the bottle 5.4100" in text
    assert "purity Brings" not in text
    assert "Where the ± of the amount comes from" in text


def test_without_a_density_no_volume_is_guessed(marit):
    text = page(marit, "amounts", ask="turn", portion="5 mL", kind="C4H6O3")
    assert "The amount of C4H6O3 cannot be worked out yet" in text
    assert "nothing is guessed" in text


def test_a_density_is_carried_to_the_temperature_of_measuring(marit):
    fields = {"density": "1.0811", "density_at": "20 °C", "temperature": "25 °C", "expansion": "0.00112"}
    text = page(marit, "amounts", ask="turn", portion="5 mL", kind="C4H6O3", **fields)
    assert "Density used 1.0751" in text  # thermo 0.6.1, Perry's Handbook: 1.0751 g/mL at 25 °C


def test_a_formula_shows_its_molar_mass_element_by_element(marit):
    builders.substance(builders.ANHYDRIDE)
    text = page(marit, "formula", ask="formula", kind="C4H6O3")
    assert number_after(text, "Molar mass") == pytest.approx(102.0886, abs=0.002)  # NIST Chemistry WebBook
    assert "on the substance list with this composition: acetic anhydride" in text
    assert "CIAAW" in text
    assert "C 4 12.0106" in text


def test_a_formula_with_an_unknown_element_names_it(marit):
    assert "'Xx' is no element (character 3 of 'C2Xx')" in page(
        marit, "formula", status=422, ask="formula", kind="C2Xx"
    )


@pytest.mark.parametrize(
    ("equation", "answer"),
    [
        ("C2H6 + O2 -> H2O + CO2", "2 C2H6 + 7 O2 → 6 H2O + 4 CO2"),
        ("2 KMnO4 + 5 H2O2 + 3 H2SO4 -> K2SO4 + 2 MnSO4 + 5 O2 + 8 H2O", "It conserves atoms and charge as written"),
        ("2 KMnO4 + 5 H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O", "2 KMnO4 + 5 H2O2 + 3 H2SO4 → K2SO4 + 2 MnSO4 + 5 O2 + 8 H2O"),
        ("KMnO4 + H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O", "More than one balance: the coefficients are yours to give"),
        ("AgNO3 + NaCl -> AgCl + KNO3", "No balance exists"),
        ("CO2 + H2O -> CH4 + O2 + H2", "More than one balance"),
        ("2 H2 + 2 O2 -> 2 H2O", "It does not conserve"),
        ("CH4 + O2 + H2O -> CO2", "A substance stands on the wrong side"),
    ],
)  # fmt: skip
def test_an_equation_is_told_one_none_many_or_wrong_side(marit, equation, answer):
    text = page(marit, "equation", ask="check", equation=equation)
    assert answer in text
    assert "Left and right" in text


@pytest.mark.parametrize(
    ("fields", "before", "printed", "tolerance"),
    [
        # OpenStax, Chemistry 2e, m68703, m68704, m68716 and appendix F, with the printed answers
        ({"ask": "dilute", "stock": "5.00 mol/L", "taken": "850 mL", "final": "1.80 L"}, "It will be", 2.36, 0.005),
        ({"ask": "dilute", "stock": "1.59 M", "wanted": "0.100 M", "final": "5.00 L"}, "Take", 314, 0.5),
        ({"ask": "dilute", "stock": "0.45 M", "taken": "11 mL", "wanted": "0.12 M"}, "Make it up to", 41, 0.5),
        ({"ask": "by-mass", "stock": "68.0 %", "wanted": "10.0 % w/w", "mass": "400.0 g"}, "Weigh", 58.8, 0.05),
        ({"ask": "acid", "kind": "HNO3", "strength": "71 % w/w", "density": "1.42 g/mL"}, "71 % w/w is", 16.0, 0.11),
        ({"ask": "weighed", "kind": "Na2SO4·10H2O", "mass": "10.5 kg", "volume": "18.60 L"}, "Concentration", 1.75, 0.005),
        ({"ask": "titre", "titrant": "0.09113 M", "used": "23.24 mL", "sample": "20.00 mL", "ratio": "2.5"}, "The sample is", 0.2648, 0.0002),
        ({"ask": "make", "kind": "NaOH", "concentration": "2.77 mol/L", "volume": "1 L", "purity": "97.0 %"}, "Weigh", 114, 0.5),
    ],
)  # fmt: skip
def test_solutions_agree_with_the_textbook(marit, fields, before, printed, tolerance):
    assert number_after(page(marit, "solution", **fields), before) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"ask": "acid", "kind": "HCl", "strength": "37 %", "density": "1.18"}, "does not say which percent: write % w/w"),
        ({"ask": "acid", "kind": "HCl", "strength": "37 % w/w"}, "no density for HCl"),
        ({"ask": "dilute", "stock": "1 M", "taken": "5 mL"}, "Leave out the one of the three that is wanted"),
        ({"ask": "dilute", "stock": "1 M", "wanted": "2 M", "final": "5 mL"}, "diluting cannot make it stronger"),
        ({"ask": "make", "kind": "NaOH", "concentration": "5 g", "volume": "1 L"}, "'5 g' is a mass"),
        ({"ask": "titre", "titrant": "1 M", "used": "1 mL", "sample": "1 mL", "ratio": "-2"}, "give a number from 0.001 to 1000"),
    ],
)  # fmt: skip
def test_solutions_refuse_in_words(marit, fields, why):
    assert why in page(marit, "solution", status=422, **fields)


def test_a_yield_has_doubt_budget_and_limiting_reagent(marit):
    fields = {
        "equation": "CuSO4 + Zn -> Cu + ZnSO4",
        "portions": "CuSO4; 1.274 g\nZn; 5 g",
        "wanted": "Cu",
        "mass": "0.392 g ± 0.003 g",
    }
    text = page(marit, "preparation", ask="yield", **fields)
    assert "Yield 77.28 ± 0.68 %" in text  # OpenStax m68714: 77.3 %
    assert "Theoretical yield 0.5072" in text
    assert "CuSO4 limits" in text


def test_more_than_all_is_said_not_hidden(marit):
    fields = {
        "equation": "CuSO4 + Zn -> Cu + ZnSO4",
        "portions": "CuSO4; 1.274 g\nZn; 5 g",
        "wanted": "Cu",
        "mass": "0.6 g",
    }
    text = page(marit, "preparation", ask="yield", **fields)
    assert "is more than can be: the product may be wet or impure" in text


def test_a_line_that_cannot_be_read_is_named(marit):
    fields = {
        "equation": "CuSO4 + Zn -> Cu + ZnSO4",
        "portions": "CuSO4; 1.274 g\nZn, 5 g",
        "wanted": "Cu",
        "mass": "1 g",
    }
    text = page(marit, "preparation", status=422, ask="yield", **fields)
    assert "Line 2: 'Zn, 5 g' is not read: part it by semicolons" in text


STRENGTH = {
    "ask": "strength", "kind": "C4H6O3", "claim": "≥ 99 %", "water": "anhydride", "content": "400 g",
    "opened_on": "2026-03-02", "openings": "20", "headspace": "150 mL", "cap": "worn", "planned": "1.05",
    "dispensed": "10 g",
}  # fmt: skip


def test_a_worn_bottle_asks_for_an_assay(marit):
    text = page(marit, "strength", **STRENGTH)
    assert "measure before you start" in text
    assert "not a measurement" in text
    assert "leak of the cap" in text
    assert "Base needed on top" in text


def test_an_assay_goes_before_the_label_and_needs_no_model(marit):
    fields = STRENGTH | {"water": "takes up no water", "assay": "93.6 ± 0.4 %", "assayed_on": "2026-10-09"}
    text = page(marit, "strength", **fields)
    assert "Dose by 93.60 ± 0.40 %" in text
    assert "at 93.6 % your 1.05 equiv is 0.99: measure before you start" in text


def test_a_strength_without_any_claim_is_refused(marit):
    text = page(marit, "strength", status=422, **(STRENGTH | {"claim": ""}))
    assert "Nothing says how strong it was" in text


def test_a_bottle_fills_in_its_own_history(marit):
    bottle = builders.container(lot=builders.lot(purity_percent=98))
    html = unescape(marit.get(reverse("sum", args=["strength"]), {"container": bottle.code}).content.decode())
    assert 'value="≥ 98 %"' in html
    assert 'value="acetic anhydride"' in html
    assert 'value="108.2 g"' in html  # 100 mL · 1.082 g/mL
    assert f'name="container" value="{bottle.code}"' in html
    assert '<option value="sealed" selected>' in html
    assert '<option value="anhydride" selected>' in html


def test_a_code_that_leads_nowhere_is_said(marit):
    text = page(marit, "strength", status=422, container="TQ 9999 9")
    assert "Nothing could be filled in." in text


QUENCH = {
    "ask": "quench",
    "reagent": "acetic anhydride",
    "charged": "10 mL",
    "density": "1.082",
    "cooling": "20 W",
}


def test_a_quench_is_worked_out_on_the_safe_side_with_cautions(marit):
    text = page(marit, "quench", **QUENCH, neutraliser="sodium hydrogen carbonate")
    # by hand: 106 mmol; 0.212 mol acid takes 17.8 g NaHCO3 and sets 5.1 L CO2 free at 20 °C
    assert "Sodium hydrogen carbonate needed ≤ 17.8 g" in text
    assert "Gas set free ≤ 5.1 L" in text
    assert "Water first into the vessel" in text
    assert "in a 500 mL vessel" in text
    assert "university guides to quenching" in text


def test_no_thermochemistry_gives_no_number(marit):
    text = page(marit, "quench", **(QUENCH | {"reagent": "paracetamol"}))
    assert "No thermochemistry for paracetamol: ask" in text
    assert "Heat of the hydrolysis" not in text


def test_a_substance_with_heat_that_water_leaves_alone_is_asked_about_too(marit):
    assert "No thermochemistry for" in page(marit, "quench", **(QUENCH | {"reagent": "benzoic acid"}))


def test_a_quench_without_density_is_refused(marit):
    text = page(marit, "quench", status=422, **(QUENCH | {"density": ""}))
    assert "no density for acetic anhydride" in text


def test_too_little_water_is_a_caution(marit):
    text = page(marit, "quench", **QUENCH, volumes="1")
    assert "would heat up by" in text
    assert "take at least" in text


ISOLATION = [
    ({"ask": "crystals", "mass": "5.0 g", "solvent": "100 mL", "hot": "5.5", "cold": "0.53"}, "4.47 g back, 89.4 %"),
    ({"ask": "drying", "wet": "21.000 g", "dry": "20.995 g", "vessel": "20.000 g"}, "0.5 % lost on drying"),
    ({"ask": "balance", "went_in": "all; 100 g", "came_out": "product; 20 g\nwaste; 77 g"}, "3.0 % unexplained: nothing to explain"),
    ({"ask": "balance", "went_in": "all; 100 g", "came_out": "product; 20 g"}, "80.0 % unexplained: find out where"),
    ({"ask": "melting", "low": "113.5 °C", "high": "115 °C", "book_low": "114.3 °C", "book_high": "115 °C"}, "Agrees with the literature"),
    ({"ask": "melting", "low": "105 °C", "high": "111 °C", "book_low": "114.3 °C"}, "impure or wet"),
]  # fmt: skip


@pytest.mark.parametrize(("fields", "answer"), ISOLATION)
def test_isolation_answers_first(marit, fields, answer):
    assert answer in page(marit, "isolation", **fields)


def test_greenness_counts_everything_and_the_equation(marit):
    fields = {
        "equation": "C6H7N + C4H6O3 -> C8H9NO + C2H4O2", "wanted": "C8H9NO", "product": "10 g",
        "reactants": "aniline; 10 g\nacetic anhydride; 12 g", "others": "water; 98 g", "percent_yield": "69",
    }  # fmt: skip
    text = page(marit, "isolation", ask="green", **fields)
    assert number_after(text, "Atom economy") == pytest.approx(69.24, abs=0.01)  # by hand from CIAAW weights
    assert "Process mass intensity 12 g/g" in text
    assert "E factor 11 g/g" in text


def test_greenness_of_an_equation_that_does_not_balance_is_refused(marit):
    fields = {"equation": "C6H7N -> C8H9NO", "wanted": "C8H9NO", "product": "1 g", "reactants": "a; 2 g"}
    assert "does not conserve" in page(marit, "isolation", status=422, ask="green", **fields)


def test_a_budget_agrees_with_the_cadmium_standard(marit):
    # EURACHEM/CITAC QUAM, 2nd ed., example A1: 1002.7 mg/L, u 0.9
    terms = "mass; 100.28 mg ± 0.1 mg (k=2)\npurity; 99.99 % ± 0.01 %\nvolume; 0.1000 L ± 0.00014 L (k=2)"
    text = page(marit, "doubt", ask="budget", expression="over last", terms=terms)
    assert "1002.7 ± 1.7 mg/L" in text
    assert "volume" in text


def test_few_readings_widen_the_coverage_factor(marit):
    # JCGM 100:2008, H.1: 16 degrees of freedom, t99 = 2.92
    terms = "standard; 50000623 nL ± 50 nL (k=2); 18\ndifference; 215 nL ± 19.4 nL (k=2); 25.6\nexpansion; 0 nL ± 5.8 nL (k=2); 50\ntemperature; 0 nL ± 33.2 nL (k=2); 2"
    text = page(marit, "doubt", ask="budget", expression="sum", terms=terms, coverage="0.99")
    assert "Coverage factor k 2.92" in text
    assert "Effective degrees of freedom 16.8" in text


@pytest.mark.parametrize(
    ("terms", "why"),
    [
        ("mass; 5 g", "1 input is no budget"),
        ("mass; 5 g\nmass; 6 g", "Two lines are called mass"),
        ("mass; 5 g; 0\nvolume; 5 mL", "'0' degrees of freedom for mass cannot be"),
        ("mass\nvolume; 5 mL", "Line 1: 'mass' is not read"),
        ("mass; 5 ML\nvolume; 5 mL", "Line 1: '5 ML' cannot be read"),
    ],
)
def test_a_budget_refuses_in_words(marit, terms, why):
    assert why in page(marit, "doubt", status=422, ask="budget", expression="product", terms=terms)


def test_a_sum_of_different_dimensions_is_refused(marit):
    text = page(marit, "doubt", status=422, ask="budget", expression="sum", terms="mass; 5 g\nvolume; 5 mL")
    assert "cannot be turned into g" in text


PUBLISHED = "b3 0 104.8; b3 3 103.0; b3 3 101.2; b3 6 100.8; b3 6 99.2; b3 12 98.6; b3 12 97.2; b3 24 97.6; b3 24 98.0; b4 0 104.0; b4 3 103.2; b4 6 102.8; b4 6 103.3; b4 12 102.4; b4 12 101.2; b4 24 99.1; b4 24 99.5; b5 0 102.0; b5 1 101.4; b5 2 100.8; b5 3 100.2; b5 3 99.7; b5 6 98.8; b5 6 98.5; b5 12 98.0; b5 12 97.1; b5 24 96.6; b5 24 96.1"


@pytest.mark.parametrize("sign", ["\t", "; ", ", ", " "])
def test_shelf_life_reproduces_the_published_set_however_it_is_pasted(marit, sign):
    # J. Valid. Technol. 17(3), 2011, 47-68, table VII and fig. 6: 23.4 months, batch b5 decides
    rows = (
        "Batch"
        + sign
        + "month"
        + sign
        + "value\n"
        + "\n".join(sign.join(row.split()) for row in PUBLISHED.split("; "))
    )
    text = page(marit, "shelf-life", ask="fit", rows=rows, limit="95")
    assert "23.4 months by the model" in text
    assert "The batch that decides b5" in text
    assert "21.738" in text
    assert "same slopes? 0.183" in text


def test_a_row_that_is_no_value_is_named(marit):
    text = page(marit, "shelf-life", status=422, ask="fit", rows="A 0 100\nA three 99", limit="95")
    assert "Line 2: 'A three 99' is not read as batch, month and value" in text


def test_two_points_are_not_enough(marit):
    text = page(marit, "shelf-life", status=422, ask="fit", rows="A 0 100\nA 3 99", limit="95")
    assert "not enough: batch A has 2 of the 3 points" in text


def test_an_age_is_a_range_with_bounds(marit):
    text = page(marit, "age", ask="age", edtf="1984?", on="2026-11-25")
    assert "41 years 10 months 25 days (15 304 days)" in text
    assert "42 years 10 months 24 days (15 669 days)" in text
    assert "uncertain: it may be another date" in text


def test_open_and_unknown_ends_are_kept_apart(marit):
    assert "First possible day open: no limit is stated" in page(marit, "age", ask="age", edtf="../1939")
    assert "First possible day not known: there is a limit" in page(marit, "age", ask="age", edtf="/1939")


def test_two_dates_may_be_not_decidable(marit):
    assert "Not decidable" in page(marit, "age", ask="order", first="1984?", second="1984-06")
    assert "The first is the earlier" in page(marit, "age", ask="order", first="1894", second="193X")


def test_a_label_offers_every_reading(marit):
    text = page(marit, "age", ask="label", label="12/11/1894")
    assert "2 readings: choose one" in text
    assert "Age of 1894-12-11" in text


def test_a_label_without_a_date_says_what_to_do(marit):
    assert "No date is recognised in 'mauve'" in page(marit, "age", status=422, ask="label", label="mauve")


def test_a_name_on_the_list_counts_as_its_formula(marit):
    builders.substance(builders.ANILINE)
    text = page(marit, "formula", ask="formula", kind="Aniline")
    assert number_after(text, "Molar mass") == pytest.approx(
        93.1267, abs=0.004
    )  # five packages: 93.1265 to 93.129


def test_amounts_without_a_doubt_are_named(marit):
    text = page(marit, "solution", ask="dilute", stock="5 M ± 0.1 M", taken="85 mL", final="1 L")
    assert "Typed without ±, so taken as exact: volume of stock, final volume." in text


def test_what_people_type_is_never_markup(marit):
    response = marit.get(
        reverse("sum", args=["doubt"]),
        {"ask": "budget", "expression": "sum", "terms": "<b>x</b>; 5 g\ny; 6 g"},
    )
    assert response.status_code == 200
    assert b"<b>x</b>" not in response.content


def filled_in(client, subject: str, batch) -> str:
    """Return the page of a sum opened from a batch."""
    response = client.get(reverse("sum", args=[subject]), {"batch": batch.number})
    assert response.status_code == 200
    return unescape(response.content.decode())


def test_a_finished_batch_fills_in_what_is_left_by_mass_balance(marit):
    batch = preparations.finished(mass="6.02 g")
    html = filled_in(marit, "quench", batch)
    charged = re.search(r'name="charged" value="([\d.]+) ± [\d.]+ mmol \(k=2\)"', html)
    product = re.search(r'name="product" value="([\d.]+)', html)
    assert 'name="reagent" value="108-24-7"' in html
    # by hand: 6.02 g / 135.166 g/mol = 44.5 mmol at 100 %, less for what was found to be pure
    assert product
    assert charged
    assert 40 < float(product[1]) <= 44.54
    assert float(charged[1]) > float(product[1])


def test_a_planned_batch_takes_its_plan_for_the_quench(marit):
    html = filled_in(marit, "quench", preparations.planned())
    assert 'name="charged" value="72' in html  # 60 mmol of aniline, 1.2 equiv
    assert not re.search(r'name="product" value=', html)


def test_a_batch_fills_in_its_balance_and_its_greenness(marit):
    html = filled_in(marit, "isolation", preparations.finished(mass="6.02 g"))
    assert "acetic anhydride; " in html
    assert 'name="equation" value="C6H7N + C4H6O3 -> C8H9NO + C2H4O2"' in html
    assert "product; 6.02 g" in html


def test_a_batch_that_does_not_exist_is_said(marit):
    text = page(marit, "quench", status=422, batch="26-999")
    assert "There is no batch 26-999" in text


def test_the_links_of_a_record_lead_to_filled_in_sums(marit):
    html = render_to_string(
        "bench/sums/links.html", {"container": "TQ4817K", "batch": "26-117", "edtf": "1984?"}
    )
    for address in (
        "/sums/strength/?container=TQ4817K",
        "/sums/quench/?batch=26-117",
        "/sums/age/?ask=age&amp;edtf=1984%3F",
    ):
        assert f'href="{address}' in html
