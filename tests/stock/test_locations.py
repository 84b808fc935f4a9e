"""Places, and whether what stands in them has what it needs."""

import pytest
from django.urls import reverse

from labstock.stock.actions.catalogue import add_location
from labstock.stock.actions.keeping import change_state, move
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Location, State
from tests.builders import ANILINE, amount, container, person, place, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def steward(client):
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_a_place_knows_the_way_from_its_room(steward):
    parent = place("cupboard 4")
    steward.post(
        reverse("location-add"),
        {"name": " tray  B ", "kind": "tray", "parent": parent.pk, "offers": ["dark"]},
    )
    made = Location.objects.get(kind="tray")
    assert (made.path, made.offers) == ("room 214, cupboard 4, tray B", ["dark"])


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"name": "Cupboard 4"}, "There is a Cupboard 4 in room 214 already"),
        ({"name": "left, behind"}, "commas part the places"),
        ({"name": ""}, "It is empty"),
        ({"name": "x", "kind": "cave"}, "cave"),
        ({"name": "x", "parent": "99999"}, "one of"),
    ],
)
def test_a_bad_place_is_named_and_kept(steward, typed, words):
    room = place("cupboard 4").parent
    response = steward.post(reverse("location-add"), {"kind": "cupboard", "parent": room.pk} | typed)
    assert response.status_code == 422
    assert words in " ".join(" ".join(found) for found in response.context["form"].errors.values())
    assert Location.objects.count() == 2


def test_a_way_that_is_too_long_is_refused():
    around = None
    with refused("is too long a way"):
        for floor in range(9):
            around = add_location(by=person("wren"), name=f"{floor}" * 60, kind="room", parent=around)


def test_the_tree_counts_what_stands_in_each_place_and_below(steward, django_assert_max_num_queries):
    container(ANILINE, location=place("cupboard 4"))
    container(ANILINE, location=place("shelf 6"))
    with django_assert_max_num_queries(12):
        tree = steward.get(reverse("location-list")).context["tree"]
    assert (tree[0].place.name, tree[0].own, tree[0].total) == ("room 214", 0, 2)
    assert [branch.total for branch in tree[0].inside] == [1, 1]


def test_a_place_shows_what_is_below_and_nothing_from_elsewhere(steward):
    inside = add_location(by=person("wren"), name="tray B", kind="tray", parent=place("cupboard 4"))
    below, elsewhere = container(ANILINE, location=inside), container(ANILINE, location=place("cupboard 42"))
    page = steward.get(reverse("location", args=[place("cupboard 4").pk])).content.decode()
    assert below.code in page
    assert elsewhere.code not in page


def test_a_container_that_needs_what_its_place_does_not_offer_is_named(steward):
    bottle = container(ANILINE, needs=["dark", "dry"], location=place("shelf 6"))
    Location.objects.filter(pk=place("shelf 6").pk).update(offers=["dark"])
    page = steward.get(reverse("location", args=[place("shelf 6").parent_id])).context["page"]
    assert [(row.container.pk, row.missing) for row in page.misplaced] == [(bottle.pk, "dry")]


def test_what_the_place_around_offers_counts(steward):
    inside = add_location(by=person("wren"), name="tray B", kind="tray", parent=place("cupboard 4"))
    container(ANILINE, needs=["dark"], location=inside)
    Location.objects.filter(pk=place("cupboard 4").pk).update(offers=["dark"])
    assert steward.get(reverse("location", args=[inside.pk])).context["page"].misplaced == ()


def test_an_empty_site_says_where_to_begin(steward):
    assert "Begin with a room" in steward.get(reverse("location-list")).content.decode()


def test_the_page_of_a_place_takes_few_queries(steward, django_assert_max_num_queries):
    for _ in range(30):
        container(ANILINE, needs=["cold"])
    page = reverse("location", args=[place().pk])
    with django_assert_max_num_queries(12):
        steward.get(page)


def test_a_viewer_looks_but_adds_nothing(client):
    pk = place().pk
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    assert reverse("location-add") not in client.get(reverse("location", args=[pk])).content.decode()
    assert client.get(reverse("location-add")).status_code == 403


def test_what_was_blocked_stays_blocked_when_it_was_not_seen_and_turns_up():
    bottle, keeper = container(), person("sunniva")
    for state, reason in ((State.BLOCKED, "recalled"), (State.NOT_SEEN, "not at its place")):
        change_state(container=bottle, to=state, doing=Doing(by=keeper, reason=reason))
        bottle.refresh_from_db()
    with refused(r"is blocked \(recalled\)\. Take another container"):
        draw(container=bottle, amount=amount("1 mL"), device_code="syringe-1", doing=Doing(by=keeper))
    moved = move(container=bottle, to=place("bench 1"), doing=Doing(by=keeper))
    assert (moved.state, moved.state_because) == (State.BLOCKED, "recalled")
