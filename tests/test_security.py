"""What every answer of the site carries, pages and refusals alike, and what the browser is asked to keep."""

import re
from typing import Any

import pytest
from django.conf import settings
from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.urls import include, path, reverse

from tests.builders import container, person
from tests.every_page import Inspector, places, visitor, world

pytestmark = pytest.mark.django_db


def broken(request: HttpRequest) -> HttpResponse:
    raise ZeroDivisionError("planted")


def odd(request: HttpRequest) -> HttpResponse:
    raise SuspiciousOperation("planted")


urlpatterns = [path("broken/", broken), path("odd/", odd), path("", include("labstock.urls"))]
with_faults = override_settings(ROOT_URLCONF="tests.test_security")


def policy(response: Any) -> dict[str, str]:
    parts = (
        part.strip().partition(" ") for part in response["Content-Security-Policy"].split(";") if part.strip()
    )
    return {name: sources for name, _, sources in parts}


def member() -> Client:
    return visitor(person("marit"))


def words(response: Any) -> str:
    return re.sub(r"\s+", " ", response.content.decode())


def assert_guarded(response: Any, path: str) -> None:
    said = policy(response)
    assert said["default-src"] == "'none'", path
    assert said["script-src"] == said["style-src"] == "'self'", path
    assert said["frame-ancestors"] == said["base-uri"] == "'none'", path
    assert "unsafe" not in response["Content-Security-Policy"], path
    assert response["X-Frame-Options"] == "DENY", path
    assert response["X-Content-Type-Options"] == "nosniff", path
    assert response["Referrer-Policy"] == "same-origin", path
    assert response["Cross-Origin-Opener-Policy"] == "same-origin", path


def test_every_answer_of_every_page_is_guarded():
    every, client = places(world()), visitor(person("wren"))
    for place in every:
        assert_guarded(client.get(place.path), place.path)


@with_faults
@pytest.mark.parametrize(
    ("address", "status", "said"),
    [
        ("/odd/", 400, "The request was not in order, so nothing was changed"),
        ("/people/", 403, "A member may not add people and change their roles. These may: steward."),
        ("/nowhere/", 404, "There is no page at this address"),
        ("/broken/", 500, "Something broke on our side; what you sent was not written down"),
    ],
)
def test_every_refusal_is_a_page_in_words_as_well_guarded_as_the_rest(address, status, said):
    response = member().get(address)
    assert response.status_code == status
    assert said in words(response).replace("&#x27;", "'")
    assert "planted" not in words(response)
    assert re.search(r'class="btn[^"]*" href="/"', words(response))
    assert Inspector(response.content.decode()).verdict() == []
    assert_guarded(response, address)


def test_a_host_that_is_not_ours_gets_the_page_for_bad_requests():
    response = Client(raise_request_exception=False).get("/login/", HTTP_HOST="elsewhere.example")
    assert response.status_code == 400
    assert "The request was not in order" in words(response)
    assert_guarded(response, "a foreign host")


def test_a_form_without_its_token_is_refused_in_words_and_changes_nothing():
    row = container()
    client = Client(enforce_csrf_checks=True)
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    response = client.post(reverse("person-add"), {"username": "x"})
    assert response.status_code == 403
    assert "Nothing was recorded: the form belongs to an earlier log-in" in words(response)
    assert_guarded(response, "a form without a token")
    row.refresh_from_db()
    assert row.last_seq == 1


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites():
    client = Client()
    person()
    data = {"username": "marit", "password": "quay-side-tern"}
    cookie = client.post(reverse("login"), data).cookies[settings.SESSION_COOKIE_NAME]
    assert cookie["httponly"] is True
    assert (
        cookie["samesite"] == "Lax"
    )  # Strict would send a phone that reads a label to the log-in page each time
    assert int(cookie["max-age"]) == 12 * 60 * 60


@override_settings(
    SESSION_COOKIE_SECURE=True,
    CSRF_COOKIE_SECURE=True,
    SECURE_SSL_REDIRECT=True,
    SECURE_HSTS_SECONDS=31_536_000,
)
def test_by_https_cookies_are_secure_and_the_browser_is_told_to_stay():
    client = Client()
    person()
    assert client.get(reverse("login"))["Location"] == "https://testserver/login/"
    data = {"username": "marit", "password": "quay-side-tern"}
    response = client.post(reverse("login"), data, secure=True)
    assert response.cookies[settings.SESSION_COOKIE_NAME]["secure"] is True
    assert response["Strict-Transport-Security"].startswith("max-age=31536000")


def test_what_a_person_typed_is_never_taken_for_markup():
    row = container(described_as="<script>alert(1)</script>")
    client = visitor(person("marit"))
    for address in (reverse("container", args=[row.code]), reverse("label-sheet") + f"?codes={row.code}"):
        page = client.get(address).content.decode()
        assert Inspector(page).verdict() == []
        assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_roles_alone_open_no_administrators_page():
    for name in ("kasimir", "marit", "wren", "sunniva"):
        assert visitor(person(name)).get("/admin/")["Location"] == "/admin/login/?next=/admin/"


def test_an_administrator_cannot_delete_people_or_touch_history():
    boss = person("wren")
    boss.is_staff = boss.is_superuser = True
    boss.save()
    row = container()
    client = visitor(boss)
    assert client.post(f"/admin/people/user/{person('marit').pk}/delete/", {"post": "yes"}).status_code == 403
    for address in (
        f"entry/{row.entries.get().pk}/change/",
        f"entry/{row.entries.get().pk}/delete/",
        "entry/add/",
    ):
        assert client.post(f"/admin/stock/{address}", {"post": "yes", "change": "5"}).status_code == 403
