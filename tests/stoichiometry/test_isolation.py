"""Recovery, drying, mass balance, melting ranges."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.stoichiometry.isolation import (
    MeltingRange,
    compare_melting,
    loss_on_drying,
    mass_balance,
    minimum_solvent_mL,
    recovery,
    wash_loss_g,
)
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import normal

# chemicals 1.5.2: CRC, CAS Common Chemistry and NIST melting points [°C]
LITERATURE = {
    "benzophenone": (48.0, 48.5, 48.1),
    "naphthalene": (80.2, 80.2, 80.1),
    "vanillin": (81.0, 80.5, 81.9),
    "acetanilide": (114.4, 114.3, 115),
    "succinic anhydride": (119.5, 119.6, 119.6),
    "benzoic acid": (122.3, 122.4, 122.1),
    "benzamide": (128.0, 130.0, 127.9),
    "phthalic anhydride": (131.4, 130.8, 130.9),
    "urea": (132.4, 132.7, 132.9),
    "salicylic acid": (158.6, 158.0, 158.9),
    "paracetamol": (168.0, 169.8, 168.0),
    "caffeine": (236.1, 238.0, 235.7),
    "maleic anhydride": (52.6, 52.8, 52.9),
}


def literature(name: str) -> MeltingRange:
    return MeltingRange(min(LITERATURE[name]), max(LITERATURE[name]))


def test_acetanilide_from_water():
    # by hand: solubility 5.5 g/100 mL hot, 0.53 cold (Merck Index, from memory): 5 g in 100 mL lose 0.53 g
    found = recovery(5.0, 100, 5.5, 0.53)
    assert found.recovered_g.n == pytest.approx(4.47)
    assert found.percent.n == pytest.approx(89.4)
    assert found.is_dissolved


def test_too_little_solvent_does_not_dissolve_all():
    assert not recovery(5.0, 80, 5.5, 0.53).is_dissolved
    assert minimum_solvent_mL(5.5, 5.5).n == pytest.approx(100)


def test_too_much_solvent_gives_nothing_back():
    assert recovery(0.5, 100, 5.5, 0.53).recovered_g.n == 0


@given(some.floats(0.1, 50), some.floats(1, 1000), some.floats(0.01, 5), some.floats(1.01, 50))
def test_recovered_and_lost_add_up(mass, solvent, cold, factor):
    found = recovery(mass, solvent, cold * factor, cold)
    assert (found.recovered_g + found.lost_g).n == pytest.approx(mass)
    assert 0 <= found.percent.n <= 100


@given(some.floats(0.1, 50), some.floats(0.1, 1000), some.floats(0.01, 5))
def test_a_wash_takes_no_more_than_there_is(crystals, washes, cold):
    assert wash_loss_g(crystals, washes, cold).n <= crystals


def test_loss_on_drying_at_the_limit_of_aspirin():
    # USP 29, aspirin: not more than 0.5 %
    assert loss_on_drying(21.0000, 20.9950, 20.0000).n == pytest.approx(0.005)


def test_one_weighing_of_the_vessel_counts_once():
    vessel = normal(20.0, 0.001)
    found = loss_on_drying(vessel + 1.000, vessel + 0.995, vessel)
    assert found.s == pytest.approx(0, abs=1e-12)


def test_balance_above_five_percent_is_asked_about():
    small = mass_balance({"reactants": 12.0, "water": 88.0}, {"product": 6.0, "waste": 90.0})
    large = mass_balance({"reactants": 12.0, "water": 88.0}, {"product": 6.0, "waste": 80.0})
    assert not small.is_to_be_explained
    assert large.is_to_be_explained
    assert large.words == "14.0\u00a0% unexplained: find out where"


def test_the_limit_of_the_balance_is_the_labs_own():
    found = mass_balance({"all": 100.0}, {"out": 97.0}, ask_above_percent=2)
    assert found.is_to_be_explained


def test_balance_within_its_doubt_is_not_asked_about():
    found = mass_balance({"all": normal(100, 4)}, {"out": normal(93, 1)})
    assert not found.is_to_be_explained
    assert found.words == "7.0\u00a0±\u00a07.7\u00a0% unexplained: nothing to explain"


@given(some.lists(some.floats(0.01, 100), min_size=1, max_size=5), some.floats(0, 1))
def test_in_is_out_and_unexplained(masses, share):
    inputs = {str(number): mass for number, mass in enumerate(masses)}
    found = mass_balance(inputs, {"out": sum(masses) * share})
    assert (found.out_g + found.unexplained_g).n == pytest.approx(sum(masses))


@pytest.mark.parametrize("name", LITERATURE)
def test_other_compilations_agree_with_the_first(name):
    first, *others = LITERATURE[name]
    for value in others:
        assert compare_melting(MeltingRange(value, value), MeltingRange(first, first)).startswith("agrees")


@pytest.mark.parametrize(
    ("first", "other", "start"),
    # aspirin (CRC 136.0, NIST 131.9) and 4-aminophenol (CRC 186.0, CAS 189.9) decompose: the value depends
    # on how fast they are heated
    [(136.0, 131.9, "lower"), (186.0, 189.9, "higher")],
)
def test_decomposing_substances_do_not_pass_between_compilations(first, other, start):
    found = compare_melting(MeltingRange(other, other), MeltingRange(first, first))
    assert found.startswith(start)


def test_an_estimated_melting_point_is_no_data():
    # the Joback estimate for acetanilide, 36 °C, against CRC
    assert compare_melting(MeltingRange(36, 36), literature("acetanilide")).startswith("lower")


@pytest.mark.parametrize(
    ("low", "high", "start"),
    [
        (113.5, 115.0, "agrees with the literature (114.3 to 115\u00a0°C)"),
        (108.0, 113.0, "lower and wider than the literature"),
        (108.0, 109.0, "lower than the literature"),
        (113.0, 116.5, "wider than the literature"),
        (118.0, 119.0, "higher than the literature"),
    ],
)
def test_melting_range_of_acetanilide(low, high, start):
    assert compare_melting(MeltingRange(low, high), literature("acetanilide")).startswith(start)


def test_a_reference_sample_takes_the_thermometer_out():
    observed, reference = MeltingRange(110.0, 111.0), MeltingRange(110.2, 111.2)
    assert compare_melting(observed, literature("acetanilide")).startswith("lower")
    against = compare_melting(observed, literature("acetanilide"), reference)
    assert against == "agrees with the reference sample (110.2 to 111.2\u00a0°C)"


@pytest.mark.parametrize(
    ("act", "text"),
    [
        (
            lambda: recovery(5, 100, 0.5, 5.5),
            "The solubility cold (5.5 g/100 mL) is not below the one hot (0.5 g/100 mL): "
            "swap them or take another solvent.",
        ),
        (
            lambda: loss_on_drying(20.0, 21.0, 19.0),
            "It weighs 21 g dry and 20 g wet: swap the two, or weigh it again once cold.",
        ),
        (
            lambda: loss_on_drying(1.0, 0.9, 20.0),
            "1 g wet and 0.9 g dry cannot be with a vessel of 20 g: weigh all three with the vessel.",
        ),
        (
            lambda: mass_balance({"water": -1.0}, {}),
            "The mass of water is -1 g: it cannot be below zero. Check the tare.",
        ),
        (
            lambda: MeltingRange(115, 113),
            "A melting range of 115 to 113 °C cannot be: give the first drop, then the clear melt, "
            "between -200 and 1000 °C.",
        ),
        (
            lambda: minimum_solvent_mL(5, 0),
            "The solubility hot is 0 g/100 mL: it must be above zero. Check the number.",
        ),
    ],
)
def test_refusals_name_value_and_way_out(act, text):
    with pytest.raises(LabError) as refused:
        act()
    assert str(refused.value).replace("\u00a0", " ") == text
