"""An equation is read by formulae or by names, and kept only if it conserves."""

from fractions import Fraction

import pytest

from batches.drafts import read_preparation, substance_called
from batches.models import LineRole
from labstock.stock.models import Synonym
from tests.builders import ACETANILIDE, ACETIC_ACID, ANHYDRIDE, ANILINE, refused, substance

pytestmark = pytest.mark.django_db


def shelf():
    return [substance(about) for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID)]


def test_formulae_and_names_make_the_same_lines():
    shelf()
    by_formula = read_preparation("C6H7N + C4H6O3 -> C8H9NO + C2H4O2")
    by_name = read_preparation("aniline + acetic anhydride = acetanilide + acetic acid")
    assert [draft.substance for draft in by_formula] == [draft.substance for draft in by_name]
    assert [draft.role for draft in by_name] == [LineRole.REACTANT] * 2 + [LineRole.PRODUCT] * 2
    assert [draft.name for draft in by_name][1] == "acetic anhydride"


def test_an_equation_without_spaces_is_read_too():
    assert [d.name for d in read_preparation("C6H7N+C4H6O3->C8H9NO+C2H4O2")] == [
        "C6H7N", "C4H6O3", "C8H9NO", "C2H4O2",
    ]  # fmt: skip


def test_a_synonym_in_any_case_finds_its_substance():
    Synonym.objects.create(substance=substance(ANILINE), name="Phenylamine")
    assert substance_called("phenylAMINE") == substance(ANILINE)


def test_coefficients_left_out_are_worked_out_where_conservation_decides_them():
    # OpenStax, Chemistry 2e, 4.1 (m68709): 2 C2H6 + 7 O2 -> 6 H2O + 4 CO2
    found = read_preparation("C2H6 + O2 -> H2O + CO2")
    assert [draft.coefficient for draft in found] == [2, 7, 6, 4]


def test_a_number_belongs_to_the_name_or_stands_before_it():
    substance({"name": "1-butanol", "formula": "C4H10O"})
    found = read_preparation("2 1-butanol -> C8H18O + H2O")
    assert (found[0].name, found[0].coefficient) == ("1-butanol", Fraction(2))


def test_a_decimal_comma_and_a_fraction_are_coefficients():
    found = read_preparation("H2 + 0,5 O2 -> H2O")
    assert found[1].coefficient == Fraction(1, 2)
    assert read_preparation("H2 + 1/2 O2 -> H2O")[1].coefficient == Fraction(1, 2)


def test_ions_keep_their_charge():
    # OpenStax, Chemistry 2e, 4.2 (m68710): Cr2O7^2- + 6 Fe2+ + 14 H+ -> 2 Cr3+ + 6 Fe3+ + 7 H2O
    found = read_preparation("Cr2O7^2- + 6 Fe2+ + 14 H+ -> 2 Cr3+ + 6 Fe3+ + 7 H2O")
    assert [draft.coefficient for draft in found] == [1, 6, 14, 2, 6, 7]


def test_refuses_an_equation_that_does_not_conserve_atoms():
    with refused(r"does not conserve: H: 12 on the left, 13 on the right") as caught:
        read_preparation("1 C6H6N + C4H6O3 -> C8H9NO + C2H4O2")
    assert caught.value.code == "not-conserved"


def test_refuses_an_equation_that_does_not_conserve_charge():
    with refused(r"charge: \+2 on the left, \+3 on the right"):
        read_preparation("Fe2+ -> Fe3+")


def test_wrong_coefficients_are_not_mended_silently_and_the_right_ones_are_offered():
    with refused(r"It would as 2 H2 \+ O2 -> 2 H2O") as caught:
        read_preparation("2 H2 + 2 O2 -> 2 H2O")
    assert caught.value.parts["suggestion"] == "2 H2 + O2 -> 2 H2O"


def test_where_several_balances_exist_the_person_is_asked():
    # salicylic acid and acetic anhydride have two independent balances
    with refused("if another is meant, give") as caught:
        read_preparation("C7H6O3 + C4H6O3 -> C9H8O4 + C2H4O2 + H2O")
    assert caught.value.code == "balance-many"


def test_one_composition_and_two_substances_are_never_chosen_between():
    substance({"name": "propan-1-ol", "formula": "C3H8O"})
    substance({"name": "propan-2-ol", "formula": "C3H8O"})
    assert read_preparation("C3H8O -> C3H6 + H2O")[0].substance is None


def test_a_formula_finds_its_substance_however_that_is_written():
    soda = substance({"name": "sodium hydrogen carbonate", "formula": "NaHCO3"})
    assert read_preparation("CHNaO3 + HCl -> NaCl + H2O + CO2")[0].substance == soda


@pytest.mark.parametrize("text", ["", "C6H7N + C4H6O3", "A -> B -> C", "-> H2O"])
def test_refuses_what_is_no_equation(text):
    with refused("write what goes in, one arrow ->, and what comes out"):
        read_preparation(text)


def test_refuses_a_name_that_is_not_on_the_list():
    with refused("'marit's powder' is neither a name on the substance list nor a formula"):
        read_preparation("marit's powder -> H2O")


def test_a_substance_without_a_formula_says_so():
    substance({"name": "celite"})
    with refused("celite has no formula on the substance list"):
        read_preparation("celite -> H2O")
