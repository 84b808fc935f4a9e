"""Green metrics."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.stoichiometry.green import (
    atom_economy_percent,
    e_factor,
    process_mass_intensity,
    reaction_mass_efficiency_percent,
    stoichiometric_factor,
)
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import normal

masses = some.floats(0.1, 1000)


def terms(*pairs):
    return [(parse_formula(formula).molar_mass, nu) for formula, nu in pairs]


@pytest.mark.parametrize(
    ("wanted", "reactants", "expected", "tolerance"),
    [
        # delocalised.com, Atom economy: aspirin 180/240
        (("C9H8O4", 1), (("C7H6O3", 1), ("C4H6O3", 1)), 75.00, 0.05),
        # by hand from IUPAC's abridged weights: 151.165/211.217, 135.166/195.218
        (("C8H9NO2", 1), (("C6H7NO", 1), ("C4H6O3", 1)), 71.57, 0.005),
        (("C8H9NO", 1), (("C6H7N", 1), ("C4H6O3", 1)), 69.24, 0.005),
        # school values, from memory: hydrogen 15.4 to 15.5, ethanol 51.1, iron 45.8
        (("H2", 4), (("CH4", 1), ("H2O", 2)), 15.49, 0.01),
        (("C2H6O", 2), (("C6H12O6", 1),), 51.14, 0.01),
        (("Fe", 2), (("Fe2O3", 1), ("CO", 3)), 45.83, 0.01),
        # Chemistry and Chemical Reactivity, ch. 4 no. 119: 49.81 (a solutions page prints 50.15 by a slip)
        (("C4H9Br", 1), (("C4H10O", 1), ("NaBr", 1), ("H2SO4", 1)), 49.81, 0.02),
        # three-step ibuprofen from isobutylbenzene, Ac2O, H2 and CO: 77 % without recovery (from memory)
        (("C13H18O2", 1), (("C10H14", 1), ("C4H6O3", 1), ("H2", 1), ("CO", 1)), 77.45, 0.05),
    ],
)
def test_atom_economy(wanted, reactants, expected, tolerance):
    assert atom_economy_percent(terms(wanted), terms(*reactants)).n == pytest.approx(expected, abs=tolerance)


def test_old_route_to_ibuprofen():
    # OpenStax Chemistry 2e, m68714: six steps, 514 g of reactants per mole (206 g): 40 %
    assert atom_economy_percent([(206, 1)], [(514, 1)]).n == pytest.approx(40, abs=0.5)


def test_ibuprofen_with_acetic_acid_as_a_product_wastes_nothing():
    # OpenStax Chemistry 2e, m68714: about 99 % once acetic acid is recovered
    products = terms(("C13H18O2", 1), ("C2H4O2", 1))
    found = atom_economy_percent(products, terms(("C10H14", 1), ("C4H6O3", 1), ("H2", 1), ("CO", 1)))
    assert found.n == pytest.approx(100, abs=0.01)


@given(masses, masses, some.floats(0.01, 0.99))
def test_intensity_is_e_factor_and_one(first, second, share):
    inputs, product = {"a": first, "b": second}, (first + second) * share
    intensity = process_mass_intensity(inputs, product).n
    assert intensity == pytest.approx(e_factor(inputs, product).n + 1, abs=1e-9)
    assert intensity >= 1


@given(some.floats(0.1, 1.0), some.floats(1.0, 3.0))
def test_efficiency_is_atom_economy_times_yield_over_excess(fraction, excess):
    # Green Chem. 4 (2002) 521 and 10 (2008): both forms are the same by algebra
    aniline, anhydride, product = 93.129, 102.089, 135.166
    used = {"aniline": aniline, "anhydride": anhydride * excess}
    direct = reaction_mass_efficiency_percent(used, product * fraction).n
    economy = atom_economy_percent([(product, 1)], [(aniline, 1), (anhydride, 1)]).n
    factor = stoichiometric_factor(used, {"aniline": aniline, "anhydride": anhydride}).n
    assert direct == pytest.approx(economy * fraction / factor, rel=1e-9)


def test_doubt_of_masses_reaches_the_metric():
    found = e_factor({"all": normal(100, 1)}, normal(10, 0.1))
    assert found.s == pytest.approx(10 * (0.01**2 + 0.01**2) ** 0.5)


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: e_factor({"all": 5.0}, 10.0),
            "10 g of product from 5 g put in cannot be: an input is missing, or the product is wet.",
        ),
        (
            lambda: atom_economy_percent([(200.0, 1)], [(100.0, 1)]),
            "An atom economy of 200.0 % cannot be: the equation does not conserve mass. "
            "Check the coefficients.",
        ),
        (lambda: atom_economy_percent([], [(100.0, 1)]), "There is no product: give at least one."),
        (
            lambda: process_mass_intensity({"all": 5.0}, 0),
            "The mass of product is 0 g: it must be above zero. Check the number.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
