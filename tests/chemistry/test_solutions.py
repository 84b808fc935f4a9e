"""Solutions, dilutions and concentrated acids. OpenStax = Chemistry 2e, with module number."""

import pytest

from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.solutions import (
    concentration_mol_per_L,
    diluted_by_mass_g,
    diluted_mol_per_L,
    diluted_volume_mL,
    mass_for_solution_g,
    stock_volume_mL,
    strength_from_v_v_mol_per_L,
    strength_from_w_v_mol_per_L,
    strength_mol_per_L,
    titrated_mol_per_L,
)
from labstock.chemistry.uncertain import normal


@pytest.mark.parametrize(
    ("formula", "density", "percent", "expected"),
    [
        # OpenStax appendix F (m68864), Composition of commercial acids and bases; its density column is
        # called specific gravity, hence 0.7 %
        ("C2H4O2", 1.05, 99.5, 17.4),
        ("NH3", 0.90, 28, 14.8),
        ("HCl", 1.18, 36, 11.6),
        ("HNO3", 1.42, 71, 16.0),
        ("HClO4", 1.67, 70, 11.65),
        ("H3PO4", 1.70, 85, 14.7),
        ("NaOH", 1.53, 50, 19.1),
        ("H2SO4", 1.84, 96, 18.0),
    ],
)
def test_concentrated_acids_and_bases(formula, density, percent, expected):
    found = strength_mol_per_L(percent / 100, density, parse_formula(formula).molar_mass)
    assert found.n == pytest.approx(expected, rel=0.007)


def test_concentrated_hydrochloric_acid_by_mass_and_volume():
    # OpenStax m68704: 37.2 % HCl of 1.19 g/mL, 0.500 L hold 221 g HCl; 125 g HCl is in 282 mL
    grams_per_mL = 1.19 * 0.372
    strength = strength_mol_per_L(0.372, 1.19, 36.46).n
    assert 500 * grams_per_mL == pytest.approx(221, abs=0.6)
    assert strength * 36.46 / 1000 * 500 == pytest.approx(221, abs=0.6)
    assert 125 / (strength * 36.46 / 1000) == pytest.approx(282, abs=0.6)


def test_nitric_acid_diluted_by_mass():
    assert diluted_by_mass_g(0.680, 0.100, 400.0).n == pytest.approx(58.8, abs=0.06)  # OpenStax m68704


def test_forty_percent_sulfuric_acid():
    # OpenStax m68704 asks it without an answer; by hand 0.400 · 1305.7/98.08
    assert strength_mol_per_L(0.400, 1.3057, 98.08).n == pytest.approx(5.33, abs=0.006)


def test_impure_sodium_hydroxide_for_a_litre_of_ten_percent():
    # OpenStax m68704: 97.0 % solid for 1.00 L of 10.0 % solution of 1.109 g/mL
    strength = strength_mol_per_L(0.100, 1.109, 39.997)
    assert mass_for_solution_g(strength, 1000, 39.997, 0.970).n == pytest.approx(114, abs=0.6)


def test_glucose_infusion():
    assert strength_mol_per_L(0.050, 1.029, 180.158).n == pytest.approx(0.29, abs=0.006)  # OpenStax m68704


@pytest.mark.parametrize(
    ("found", "expected", "tolerance"),
    [
        # OpenStax m68703, dilutions
        (diluted_mol_per_L(5.00, 850, 1800), 2.36, 0.006),
        (diluted_mol_per_L(2.04, 25.0, 500.0), 0.102, 0.0006),
        (diluted_volume_mL(0.45, 11, 0.12), 41, 0.6),
        (diluted_volume_mL(1.88, 250, 0.125), 3760, 6),
        (stock_volume_mL(1.59, 0.100, 5000), 314, 0.6),
        (diluted_volume_mL(3.00, 50.00, 0.575), 261, 0.6),
    ],
)
def test_dilutions_of_the_textbook(found, expected, tolerance):
    assert found.n == pytest.approx(expected, abs=tolerance)


def test_hydrate_weighed_for_a_solution():
    hydrate = parse_formula("Na2SO4·10H2O").molar_mass
    found = concentration_mol_per_L(10.5e3, hydrate, 18.60e3)
    assert found.n == pytest.approx(1.75, abs=0.006)  # OpenStax m68703


def test_vinegar():
    found = concentration_mol_per_L(25.2, parse_formula("CH3COOH").molar_mass, 500)
    assert found.n == pytest.approx(0.839, abs=0.0006)  # OpenStax m68703


def test_oxalic_acid_by_permanganate():
    # OpenStax m68716 prints 0.2648 from rounded steps; the data give 0.26473
    found = titrated_mol_per_L(0.09113, 23.24, 20.00, 5 / 2)
    assert found.n == pytest.approx(0.2648, abs=0.0002)


def test_calibration_standard_of_quam_a1():
    # EURACHEM/CITAC QUAM, example A1: cadmium 100.28 mg, purity 0.9999, 100.0 mL: 1002.7 mg/L, u 0.9
    mass, purity, volume = normal(0.10028, 0.00005), normal(0.9999, 0.000058), normal(100.0, 0.07)
    found = concentration_mol_per_L(mass, 1.0, volume, purity) * 1000  # with M = 1 g/mol, in mg/L
    assert found.n == pytest.approx(1002.7, abs=0.06)
    assert 0.83 <= found.s <= 0.90


def test_percent_kinds_are_not_the_same():
    by_mass = strength_mol_per_L(0.10, 1.109, 39.997).n
    by_volume = strength_from_w_v_mol_per_L(10, 39.997).n
    assert by_mass / by_volume == pytest.approx(1.109)
    assert strength_from_v_v_mol_per_L(100, 0.7894, 46.069).n == pytest.approx(
        strength_mol_per_L(1, 0.7894, 46.069).n
    )


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: stock_volume_mL(1.0, 2.0, 100),
            "2\u00a0mol/L is wanted and the stock has 1\u00a0mol/L: diluting cannot make it stronger. "
            "Take a stronger stock.",
        ),
        (
            lambda: diluted_by_mass_g(0.10, 0.20, 100),
            "20\u00a0% is wanted and the stock has 10\u00a0%: diluting cannot make it stronger. "
            "Take a stronger stock.",
        ),
        (
            lambda: diluted_mol_per_L(1.0, 100, 50),
            "100\u00a0mL of stock made up to 50\u00a0mL is no dilution: swap the two volumes.",
        ),
        (
            lambda: concentration_mol_per_L(-1, 58.44, 100),
            "The mass is -1\u00a0g: it must be above zero. Check the number.",
        ),
        (
            lambda: strength_from_v_v_mol_per_L(120, 0.789, 46.07),
            "The strength is 120\u00a0mL/100 mL: more than 100\u00a0mL/100 mL is not believed. "
            "Check the unit.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value) == text
