"""Yields of batches as the ledger has them, against published examples and hand calculation."""

import pytest

from batches.actions.plans import plan_batch
from batches.actions.record import Result, finish
from batches.drafts import read_preparation
from batches.results import Shared, actual_of, amount_of, outcome_of
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.reversing import reverse
from tests.batches.preparations import aniline, drawn_for, finished, planned, running
from tests.builders import ANHYDRIDE, ANILINE, amount, container, lot, person, substance

pytestmark = pytest.mark.django_db
BALANCE = "balance-0.1mg"


def pure(name, formula):
    """Return a bottle of a substance whose purity nobody stated; it is taken as pure."""
    about = {"name": name, "formula": formula}
    substance(about)
    return container(about, holds="100 g", lot=lot(about, purity_kind="unknown", purity_percent=None))


def made_from(equation, scale, first, grams, product, second="", second_grams=""):
    """Return the yield of a batch run through plan, ledger and finish [%]."""
    bottle = pure(*first)
    batch = plan_batch(
        title=equation, owner=person(), equation=equation, drafts=read_preparation(equation), scale=scale,
        scale_line=1, session=None,
    )  # fmt: skip
    drawn_for(batch, bottle, grams, BALANCE, 1)
    if second:
        drawn_for(batch, pure(*second), second_grams, BALANCE, 2)
    result = Result(amount(product), 0.0002, 100.0, 0.0)
    return finish(batch=batch, by=person(), result=result)


def test_copper_from_its_sulfate_and_zinc_gives_77_percent():
    # OpenStax, Chemistry 2e, 4.4 Reaction Yields (m68714): 1.274 g CuSO4 with excess zinc, 0.392 g Cu:
    # theoretical 0.5072 g, yield 77.3 %
    batch = made_from(
        "CuSO4 + Zn -> Cu + ZnSO4", "1.274 g", ("copper sulfate", "CuSO4"), "1.274 g", "0.392 g",
        ("zinc", "Zn"), "0.65 g",
    )  # fmt: skip
    assert batch.theoretical_g == pytest.approx(0.5072, abs=0.0001)
    assert batch.yield_percent == pytest.approx(77.3, abs=0.05)


def test_the_freon_of_the_textbook_gives_48_percent():
    # OpenStax, Chemistry 2e, 4.4 (m68714): 32.9 g CCl4 with excess HF, 12.5 g CF2Cl2: 48.3 %
    batch = made_from(
        "CCl4 + 2 HF -> CF2Cl2 + 2 HCl", "32.9 g", ("tetrachloromethane", "CCl4"), "32.9 g", "12.5 g"
    )
    assert batch.yield_percent == pytest.approx(48.3, abs=0.05)


def test_toluene_to_benzoic_acid_gives_91_percent():
    # OpenStax, Chemistry 2e, 4.4 (m68714), exercise: 1.000 kg toluene, 1.21 kg benzoic acid: 91.3 %;
    # here on a ten-thousandth of the scale: 100.0 mg and 121 mg
    batch = made_from(
        "2 C7H8 + 3 O2 -> 2 C7H6O2 + 2 H2O", "100.0 mg", ("toluene", "C7H8"), "100.0 mg", "121 mg"
    )
    assert batch.yield_percent == pytest.approx(91.3, abs=0.1)


def test_acetanilide_gives_what_a_hand_calculation_gives():
    # by hand: aniline 5.61 g at 99.5 % (at least 99: half way to 100) / 93.129 g/mol = 59.94 mmol, limiting;
    # theory 59.94 mmol x 135.166 g/mol = 8.102 g; yield 6.02 g x 0.991 / 8.102 g = 73.6 %
    batch = finished()
    assert batch.theoretical_g == pytest.approx(8.102, abs=0.002)
    assert batch.yield_percent == pytest.approx(73.6, abs=0.05)
    assert batch.limiting_line == 1


def test_yield_carries_the_doubt_of_mass_purity_and_strength():
    # by hand, relative: product 0.02/6.02 = 0.33 %, purity 0.4/99.1 = 0.40 %, aniline 0.29/99.5 (rectangle 99 to 100:
    # 0.5/sqrt 3 points) = 0.29 %, its weighing 0.0173/5.61 = 0.31 %; root of the squares 0.67 % of 73.6
    assert finished().yield_u_percent == pytest.approx(0.49, abs=0.01)


def test_portions_from_one_bottle_share_the_doubt_of_its_strength():
    batch, bottle = planned(), aniline()
    for _ in range(4):
        drawn_for(batch, bottle, "1.4000 g", BALANCE, 1)
    amount_mmol = actual_of(batch).amounts_mmol["1"]
    # a rectangle from 99 to 100 % has u = 0.5/sqrt(3) points of 99.5; four portions do not make it better
    assert amount_mmol.std_dev / amount_mmol.nominal_value == pytest.approx(0.0029, rel=0.02)


def test_draws_with_one_syringe_share_its_error():
    batch, bottle, shared = planned(), container(ANHYDRIDE), Shared()
    entries = [drawn_for(batch, bottle, "5 mL", "syringe-10", 2).entry for _ in range(2)]
    one, other = (amount_of(entry, shared) for entry in entries)
    common = entries[0].u_common / 1e6
    assert (one - other).std_dev < one.std_dev * 2**0.5
    assert (one + other).std_dev ** 2 == pytest.approx(2 * one.std_dev**2 + 2 * common**2)


def test_a_product_weighed_on_the_reactant_s_balance_shares_its_error():
    batch = running()
    apart = outcome_of(batch, 5.61, 0.0173, 100, 0)
    same = outcome_of(batch, 5.61, 0.0173, 100, 0, mass_common_g=0.0077, device_code="balance-0.01g")
    assert same.yield_percent.nominal_value == pytest.approx(apart.yield_percent.nominal_value)
    assert same.yield_percent.std_dev < apart.yield_percent.std_dev


def test_a_reversed_draw_does_not_count():
    batch = running()
    before = actual_of(batch).amounts_mmol["1"].nominal_value
    extra = drawn_for(batch, aniline(), "2 g", "balance-0.01g", 1)
    assert actual_of(batch).amounts_mmol["1"].nominal_value > before + 20
    reverse(entry=extra.entry, doing=Doing(by=person(), reason="wrong bottle"))
    assert actual_of(batch).amounts_mmol["1"].nominal_value == pytest.approx(before)


def test_a_draw_outside_the_plan_does_not_count_and_breaks_nothing():
    batch = running()
    before = actual_of(batch).theoretical_mass_g.nominal_value
    bag = Arrival(
        unit="piece", capacity=amount("50 pieces"), amount=amount("50 pieces"), described_as="chips"
    )
    drawn_for(batch, receive(arrival=bag, doing=Doing(by=person())), "3 pieces", "counted")
    assert actual_of(batch).theoretical_mass_g.nominal_value == before


def test_what_was_weighed_out_of_a_bottle_kept_in_mL_does_not_depend_on_its_density():
    # by hand: 5.61 g x 0.995 / 93.129 g/mol = 59.94 mmol, whatever the density; its doubt is that of the balance
    # (0.0173 g of 5.61 g, 0.31 %) and of the strength (0.29 of 99.5, 0.29 %) alone: 0.42 %
    batch = planned()
    unsure = lot(ANILINE, density_g_per_mL=1.022, density_u_g_per_mL=0.05)
    bottle = container(ANILINE, holds="250 mL", capacity="250 mL", lot=unsure)
    drawn_for(batch, bottle, "5.61 g", "balance-0.01g", 1)
    amount_mmol = actual_of(batch).amounts_mmol["1"]
    assert amount_mmol.nominal_value == pytest.approx(59.94, abs=0.01)
    assert amount_mmol.std_dev / amount_mmol.nominal_value == pytest.approx(0.0042, abs=0.0003)
