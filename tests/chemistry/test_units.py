from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.chemistry.unit_table import DIMENSIONS, TRAPS
from labstock.chemistry.units import UNITS, convert, get_unit, unit

# SI Brochure, 9th edition (BIPM 2019): prefixes, table 7; litre, minute, hour, day, table 8
SI_FACTORS = [
    ("mg", "g", Fraction(1, 1000)),
    ("µg", "g", Fraction(1, 10**6)),
    ("kg", "g", Fraction(1000)),
    ("L", "mL", Fraction(1000)),
    ("µL", "mL", Fraction(1, 1000)),
    ("nL", "mL", Fraction(1, 10**6)),
    ("m³", "L", Fraction(1000)),
    ("mmol", "mol", Fraction(1, 1000)),
    ("kg/m³", "g/mL", Fraction(1, 1000)),
    ("g/mL", "g/L", Fraction(1000)),
    ("% w/v", "g/L", Fraction(10)),
    ("mmol/mL", "mol/L", Fraction(1)),
    ("h", "s", Fraction(3600)),
    ("d", "h", Fraction(24)),
    ("kcal", "J", Fraction(4184)),  # thermochemical calorie, exact by definition
    ("lb", "g", Fraction(45359237, 100000)),  # international pound, exact by definition (1959)
    ("bar", "kPa", Fraction(100)),
    ("ppm w/w", "% w/w", Fraction(1, 10000)),
    ("drop", "mL", Fraction(1, 20)),  # Ph. Eur. 2.1.1 Droppers: 20 drops of water 1000 mg
]


@pytest.mark.parametrize(("source", "target", "factor"), SI_FACTORS)
def test_factors_are_exact(source, target, factor):
    assert convert(1, unit(source), unit(target)) == factor


def test_celsius_has_its_zero_at_273_15_kelvin():
    assert convert(25, unit("°C"), unit("K")) == Fraction("298.15")  # SI Brochure, 2.3.1
    assert convert(0, unit("K"), unit("°C")) == Fraction("-273.15")


@pytest.mark.parametrize(
    ("typed", "symbol"),
    [
        ("ml", "mL"), ("l", "L"), ("cc", "mL"), ("cm³", "mL"), ("ul", "µL"), ("\u00b5L", "µL"), ("\u03bcL", "µL"),
        ("ug", "µg"), ("gm", "g"), ("Grams", "g"), ("KG", "kg"), ("DROPS", "drop"), ("pcs", "piece"), ("M", "mol/L"),
        ("mM", "mmol/L"), ("mol·L⁻¹", "mol/L"), ("mol L-1", "mol/L"), ("mol dm⁻³", "mol/L"), ("g/cm³", "g/mL"),
        ("wt %", "% w/w"), ("% (w/w)", "% w/w"), ("%w/v", "% w/v"), ("vol%", "% v/v"), ("mol%", "mol %"),
        ("℃", "°C"), ("º C", "°C"), ("hr", "h"), ("J/(g·K)", "J/(g K)"), ("J g⁻¹ K⁻¹", "J/(g K)"), ("eq", "equiv"),
    ],
)  # fmt: skip
def test_reads_units_as_people_write_them(typed, symbol):
    assert get_unit(typed).symbol == symbol


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("ML", "'ML' would be megalitres; write mL."),
        ("Mg", "'Mg' would be megagrams (tonnes); write mg."),
        ("N", "'N' would be newton; for a normality write the concentration in mol/L."),
        ("m", "'m' would be metres; write mL for a volume, mol/L for a concentration."),
        ("C", "'C' would be coulomb; write °C."),
        ("gal", "'gal' is 3.785 L or 4.546 L; write L."),
        ("milliltre", "'milliltre' is not a unit known here: write mL."),
        ("xyz", "'xyz' is not a unit known here: write g, mg, mL, µL, mmol or pieces."),
        ("m L", "'m L' is not a unit known here: write mL."),
    ],
)
def test_refuses_other_spellings_and_says_what_would_be_right(typed, text):
    with pytest.raises(LabError) as refusal:
        get_unit(typed)
    assert str(refusal.value) == text


def test_case_that_carries_meaning_is_kept_apart():
    assert get_unit("mM").dimension == "concentration"
    assert get_unit("mmol").dimension == "amount"
    with pytest.raises(LabError, match="megamolar"):
        get_unit("MM")


def test_no_trap_is_also_a_unit():
    read = []
    for spelling in TRAPS:
        with pytest.raises(LabError) as refusal:
            get_unit(spelling)
        read.append(refusal.value.code)
    assert set(read) == {"unit-trap"}


def test_kinds_of_percent_do_not_turn_into_each_other():
    with pytest.raises(LabError) as refusal:
        convert(Decimal(5), unit("% v/v"), unit("% w/w"))
    assert str(refusal.value) == (
        "5 % v/v cannot be turned into % w/w: the one is a fraction by volume, the other a fraction by mass; "
        "say which kind is meant."
    )


def test_dimensions_do_not_turn_into_each_other():
    with pytest.raises(LabError) as refusal:
        convert(Decimal(5), unit("g"), unit("mL"))
    assert str(refusal.value) == (
        "5 g cannot be turned into mL: the one is a mass, the other a volume; give it in mL, L or µL."
    )


def test_every_dimension_has_its_base_unit_in_the_table():
    assert {UNITS[row.base].dimension for row in DIMENSIONS.values()} == set(DIMENSIONS)


@given(st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)), st.decimals(-1000, 1000, places=6))
def test_conversion_there_and_back_is_exact(source, target, value):
    here, there = unit(source), unit(target)
    if here.converts_to(there):
        assert convert(convert(value, here, there), there, here) == Fraction(value)


@given(st.sampled_from(sorted(UNITS)))
def test_every_symbol_is_read_as_itself(symbol):
    assert get_unit(symbol).symbol == symbol
    assert get_unit(symbol.replace(" ", "\u00a0")).symbol == symbol


@given(st.text(max_size=12))
def test_any_text_is_a_unit_or_a_refusal(text):
    try:
        code = get_unit(text).symbol
    except LabError as refusal:
        code = refusal.code
    assert code in {*UNITS, "unit-unknown", "unit-trap"}
