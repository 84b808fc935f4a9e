from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.devices import DEVICES, choices, device
from labstock.chemistry.errors import LabError
from labstock.chemistry.measuring import COMMON_PRACTICE, FROM_MEMORY, READ

PUBLISHED_LIMITS = [
    # ISO 648:2008 Single-volume pipettes, class A and B
    ("pipette-1-a", 0.008), ("pipette-5-a", 0.015), ("pipette-10-a", 0.02), ("pipette-25-a", 0.03), ("pipette-10-b", 0.04),
    # ISO 1042:1998 One-mark volumetric flasks
    ("flask-10-a", 0.025), ("flask-50-a", 0.06), ("flask-100-a", 0.10), ("flask-1000-a", 0.40), ("flask-250-b", 0.30),
    # ISO 385:2005 Burettes, 10 mL by 0.05, 25 mL by 0.05, 50 mL by 0.1
    ("burette-10-a", 0.03), ("burette-25-a", 0.03), ("burette-25-b", 0.05), ("burette-50-a", 0.05), ("burette-50-b", 0.10),
    # ISO 4788:2005 Graduated measuring cylinders, from memory
    ("cylinder-10-a", 0.10), ("cylinder-50-b", 1.0), ("cylinder-100-a", 0.5), ("cylinder-500-b", 5.0),
    # ASTM E1272 Laboratory glass graduated cylinders, class A; class B twice that
    ("cylinder-astm-10-a", 0.10), ("cylinder-astm-25-a", 0.17), ("cylinder-astm-250-a", 1.0), ("cylinder-astm-500-b", 4.0),
    # USP 31 Volumetric apparatus, measuring pipettes
    ("graduated-pipette-2", 0.010), ("graduated-pipette-5", 0.020), ("graduated-pipette-10", 0.030),
]  # fmt: skip


@pytest.mark.parametrize(("code", "limit_mL"), PUBLISHED_LIMITS)
def test_glassware_has_the_limit_of_its_standard_at_any_amount(code, limit_mL):
    row = device(code)
    assert row.uncertainty(row.capacity).u * sqrt(3) == pytest.approx(limit_mL)  # JCGM 100:2008, 4.3.7
    assert row.uncertainty(row.capacity / 2).u * sqrt(3) == pytest.approx(limit_mL)


@pytest.mark.parametrize(
    ("nominal_uL", "systematic_uL", "random_uL"),
    [(10, 0.12, 0.08), (100, 0.8, 0.3), (200, 1.6, 0.6), (1000, 8, 3), (5000, 40, 15), (10000, 60, 30)],
)  # ISO 8655-2:2002 Piston-operated volumetric apparatus, piston pipettes, maximum permissible errors
def test_piston_pipettes_keep_systematic_and_random_apart(nominal_uL, systematic_uL, random_uL):
    doubt = device(f"piston-{nominal_uL}").uncertainty(nominal_uL / 2000)
    assert doubt.common * 1000 == pytest.approx(systematic_uL / sqrt(3))
    assert doubt.random * 1000 == pytest.approx(random_uL)


@pytest.mark.parametrize(
    ("code", "amount_mL", "limit_mL"),
    [
        ("syringe-2", 1, 0.05),  # from half scale up ± 5 % of the amount below 5 mL
        ("syringe-5", 5, 0.20),  # ± 4 % from 5 mL on
        ("syringe-10", 2, 0.19),  # below half scale ± (1.5 % of 10 mL + 2 % of 2 mL)
        ("syringe-50", 40, 1.6),
    ],
)  # ISO 7886-1 Sterile hypodermic syringes for single use, table 1, from memory
def test_plastic_syringes_follow_the_table_of_their_standard(code, amount_mL, limit_mL):
    assert device(code).uncertainty(amount_mL).u * sqrt(3) == pytest.approx(limit_mL)


def test_levels_judged_by_eye_go_by_the_vessel():
    # common practice, from memory: by eye 5 % of capacity, with a printed strip 2 %
    assert device("by-eye").uncertainty(100, vessel=500).u * sqrt(3) == pytest.approx(25)
    assert device("fill-strip").uncertainty(100, vessel=500).u * sqrt(3) == pytest.approx(10)


def test_several_fillings_share_the_common_part_only():
    once, twice = device("syringe-10").uncertainty(10), device("syringe-10").uncertainty(20)
    assert twice.common == pytest.approx(2 * once.common)
    assert twice.random == pytest.approx(sqrt(2) * once.random)


def test_counting_brings_no_doubt():
    assert device("counted").uncertainty(12).u == 0


@pytest.mark.parametrize(
    ("ask", "text"),
    [
        (lambda: device("spoon"), "'spoon' is not a measuring device known here: pick one of the list."),
        (
            lambda: device("by-eye").uncertainty(100),
            "100 mL by eye, from the level cannot be given a doubt without the capacity of the vessel: enter the capacity.",
        ),
        (
            lambda: device("balance-0.1mg").uncertainty(500),
            "500 g is more than the 0.1 mg analytical balance takes (220 g): use a larger balance.",
        ),
        (
            lambda: device("syringe-5").uncertainty(-1),
            "-1 mL cannot have been measured with the 5 mL syringe: give an amount of 0 or more.",
        ),
        (
            lambda: device("syringe-5").uncertainty(float("nan")),
            "nan mL cannot have been measured with the 5 mL syringe: give an amount of 0 or more.",
        ),
        (lambda: choices("mol", 1), "Nothing on the bench measures in mol: use g, mL or pieces."),
    ],
)
def test_refuses_what_a_device_cannot_do(ask, text):
    with pytest.raises(LabError) as refusal:
        ask()
    assert str(refusal.value) == text


@pytest.mark.parametrize(
    ("unit", "amount", "first"),
    [
        ("mL", 5, "5 mL syringe"),
        ("mL", 7, "10 mL syringe"),
        ("mL", 0.1, "100 µL piston pipette"),
        ("mL", 80, "100 mL cylinder, class B"),
        ("g", 5, "0.01 g balance"),
        ("g", 0.02, "0.1 mg analytical balance"),
        ("g", 500, "0.1 g balance"),
        ("piece", 3, "counted"),
    ],
)
def test_offers_the_handiest_device_first(unit, amount, first):
    assert choices(unit, amount)[0].name == first


def test_one_mark_pipettes_are_offered_for_their_own_volume_only():
    assert "10 mL one-mark pipette, class A" in [row.name for row in choices("mL", 10)]
    assert "one-mark pipette" not in {row.kind for row in choices("mL", 9.5)}


def test_judging_by_eye_is_offered_only_with_a_known_vessel():
    assert "by eye" not in {row.kind for row in choices("mL", 2500)}
    assert "by eye" in {row.kind for row in choices("mL", 2500, vessel=5000)}


def test_every_row_says_where_its_limit_is_from():
    assert {row.certainty for row in DEVICES.values()} <= {READ, FROM_MEMORY, COMMON_PRACTICE}
    assert all(row.source and row.limit_text and row.name for row in DEVICES.values())
    assert {row.unit for row in DEVICES.values()} == {"g", "mL", "piece"}
    assert len({(row.name, row.unit) for row in DEVICES.values()}) == len(DEVICES)


@given(st.sampled_from(["g", "mL", "piece"]), st.floats(1e-6, 1e5))
def test_there_is_always_something_to_pick_and_never_more_than_four(unit, amount):
    offered = choices(unit, amount)
    assert 1 <= len(offered) <= 4
    assert {row.unit for row in offered} == {unit}


@given(st.sampled_from([row for row in DEVICES.values() if row.kind != "balance"]), st.floats(0, 1e4))
def test_the_two_parts_are_sizes(row, amount):
    doubt = row.uncertainty(amount, vessel=1e4)
    assert doubt.random >= 0
    assert doubt.common >= 0
    assert doubt.u == pytest.approx(sqrt(doubt.random**2 + doubt.common**2))
