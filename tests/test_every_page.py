"""Every address of the site, opened as everybody: who is sent to log in, who is refused, who gets in."""

import sys
import types

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import override_settings
from django.urls import include, path

from batches.models import Batch, Observation
from batches.retained.models import RetainedSample
from labstock.people.models import User
from labstock.people.roles import MAY, Role
from labstock.stock.models import (
    CheckFinding,
    Container,
    Entry,
    Reservation,
    ReservationEvent,
    Session,
    StateChange,
    StockCheck,
)
from tests.builders import person
from tests.every_page import OPEN, WITHOUT_ACT, Inspector, Place, places, visitor, world

pytestmark = pytest.mark.django_db
WHO = {Role.VIEWER: "kasimir", Role.MEMBER: "marit", Role.STEWARD: "wren", Role.SAFETY: "sunniva"}
ROLES = pytest.mark.parametrize("role", list(Role))
KEPT = (
    Batch,
    CheckFinding,
    Container,
    Entry,
    Observation,
    Reservation,
    ReservationEvent,
    RetainedSample,
    Session,
    StateChange,
    StockCheck,
    User,
)


def nothing_wrong(faults: list[str]) -> None:
    assert not faults, "\n".join(faults)


def rows() -> list[int]:
    return [model._default_manager.count() for model in KEPT]


def unguarded(every: list[Place]) -> list[str]:
    return [
        f"{place.path} ({place.name})"
        for place in every
        if place.act is None and place.name not in WITHOUT_ACT
    ]


def open_to_strangers(every: list[Place]) -> list[str]:
    stranger, faults = visitor(None), []
    for place in every:
        for answer in (stranger.get(place.path), stranger.post(place.path)):
            is_sent_away = answer.status_code == 302 and answer["Location"].startswith("/login/?next=")
            if place.name not in OPEN and not is_sent_away:
                faults.append(f"{place.path} ({place.name}): {answer.status_code} for a stranger")
    return faults


def test_every_view_says_which_act_it_asks_for():
    nothing_wrong(unguarded(places(world())))


def test_strangers_are_sent_to_log_in_from_everywhere():
    nothing_wrong(open_to_strangers(places(world())))


@ROLES
def test_each_role_is_refused_in_words_what_the_table_does_not_give_it(role):
    every, client, faults = places(world()), visitor(person(WHO[role])), []
    before = rows()
    for place in every:
        if place.act is None or role in MAY[place.act]:
            continue
        for answer in (client.get(place.path), client.post(place.path)):
            if (
                answer.status_code != 403
                or f"may not {place.act.value}" not in answer.content.decode().replace("&#x27;", "'")
            ):
                faults.append(f"{place.path} ({place.name}): {answer.status_code} for a {role}")
    nothing_wrong(faults)
    assert rows() == before


@ROLES
def test_each_role_gets_into_what_the_table_gives_it(role):
    every, client, faults = places(world()), visitor(person(WHO[role])), []
    before = rows()
    for place in every:
        if place.act is not None and role not in MAY[place.act]:
            continue
        answer = client.get(place.path)
        is_right = answer.status_code in (200, 405) or (
            answer.status_code == 302 and "/login/?" not in answer["Location"]
        )
        if not is_right and place.name != "admin-login":
            faults.append(f"{place.path} ({place.name}): {answer.status_code} for a {role}")
    nothing_wrong(faults)
    assert rows() == before, "opening a page changed something"


@ROLES
def test_an_empty_form_sent_anywhere_is_answered_and_never_breaks(role):
    every, client, faults = places(world()), visitor(person(WHO[role])), []
    for place in every:
        if place.name == "logout" or (place.act is not None and role not in MAY[place.act]):
            continue
        with transaction.atomic():
            answer = client.post(place.path)
            transaction.set_rollback(True)
        is_finer_guard = answer.status_code == 403 and "may not" in answer.content.decode()
        if (
            answer.status_code not in (200, 302, 405, 422)
            and not is_finer_guard
            and place.name != "admin-login"
        ):
            faults.append(f"{place.path} ({place.name}): {answer.status_code} for a {role}")
    nothing_wrong(faults)


def test_no_page_carries_style_script_or_files_from_elsewhere():
    every, client, faults = places(world()), visitor(person("wren")), []
    for place in every:
        answer = client.get(place.path)
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            faults += [
                f"{place.path} ({place.name}): {fault}"
                for fault in Inspector(answer.content.decode()).verdict()
            ]
    nothing_wrong(faults)


@pytest.mark.parametrize(
    ("planted", "fault"),
    [
        ("<style>p {}</style>", "inline <style>"),
        ("<script>1</script>", "inline <script>"),
        ("<p style='color: red'>", "style= on <p>"),
        ("<p onclick='x()'>", "onclick= on <p>"),
        ("<script src='//cdn.example/x.js'></script>", "src='//cdn.example/x.js' leads off the site"),
        ("<p id='a'><p id='a'>", "id='a' twice"),
        ("<form method='post'></form>", "a form that sends without a token"),
    ],
)
def test_the_inspector_sees_what_is_planted(planted, fault):
    assert Inspector(f"<main>{planted}</main>").verdict() == [fault]


def hole(request):
    return HttpResponse("anybody may read this")


hole.login_required = False  # type: ignore[attr-defined]


@pytest.fixture
def _planted_view(monkeypatch):
    """The whole site, and beside it one view that asks for nothing."""
    module = types.ModuleType("site_with_a_hole")
    module.urlpatterns = [path("hole/", hole, name="hole"), path("", include("labstock.urls"))]  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "site_with_a_hole", module)
    with override_settings(ROOT_URLCONF="site_with_a_hole"):
        yield


@pytest.mark.usefixtures("_planted_view")
def test_a_planted_view_without_a_guard_is_found_both_ways():
    every = places(world())
    assert unguarded(every) == ["/hole/ (hole)"]
    assert open_to_strangers(every) == ["/hole/ (hole): 200 for a stranger"] * 2
