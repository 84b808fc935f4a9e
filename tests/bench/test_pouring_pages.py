"""Decant, make a solution, top up, look for signs: what the pages take, say and refuse."""

import uuid

import pytest
from django.urls import reverse

from labstock.people.roles import Role
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.looking import record_look
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.actions.transferring import top_up
from labstock.stock.models import Container, Kind, Lineage, Location, Sign, State
from tests import builders
from tests.bench.conftest import said_by, text_of
from tests.bench.test_other_acts import act

pytestmark = pytest.mark.django_db


def page_of(client, container):
    return text_of(client.get(reverse("container", args=[container.code])))


def test_decanting_lands_on_the_new_bottle_with_its_label_to_print(marit, bottle):
    response = act(marit, "container-decant", bottle, amount="20", device="syringe-20", vessel="vial")
    child = Container.objects.latest("pk")
    assert response.url == reverse("container", args=[child.code])
    assert "lot, hazards, opening and end went along" in said_by(response)[0]
    assert reverse("label-single", args=[child.code]) in said_by(response)[0]
    assert (child.remaining, child.capacity, child.vessel) == (20_000_000, 20_000_000, "vial")


def test_parent_and_child_show_each_other(marit, bottle):
    act(marit, "container-decant", bottle, amount="20", device="syringe-20", vessel="bottle", capacity="25")
    child = Container.objects.latest("pk")
    assert f"/C/{child.code}" in page_of(marit, bottle)
    page = page_of(marit, child)
    assert f"/C/{bottle.code}" in page
    assert "decanted from" in page


def test_a_decanting_that_cuts_into_a_hold_says_whose(marit, bottle):
    hers = builders.session(builders.person("tobias"))
    reserve(session=hers, wants=[Want(bottle, 40_000_000)], by=builders.person("tobias"))
    response = act(marit, "container-decant", bottle, amount="20", device="syringe-20", vessel="vial")
    assert "This cuts into what is held: Tobias Renn holds 40 mL" in said_by(response)[1]


def test_decanting_more_than_is_left_keeps_what_was_typed(marit, bottle):
    response = act(marit, "container-decant", bottle, amount="80", device="syringe-20", vessel="vial")
    assert response.status_code == 422
    assert "80 mL is more than the 53.00" in text_of(response)
    assert 'value="80"' in text_of(response)
    assert Lineage.objects.count() == 0


def test_topping_up_by_code_mixes_the_lots_and_shows_their_shares(marit, bottle):
    target = builders.container(lot=builders.lot(number="TWO 2"), holds="50 mL")
    response = act(marit, "container-topup", bottle, into=target.code, amount="10", device="syringe-20")
    assert response.url == reverse("container", args=[target.code])
    page = page_of(marit, target)
    assert "topped up from" in page
    assert "TWO 2" in page
    assert "83.3 %" in page
    assert "16.7 %" in page


def test_a_wrong_check_character_of_the_other_bottle_is_said_at_its_field(marit, bottle):
    response = act(marit, "container-topup", bottle, into="TQ1001A", amount="10", device="syringe-20")
    assert response.status_code == 422
    assert 'id="id_into-wrong"' in text_of(response)
    assert bottle.entries.count() == 1


def test_a_solution_names_itself_and_says_its_strength(marit, bottle):
    response = act(
        marit, "container-solution", bottle, amount="5", device="syringe-20", other_device="syringe-10", volume="100", made_in="flask",
        vessel="bottle",
    )  # fmt: skip
    child = Container.objects.latest("pk")
    # 5 mL x 1.082 g/mL x w / 102.089 g/mol / 0.1 L = 0.53 mol/L for w near 1
    assert child.lot.concentration.nominal_value == pytest.approx(0.53, abs=0.005)
    assert child.name.startswith("acetic anhydride solution, 0.5")
    assert response.url == reverse("container", args=[child.code])
    assert "Concentration" in page_of(marit, child)
    assert "made from" in page_of(marit, child)


def test_a_volume_without_a_flask_of_its_size_is_refused(marit, bottle):
    response = act(
        marit, "container-solution", bottle, amount="5", device="syringe-20", volume="120", made_in="flask",
        vessel="bottle",
    )  # fmt: skip
    assert "There is no volumetric flask for 120 mL: choose another vessel" in text_of(response)


def test_a_solvent_without_its_amount_is_asked_for(marit, bottle):
    water = builders.container(builders.ACETIC_ACID)
    response = act(
        marit, "container-solution", bottle, amount="5", device="syringe-20", other_device="syringe-10", volume="100", made_in="flask",
        vessel="bottle", other_1=water.code,
    )  # fmt: skip
    assert "Say how much of it went in." in text_of(response)
    assert Lineage.objects.count() == 0


def test_a_recall_finds_containers_children_batches_and_samples(marit):
    from tests.every_page import world

    lab = world()
    page = text_of(marit.get(reverse("lot-forward", args=[lab.bottle.lot_id])))
    assert "3 containers" not in page.split("<h2")[0]
    for code in Container.objects.filter(came_from__parent=lab.bottle).values_list("code", flat=True):
        assert f"/C/{code}" in page
    assert reverse("batch", args=[lab.batch.number]) in page
    assert reverse("batch", args=[lab.finished.number]) in page
    assert reverse("sample", args=[lab.sample.code]) in page
    assert lab.finished.products.get().container.code in page


def test_a_recall_of_either_lot_finds_the_mixture(marit, bottle):
    target = builders.container(lot=builders.lot(number="TWO 2"), holds="50 mL")
    untouched = builders.container(builders.ANILINE)
    top_up(
        container=bottle, into=target, amount=builders.amount("10 mL"), device_code="syringe-10",
        doing=Doing(by=builders.person()),
    )  # fmt: skip
    for lot in (bottle.lot, target.lot):
        page = text_of(marit.get(reverse("lot-forward", args=[lot.pk])))
        assert target.code in page
        assert "No container was received" not in page
        assert untouched.code not in page


def test_the_recall_asks_few_questions(marit, bottle, django_assert_max_num_queries):
    for _ in range(3):
        act(marit, "container-decant", bottle, amount="2", device="syringe-20", vessel="vial")
    with django_assert_max_num_queries(15):
        marit.get(reverse("lot-forward", args=[bottle.lot_id]))


@pytest.mark.parametrize(("kind", "word"), [("purged", "purged"), ("broken", "lost with the broken vessel")])
def test_purged_and_broken_are_losses_of_one_number(marit, bottle, kind, word):
    response = act(marit, "container-loss", bottle, kind=kind, amount="2", device="by-eye")
    assert bottle.entries.get(seq=2).kind == kind
    assert word in said_by(response)[0]


def test_found_more_is_a_kind_on_the_same_page(marit, bottle):
    act(marit, "container-loss", bottle, kind="found", amount="2", device="by-eye")
    entry = bottle.entries.get(seq=2)
    assert (entry.kind, entry.change, entry.reason) == (Kind.FOUND, 2_000_000, "no reason given")


def test_a_move_to_a_place_that_does_not_suit_names_one_that_does(marit):
    bottle = builders.container(needs=["cold", "dry"])
    fridge = builders.place("fridge 2", "cold")
    Location.objects.filter(pk=fridge.pk).update(offers=["cold", "dry"])
    response = act(marit, "container-move", bottle, to=builders.place("shelf 3").pk)
    assert said_by(response)[1] == (
        "It needs cold and dry, which this place does not offer. Put it into room 214, fridge 2."
    )
    assert len(said_by(act(marit, "container-move", bottle, to=fridge.pk))) == 1


def test_a_move_where_no_place_suits_says_so(marit):
    bottle = builders.container(needs=["inert"])
    response = act(marit, "container-move", bottle, to=builders.place("shelf 3").pk)
    assert (
        "It needs under inert gas, and no place on the list offers that: ask a steward."
        in said_by(response)[1]
    )


ETHER = {
    "name": "diisopropyl ether", "smiles": "CC(C)OC(C)C", "density_g_per_mL": 0.724, "is_liquid": True,
    "is_peroxide_former": True, "peroxide_because": "di-secondary ether",
}  # fmt: skip


def test_crystals_on_an_ether_say_stop_and_whom_to_ring(marit):
    builders.person("sunniva")
    bottle = builders.container(ETHER)
    response = act(marit, "container-signs", bottle, crystals="seen", cap="no")
    said = said_by(response)[0]
    assert "Do not touch, open or move it" in said
    assert "Safety officer: Sunniva Pryce." in said
    page = page_of(marit, bottle)
    assert "No: blocked: crystals in it or round the cap seen" in page
    assert "These may be peroxides" in page


def test_smell_on_an_anhydride_asks_for_an_assay_and_tells_who_counted_on_it(marit, bottle):
    theirs = builders.session(builders.person("tobias"))
    reserve(session=theirs, wants=[Want(bottle, 5_000_000)], by=builders.person("tobias"))
    response = act(marit, "container-signs", bottle, smell="seen")
    assert "Enter an assay before anybody counts on its strength" in said_by(response)[0]
    assert "Tell those who counted on it: Tobias Renn, 5 mL" in said_by(response)[1]
    page = page_of(marit, bottle)
    assert "Ask first: its strength is in doubt: acid smell noticed" in page
    assert "do not dose by the label" in page
    assert "Dose by <b>" not in page.split("</h1>")[1].split("<form")[0]


def test_the_form_tells_no_from_not_looked(marit, bottle):
    act(marit, "container-signs", bottle, smell="no")
    page = text_of(marit.get(reverse("container-signs", args=[bottle.code])))
    assert page.count("nobody has looked yet") == 5
    assert ": no</small>" in page


def test_an_answer_that_is_none_of_the_three_is_refused(marit, bottle):
    response = act(marit, "container-signs", bottle, smell="perhaps")
    assert "“perhaps” is no answer here: choose not looked, no or seen." in text_of(response)
    assert Sign.objects.count() == 0


def test_a_viewer_decants_and_looks_at_nothing(as_person, bottle):
    viewer = as_person("kasimir")
    assert builders.person("kasimir").role == Role.VIEWER
    for name in ("container-decant", "container-topup", "container-solution", "container-signs"):
        assert viewer.get(reverse(name, args=[bottle.code])).status_code == 403
    assert "Decant" not in page_of(viewer, bottle)


def test_an_empty_container_that_had_signs_keeps_them_on_its_page(marit, bottle):
    by = builders.person()
    record_look(container=bottle, answers={"colour": True}, doing=Doing(by=by))
    draw(container=bottle, amount=builders.amount("53 mL"), device_code="cylinder-100-b", doing=Doing(by=by))
    change_state(container=bottle, to=State.EMPTY, doing=Doing(by=by, reason="used up"))
    assert "Colour darker than it was" in page_of(marit, bottle)


def test_a_form_sent_twice_decants_once(marit, bottle):
    key = str(uuid.uuid4())
    for _ in range(2):
        act(marit, "container-decant", bottle, amount="5", device="syringe-20", vessel="vial", key=key)
    assert Lineage.objects.count() == 1
