"""The shared tablet: a steward marks it, a badge switches, two idle minutes lock it, and no link switches anybody."""

import pytest
from django.test import Client
from django.urls import reverse

from labstock.bench.pages.badge import badge_code
from labstock.people.badges import make_badge, set_pin
from labstock.people.tablet import COOKIE, SEEN
from labstock.stock.actions.reservations import Want, reserve
from tests import builders
from tests.bench.conftest import said_by, text_of

pytestmark = pytest.mark.django_db


def badge_for(name: str) -> str:
    """Return what the badge of one of the cast says when it is scanned."""
    return badge_code(make_badge(by=builders.person(name), person=builders.person(name)))


def who(client: Client) -> str:
    page = text_of(client.get(reverse("me"))) if "_auth_user_id" in client.session else ""
    return next(
        (name for name, cast in builders.CAST.items() if f"{cast[0]} {cast[1]}</h1>" in page), "nobody"
    )


@pytest.fixture
def shared(as_person) -> Client:
    """Return a browser that the steward has marked, with Marit logged in."""
    client = as_person("wren")
    client.post(reverse("tablet-mark"), {"name": "tablet at hood 4"})
    client.force_login(builders.person("marit"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def scan(client: Client, badge: str, **more):
    return client.post(reverse("tablet-badge"), {"badge": badge, **more})


def test_a_steward_marks_a_browser_by_a_signed_cookie(as_person):
    wren = as_person("wren")
    response = wren.post(reverse("tablet-mark"), {"name": "tablet at hood 4"})
    assert response.cookies[COOKIE]["httponly"] is True
    assert "It is the shared tablet “tablet at hood 4”" in text_of(wren.get(reverse("tablet")))
    wren.post(reverse("tablet-mark"), {"unmark": "yes"})
    assert "This browser is one person’s own" in text_of(wren.get(reverse("tablet")))


def test_a_forged_cookie_marks_nothing(marit):
    marit.cookies[COOKIE] = "tablet at hood 4"
    assert "This browser is one person’s own" in text_of(marit.get(reverse("tablet")))


def test_a_badge_switches_the_person_and_goes_back_to_the_open_page(shared, bottle):
    response = scan(shared, badge_for("tobias"), next=f"/C/{bottle.code}")
    assert response.headers["Location"] == f"/C/{bottle.code}"
    assert said_by(response)[-1] == "Tobias Renn records from now on."
    assert who(shared) == "tobias"


def test_nothing_of_the_person_before_stays_in_the_session(shared, bottle):
    session = shared.session
    session["used last"] = {"mL": {"unit": "mL"}}
    session.save()
    scan(shared, badge_for("tobias"))
    assert "used last" not in shared.session


@pytest.mark.parametrize("next_page", ["https://elsewhere.example/", "//elsewhere.example", "javascript:x"])
def test_a_badge_never_leads_off_the_site(shared, next_page):
    assert scan(shared, badge_for("tobias"), next=next_page).headers["Location"] == "/"


def test_a_badge_opens_nothing_in_a_browser_of_ones_own(marit):
    response = scan(marit, badge_for("tobias"))
    assert response.status_code == 422
    assert "not marked as shared, so a badge opens nothing here" in text_of(response)
    assert who(marit) == "marit"


def test_a_stewards_badge_asks_for_the_pin(shared):
    badge = badge_for("wren")
    set_pin(person=builders.person("wren"), password="quay-side-tern", pin="4817")
    assert "PIN of Wren Halloran" in text_of(scan(shared, badge))
    assert who(shared) == "marit"
    wrong = scan(shared, "", pin="0000")
    assert wrong.status_code == 422
    assert "This is not the PIN of Wren Halloran: 4 more tries" in text_of(wrong)
    scan(shared, "", pin="4817")
    assert who(shared) == "wren"


def test_a_stewards_badge_without_a_pin_says_where_to_set_one(shared):
    page = text_of(scan(shared, badge_for("wren"), pin="1"))
    assert "set it under “Badge and PIN”" in page
    assert who(shared) == "marit"


@pytest.mark.parametrize(
    ("code", "said"),
    [("TQ4817K", "This is the code of a container, not a badge"), ("", "No badge was scanned")],
)
def test_what_is_no_badge_is_refused(shared, code, said):
    response = scan(shared, code)
    assert response.status_code == 422
    assert said in text_of(response)


def test_a_link_with_a_badge_switches_nobody_until_a_person_confirms(shared):
    badge = badge_for("tobias")
    page = text_of(shared.get(reverse("scan"), {"code": badge}, follow=True))
    assert "Record as Tobias Renn" in page
    assert badge not in page
    assert who(shared) == "marit"
    scan(shared, "")
    assert who(shared) == "tobias"


def test_a_badge_scanned_at_ones_own_browser_says_where_it_works(marit):
    response = marit.get(reverse("scan"), {"code": badge_for("tobias")})
    assert response.status_code == 404
    assert "A badge switches the person on a shared tablet only" in text_of(response)


def idle(client: Client, seconds: float) -> None:
    client.get(reverse("front"))
    session = client.session
    session[SEEN] -= seconds
    session.save()


def test_two_idle_minutes_lock_it_on_the_page_that_was_open(shared, bottle):
    idle(shared, 119)
    assert shared.get(f"/C/{bottle.code}").status_code == 200
    idle(shared, 121)
    response = shared.get(f"/C/{bottle.code}", follow=True)
    assert response.redirect_chain[0][0] == f"/tablet/?next=%2FC%2F{bottle.code}"
    assert "Scan your badge" in text_of(response)
    assert who(shared) == "nobody"


def test_what_is_sent_after_the_lock_is_not_recorded_and_says_so(shared, bottle, use):
    idle(shared, 121)
    response = use(shared, amount="5")
    assert response.headers["Location"] == "/tablet/"
    assert "What was just sent was not recorded" in said_by(response)[0]
    assert bottle.entries.count() == 1


def test_a_badge_scanned_at_a_page_that_went_idle_switches_at_once(shared):
    idle(shared, 121)
    scan(shared, badge_for("tobias"))
    assert who(shared) == "tobias"
    idle(shared, 121)
    scan(shared, "TQ4817K")
    assert who(shared) == "nobody"


def test_a_page_that_asks_by_itself_does_not_keep_it_awake(shared):
    idle(shared, 100)
    before = shared.session[SEEN]
    shared.get(reverse("hands-free") + "?idle")
    assert shared.session[SEEN] == before
    shared.get(reverse("tablet-awake"))
    assert shared.session[SEEN] > before


def test_a_browser_of_ones_own_never_locks(marit):
    marit.get(reverse("front"))
    assert SEEN not in marit.session


def test_the_lock_button_leaves_it_to_the_next(shared):
    assert "Lock tablet at hood 4" in text_of(shared.get(reverse("front")))
    shared.post(reverse("tablet-lock"))
    assert who(shared) == "nobody"


def test_without_the_forms_token_nobody_is_switched(shared):
    badge, strict = badge_for("tobias"), Client(enforce_csrf_checks=True)
    strict.cookies.update(shared.cookies)
    assert scan(strict, badge).status_code == 403
    assert who(shared) == "marit"


def test_a_badge_on_the_hands_free_screen_switches_without_touch(shared, bottle):
    shared.post(reverse("hands-free"), {"code": bottle.code})
    response = shared.post(reverse("hands-free"), {"code": badge_for("tobias")}, follow=True)
    assert "Scan a bottle." in text_of(response)
    assert who(shared) == "tobias"


def test_ones_badge_is_made_and_drawn_on_ones_own_page(marit):
    assert "You have no badge" in text_of(marit.get(reverse("badge")))
    page = text_of(marit.post(reverse("badge-new"), follow=True))
    assert '<svg class="qr"' in page
    assert "the one before opens nothing any more" in page


def test_a_pin_is_set_with_the_password_and_a_wrong_one_stands_at_its_field(as_person):
    wren = as_person("wren")
    wrong = wren.post(reverse("pin-set"), {"password": "x", "pin": "4817"})
    assert wrong.status_code == 422
    assert "This is not your password" in text_of(wrong)
    right = wren.post(reverse("pin-set"), {"password": "quay-side-tern", "pin": "4817"}, follow=True)
    assert "A PIN is set." in text_of(right)


def test_a_steward_revokes_a_badge_on_the_persons_page(as_person):
    badge_for("tobias")
    wren, tobias = as_person("wren"), builders.person("tobias")
    assert "Revoke the badge" in text_of(wren.get(reverse("person", args=[tobias.pk])))
    page = text_of(wren.post(reverse("person-badge", args=[tobias.pk]), follow=True))
    assert "opens nothing any more" in page
    assert "badge revoked" in page


def test_recorded_for_somebody_whose_hands_are_full(marit, bottle, use):
    tobias = builders.person("tobias")
    use(marit, amount="5", for_person=tobias.pk)
    entry = bottle.entries.latest("seq")
    assert (entry.by.username, entry.for_person) == ("marit", tobias)
    assert "recorded by Marit Solberg for Tobias Renn" in text_of(marit.get(f"/C/{bottle.code}"))


def test_nobody_records_for_a_viewer_or_a_stranger(marit, bottle, use):
    response = use(marit, amount="5", for_person=builders.person("kasimir").pk)
    assert response.status_code == 422
    assert "choose who took it" in text_of(response)
    assert bottle.entries.count() == 1


def test_for_somebody_with_a_running_hold_it_counts_against_theirs(marit, bottle, use):
    tobias = builders.person("tobias")
    want = Want(container=bottle, amount=10_000_000)
    (hold,) = reserve(session=builders.session(tobias), wants=[want], by=tobias)
    use(marit, amount="5", for_person=tobias.pk)
    hold.refresh_from_db()
    assert hold.drawn == 5_000_000
