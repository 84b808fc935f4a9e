"""Equations. Sources stand beside the lists."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labstock.chemistry.equation import accept, balance, complete, imbalance, number_text, parse_equation
from labstock.chemistry.errors import LabError


def coefficients(text: str) -> tuple[int, ...]:
    return balance(parse_equation(text)).coefficients


def refusal(function, *arguments) -> str:
    with pytest.raises(LabError) as caught:
        function(*arguments)
    return str(caught.value)


# OpenStax, Chemistry 2e (module), chempy 0.10.2 and chemicals 1.5.2 test suites, J. Chem. Educ.
PUBLISHED = [
    ("NH4NO3→N2+O2+H2O", (2, 2, 1, 4), "OpenStax m68709"),
    ("C2H6+O2→H2O+CO2", (2, 7, 6, 4), "OpenStax m68709"),
    ("(NH4)2Cr2O7→Cr2O3+N2+H2O", (1, 1, 1, 4), "OpenStax m68709"),
    ("Cu+HNO3→Cu(NO3)2+H2O+NO", (3, 8, 3, 4, 2), "OpenStax m68709"),
    ("Cr2O7²⁻+Fe²⁺+H⁺→Cr³⁺+Fe³⁺+H2O", (1, 6, 14, 2, 6, 7), "OpenStax m68710"),
    ("MnO4⁻+NO2⁻+H2O→MnO2+NO3⁻+OH⁻", (2, 3, 1, 2, 3, 2), "OpenStax m68710"),
    ("MnO4²⁻+H2O→MnO4⁻+OH⁻+MnO2", (3, 2, 2, 4, 1), "OpenStax m68710"),
    ("CN⁻+ClO2+H2O→CNO⁻+Cl⁻+H3O⁺", (5, 2, 3, 5, 2, 2), "OpenStax m68710"),
    ("MnO4⁻+Br⁻+H2O→MnO2+BrO3⁻+OH⁻", (2, 1, 1, 2, 1, 2), "OpenStax m68821"),
    ("NH4ClO4+Al→Al2O3+HCl+H2O+N2", (6, 10, 5, 6, 9, 3), "chempy tests/test_chemistry.py"),
    ("C7H5(NO2)3+NH4NO3→CO+H2O+N2", (2, 7, 14, 19, 10), "chempy tests/test_chemistry.py"),
    ("CuSCN+KIO3+HCl→CuSO4+KCl+HCN+ICl+H2O", (4, 7, 14, 4, 7, 4, 7, 5), "chempy tests/test_chemistry.py"),
    ("C12H22O11+KClO3→CO2+H2O+KCl", (1, 8, 12, 11, 8), "OpenStax m68727"),
    (
        "[Cr(N2H4CO)6]4[Cr(CN)6]3+KMnO4+H2SO4→K2Cr2O7+MnSO4+CO2+KNO3+K2SO4+H2O",
        (10, 1176, 1399, 35, 1176, 420, 660, 223, 1879),
        "J. Chem. Educ. 74 (1997) 1369",
    ),
    (
        "C100000H200000N+O2→CO2+H2O+NO2",
        (1, 150001, 100000, 100000, 1),
        "chemicals tests/test_reaction.py, ill-conditioned",
    ),
]


@pytest.mark.parametrize(("typed", "expected", "source"), PUBLISHED)
def test_published_equations_balance_exactly(typed, expected, source):
    found = balance(parse_equation(typed))
    assert (found.kind, found.coefficients) == ("one", expected), source


# Textbook equations written from memory; each is verified below by conservation and by uniqueness.
TEXTBOOK = """
2 H2 + O2 -> 2 H2O
N2 + 3 H2 -> 2 NH3
CH4 + 2 O2 -> CO2 + 2 H2O
2 C8H18 + 25 O2 -> 16 CO2 + 18 H2O
C6H12O6 + 6 O2 -> 6 CO2 + 6 H2O
C6H12O6 -> 2 C2H5OH + 2 CO2
Fe2O3 + 3 CO -> 2 Fe + 3 CO2
2 Fe2O3 + 3 C -> 4 Fe + 3 CO2
3 Fe + 4 H2O -> Fe3O4 + 4 H2
2 Al + Fe2O3 -> Al2O3 + 2 Fe
4 Al + 3 O2 -> 2 Al2O3
2 Al + 6 HCl -> 2 AlCl3 + 3 H2
2 Na + 2 H2O -> 2 NaOH + H2
CaCO3 + 2 HCl -> CaCl2 + H2O + CO2
Na2CO3 + 2 HCl -> 2 NaCl + H2O + CO2
NaHCO3 + HCl -> NaCl + H2O + CO2
2 NaHCO3 -> Na2CO3 + H2O + CO2
CaO + H2O -> Ca(OH)2
2 KClO3 -> 2 KCl + 3 O2
2 KMnO4 + 16 HCl -> 2 KCl + 2 MnCl2 + 5 Cl2 + 8 H2O
MnO2 + 4 HCl -> MnCl2 + Cl2 + 2 H2O
3 NO2 + H2O -> 2 HNO3 + NO
4 NH3 + 5 O2 -> 4 NO + 6 H2O
4 FeS2 + 11 O2 -> 2 Fe2O3 + 8 SO2
2 SO2 + O2 -> 2 SO3
P4O10 + 6 H2O -> 4 H3PO4
PCl5 + 4 H2O -> H3PO4 + 5 HCl
PCl3 + 3 H2O -> H3PO3 + 3 HCl
SOCl2 + H2O -> SO2 + 2 HCl
2 H3PO4 + 3 Ca(OH)2 -> Ca3(PO4)2 + 6 H2O
H2SO4 + 2 NaOH -> Na2SO4 + 2 H2O
BaCl2 + Na2SO4 -> BaSO4 + 2 NaCl
AgNO3 + NaCl -> AgCl + NaNO3
Zn + CuSO4 -> ZnSO4 + Cu
CuSO4·5H2O -> CuSO4 + 5 H2O
Na2CO3·10H2O -> Na2CO3 + 10 H2O
LiAlH4 + 4 H2O -> LiOH + Al(OH)3 + 4 H2
NaBH4 + 4 H2O -> NaB(OH)4 + 4 H2
NaH + H2O -> NaOH + H2
CaH2 + 2 H2O -> Ca(OH)2 + 2 H2
CaC2 + 2 H2O -> Ca(OH)2 + C2H2
C4H6O3 + H2O -> 2 C2H4O2
C6H7N + C4H6O3 -> C8H9NO + C2H4O2
C2H3ClO + H2O -> C2H4O2 + HCl
C6H7N + C2H3ClO -> C8H9NO + HCl
C4H4O3 + C6H7N -> C10H11NO3
C4H2O3 + C5H6 -> C9H8O3
C8H4O3 + 2 C6H6O2 -> C20H12O5 + 2 H2O
C4H9OH + NaBr + H2SO4 -> C4H9Br + NaHSO4 + H2O
5 Fe2+ + MnO4- + 8 H+ -> 5 Fe3+ + Mn2+ + 4 H2O
2 MnO4- + 5 C2O4^2- + 16 H+ -> 2 Mn2+ + 10 CO2 + 8 H2O
2 S2O3^2- + I2 -> S4O6^2- + 2 I-
IO3- + 5 I- + 6 H+ -> 3 I2 + 3 H2O
Cl2 + 2 OH- -> Cl- + ClO- + H2O
3 Cl2 + 6 OH- -> 5 Cl- + ClO3- + 3 H2O
Cu2+ + 2 e- -> Cu
MnO4- + 8 H+ + 5 e- -> Mn2+ + 4 H2O
Ag+ + 2 NH3 -> [Ag(NH3)2]+
2 K4[Fe(CN)6] + Cl2 -> 2 K3[Fe(CN)6] + 2 KCl
""".strip().splitlines()


@pytest.mark.parametrize("typed", TEXTBOOK)
def test_textbook_equations_from_memory_verified_by_conservation(typed):
    written = parse_equation(typed)
    assert imbalance(written) == []
    assert balance(written).kind == "one"
    assert balance(written).coefficients == written.coefficients


# computed (linear algebra); OpenStax and other books print one of the answers
@pytest.mark.parametrize(
    "typed",
    [
        "C2H6+O2→CO2+CO+H2O", "C6H14+O2→CO2+CO+H2O", "Cu+HNO3→Cu(NO3)2+NO+NO2+H2O",
        "KMnO4+H2O2+H2SO4→K2SO4+MnSO4+O2+H2O", "KClO3+HCl→KCl+ClO2+Cl2+H2O",
    ],
)  # fmt: skip
def test_more_than_one_balance_is_told(typed):
    found = balance(parse_equation(typed))
    assert (found.kind, found.nullity) == ("many", 2)
    assert "Conservation allows more than one balance (2 independent ones)" in found.words
    assert imbalance(parse_equation(typed).with_coefficients(found.coefficients)) == []


# Two everyday acylations: salicylic acid and 4-aminophenol with acetic anhydride, 1 : 1 in any lab book.
@pytest.mark.parametrize(
    "typed", ["C7H6O3 + C4H6O3 -> C9H8O4 + C2H4O2", "C6H7NO + C4H6O3 -> C8H9NO2 + C2H4O2"]
)
def test_everyday_acylations_are_proposed_one_to_one(typed):
    assert coefficients(typed) == (1, 1, 1, 1)


def test_the_textbook_peroxide_titration_is_accepted_though_not_the_smallest():
    """2 : 5 : 3, as every textbook has it (from memory); conservation alone proposes less peroxide."""
    typed = "2 KMnO4 + 5 H2O2 + 3 H2SO4 -> K2SO4 + 2 MnSO4 + 5 O2 + 8 H2O"
    assert accept(parse_equation(typed)).coefficients == (2, 5, 3, 1, 2, 5, 8)
    assert coefficients(typed) != (2, 5, 3, 1, 2, 5, 8)


def test_blanks_follow_from_the_coefficients_given():
    typed = "2 KMnO4 + 5 H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O"
    assert complete(parse_equation(typed)).coefficients == (2, 5, 3, 1, 2, 5, 8)
    assert complete(parse_equation("1/2 O2 + H2 -> H2O")).coefficients == (Fraction(1, 2), 1, 1)


def test_blanks_that_stay_open_or_do_not_fit_are_refused():
    typed = "2 KMnO4 + H2O2 + H2SO4 -> K2SO4 + MnSO4 + O2 + H2O"
    assert "leave the others open. Give one more." in refusal(complete, parse_equation(typed))
    assert "do not fit together. One balance: 2 H2" in refusal(complete, parse_equation("2 H2 + 2 O2 -> H2O"))


# chempy and chemicals tests; the last is ours
@pytest.mark.parametrize("typed", ["CO→CO2", "C3H6O3→C3H4O3", "H2+O2→N2", "AgNO3+NaCl→AgCl+KNO3"])
def test_no_balance_is_an_answer_not_a_guess(typed):
    found = balance(parse_equation(typed))
    assert (found.kind, found.coefficients, found.nullity) == ("none", (), 0)


def test_no_balance_names_the_element_that_stands_alone():
    words = balance(parse_equation("AgNO3+NaCl→AgCl+KNO3")).words
    assert words.startswith("No balance exists: K stands only on the right; Na stands only on the left.")
    assert "no coefficients conserve all of C and O at once" in balance(parse_equation("CO→CO2")).words


@pytest.mark.parametrize(
    ("typed", "misplaced"),
    [
        ("CuSO4 + Zn + ZnSO4 -> Cu", ("ZnSO4",)),
        ("C6H7N + C4H6O3 + C2H4O2 -> C8H9NO", ("C2H4O2",)),
    ],
)
def test_a_substance_on_the_wrong_side_is_named(typed, misplaced):
    found = balance(parse_equation(typed))
    assert (found.kind, found.misplaced) == ("wrong side", misplaced)
    assert found.words == (
        f"{misplaced[0]} belongs on the other side of the arrow: with that the equation balances. Move it and try again."
    )


def test_two_candidates_for_the_wrong_side_are_both_named():
    found = balance(parse_equation("C7H6O3 -> C4H6O3 + C9H8O4 + C2H4O2"))
    assert (found.kind, found.misplaced) == ("wrong side", ("C4H6O3", "C2H4O2"))
    assert found.words.startswith("C4H6O3 or C2H4O2 belongs on the other side")


def test_a_bystander_is_named():
    found = balance(parse_equation("H2 + O2 + He -> H2O"))
    assert (found.kind, found.words[:20]) == ("none", "No balance uses He: ")


def test_given_coefficients_are_accepted_when_they_conserve():
    accepted = accept(parse_equation("C6H7N + C4H6O3 -> C8H9NO + C2H4O2"))
    assert [species.coefficient for species in accepted.species] == [1, 1, 1, 1]
    assert accept(parse_equation("4 H2 + 2 O2 -> 4 H2O")).coefficients == (4, 2, 4)


def test_a_refusal_lists_every_element_and_what_would_do():
    assert refusal(accept, parse_equation("C2H6 + 3 O2 -> 2 CO2 + 3 H2O")) == (
        "C2H6 + 3 O2 → 2 CO2 + 3 H2O does not conserve O: 6 on the left, 7 on the right. "
        "One balance: 2 C2H6 + 7 O2 → 4 CO2 + 6 H2O."
    )


def test_charge_is_conserved_like_an_element():
    problems = imbalance(parse_equation("Fe2+ + MnO4- + 8 H+ -> Fe3+ + Mn2+ + 4 H2O"))
    assert [problem.message for problem in problems] == ["charge: +9 on the left, +5 on the right"]
    assert (problems[0].what, problems[0].left, problems[0].right) == ("charge", 9, 5)


@pytest.mark.parametrize(
    "typed",
    [
        "2H2+O2=2H2O", "2 H2 + O2 -> 2 H2O", "2H2 + O2 → 2H2O", "2*H2 + O2 ⇌ 2 H2O", "2 H2(g) + O2(g) --> 2 H2O(l)",
        "2 H2 +O2 => 2 H2O", "2,0 H2 + O2 <=> 2 H2O", "2 H2+ O2 ⟶ 2 H2O",
    ],
)  # fmt: skip
def test_spellings_of_an_equation_are_one(typed):
    assert parse_equation(typed).coefficients == (2, 1, 2)
    assert accept(parse_equation(typed)).coefficients == (2, 1, 2)


@pytest.mark.parametrize(
    ("typed", "sides"),
    [
        ("H++OH-→H2O", (["H+", "OH-"], ["H2O"])),
        ("Fe3+ + 3 OH- -> Fe(OH)3", (["Fe3+", "OH-"], ["Fe(OH)3"])),
        ("Ca+2 + 2Cl- -> CaCl2", (["Ca+2", "Cl-"], ["CaCl2"])),
        ("OH- + H+->H2O", (["OH-", "H+"], ["H2O"])),
        ("CH2=CH2 + Br2 = CH2Br-CH2Br", (["CH2=CH2", "Br2"], ["CH2Br-CH2Br"])),
    ],
)
def test_plus_minus_and_equals_signs_are_told_from_charges_and_bonds(typed, sides):
    equation = parse_equation(typed)
    assert ([s.label for s in equation.left], [s.label for s in equation.right]) == sides


def test_fractions_are_exact():
    assert parse_equation("½O2 + H2 -> H2O").coefficients == (Fraction(1, 2), 1, 1)
    assert accept(parse_equation("0.5 O2 + H2 -> H2O")).coefficients == (Fraction(1, 2), 1, 1)
    assert number_text(Fraction(3, 2)) == "3/2"


def test_a_fractional_formula_balances_exactly():
    """chemicals tests/test_reaction.py: 5 → 5, 13, 4, 5 once 10.8 is read as 54/5."""
    assert coefficients("UO10.8N2.6H2 -> UO3 + NO2 + O2 + H2O") == (5, 5, 13, 4, 5)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("C2H6 + O2", "has no arrow between what goes in and what comes out: write exactly one '->'"),
        ("H2 -> O2 -> H2O", "has 2 arrows between"),
        ("-> H2O", "has nothing on the left: write at least one formula on each side"),
        ("H2 + -> H2O", "has a '+' with nothing beside it on the left"),
        ("0 H2 + O2 -> H2O", "'0 H2' has the coefficient 0: a coefficient is a number above zero"),
        ("1/0 H2 + O2 -> H2O", "'1/0 H2' has the coefficient 1/0"),
        ("C6H7N + C4H6Xx -> C8H9NO", "'Xx' is no element (character 5 of 'C4H6Xx')"),
        ("aniline + C4H6O3 -> C8H9NO", "'aniline' looks like a name, and a formula is wanted"),
        ("H2 + " * 40 + "O2 -> H2O", "has 42 substances and 30 are the most"),
        ("H" * 4001, "has 4001 characters and 4000 are the most"),
    ],
)
def test_refusals_name_what_is_wrong(typed, words):
    assert words in refusal(parse_equation, typed)


MOLECULES = [
    "C6H7N",
    "C4H6O3",
    "C8H9NO",
    "C2H4O2",
    "H2O",
    "CO2",
    "O2",
    "NaOH",
    "HCl",
    "NaCl",
    "C7H6O3",
    "C9H8O4",
    "H3O+",
    "OH-",
]


@settings(deadline=None)  # the first call imports the solver
@given(st.lists(st.sampled_from(MOLECULES), min_size=2, max_size=7, unique=True), st.integers(1, 6))
def test_whatever_is_proposed_conserves(molecules, cut):
    cut = min(cut, len(molecules) - 1)
    equation = parse_equation(" + ".join(molecules[:cut]) + " -> " + " + ".join(molecules[cut:]))
    found = balance(equation)
    assert (found.kind in {"one", "many"}) == bool(found.coefficients)
    if found.coefficients:
        assert imbalance(equation.with_coefficients(found.coefficients)) == []


@given(st.sampled_from(TEXTBOOK), st.integers(2, 1000))
def test_a_balance_times_any_number_still_conserves(typed, times):
    equation = parse_equation(typed)
    assert accept(equation.with_coefficients(times * n for n in equation.coefficients))


@settings(deadline=None)  # the first call imports the solver
@given(st.text(alphabet="CHONa0123456789+-=>→^ ()[].·e", max_size=60))
def test_any_text_is_read_or_refused_in_words(text):
    assert words_about(text).endswith((".", "?"))


def words_about(text: str) -> str:
    try:
        return balance(parse_equation(text)).words
    except LabError as error:
        return str(error)
