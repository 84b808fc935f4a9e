from decimal import Decimal
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.chemistry.units import UNITS, unit


@pytest.mark.parametrize(
    ("typed", "value", "symbol"),
    [
        ("5 mL", "5", "mL"), ("5mL", "5", "mL"), ("1,5 g", "1.5", "g"), ("0.50 mol/L", "0.50", "mol/L"),
        (".5 g", "0.5", "g"), ("0,500 mL", "0.500", "mL"), ("1.500 mL", "1.500", "mL"), ("1500,250 g", "1500.250", "g"),
        ("6 drops", "6", "drop"), ("+5 g", "5", "g"), ("1e-3 g", "0.001", "g"), ("2 × 10⁻³ g", "0.002", "g"),
        ("2 x 10^3 g", "2000", "g"), ("5\u00a0mL", "5", "mL"), ("5\u2009mL", "5", "mL"), ("1\u202f500 mL", "1500", "mL"),
        ("\ufeff5 mL\n", "5", "mL"), ("−20 °C", "-20", "°C"), ("99.7 % w/w", "99.7", "% w/w"), ("0 g", "0", "g"),
    ],
)  # fmt: skip
def test_reads_a_number_and_a_unit(typed, value, symbol):
    read = parse_quantity(typed)
    assert (read.value, read.unit.symbol, read.u, read.count) == (Decimal(value), symbol, None, 1)
    assert read.typed == typed


@pytest.mark.parametrize(
    ("typed", "value", "half", "symbol"),
    [
        ("250mg ± 1 mg", "250", "1", "mg"),
        ("250 +/- 1 mg", "250", "1", "mg"),
        ("250 +- 1mg", "250", "1", "mg"),
        ("250 mg ± 1", "250", "1", "mg"),
        ("(250 ± 1) mg", "250", "1", "mg"),
        ("250 mg ± 0,001 g", "250", "1", "mg"),
        ("5 mL ± 2 %", "5", "0.1", "mL"),
        ("50 ppm ± 10 %", "50", "5", "ppm"),
        ("98 ± 0.5 %", "98", "0.5", "%"),
        ("98 % w/w ± 0.5 %", "98", "0.5", "% w/w"),
        ("20 °C ± 0.5 K", "20", "0.5", "°C"),
        ("(1.20 ± 0.05) × 10⁻³ g", "0.0012", "0.00005", "g"),
    ],
)
def test_plus_minus_is_the_half_width_of_a_rectangle(typed, value, half, symbol):
    read = parse_quantity(typed)
    assert (read.value, read.unit.symbol) == (Decimal(value), symbol)
    assert float(read.u or 0) == pytest.approx(float(half) / sqrt(3))  # JCGM 100:2008, 4.3.7


def test_plus_minus_with_k_is_an_expanded_uncertainty():
    assert parse_quantity("5 mL ± 0.2 mL (k=2)").u == Decimal("0.1")  # JCGM 100:2008, 4.3.3
    assert parse_quantity("5 ± 0.3 mL (k = 3)").u == Decimal("0.1")


@pytest.mark.parametrize("typed", ["2 x 500 mL", "2x500mL", "2 × 500 mL", "2 X 500 mL", "2*500 mL"])
def test_portions_give_the_whole_amount_and_their_number(typed):
    read = parse_quantity(typed)
    assert (read.value, read.count, read.each.value, read.each.count) == (1000, 2, 500, 1)
    assert str(read) == "2\u00a0×\u00a0500\u00a0mL"


def test_portions_measured_alike_share_their_doubt():
    read = parse_quantity("2 x 5 mL ± 0.1 mL")
    assert float(read.u or 0) == pytest.approx(2 * 0.1 / sqrt(3))
    assert float(read.each.u or 0) == pytest.approx(0.1 / sqrt(3))
    assert str(read) == "2 × (5.00 ± 0.12) mL".replace(" ", "\u00a0")


def test_a_bare_number_takes_the_default_unit():
    assert str(parse_quantity("12,5", default_unit="mL")) == "12.5\u00a0mL"
    assert parse_quantity("12.5 ± 2 %", default_unit="mL").u == pytest.approx(
        Decimal("0.1443"), abs=Decimal("0.0001")
    )


def test_drops_bring_the_doubt_of_the_dropper():
    amount = parse_quantity("6 drops").as_uncertain("mL")  # Ph. Eur. 2.1.1: 0.05 mL; USP 1101: within 15 %
    assert amount.n == pytest.approx(0.3)
    assert amount.s == pytest.approx(0.3 * 0.15 / sqrt(3))
    assert parse_quantity("6 drops").as_uncertain().s == pytest.approx(6 * 0.15 / sqrt(3))
    assert parse_quantity("6 ± 0 drops").as_uncertain("mL").s == 0


def test_density_is_read_where_a_mass_concentration_is_wanted_and_back():
    assert parse_quantity("0.789 g/mL", dimensions=["mass concentration"]).in_unit("g/L") == 789
    assert parse_quantity("789 g/L", dimensions=["density"]).in_unit("g/mL") == Decimal("0.789")


def test_conversion_keeps_what_was_typed_and_carries_the_uncertainty():
    there = parse_quantity("1.5 g ± 3 mg").to("mg")
    assert (there.value, there.unit.symbol, there.typed) == (1500, "mg", "1.5 g ± 3 mg")
    assert float(there.u or 0) == pytest.approx(3 / sqrt(3))
    assert parse_quantity("25 °C ± 1 K").to("K").value == Decimal("298.15")
    assert float(parse_quantity("25 °C ± 1 K").to("K").u or 0) == pytest.approx(1 / sqrt(3))


@pytest.mark.parametrize(
    ("typed", "symbol", "millionths"),
    [
        ("250 mg", "g", 250_000), ("5 µL", "mL", 5_000), ("6 drops", "mL", 300_000), ("2 pieces", "piece", 2_000_000),
        ("2 x 2.5 L", "mL", 5_000_000_000), ("0.000001 g", "g", 1), ("0.1 g", "g", 100_000), ("1 lb", "g", 453_592_370),
    ],
)  # fmt: skip
def test_ledger_amounts_are_whole_millionths(typed, symbol, millionths):
    assert parse_quantity(typed).millionths(symbol) == millionths


REFUSALS = [
    ("", "Nothing was entered: write a number and a unit, such as '5 mL'."),
    (" \t ", "Nothing was entered: write a number and a unit, such as '5 mL'."),
    ("5 mL " * 20, "'5 mL 5 mL 5 mL 5 mL …' is 100 characters long; an amount has at most 80: write a number and a unit, such as '5 mL'."),
    ("five mL", "'five mL' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("mL 5", "'mL 5' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("±", "'±' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("٥ mL", "'٥ mL' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("5 mL (k=2)", "'5 mL (k=2)' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("2 x 3 x 5 mL", "'2 x 3 x 5 mL' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("9**9**9", "'9**9**9' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("2026-11-25", "'2026-11-25' is not read as an amount: write a number and a unit, such as '5 mL'."),
    ("nan g", "'nan g' is not a number: write a figure, such as '5 mL'."),
    ("-inf mL", "'-inf mL' is not a number: write a figure, such as '5 mL'."),
    ("∞", "'∞' is not a number: write a figure, such as '5 mL'."),
    ("5", "'5' has no unit: write it behind the number, such as '5 mL'."),
    ("1,500 mL", "'1,500 mL' is not clear. Do you mean 1.5 mL or 1500 mL? Write 1.500 or 1500."),
    ("1,500", "'1,500' is not clear. Do you mean 1.5 or 1500? Write 1.500 or 1500."),
    ("5 ± 1,250 mL", "'5 ± 1,250 mL' is not clear. Do you mean 1.25 mL or 1250 mL? Write 1.250 or 1250."),
    ("2 500 mL", "'2 500 mL' is not clear. Do you mean 2500 mL or 2 x 500 mL? Write it that way."),
    ("1,234,567 mL", "'1,234,567 mL' has more than one sign between its digits, or one at the end: write one decimal sign and no grouping, such as '1234567'."),
    ("1.234,5 mL", "'1.234,5 mL' has more than one sign between its digits, or one at the end: write one decimal sign and no grouping, such as '1234.5'."),
    ("1'000 g", "'1'000 g' has more than one sign between its digits, or one at the end: write one decimal sign and no grouping, such as '1000'."),
    ("5. mL", "'5. mL' has more than one sign between its digits, or one at the end: write one decimal sign and no grouping, such as '5'."),
    ("0.1234567890123456 g", "'0.1234567890123456 g' has more than 15 digits: round it to what was measured."),
    ("1/2 mL", "'1/2 mL' is written as a fraction: write a decimal number, such as '0.5 mL'."),
    ("½ mL", "'½ mL' is written as a fraction: write a decimal number, such as '0.5 mL'."),
    ("5-10 mL", "'5-10 mL' is a range: write its middle and half width, '7.5 ± 2.5 mL'."),
    ("5 to 10 mL", "'5 to 10 mL' is a range: write its middle and half width, '7.5 ± 2.5 mL'."),
    ("≥ 98 %", "'≥ 98 %' is a limit or an estimate, not an amount: write the amount, with ± where it is not sure, such as '5 ± 1 mL'."),
    ("ca. 5 mL", "'ca. 5 mL' is a limit or an estimate, not an amount: write the amount, with ± where it is not sure, such as '5 ± 1 mL'."),
    ("500 mL x 2", "'500 mL x 2' has the number of portions behind: write '2 x 500 mL'."),
    ("0 x 5 mL", "'0 x 5 mL' has 0 portions: give 1 to 1000."),
    ("5000 x 5 mL", "'5000 x 5 mL' has 5000 portions: give 1 to 1000."),
    ("5 mL ±", "'5 mL ±' has nothing behind ±: write the half width, such as '5 ± 0.1 mL'."),
    ("5 ± -1 mL", "'5 ± -1 mL' has an uncertainty below zero: write its size behind ±."),
    ("5 mL ± 1 g", "'5 mL ± 1 g' has its uncertainty in g and its value in mL: give both in mL."),
    ("5 mL ± 1 mL (k=0)", "'5 mL ± 1 mL (k=0)' has k = 0: k is above 0, mostly 2."),
    ("5 ML", "'5 ML' cannot be read: 'ML' would be megalitres; write mL."),
    ("5 Mg", "'5 Mg' cannot be read: 'Mg' would be megagrams (tonnes); write mg."),
    ("0.1 N", "'0.1 N' cannot be read: 'N' would be newton; for a normality write the concentration in mol/L."),
    ("5 milliltre", "'5 milliltre' cannot be read: 'milliltre' is not a unit known here: write mL."),
    ("5 {typed}", "'5 {typed}' cannot be read: '{typed}' is not a unit known here: write g, mg, mL, µL, mmol or pieces."),
    ("-5 g", "'-5 g' is below zero: give an amount of 0 or more."),
    ("-300 °C", "'-300 °C' lies below absolute zero (−273.15 °C): check the number and the unit."),
    ("-1 K", "'-1 K' lies below absolute zero (−273.15 °C): check the number and the unit."),
    ("5e12 g", "'5e12 g' is more than 1,000,000,000 g: check the number and the unit."),
    ("1000000001 mL", "'1000000001 mL' is more than 1,000,000,000 mL: check the number and the unit."),
    ("1e400 g", "'1e400 g' has a power of ten beyond 30: check the number and the unit."),
    ("1e999999999 g", "'1e999999999 g' has a power of ten beyond 30: check the number and the unit."),
    ("2.5 drops", "'2.5 drops' is not a whole number of drops: count whole ones, or give the volume in mL."),
    ("2.5 pieces", "'2.5 pieces' is not a whole number of pieces: count whole ones, or weigh it and give g."),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "text"), REFUSALS, ids=[typed[:12] or "empty" for typed, _ in REFUSALS])
def test_refuses_and_says_what_would_be_right(typed, text):
    with pytest.raises(LabError) as refusal:
        parse_quantity(typed)
    assert str(refusal.value) == text


@pytest.mark.parametrize(
    ("typed", "options", "text"),
    [
        (
            "5 g",
            {"dimensions": ["volume"]},
            "'5 g' is a mass; a volume is needed here: give it in mL, L or µL.",
        ),
        (
            "5 g",
            {
                "dimensions": ["volume"],
                "hint": "this container is kept in mL and its lot has no density: give a volume, or enter the density",
            },
            "'5 g' is a mass; this container is kept in mL and its lot has no density: "
            "give a volume, or enter the density.",
        ),
        (
            "5 °C",
            {"dimensions": ["mass", "volume"]},
            "'5 °C' is a temperature; a mass or a volume is needed here: give it in g, mg or kg; or in mL, L or µL.",
        ),
        ("5", {"dimensions": ["mass"]}, "'5' has no unit: write it behind the number, such as '5 g'."),
        ("0 g", {"allow_zero": False}, "'0 g' is nothing: give an amount above 0."),
        ("-5", {"default_unit": "g"}, "'-5' is below zero: give an amount of 0 or more."),
        (
            "1,500",
            {"default_unit": "g"},
            "'1,500' is not clear. Do you mean 1.5 or 1500? Write 1.500 or 1500.",
        ),
    ],
)
def test_refuses_what_does_not_fit_here(typed, options, text):
    with pytest.raises(LabError) as refusal:
        parse_quantity(typed, **options)
    assert str(refusal.value) == text


@pytest.mark.parametrize(
    ("typed", "symbol", "text"),
    [
        (
            "0.0000004 g",
            "g",
            "'0.0000004 g' is finer than the ledger keeps, which is 0.000001 g: round it to 0 g.",
        ),
        (
            "1.0000005 mg",
            "g",
            "'1.0000005 mg' is finer than the ledger keeps, which is 0.000001 g: round it to 0.001 g.",
        ),
        ("5 mmol", "mol", "The ledger keeps g, mL or pieces, not mol: convert the amount first."),
        (
            "5 mmol",
            "g",
            "5 mmol cannot be turned into g: the one is an amount of substance, the other a mass; give it in g, mg or kg.",
        ),
    ],
)
def test_refuses_what_the_ledger_cannot_keep(typed, symbol, text):
    with pytest.raises(LabError) as refusal:
        parse_quantity(typed).millionths(symbol)
    assert str(refusal.value).replace("\u00a0", " ") == text


@given(st.text(alphabet="0123456789.,eE+-−±x×*^()k= %gmLµdrops/'\u00a0½≥–nai", max_size=20))
def test_any_text_is_an_amount_or_a_refusal_that_names_it(text):
    try:
        outcome = parse_quantity(text).typed
    except LabError as refusal:
        outcome = text if text in refusal.message or not text.strip() else refusal.message
    assert outcome == text


@given(st.decimals(0, 1000, places=4), st.sampled_from(["g", "mL", "mol", "g/L", "s", "% w/w"]), st.data())
def test_conversion_there_and_back_gives_the_same_amount(value, symbol, data):
    others = [name for name, row in UNITS.items() if row.converts_to(unit(symbol))]
    amount = Quantity(value, unit(symbol), Decimal("0.1"))
    back = amount.to(data.draw(st.sampled_from(others))).to(symbol)
    assert float(back.value) == pytest.approx(float(value), rel=1e-25)
    assert float(back.u or 0) == pytest.approx(0.1)


@given(st.integers(0, 10**12), st.sampled_from(["g", "mL"]))
def test_whole_millionths_survive_printing_and_parsing(millionths, symbol):
    amount = Quantity(Decimal(millionths).scaleb(-6), unit(symbol))
    assert parse_quantity(str(amount)).millionths(symbol) == millionths


@given(st.decimals("0.001", 1000, places=3), st.integers(1, 1000), st.decimals("0.001", 10, places=3))
def test_printed_portions_are_read_back(value, count, half):
    typed = f"{count} x {value} mL ± {half} mL"
    read = parse_quantity(typed)
    again = parse_quantity(str(read))
    assert again.count == read.count
    assert abs(again.each.value - read.each.value) <= (read.each.u or 0)


@given(st.decimals("0.001", 1000, places=3), st.decimals(0, 10, places=3), st.decimals(0, 10, places=3))
def test_uncertainty_never_shrinks_when_the_half_width_grows(value, half, more):
    smaller, larger = parse_quantity(f"{value} mL ± {half}"), parse_quantity(f"{value} mL ± {half + more}")
    assert (larger.to("L").u or 0) >= (smaller.to("L").u or 0)
    assert larger.as_uncertain("L").s >= smaller.as_uncertain("L").s
