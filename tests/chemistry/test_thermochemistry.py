"""Heats of reaction from one table."""

from fractions import Fraction

import pytest
from chemicals.reaction import Hfg, Hfl, Hfs

from labstock.chemistry.errors import LabError
from labstock.chemistry.thermochemistry import (
    TABLE,
    formation,
    hydrolysis,
    neutralisation_kJ_per_mol,
    reaction_enthalpy_kJ_per_mol,
)


def test_hydrolysis_of_acetic_anhydride_against_measurement():
    # NIST Chemistry WebBook, acetic anhydride, reaction data: -58.6 ± 0.4 (1962), -58.4 ± 0.4 (1942)
    heat = hydrolysis("108-24-7").heat_kJ_per_mol
    assert heat.n == pytest.approx(-58.4, abs=0.05)  # Hess, chemicals 1.5.2, method CRC: -58.40
    assert abs(heat.n - -58.6) < 0.4


def test_another_table_gives_another_heat():
    # chemicals 1.5.2, method WEBBOOK: -483.646, -625.0, -285.83 give -56.46
    webbook = 2 * -483.646 - (-625.0 - 285.83)
    assert webbook == pytest.approx(-56.46, abs=0.005)
    assert abs(hydrolysis("108-24-7").heat_kJ_per_mol.n - webbook) > 1.5


def test_acetylation_of_aniline():
    # measured -101 kJ/mol, NIST Chemistry WebBook, acetic anhydride, reaction data
    heat = reaction_enthalpy_kJ_per_mol(
        {"aniline": 1, "acetic anhydride": 1}, {"acetanilide": 1, "acetic acid": 1}
    )
    assert heat.n == pytest.approx(-101, abs=1)


def test_combustion_of_ethanol():
    # OpenStax Chemistry 2e, m68727: -1366.8 kJ/mol
    heat = reaction_enthalpy_kJ_per_mol({"ethanol": 1, "oxygen": 3}, {"carbon dioxide": 2, "water": 3})
    assert heat.n == pytest.approx(-1366.8, abs=0.5)


def test_neutralisation_from_the_ions():
    # OpenStax Chemistry 2e, m68865: H2O -285.83, OH- -230.0
    assert neutralisation_kJ_per_mol().n == pytest.approx(-285.83 + 230.0, abs=0.05)
    assert abs(-58 - neutralisation_kJ_per_mol().n) <= 2 * neutralisation_kJ_per_mol().s  # m68727, cup


def test_acetyl_chloride_in_much_water_gives_off_more_than_the_anhydride():
    # by hand from the table: -484.3 - 92.3 + 272.9 + 285.8 = -17.9, and -74.9 for dissolving HCl
    assert hydrolysis("75-36-5").heat_kJ_per_mol.n == pytest.approx(-17.9 - 74.9, abs=0.05)


def test_hydrides_give_their_hydrogen():
    assert (hydrolysis("7646-69-7").hydrogen, hydrolysis("7789-78-8").hydrogen) == (1, 2)
    # by hand from the table: -425.8 + 56.3 + 285.8
    assert hydrolysis("7646-69-7").heat_kJ_per_mol.n == pytest.approx(-83.7, abs=0.05)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.key)
def test_every_row_is_that_of_its_source(row):
    look_up = {"s": Hfs, "l": Hfl, "g": Hfg}[row.phase]
    assert row.kJ_per_mol == pytest.approx(look_up(row.cas, method="CRC") / 1000, abs=0.05)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        # chemicals 1.5.2, method CRC, as read apart from this table
        ("salicylic acid", -589.9),
        ("aspirin", -815.6),
        ("benzoic acid", -385.2),
        ("benzamide", -202.6),
        ("phthalic anhydride", -460.1),
        ("maleic anhydride", -469.8),
        ("succinic anhydride", -608.6),
        ("urea", -333.1),
        ("phosphoric acid(l)", -1271.7),
        ("phosphoric acid(s)", -1284.4),
        ("aniline", 31.6),
    ],
)
def test_published_enthalpies_of_formation(name, expected):
    assert formation(name).kJ_per_mol == expected


def test_coefficients_scale_the_heat():
    once = reaction_enthalpy_kJ_per_mol({"108-24-7": 1, "7732-18-5": 1}, {"64-19-7": 2})
    half = reaction_enthalpy_kJ_per_mol(
        {"108-24-7": Fraction(1, 2), "7732-18-5": Fraction(1, 2)}, {"64-19-7": 1}
    )
    assert half.n == pytest.approx(once.n / 2)
    assert half.s == pytest.approx(once.s / 2)


def test_a_substance_on_both_sides_cancels():
    heat = reaction_enthalpy_kJ_per_mol({"ethanol": 1, "water": 5}, {"ethanol": 1, "water": 5})
    assert (heat.n, heat.s) == (0, 0)


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (lambda: formation("paracetamol"), "no thermochemistry for paracetamol: ask"),
        (lambda: formation("water(s)"), "no thermochemistry for water(s): ask"),
        (
            lambda: hydrolysis("407-25-0", "trifluoroacetic anhydride"),
            "no thermochemistry for trifluoroacetic anhydride: ask",
        ),
        (
            lambda: reaction_enthalpy_kJ_per_mol(
                {"4-aminophenol": 1, "acetic anhydride": 1}, {"paracetamol": 1}
            ),
            "no thermochemistry for 4-aminophenol: ask",
        ),
        (
            lambda: reaction_enthalpy_kJ_per_mol({"acetic anhydride": 1, "water": 1}, {"acetic acid": 1}),
            "The equation does not conserve C, H, O: balance it first, a heat of it would mean nothing.",
        ),
    ],
)
def test_refuses_without_data_or_balance(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value) == text
