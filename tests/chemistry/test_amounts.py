"""Mass, volume and amount of substance."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as some

from labstock.chemistry import amounts
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.uncertain import normal

masses = some.floats(0.001, 1000)
molar_masses = some.floats(2, 2000)
fractions = some.floats(0.05, 1)
densities = some.floats(0.5, 3)


@given(masses, molar_masses, fractions)
def test_mass_to_amount_and_back_is_the_same(mass, molar_mass, fraction):
    there = amounts.amount_mmol(mass, molar_mass, fraction)
    assert amounts.mass_g(there, molar_mass, fraction).n == pytest.approx(mass)


@given(masses, densities)
def test_mass_to_volume_and_back_is_the_same(mass, density):
    assert amounts.mass_of_volume_g(amounts.volume_mL(mass, density), density).n == pytest.approx(mass)


@given(masses, molar_masses, fractions, some.floats(1e-6, 0.01), some.floats(1e-6, 0.01))
def test_doubt_never_shrinks_when_the_doubt_of_an_input_grows(mass, molar_mass, fraction, u, more):
    small = amounts.amount_mmol(normal(mass, u), molar_mass, fraction)
    large = amounts.amount_mmol(normal(mass, u + more), molar_mass, fraction)
    assert large.s >= small.s


@given(masses, some.floats(0.1, 10))
def test_amount_is_linear_in_mass(mass, factor):
    once = amounts.amount_mmol(mass, 93.129, 0.99).n
    assert amounts.amount_mmol(mass * factor, 93.129, 0.99).n == pytest.approx(once * factor)


def test_the_same_value_twice_stays_correlated():
    mass = normal(5.41, 0.05)
    there = amounts.volume_mL(mass, 1.082)
    assert (amounts.mass_of_volume_g(there, 1.082) - mass).s == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("temperature", "expected"),
    # CIPM formula, Metrologia 38 (2001) 301; agrees with IAPWS-95 within 0.001 kg/m³
    [(20, 998.2068), (25, 997.0470), (30, 995.6488)],
)
def test_density_of_water_by_the_cipm_formula(temperature, expected):
    assert amounts.water_density_g_per_mL(temperature) * 1000 == pytest.approx(expected, abs=0.0001)


@pytest.mark.parametrize(
    ("temperature", "expected"),
    # OpenStax Chemistry 2e, appendix E (m68863); it prints its older maximum at 4 °C, hence 0.01
    [(0, 999.8395), (4, 999.9720), (10, 999.7026), (15, 999.1026), (20, 998.2071), (25, 997.0479)],
)
def test_density_of_water_of_the_textbook(temperature, expected):
    assert amounts.water_density_g_per_mL(temperature) * 1000 == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("at_20", "at_25", "expansion"),
    [
        # acetic anhydride, DIPPR/Perry 8th ed. as in thermo 0.6.1; expansion about 0.1 % per K, from memory
        (1.0811, 1.0751, 0.00112),
        # ethanol, CoolProp 8.0.0; expansion 0.00109 1/K from memory
        (0.78942, 0.78513, 0.00109),
        # acetone, CoolProp 8.0.0; expansion 0.00143 1/K from memory
        (0.79027, 0.78470, 0.00143),
        # toluene, CoolProp 8.0.0; expansion 0.00108 1/K from memory
        (0.86689, 0.86224, 0.00108),
    ],
)
def test_density_is_carried_to_another_temperature(at_20, at_25, expansion):
    assert amounts.density_at(at_20, 25, 20, expansion).n == pytest.approx(at_25, abs=0.0005)


def test_five_millilitres_of_acetic_anhydride_in_mmol():
    mass = amounts.mass_of_volume_g(5.0, 1.082)  # 1.082 g/mL at 20 °C: CRC Handbook, from memory
    amount = amounts.amount_mmol(mass, parse_formula("C4H6O3").molar_mass)
    assert amount.n == pytest.approx(5.0 * 1.082 / 102.0886 * 1000, rel=4e-5)  # M: NIST WebBook


def test_water_glass_reading_with_its_doubt():
    # EURACHEM/CITAC QUAM, example A1: volume terms 0.041, 0.02 and 0.049 mL make 0.0665 mL
    volume = normal(100.0, 0.041) + normal(0, 0.02) + normal(0, 0.049)
    assert amounts.mass_of_volume_g(volume, 1.0).s == pytest.approx(0.0665, abs=0.0005)


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: amounts.amount_mmol(0, 93.1),
            "The mass is 0\u00a0g: it must be above zero. Check the number.",
        ),
        (
            lambda: amounts.amount_mmol(nan, 93.1),
            "The value nan is not a number: give a figure.",
        ),
        (
            lambda: amounts.mass_g(5, -93.1),
            "The molar mass is -93.1\u00a0g/mol: it must be above zero. Check the number.",
        ),
        (
            lambda: amounts.amount_mmol(5, 93.1, 1.2),
            "The purity is 120\u00a0%: it lies above 0 and not over 105\u00a0%. Give 98\u00a0% as 0.98.",
        ),
        (
            lambda: amounts.volume_mL(5, 1082),
            "The density is 1082\u00a0g/mL: more than 22.7\u00a0g/mL is not believed. Check the unit.",
        ),
        (
            lambda: amounts.mass_g(1e12, 93.1),
            "The amount is 1e+12\u00a0mmol: more than 1e+09\u00a0mmol is not believed. Check the unit.",
        ),
        (
            lambda: amounts.density_at(0.789, 200, 20, 0.001),
            "The density is known at 20\u00a0°C and wanted at 200\u00a0°C: that is too far to carry it over. "
            "Enter a density nearer to 200\u00a0°C.",
        ),
        (
            lambda: amounts.water_density_g_per_mL(80),
            "Water at 80\u00a0°C is outside the formula (0 to 40\u00a0°C): enter its density.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value) == text
