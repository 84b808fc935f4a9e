"""Who works where and when, what is held for them, and how it is let go."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labstock.stock.actions.reservations import Want, cancel_session, move_session, reserve
from labstock.stock.models import HoldState, Reservation, Session
from tests.batches.test_plan_pages import text
from tests.builders import container, hood, person, place, refused, session

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_person(client):
    def log_in(name="marit"):
        client.force_login(person(name), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return log_in


def hold(booked, millilitres=12):
    wants = [Want(container(), millilitres * 1_000_000)]
    return reserve(session=booked, wants=wants, by=booked.owner)[0]


def show(client, booked):
    return client.get(reverse("session", args=[booked.pk]))


def make_past(booked):
    end = timezone.now() - timedelta(minutes=1)
    Session.objects.filter(pk=booked.pk).update(starts_at=end - timedelta(hours=2), ends_at=end)


def times(start, hours=2):
    start = timezone.localtime(start)
    end = start + timedelta(hours=hours)
    return {
        "on": f"{start:%Y-%m-%d}", "starts": f"{start:%H:%M}", "ends": f"{end:%H:%M}", "ends_on": f"{end:%Y-%m-%d}",
    }  # fmt: skip


def test_a_session_shows_what_is_held_for_it(as_person):
    booked = session()
    hold(booked)
    said = text(show(as_person(), booked))
    assert "Running: one amount held for you" in said
    assert "12 mL" in said
    assert "nothing drawn, 12 mL left" in said


def test_what_lapsed_says_so_and_when(as_person):
    booked = session()
    row = hold(booked)
    make_past(booked)
    said = text(show(as_person(), booked))
    row.refresh_from_db()
    assert row.state == HoldState.LAPSED
    assert "Over: it holds nothing any more" in said
    assert "One amount lapsed unused when it ended" in said
    assert (
        "lapsed unused , by itself (the session is over)" in said
        or "lapsed unused, by itself (the session is over)" in said
    )


def test_a_hold_is_let_go_and_the_person_comes_back(as_person):
    row = hold(session())
    back = reverse("container", args=[row.container.code])
    answer = as_person().post(reverse("reservation-release", args=[row.pk]), {"next": back})
    row.refresh_from_db()
    assert (row.state, answer.url) == (HoldState.RELEASED, back)


def test_nobody_is_sent_to_another_site(as_person):
    row = hold(session())
    answer = as_person().post(
        reverse("reservation-release", args=[row.pk]), {"next": "https://elsewhere.example/"}
    )
    assert answer.url == reverse("session", args=[row.session_id])


def test_letting_go_of_somebody_elses_hold_is_refused(as_person):
    row = hold(session())
    answer = as_person("tobias").post(reverse("reservation-release", args=[row.pk]), follow=True)
    row.refresh_from_db()
    assert row.state == HoldState.HELD
    assert "only Marit Solberg or a steward can let it go" in text(answer)


def test_a_session_is_cancelled_once_and_its_holds_are_free(as_person):
    booked = session()
    row = hold(booked)
    for _ in range(2):
        answer = as_person().post(reverse("session-cancel", args=[booked.pk]), follow=True)
    row.refresh_from_db()
    assert (row.state, row.events.count()) == (HoldState.RELEASED, 2)
    assert "Cancelled: nothing is held for it" in text(answer)


def test_a_session_that_is_over_cannot_be_cancelled():
    booked = session()
    make_past(booked)
    with refused("there is nothing left to cancel"):
        cancel_session(session=booked, by=person())


def test_somebody_elses_session_is_not_cancelled(as_person):
    booked = session()
    answer = as_person("tobias").post(reverse("session-cancel", args=[booked.pk]), follow=True)
    booked.refresh_from_db()
    assert booked.cancelled_at is None
    assert "ask Marit Solberg to cancel it" in text(answer)


def test_a_session_moves_with_what_it_holds(as_person):
    booked = session()
    row = hold(booked)
    later = timezone.now() + timedelta(hours=5)
    data = {"title": "later", "place": hood().pk, **times(later)}
    as_person().post(reverse("session", args=[booked.pk]), data)
    booked.refresh_from_db()
    row.refresh_from_db()
    assert abs(booked.starts_at - later) < timedelta(minutes=1)
    assert (booked.title, row.state) == ("later", HoldState.HELD)


def test_a_move_into_the_past_is_refused_and_keeps_what_was_typed(as_person):
    booked = session()
    data = {"title": "too late", "place": hood().pk, **times(timezone.now() - timedelta(days=2))}
    answer = as_person().post(reverse("session", args=[booked.pk]), data)
    assert answer.status_code == 422
    assert "choose a time that is still to come" in text(answer)
    assert 'value="too late"' in answer.content.decode()


def test_a_moment_that_is_none_is_refused(as_person):
    booked = session()
    answer = as_person().post(reverse("session", args=[booked.pk]), {"move_to": "noon"}, follow=True)
    assert "'noon' is no moment to begin at" in text(answer)


def test_a_cupboard_is_no_place_to_move_to():
    booked = session()
    with refused("is no bench or hood"):
        move_session(
            session=booked, by=person(), place=place(), starts_at=booked.starts_at, ends_at=booked.ends_at
        )


def test_a_session_that_is_over_does_not_move():
    booked = session()
    make_past(booked)
    end = timezone.now() + timedelta(hours=2)
    with refused("nothing can be held for it any more"):
        move_session(session=booked, by=person(), place=hood(), starts_at=timezone.now(), ends_at=end)


def test_one_more_amount_is_held_and_sent_twice_is_held_once(as_person):
    booked, bottle = session(), container()
    data = {"key": str(uuid.uuid4()), "what": "acetic anhydride", "amount": "7 mL"}
    for _ in range(2):
        as_person().post(reverse("session-reserve", args=[booked.pk]), data)
    assert Reservation.objects.get(container=bottle).amount == 7_000_000


def test_more_than_is_free_is_refused_with_what_was_typed(as_person):
    booked = session()
    container()
    data = {"key": str(uuid.uuid4()), "what": "acetic anhydride", "amount": "700 mL"}
    answer = as_person().post(reverse("session-reserve", args=[booked.pk]), data)
    assert answer.status_code == 422
    assert "700 mL of acetic anhydride is wanted and 98.5 mL" in text(answer)
    assert 'value="700 mL"' in answer.content.decode()


def test_the_list_has_todays_sessions_ones_own_first(as_person):
    session(person("tobias"), start_hours=-0.02, hours=0.1, title="Fluorescein")
    session(person("marit"), start_hours=0, hours=0.1, title="Adduct")
    said = text(as_person().get(reverse("session-list")))
    assert said.index("Adduct") < said.index("Fluorescein")


def test_the_list_tells_what_is_to_come_and_what_lapsed(as_person):
    session(start_hours=48, title="Next week")
    row = hold(session(title="Last week"))
    past = timezone.now() - timedelta(days=7)
    Session.objects.filter(pk=row.session_id).update(starts_at=past - timedelta(hours=1), ends_at=past)
    said = text(as_person().get(reverse("session-list")))
    assert said.index("Coming") < said.index("Next week") < said.index("Last week")
    assert "1 amount, 1 lapsed unused" in said


def test_an_empty_list_says_what_to_do_next(as_person):
    said = text(as_person().get(reverse("session-list")))
    assert "Nobody works here today" in said
    assert "Plan one" in said


def test_the_list_takes_few_queries_however_long_it_is(as_person, django_assert_max_num_queries):
    for number in range(30):
        booked = session(start_hours=(number % 3) * 24, title=f"run {number}")
        if number % 5 == 0:
            hold(booked, 1)
    client = as_person()
    with django_assert_max_num_queries(12):
        client.get(reverse("session-list"))


def test_a_viewer_sees_sessions_and_changes_nothing(as_person):
    booked = session()
    row = hold(booked)
    viewer = as_person("kasimir")
    said = text(show(viewer, booked))
    assert "Let go" not in said
    assert "Move the session" not in said
    for name, key in (("session", booked.pk), ("session-cancel", booked.pk), ("reservation-release", row.pk)):
        assert viewer.post(reverse(name, args=[key])).status_code == 403


def test_a_session_that_is_not_there_is_a_page_not_found(as_person):
    assert as_person().get(reverse("session", args=[99999])).status_code == 404
