"""Stewards keep the list of people; everybody keeps their own password."""

import re
from html import unescape
from io import StringIO

import pytest
from django.contrib.auth import get_user
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from labstock.people.actions import UNMISTAKABLE, add_person, change_person, give_password, new_password
from labstock.people.models import LabGroup, User
from labstock.people.roles import MAY, Act, Role, may, refusal
from tests.builders import person, refused

pytestmark = pytest.mark.django_db
NEW = {"username": "ifeoma", "first_name": "Ifeoma", "last_name": "Castellane", "role": "member"}


@pytest.fixture
def steward(client: Client) -> Client:
    client.force_login(person("wren"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def words(response) -> str:
    return re.sub(r"\s+", " ", unescape(response.content.decode()).replace("\xa0", " "))


def changed(who: User, **fields) -> User:
    now = {name: getattr(who, name) for name in ("first_name", "last_name", "role", "group", "is_active")}
    return change_person(by=person("wren"), person=who, **now | fields)


def test_a_steward_adds_a_person_whose_password_is_shown_once(steward):
    response = steward.post(reverse("person-add"), NEW | {"new_group": "Dunlin group"})
    (password,) = re.findall(r"Password</dt><dd class=\"code\">([a-z0-9-]{14})<", words(response))
    assert "no-store" in response["Cache-Control"]
    added = User.objects.get(username="ifeoma")
    assert added.check_password(password)
    assert (added.role, str(added.group)) == ("member", "Dunlin group")
    assert password not in words(steward.get(reverse("person", args=[added.pk])))


def test_a_password_that_the_steward_typed_is_not_shown(steward):
    response = steward.post(reverse("person-add"), NEW | {"password": "lapwing over the mud"})
    assert "lapwing" not in words(response)
    assert User.objects.get(username="ifeoma").check_password("lapwing over the mud")


def test_made_passwords_are_long_different_and_easy_to_read():
    made = {new_password() for _ in range(50)}
    assert len(made) == 50
    assert all(re.fullmatch(rf"([{UNMISTAKABLE}]{{4}}-){{2}}[{UNMISTAKABLE}]{{4}}", word) for word in made)
    assert not set("il1o0") & set(UNMISTAKABLE)


def test_a_name_that_differs_by_a_capital_only_is_refused_and_nothing_is_kept(steward):
    person("marit")
    response = steward.post(reverse("person-add"), NEW | {"username": "Marit", "new_group": "Knot group"})
    assert response.status_code == 422
    assert "The log-in name Marit belongs to Marit Solberg already: choose another, such as Marit2." in words(
        response
    )
    assert 'value="Castellane"' in words(response)
    assert not LabGroup.objects.filter(name="Knot group").exists()


def test_an_easy_password_is_refused_with_the_reason(steward):
    response = steward.post(reverse("person-add"), NEW | {"password": "password12"})
    assert response.status_code == 422
    assert "This password is too easy. This password is too common." in words(response)
    assert not User.objects.filter(username="ifeoma").exists()


def test_two_groups_at_once_are_refused(steward):
    group = person("marit").group
    response = steward.post(reverse("person-add"), NEW | {"group": group.pk, "new_group": "Knot group"})
    assert "Plover group is chosen and Knot group is typed: a person is in one group." in words(response)


def test_a_change_is_written_into_the_persons_history(steward):
    marit = person("marit")
    data = {"first_name": "Marit", "last_name": "Solberg", "role": "steward", "group": marit.group_id}
    assert steward.post(reverse("person", args=[marit.pk]), data | {"is_active": "on"}).url == reverse(
        "person-list"
    )
    page = words(steward.get(reverse("person", args=[marit.pk])))
    assert "role: member → steward" in page
    assert "by Wren Halloran" in page


def test_nothing_changed_writes_no_history(steward):
    marit = changed(person("marit"))
    assert "Nothing since this person was added." in words(steward.get(reverse("person", args=[marit.pk])))


def test_whoever_leaves_stays_on_the_list_and_out_of_the_site(steward):
    marit = changed(person("marit"), is_active=False)
    assert not may(marit, Act.SEE)
    page = words(steward.get(reverse("person-list")))
    assert "Marit Solberg" in page
    assert "closed: has left" in page
    assert "may no longer log in" in words(steward.get(reverse("person", args=[marit.pk])))


@pytest.mark.parametrize("change", [{"role": Role.MEMBER}, {"is_active": False}])
def test_the_last_steward_stays_steward(change):
    wren = person("wren")
    with refused("Wren Halloran is the only steward who can log in.*Make somebody else a steward first"):
        changed(wren, **change)
    changed(person("marit"), role=Role.STEWARD)
    changed(wren, **change)
    assert not may(User.objects.get(pk=wren.pk), Act.PEOPLE)


def test_a_new_password_logs_the_person_out_everywhere(steward):
    marit, phone = person("marit"), Client()
    phone.force_login(marit, backend="django.contrib.auth.backends.ModelBackend")
    response = steward.post(reverse("person-password", args=[marit.pk]))
    assert "Wherever Marit Solberg was logged in, they are out." in words(response)
    assert not get_user(phone).is_authenticated


def test_a_steward_cannot_take_an_administrators_account():
    boss = person("sunniva")
    boss.is_superuser = True
    boss.save()
    with refused("Sunniva Pryce administers the site, so a steward may not set their password"):
        give_password(by=person("wren"), person=boss)


def test_everybody_changes_their_own_password_and_stays_logged_in(client):
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    new = "curlew at low water"
    data = {"old_password": "quay-side-tern", "new_password1": new, "new_password2": new}
    response = client.post(reverse("password-change"), data, follow=True)
    assert "Your password is changed. You are logged out everywhere else." in words(response)
    assert User.objects.get(username="kasimir").check_password(new)


def test_a_wrong_old_password_changes_nothing(client):
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    data = {"old_password": "guess", "new_password1": "low water now", "new_password2": "low water now"}
    response = client.post(reverse("password-change"), data)
    assert response.status_code == 422
    assert "Your password is as it was." in words(response)
    assert person("kasimir").check_password("quay-side-tern")


@pytest.mark.parametrize("name", ["kasimir", "marit", "wren", "sunniva"])
def test_ones_own_page_says_what_the_role_allows_and_whom_to_ask(client, name):
    who = person(name)
    person("wren")
    client.force_login(who, backend="django.contrib.auth.backends.ModelBackend")
    page = words(client.get(reverse("me")))
    for act in Act:
        assert f"<li>{'May' if who.role in MAY[act] else 'May not'} {act.value}</li>" in page
    assert "Wren Halloran" in page


def test_the_list_of_people_is_narrowed_and_asks_few_questions(steward, django_assert_max_num_queries):
    for number in range(30):
        add_person(
            by=None, username=f"p{number}", first_name="P", last_name=f"Number{number:02}", role=Role.VIEWER
        )
    with django_assert_max_num_queries(12):
        page = words(steward.get(reverse("person-list")))
    assert "31 found" in page
    page = words(steward.get(reverse("person-list"), {"q": "number07"}))
    assert "1 found" in page
    assert "Number07" in page


def test_every_act_has_somebody_and_nobody_outside_the_table_may_anything():
    assert set(MAY) == set(Act)
    assert all(MAY.values())
    stranger = User(username="x", role="gardener")
    assert not any(may(stranger, act) for act in Act)


def test_a_refusal_names_the_role_the_act_and_who_may_instead():
    text = refusal(person("kasimir"), Act.STOCK)
    assert text.startswith("A viewer may not receive containers and describe substances, lots and locations.")
    assert "These may: steward." in text


def test_the_first_steward_comes_in_by_command():
    out = StringIO()
    call_command(
        "addperson", "wren", "Wren Halloran", "--role", "steward", "--group", "Plover group", stdout=out
    )
    (password,) = re.findall(r"password (\S+)\.", out.getvalue())
    wren = User.objects.get(username="wren")
    assert wren.check_password(password)
    assert (wren.first_name, wren.last_name, wren.role, str(wren.group)) == (
        "Wren", "Halloran", "steward", "Plover group",
    )  # fmt: skip


def test_the_command_refuses_a_name_that_is_taken_or_misspelt():
    person("wren")
    with pytest.raises(CommandError, match="The log-in name WREN belongs to Wren Halloran already"):
        call_command("addperson", "WREN", "Another Wren")
    with pytest.raises(CommandError, match="Enter a valid username"):
        call_command("addperson", "wren h", "Another Wren")
