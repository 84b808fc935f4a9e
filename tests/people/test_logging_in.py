"""The one door without a log-in: where it leads, and when it shuts."""

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.contrib.auth import get_user
from django.test import Client, override_settings
from django.urls import reverse
from django.utils import timezone

from tests.builders import person

pytestmark = pytest.mark.django_db
PASSWORD = "quay-side-tern"


def log_in(client: Client, password: str = PASSWORD, name: str = "marit", **more):
    query = {"next": more.pop("next")} if "next" in more else {}
    data = {"username": name, "password": password, **query}
    return client.post(reverse("login"), data, **more)


def words(response) -> str:
    return re.sub(r"\s+", " ", response.content.decode())


def test_a_phone_that_reads_a_label_lands_on_the_container_after_logging_in(client):
    person()
    response = client.get("/C/TQ4817K")
    assert response.url == "/login/?next=/C/TQ4817K"
    page = words(client.get(response.url))
    assert '<input type="hidden" name="next" value="/C/TQ4817K">' in page
    assert log_in(client, next="/C/TQ4817K").url == "/C/TQ4817K"


@pytest.mark.parametrize(
    "elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"]
)
def test_logging_in_never_leads_to_another_site(client, elsewhere):
    person()
    assert log_in(client, next=elsewhere).url == reverse("front")


def test_a_wrong_password_says_so_and_keeps_the_name(client):
    person()
    response = log_in(client, "wrong")
    assert "You are not in." in words(response)
    assert 'value="marit"' in words(response)
    assert not get_user(client).is_authenticated


def test_ten_wrong_passwords_close_the_name_and_say_for_how_long(client):
    person()
    answers = [log_in(client, "wrong") for _ in range(10)]
    assert [answer.status_code for answer in answers] == [200] * 9 + [429]
    assert "After 10 wrong passwords from one place it opens again in 15 minutes" in words(answers[-1])
    assert answers[-1]["Retry-After"] == "900"
    assert log_in(client).status_code == 429
    assert not get_user(client).is_authenticated


def test_the_name_opens_again_when_the_page_said_it_would(client):
    person()
    for _ in range(10):
        log_in(client, "wrong")
    log_in(client, "trying while it is shut does not make it longer")
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=15, seconds=1))
    assert log_in(client).status_code == 302


def test_a_closed_name_closes_nobody_else_and_no_other_place(client):
    person(), person("tobias")
    for _ in range(10):
        log_in(client, "wrong")
    assert log_in(Client(), name="tobias").status_code == 302
    assert log_in(Client(), REMOTE_ADDR="10.0.0.8").status_code == 302


def test_a_browser_cannot_dodge_the_count_by_claiming_other_addresses(client):
    person()
    for number in range(10):
        answer = log_in(client, "wrong", HTTP_X_FORWARDED_FOR=f"10.0.0.{number}")
    assert answer.status_code == 429


@override_settings(BEHIND_PROXY=True)
def test_behind_a_proxy_only_what_the_proxy_wrote_counts(client):
    person()
    for number in range(10):
        answer = log_in(client, "wrong", HTTP_X_FORWARDED_FOR=f"10.0.0.{number}, 192.0.2.7")
    assert answer.status_code == 429
    assert log_in(Client(), HTTP_X_FORWARDED_FOR="192.0.2.8").status_code == 302


def test_the_administrators_door_leads_to_the_same_log_in(client):
    assert client.get("/admin/").url == "/admin/login/?next=/admin/"
    assert client.get("/admin/login/?next=/admin/").url == "/login/?next=/admin/"
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    response = client.get("/admin/login/?next=/admin/")
    assert response.status_code == 403
    assert "open to administrators of the site only" in words(response)


def test_the_first_log_in_says_that_somebody_else_knows_the_password(client):
    person()
    assert "This is your first log-in." in words(client.post(
        reverse("login"), {"username": "marit", "password": PASSWORD, "next": reverse("me")}, follow=True
    ))  # fmt: skip
    client.post(reverse("logout"))
    assert "first log-in" not in words(client.post(
        reverse("login"), {"username": "marit", "password": PASSWORD, "next": reverse("me")}, follow=True
    ))  # fmt: skip


def test_logging_out_needs_a_press_not_a_link(client):
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.get(reverse("logout")).status_code == 405
    assert client.post(reverse("logout")).url == reverse("login")
    assert not get_user(client).is_authenticated


def test_whoever_has_left_is_out_at_once(client):
    marit = person()
    client.force_login(marit, backend="django.contrib.auth.backends.ModelBackend")
    type(marit).objects.update(is_active=False)
    assert client.get(reverse("me")).url == "/login/?next=/me/"
    assert "You are not in." in words(log_in(client))
