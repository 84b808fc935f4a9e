"""Decanting, topping up, dissolving: who is whose child, which lots are in it, how strong and how long it is good."""

from dataclasses import replace
from datetime import date

import pytest

from labstock.stock.actions.catalogue import change_lot
from labstock.stock.actions.dissolving import Part, Solution, make_solution
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.transferring import Vessel, decant, top_up
from labstock.stock.lots_in import lots_in, went_on
from labstock.stock.models import Entry, Kind, Lineage, Lot, Origin, Purpose, State, Went
from tests.builders import ACETIC_ACID, ANHYDRIDE, ANILINE, amount, container, lot, person, refused

pytestmark = pytest.mark.django_db
SODIUM_CHLORIDE = {
    "name": "sodium chloride", "cas": "7647-14-5", "formula": "NaCl", "molar_mass_g_per_mol": 58.44,
}  # fmt: skip
WATER = {"name": "water", "cas": "7732-18-5", "formula": "H2O", "density_g_per_mL": 0.998, "is_liquid": True}


def doing(**fields):
    return Doing(by=person(), **fields)


def decanted(parent, much="20 mL", act=None):
    return decant(
        container=parent, amount=amount(much), device_code="cylinder-50-b", into=Vessel(amount("25 mL")),
        doing=act or doing(),
    )  # fmt: skip


def poured(source, target, much="25 mL", act=None):
    return top_up(
        container=source, into=target, amount=amount(much), device_code="cylinder-50-b", doing=act or doing()
    )


def test_a_decanted_child_inherits_identity_opening_and_end():
    parent = container(lot=lot(expires_on=date(2027, 1, 9)), opened_on=date(2026, 10, 1), needs=["dry"])
    child = decanted(parent)
    assert (child.lot, child.substance, child.needs) == (parent.lot, parent.substance, ["dry"])
    assert (child.opened_on, child.ends_on) == (date(2026, 10, 1), date(2027, 1, 9))
    thread = Lineage.objects.get()
    assert (thread.parent, thread.child, thread.what) == (parent, child, Went.DECANTED)
    assert (thread.amount, thread.entry.kind) == (20_000_000, Kind.TRANSFERRED_OUT)


def test_a_child_is_never_good_for_longer_than_a_parent_whose_own_end_is_earlier():
    fresh = container(lot=lot(number="B", expires_on=date(2028, 1, 1)), holds="50 mL")
    poured(container(lot=lot(number="A", expires_on=date(2027, 1, 1))), fresh)
    fresh.refresh_from_db()
    assert decanted(fresh).ends_on == date(2027, 1, 1)


def test_decanting_sent_twice_makes_one_child_and_one_thread():
    parent, act = container(), doing()
    assert decanted(parent, act=act).pk == decanted(parent, act=act).pk
    parent.refresh_from_db()
    assert (parent.remaining, Lineage.objects.count()) == (80_000_000, 1)


def test_topping_up_mixes_the_lots_by_what_was_left_of_each():
    one, two = lot(number="one"), lot(number="two")
    target = container(lot=one, holds="75 mL")
    poured(container(lot=two), target, "25 mL")
    assert lots_in(target) == {one.pk: pytest.approx(0.75), two.pk: pytest.approx(0.25)}


def test_what_is_taken_out_takes_of_each_lot_alike_and_the_next_pouring_dilutes_both():
    one, two, three = (lot(number=name) for name in ("one", "two", "three"))
    target = container(lot=one, holds="75 mL")
    poured(container(lot=two), target, "25 mL")
    target.refresh_from_db()
    draw(container=target, amount=amount("50 mL"), device_code="cylinder-50-b", doing=doing())
    poured(container(lot=three), target, "50 mL")
    # 50 mL of 3 : 1 and 50 mL of the third
    wanted = {one.pk: 0.375, two.pk: 0.125, three.pk: 0.5}
    assert lots_in(target) == {pk: pytest.approx(share) for pk, share in wanted.items()}


def test_a_mixture_poured_on_brings_both_its_lots():
    one, two, three = (lot(number=name) for name in ("one", "two", "three"))
    mixed = container(lot=one, holds="25 mL")
    poured(container(lot=two), mixed, "25 mL")
    target = container(lot=three, holds="20 mL")
    poured(mixed, target, "20 mL")
    assert lots_in(target) == {three.pk: 0.5, one.pk: pytest.approx(0.25), two.pk: pytest.approx(0.25)}


def test_the_worst_date_rules_and_follows_when_the_poured_lots_date_changes():
    old = lot(number="old", expires_on=date(2026, 12, 24))
    target = container(lot=lot(number="new", expires_on=date(2028, 1, 1)), holds="50 mL")
    poured(container(lot=old), target)
    target.refresh_from_db()
    assert target.ends_on == date(2026, 12, 24)
    change_lot(lot=old, by=person("wren"), expires_on=date(2026, 12, 1))
    target.refresh_from_db()
    assert target.ends_on == date(2026, 12, 1)


def test_pouring_sent_twice_pours_once():
    target, source, act = (
        container(lot=lot(number="one"), holds="50 mL"),
        container(lot=lot(number="two")),
        doing(),
    )
    for _ in range(2):
        poured(source, target, act=act)
    target.refresh_from_db()
    assert (target.remaining, Lineage.objects.count()) == (75_000_000, 1)


def test_a_fresh_bottle_is_no_fresher_for_what_was_poured_onto_it():
    old = container(opened_on=date(2026, 9, 10))
    target = container(lot=lot(number="new"), holds="50 mL")
    assert poured(old, target).opened_on == date(2026, 9, 10)


def test_nothing_is_poured_onto_a_blocked_container():
    target = container(lot=lot(number="new"), holds="50 mL")
    change_state(container=target, to=State.BLOCKED, doing=doing(reason="smells"))
    with refused("TQ .* is blocked: nothing is poured into it"):
        poured(container(), target)


def test_a_reversed_pouring_leaves_the_lot_alone_again():
    one, two = lot(number="one"), lot(number="two")
    target = container(lot=one, holds="50 mL")
    poured(container(lot=two), target)
    reverse(entry=Entry.objects.get(container=target, seq=2), doing=doing(reason="wrong bottle"))
    assert lots_in(target) == {one.pk: 1.0}
    assert target.pk not in went_on([Lineage.objects.get().parent_id])


def test_a_reversed_pouring_gives_the_old_end_back():
    target = container(lot=lot(number="one", expires_on=date(2028, 1, 1)), holds="50 mL")
    poured(container(lot=lot(number="two", expires_on=date(2027, 1, 1))), target)
    reverse(entry=Entry.objects.get(container=target, seq=2), doing=doing(reason="wrong bottle"))
    target.refresh_from_db()
    assert target.ends_on == date(2028, 1, 1)


def test_what_is_decanted_from_a_mixture_has_both_its_lots_as_they_were_then():
    one, two, three = (lot(number=name) for name in ("one", "two", "three"))
    mixed = container(lot=one, holds="75 mL")
    poured(container(lot=two), mixed)
    mixed.refresh_from_db()
    child = decanted(mixed, "20 mL")
    mixed.refresh_from_db()
    poured(container(lot=three), mixed, "20 mL")
    assert lots_in(child) == {one.pk: pytest.approx(0.75), two.pk: pytest.approx(0.25)}
    assert three.pk in lots_in(mixed)


def test_another_substance_is_not_poured_on():
    with refused("TQ .* holds acetic anhydride and TQ .* holds aniline: no label would be true"):
        poured(container(), container(ANILINE, holds="50 mL"))
    assert Lineage.objects.count() == 0


def test_a_solution_is_not_poured_onto_the_neat_liquid():
    solution = container(lot=lot(number="s", concentration_mol_per_L=0.5), holds="50 mL")
    with refused("not equally strong .neat and 0.5 mol/L.*Make a solution from both"):
        poured(container(), solution)


def test_pouring_more_than_fits_is_refused():
    with refused("20 mL more does not fit: TQ .* holds 100 mL and 100 mL is in it"):
        poured(container(), container(lot=lot(number="b")), "20 mL")


def test_a_child_filled_before_the_lot_came_in_has_none_of_it():
    target = container(lot=lot(number="one"), holds="50 mL")
    early = decanted(target)
    source = container(lot=lot(number="two"))
    target.refresh_from_db()
    poured(source, target)
    target.refresh_from_db()
    late = decanted(target)
    reached = went_on([source.pk])
    assert target.pk in reached
    assert late.pk in reached
    assert early.pk not in reached


def made(parts, volume="100 mL", act=None, **fields):
    solution = replace(Solution(volume=amount(volume), volume_device="flask-100-b"), **fields)
    return make_solution(parts=parts, solution=solution, doing=act or doing())


def salt(**fields):
    certified = lot(
        SODIUM_CHLORIDE, purity_kind="certificate", purity_percent=100, purity_half_width="0.1", **fields
    )
    return container(SODIUM_CHLORIDE, holds="50 g", lot=certified)


def test_a_solution_has_a_lot_made_here_with_its_concentration():
    # c = m/(M V) = 5.844 g / 58.44 g/mol / 0.1000 L = 1.000 mol/L
    solid, water = salt(), container(WATER, holds="100 mL")
    child = made(
        [Part(solid, amount("5.844 g"), "balance-1mg"), Part(water, amount("98 mL"), "cylinder-100-b")]
    )
    assert child.lot.origin == Origin.MADE_HERE
    assert child.purpose == Purpose.SOLUTION
    assert child.lot.concentration.nominal_value == pytest.approx(1.000, abs=0.001)
    # certificate 0.05 %, class B flask 0.2/100/√3 = 0.12 % (ISO 1042:1998, table 1): together about 0.13 %
    assert child.lot.concentration.std_dev == pytest.approx(0.0013, abs=0.0003)
    assert child.described_as.startswith("sodium chloride in water, 1.0")
    assert (child.remaining, child.unit) == (100_000_000, "mL")
    assert {row.parent for row in child.came_from.all()} == {solid, water}
    solid.refresh_from_db()
    assert solid.remaining == 50_000_000 - 5_844_000


def test_a_solution_made_from_a_solution_is_diluted():
    # c1 V1 = c2 V2: 1.00 mol/L x 10 mL / 100 mL = 0.100 mol/L
    stock = container(
        lot=lot(SODIUM_CHLORIDE, number="s", concentration_mol_per_L=1.0, concentration_u_mol_per_L=0.01),
        holds="50 mL",
    )
    child = made([Part(stock, amount("10 mL"), "pipette-10-b")])
    assert child.lot.concentration.nominal_value == pytest.approx(0.100)
    assert child.lot.concentration.std_dev > 0.001


def test_a_solution_is_not_good_for_longer_than_what_it_was_made_from():
    solid = salt(number="x", expires_on=date(2027, 2, 1))
    child = made([Part(solid, amount("1 g"), "balance-1mg")], use_by=date(2027, 12, 1))
    assert child.ends_on == date(2027, 2, 1)


def test_making_a_solution_sent_twice_makes_one():
    solid, act = salt(), doing()
    parts = [Part(solid, amount("1 g"), "balance-1mg")]
    assert made(parts, act=act).pk == made(parts, act=act).pk
    assert Lot.objects.filter(origin=Origin.MADE_HERE).count() == 1
    solid.refresh_from_db()
    assert solid.remaining == 49_000_000


def test_a_solution_of_more_than_there_is_leaves_nothing_behind():
    solid, water = salt(), container(WATER, holds="100 mL")
    with refused("200 mL is more than the 100"):
        made(
            [Part(solid, amount("1 g"), "balance-1mg"), Part(water, amount("200 mL"), "cylinder-250-b")],
            "250 mL",
        )
    assert not Lot.objects.filter(origin=Origin.MADE_HERE).exists()
    solid.refresh_from_db()
    assert solid.remaining == 50_000_000


def test_the_strength_of_a_solution_is_left_open_where_a_number_is_missing():
    solid = container({"name": "tar", "formula": ""}, holds="50 g")
    assert made([Part(solid, amount("1 g"), "balance-1mg")]).lot.concentration is None


def test_the_density_of_the_solute_is_not_taken_for_that_of_its_solution():
    bottle = container(ANHYDRIDE)
    child = made([Part(bottle, amount("5 mL"), "syringe-10")])
    assert bottle.lot.density is not None
    assert child.lot.density is None


def test_acetic_acid_twice_from_one_bottle_is_refused():
    acid = container(ACETIC_ACID)
    with refused("The same container is given twice: add the two amounts up"):
        made([Part(acid, amount("1 mL"), "syringe-1"), Part(acid, amount("2 mL"), "syringe-2")])
