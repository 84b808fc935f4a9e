"""Structures. Sources stand beside the lists; SMILES written by hand."""

import re

import pytest

from labstock.chemistry.errors import LabError
from labstock.chemistry.structure import (
    canonical_smiles,
    draw,
    formula_of,
    inchikey,
    propose_moisture,
    propose_peroxide,
    water_reaction,
)

ACETIC_ANHYDRIDE = "CC(=O)OC(C)=O"
ASPIRIN = "CC(=O)Oc1ccccc1C(=O)O"


def refusal(function, *arguments) -> LabError:
    with pytest.raises(LabError) as caught:
        function(*arguments)
    return caught.value


# ------------------------------------------------------------------ identity
# Aspirin and acetic anhydride: NIST Chemistry WebBook; the others: rdkit 2026.9.1 (a second build reads the same).
INCHIKEYS = {
    ASPIRIN: "BSYNRYMUTXBXSQ-UHFFFAOYSA-N",
    ACETIC_ANHYDRIDE: "WFDIJRYMOXRFFG-UHFFFAOYSA-N",
    "O=C(O)c1ccccc1O": "YGSDEFSMJLZEOE-UHFFFAOYSA-N",
    "CC(=O)Nc1ccc(O)cc1": "RZVAJINKPMORJF-UHFFFAOYSA-N",
    "Nc1ccc(O)cc1": "PLIKAWJENQZMHA-UHFFFAOYSA-N",
    "Nc1ccccc1": "PAYRUJLWNCNPSJ-UHFFFAOYSA-N",
    "CC(=O)Nc1ccccc1": "FZERHIULMFGESH-UHFFFAOYSA-N",
    "O=C1C=CC(=O)O1": "FPYJFEHAWHCUMM-UHFFFAOYSA-N",
    "O=C1CCC(=O)O1": "RINCXYDBBGOEEQ-UHFFFAOYSA-N",
    "O=C1OC(=O)c2ccccc12": "LGRFSURHDFAFJT-UHFFFAOYSA-N",
    "OP(=O)(O)O": "NBIIXXVUZAFLBC-UHFFFAOYSA-N",
    "C1CCOC1": "WYURNTSHIVDZCO-UHFFFAOYSA-N",
    "CCOCC": "RTZKZFJDLAIYFH-UHFFFAOYSA-N",
    "CC(=O)O": "QTBSBXVTEAMEQO-UHFFFAOYSA-N",
    "CCO": "LFQSCWFLJHTTHZ-UHFFFAOYSA-N",
    "OC(=O)c1ccccc1": "WPYMKLBDIGXBTP-UHFFFAOYSA-N",
    "O": "XLYOFNOQVPJJNP-UHFFFAOYSA-N",
    "[Cu+2].[O-]S(=O)(=O)[O-].O.O.O.O.O": "JZCCFEFSEZPSOG-UHFFFAOYSA-L",
}


@pytest.mark.parametrize(("smiles", "key"), INCHIKEYS.items())
def test_inchikeys_as_published(smiles, key):
    assert inchikey(smiles) == key


def test_an_open_file_has_the_wrong_key_for_acetic_anhydride():
    """VZTDIZAGYMQNNU is printed for it in an open code file; it belongs to something else."""
    assert not inchikey(ACETIC_ANHYDRIDE).startswith("VZTDIZAGYMQNNU")


@pytest.mark.parametrize(
    ("smiles", "hill"),
    [
        (ACETIC_ANHYDRIDE, "C4H6O3"), (ASPIRIN, "C9H8O4"), ("CC(=O)[O-]", "C2H3O2^-"), ("[Fe+3]", "Fe^3+"),
        ("O=[V+2]", "OV^2+"), ("[13CH4]", "[13C]H4"), ("[2H]C(Cl)(Cl)Cl", "CDCl3"), ("[Na+].[Cl-]", "ClNa"),
    ],
)  # fmt: skip
def test_formula_of_a_structure_keeps_charge_and_isotopes(smiles, hill):
    assert formula_of(smiles).hill == hill


def test_two_spellings_are_one_structure():
    assert canonical_smiles("O(C(=O)C)C(=O)C") == canonical_smiles(ACETIC_ANHYDRIDE)


@pytest.mark.parametrize(
    ("smiles", "reason"),
    [
        ("C(C", "it has 1 '(' and 0 ')'"),
        ("C1CC", "a ring number is opened and not closed"),
        ("CC(C)(C)(C)C", "atom 2 (C) has 5 bonds, more than it can carry"),
        ("c1cccc1", "an aromatic ring has no arrangement of double bonds"),
        ("Qq", "an atom symbol, a bond or a ring number is wrong"),
        ("café", "the character 'é' cannot stand in one"),
        ("C C", "the character ' ' cannot stand in one"),
    ],
)
def test_an_unreadable_structure_is_refused_with_the_reason(smiles, reason):
    error = refusal(formula_of, smiles)
    assert error.code == "structure-unreadable"
    assert str(error) == (
        f"'{smiles}' is no readable SMILES: {reason}{'' if 'aromatic' not in reason else ': look for a missing [nH] or a wrong lower-case letter'}."
        " Correct it, or leave the structure out and enter the formula."
    )


def test_empty_and_oversized_structures_are_refused():
    assert refusal(formula_of, " ").code == "no-structure"
    assert "1001 characters and 1000 are the most" in str(refusal(formula_of, "C" * 1001))
    assert "has 401 heavy atoms and 400 are the most" in str(refusal(formula_of, "C" * 401))


# ------------------------------------------------------------------ drawing
def test_a_drawing_carries_no_style_and_no_colour_of_its_own():
    svg = draw(ASPIRIN, 160, 120, "aspirin")
    assert "style" not in svg
    assert not re.search(r"#[0-9A-Fa-f]{3,6}|rgb\(|<rect|white|<script", svg)
    assert svg.count("currentColor") == 2
    assert 'class="m-bond"' in svg
    assert 'class="m-atom"' in svg


def test_a_drawing_says_what_it_shows_and_escapes_it():
    svg = draw("CCO", 100, 60, '<b>"spirit" & co')
    assert 'role="img" aria-label="Structure of &lt;b&gt;&quot;spirit&quot; &amp; co"' in svg
    assert 'aria-label="Structure of CCO"' in draw("CCO")


@pytest.mark.parametrize(
    "smiles", ["O", "[Li+].[AlH4-]", "C[C@H](N)C(=O)O", "[Na+].[Cl-]", "C", "CC", "C[CH2]"]
)
def test_small_and_ionic_structures_have_something_to_see(smiles):
    assert re.search(r' d="M[\d.]', draw(smiles, 80, 60))


def test_a_drawing_of_impossible_size_is_refused():
    assert "width of 5 px cannot be made: choose 24 to 2000 px" in str(refusal(draw, "CCO", 5, 60))


# ------------------------------------------------------------------ moisture
# Members from NRC, Prudent Practices in the Laboratory (2011), and textbooks, from memory.
MOIST = {
    ACETIC_ANHYDRIDE: "acid anhydride", "O=C1OC(=O)c2ccccc12": "acid anhydride", "O=C1CCC(=O)O1": "acid anhydride",
    "O=C1OC(=O)c2cc3C(=O)OC(=O)c3cc21": "acid anhydride", "CC(C)(C)OC(=O)OC(=O)OC(C)(C)C": "dicarbonate",
    "CC(=O)Cl": "acyl halide", "CC(=O)F": "acyl halide", "O=C(Cl)C(=O)Cl": "acyl halide",
    "CCOC(=O)Cl": "chloroformate or phosgene", "O=C(Cl)Cl": "chloroformate or phosgene",
    "Cc1ccc(cc1)S(=O)(=O)Cl": "sulfonyl chloride", "FC(F)(F)S(=O)(=O)OS(=O)(=O)C(F)(F)F": "sulfonic anhydride",
    "O=S(Cl)Cl": "thionyl or sulfur chloride", "O=S(=O)=O": "sulfur trioxide",
    "ClP(Cl)Cl": "phosphorus or arsenic halide", "ClP(Cl)(Cl)(Cl)Cl": "phosphorus or arsenic halide",
    "O=P(Cl)(Cl)Cl": "phosphorus or arsenic halide", "O=P12OP3(=O)OP(=O)(O1)OP(=O)(O2)O3": "phosphorus pentoxide",
    "C[Si](C)(C)Cl": "chlorosilane", "C[Si](C)(C)N[Si](C)(C)C": "silazane", "FB(F)F.CCOCC": "boron halide",
    "[Al+3].[Cl-].[Cl-].[Cl-]": "metal halide", "[Cl-].[Cl-].[Cl-].[Cl-].[Ti+4]": "metal halide",
    "Cl[Sn](Cl)(Cl)Cl": "metal halide", "Cl[Al](Cl)Cl": "metal halide", "Cl[Fe](Cl)Cl": "metal halide",
    "[Li+].[AlH4-]": "aluminium hydride", "[BH4-].[Na+]": "borane or borohydride", "[H-].[Na+]": "hydride",
    "[Ca].[H].[H]": "hydride", "[H].[Li]": "hydride", "CCCC[Li]": "organometal", "[Li+].CCC[CH2-]": "organometal",
    "c1ccccc1[Mg]Br": "organometal", "C1=CC=[C-]C=C1.[Mg+2].[Br-]": "organometal", "C[CH2-].C[CH2-].[Zn+2]": "organometal",
    "C[Al](C)C": "organometal", "[Na]": "alkali metal", "[K]": "alkali metal", "[NH2-].[Na+]": "metal amide",
    "[Li+].CC(C)[N-]C(C)C": "metal amide", "[Li+].C[Si](C)(C)[N-][Si](C)(C)C": "metal amide", "C[O-].[Na+]": "alkoxide",
    "[C-]#[C-].[Ca+2]": "carbide", "O=C=Nc1ccccc1": "isocyanate", "C=C=O": "ketene", "C1CCC(CC1)N=C=NC2CCCCC2": "carbodiimide",
    "O=C(n1ccnc1)n1ccnc1": "acyl azole", "O=[Ca]": "quicklime or basic oxide", "C[O+](C)C.[B-](F)(F)(F)F": "oxonium salt",
}  # fmt: skip


@pytest.mark.parametrize(("smiles", "name"), MOIST.items())
def test_moisture_is_proposed_with_its_reason(smiles, name):
    proposal = propose_moisture(smiles)
    assert proposal is not None
    assert proposal.name == name
    assert len(proposal.because) > 20


def test_the_reason_shown_for_an_anhydride():
    assert propose_moisture(ACETIC_ANHYDRIDE).because == (
        "two acyl groups on one oxygen: reacts with water, 1 mol per mol"
    )


@pytest.mark.parametrize(
    "smiles",
    [
        "CCO", "CCOC(C)=O", ASPIRIN, "[Na+].[Cl-]", "CC(=O)[O-].[Na+]", "[C-]#N.[K+]", "[B-](F)(F)(F)F.[Na+]",
        "[Li+].[N-](S(=O)(=O)C(F)(F)F)S(=O)(=O)C(F)(F)F", "O=C1[N-]C(=O)c2ccccc12.[K+]", "O=[Ti]=O",
        "CCCC[Sn](Cl)(CCCC)CCCC", "FS(F)(F)(F)(F)F", "F[P-](F)(F)(F)(F)F.[K+]", "O.O.O.O.O.O.[Al+3].[Cl-].[Cl-].[Cl-]",
        "[CH-]1C=CC=C1.[CH-]1C=CC=C1.[Fe+2]", "O", "c1ccncc1", "OP(=O)(O)O", "OB(O)c1ccccc1", "CC(=O)NC(C)=O",
    ],
)  # fmt: skip
def test_nothing_is_proposed_for_what_stands_water(smiles):
    assert propose_moisture(smiles) is None


# ------------------------------------------------------------------ peroxides
# Cornell EHS, appendix J, members of its classes A, B and C
PEROXIDES = {
    "C=CC=C": "A", "C=CC(Cl)=C": "A", "C=CC#CC=C": "A", "CC(C)OC(C)C": "A", "[K]": "A", "[K+].[NH2-]": "A",
    "[Na+].[NH2-]": "A", "FC(F)=C(F)F": "A", "C=C(Cl)Cl": "A",
    "CCOCC": "B", "C1CCOC1": "B", "C1COCCO1": "B", "COCCOCCOC": "B", "COCCOC": "B", "CCC(C)O": "B", "CC(C)O": "B",
    "CC(C)c1ccccc1": "B", "C1CCC=CC1": "B", "C1CCc2ccccc2C1": "B", "C1CCC2CCCCC2C1": "B", "CC(C)CC(C)=O": "B", "OCc1ccccc1": "B",
    "C=Cc1ccccc1": "C", "CC(=O)OC=C": "C", "COC(=O)C(C)=C": "C", "C=CC(=O)O": "C", "C=CC#N": "C",
}  # fmt: skip


@pytest.mark.parametrize(("smiles", "grade"), PEROXIDES.items())
def test_listed_peroxide_formers_get_their_class(smiles, grade):
    proposal = propose_peroxide(smiles)
    assert proposal is not None
    assert proposal.grade == grade


@pytest.mark.parametrize("smiles", ["COC(C)(C)C", "COCOC", "CCOC=C", "CC1CCCO1", "CCOc1ccccc1"])
def test_other_ethers_with_alpha_hydrogen_are_class_b(smiles):
    assert propose_peroxide(smiles).grade == "B"


@pytest.mark.parametrize(
    "smiles",
    [
        "CCO", "c1ccccc1Oc1ccccc1", "CCOC(C)=O", "COc1ccccc1", "Cc1ccccc1", "CC(C)=O", "O", "CCCCCC", ACETIC_ANHYDRIDE,
        "OCC1OC(O)C(O)C(O)C1O", "OCC(O)CO", "O=C1C=CC(=O)O1", "CN(C)C=O", "ClC(Cl)Cl", "[Na]", "C1CCCCC1", "CC(C)CCOC(C)=O",
        "O=C1OC(=O)C2C1C1C=CC2C1", "CCO[Si](OCC)(OCC)OCC", ASPIRIN,
    ],
)  # fmt: skip
def test_nothing_is_proposed_for_what_forms_none(smiles):
    assert propose_peroxide(smiles) is None


def test_the_reason_says_what_the_class_means():
    assert propose_peroxide("C1CCOC1").because == (
        "ether oxygen with CH next to it: peroxides become dangerous when the liquid is distilled or dries out"
    )


# ------------------------------------------------------------------ reactions with water, textbook stoichiometry
@pytest.mark.parametrize(
    ("smiles", "kind", "water", "acid", "hydrogen", "acids"),
    [
        (ACETIC_ANHYDRIDE, "anhydride", 1, 2, 0, ("CC(=O)O", "CC(=O)O")),
        ("O=COC(C)=O", "anhydride", 1, 2, 0, ("CC(=O)O", "O=CO")),
        ("O=C1OC(=O)c2ccccc12", "anhydride", 1, 2, 0, ("O=C(O)c1ccccc1C(=O)O",)),
        ("O=C1OC(=O)c2cc3C(=O)OC(=O)c3cc21", "anhydride", 2, 4, 0, ("O=C(O)c1cc(C(=O)O)c(C(=O)O)cc1C(=O)O",)),
        ("CC(=O)Cl", "acyl halide", 1, 2, 0, ("CC(=O)O", "Cl")),
        ("O=C(Cl)CCC(=O)Cl", "acyl halide", 2, 4, 0, ("O=C(O)CCC(=O)O", "Cl", "Cl")),
        ("[H-].[Na+]", "hydride", 1, -1, 1, ()),
        ("[Ca].[H].[H]", "hydride", 2, -2, 2, ()),
        ("[Li+].[AlH4-]", "hydride", 4, -1, 4, ()),
        ("[BH4-].[Na+]", "hydride", 4, -1, 4, ()),
    ],
)  # fmt: skip
def test_water_consumed_and_acids_formed(smiles, kind, water, acid, hydrogen, acids):
    found = water_reaction(smiles)
    assert (found.kind, found.water, found.acid_equivalents, found.hydrogen) == (kind, water, acid, hydrogen)
    assert sorted(found.acids) == sorted(canonical_smiles(each) for each in acids)


@pytest.mark.parametrize(
    "smiles", [ACETIC_ANHYDRIDE, "O=COC(C)=O", "O=C1OC(=O)c2ccccc12", "CC(=O)Cl", "O=C(Cl)CCC(=O)Cl"]
)
def test_hydrolysis_conserves_every_atom(smiles):
    found = water_reaction(smiles)
    before = formula_of(".".join([smiles] + ["O"] * found.water))
    assert formula_of(".".join(found.acids)).atoms == before.atoms


@pytest.mark.parametrize(
    "smiles", ["CCOC(C)=O", "O", "[OH-].[Na+]", "O=C(Cl)C(=O)Cl", "CC(C)(C)OC(=O)OC(=O)OC(C)(C)C"]
)
def test_other_classes_have_no_water_stoichiometry_here(smiles):
    assert water_reaction(smiles) is None
