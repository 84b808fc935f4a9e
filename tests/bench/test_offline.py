"""Entries that waited on a device: each goes into the book once, and what the book refuses is settled by somebody."""

import json
import uuid
from datetime import timedelta

import pytest
from django.db import DatabaseError, IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from labstock.stock.actions.keeping import change_state, dispose
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.actions.weighing import weigh
from labstock.stock.models import Entry, Kind, QueuedEntry, Settlement, State
from tests import builders
from tests.bench.conftest import text_of

pytestmark = pytest.mark.django_db


def entry(code="TQ1002X", *, ago_minutes=30.0, person="marit", clock_wrong_by=timedelta(), **told):
    """Return an entry as a device keeps it."""
    moment = timezone.now() - timedelta(minutes=ago_minutes) + clock_wrong_by
    return {
        "key": str(uuid.uuid4()),
        "code": code,
        "person": builders.person(person).pk if person else None,
        "done_at": moment.isoformat(),
        "told": {"act": "use", "amount": "5", "unit": "mL", "device": "syringe-5"} | told,
    }


def send(client, *entries, clock_wrong_by=timedelta()):
    """Send a queue as the page does, and return what the device is told."""
    body = {"device_at": (timezone.now() + clock_wrong_by).isoformat(), "entries": entries}
    response = client.post(reverse("offline-send"), json.dumps(body), content_type="application/json")
    return json.loads(text_of(response)) | {"status": response.status_code}


def said(answer):
    return [(row["state"], row["said"].replace("\u00a0", " ")) for row in answer["results"]]


@pytest.fixture
def code(bottle):
    return bottle.code


def test_an_entry_is_recorded_with_the_time_it_was_done_and_says_that_it_is_late(marit, bottle, code):
    answer = send(marit, entry(code))
    line = bottle.entries.get(seq=2)
    assert said(answer) == [("recorded", "5 mL recorded, 48.00 ± 0.38 mL left.")]
    assert 29 * 60 < (line.recorded_at - line.done_at).total_seconds() < 31 * 60
    page = text_of(marit.get(f"/C/{code}"))
    assert "written down" in page
    assert "from a device without signal" in page


def test_the_same_queue_sent_twice_makes_each_line_once(marit, bottle, code):
    rows = [entry(code), entry(code, amount="2")]
    first, second = send(marit, *rows), send(marit, *rows)
    assert [state for state, _ in said(second)] == ["recorded", "recorded"]
    assert [row["pk"] for row in first["results"]] == [row["pk"] for row in second["results"]]
    assert bottle.entries.count() == 3
    assert QueuedEntry.objects.count() == 2


def test_a_queue_sent_again_in_another_order_changes_nothing(marit, bottle, code):
    rows = [entry(code, ago_minutes=30), entry(code, ago_minutes=20, amount="2")]
    send(marit, *rows)
    send(marit, *reversed(rows))
    assert [line.typed for line in bottle.entries.order_by("seq")][1:] == ["5 mL", "2 mL"]


def test_entries_go_into_the_book_in_the_order_they_were_done(marit, bottle, code):
    send(marit, entry(code, ago_minutes=20, amount="2"), entry(code, ago_minutes=30, amount="5"))
    assert [line.change for line in bottle.entries.order_by("seq")][1:] == [-5_000_000, -2_000_000]


def test_another_persons_queue_is_recorded_by_the_sender_for_them(as_person, bottle, code):
    row = entry(code, person="marit")
    send(as_person("tobias"), row)
    line = bottle.entries.get(seq=2)
    assert (line.by_name, str(line.for_person)) == ("Tobias Renn", "Marit Solberg")
    assert "recorded by Tobias Renn for Marit Solberg" in text_of(as_person("marit").get(f"/C/{code}"))


def test_a_queue_that_came_from_another_person_first_is_not_recorded_again(as_person, bottle, code):
    row = entry(code, person="marit")
    send(as_person("tobias"), row)
    answer = send(as_person("marit"), row)
    assert said(answer) == [("recorded", "5 mL recorded, 48.00 ± 0.38 mL left.")]
    assert bottle.entries.count() == 2


def test_what_nobody_was_signed_in_for_is_the_senders_and_says_so(marit, bottle, code):
    send(marit, entry(code, person=None))
    assert bottle.entries.get(seq=2).for_person is None
    assert "nobody was signed in on it" in text_of(marit.get(f"/C/{code}"))


def test_an_entry_for_a_container_that_was_emptied_becomes_a_difference(marit, bottle, code):
    change_state(
        container=bottle, to=State.EMPTY, doing=Doing(by=builders.person("tobias"), reason="used up")
    )
    answer = send(marit, entry(code))
    assert said(answer)[0][0] == "difference"
    assert "is empty (used up)" in said(answer)[0][1]
    assert answer["open"] == 1
    assert bottle.entries.count() == 1


def test_more_than_is_left_becomes_a_difference_and_the_next_entry_is_still_taken(marit, bottle, code):
    answer = send(marit, entry(code, amount="60"), entry(code, amount="2"))
    assert [state for state, _ in said(answer)] == ["difference", "recorded"]
    assert "60 mL is more than the 53.00 ± 0.31 mL left" in said(answer)[0][1]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"amount": "1,500 mL"}, "Do you mean 1.5 mL or 1500 mL?"),
        ({"device": ""}, "Choose what you measured with"),
        ({"device": "thumb"}, "'thumb' is not a measuring device known here"),
        ({"act": "drink"}, "“drink” is nothing that can be recorded here"),
        ({"batch": 4711}, "It was taken for a batch that does not exist"),
        ({"amount": "5", "unit": "h"}, "is a time"),
    ],
)
def test_what_the_book_cannot_read_is_kept_as_a_difference(marit, bottle, code, told, words):
    answer = send(marit, entry(code, **told))
    assert said(answer)[0][0] == "difference"
    assert words in said(answer)[0][1]
    assert QueuedEntry.objects.get().sent["told"]["act"] == told.get("act", "use")


def test_an_unknown_code_becomes_a_difference_with_the_code_as_typed(marit, bottle):
    answer = send(marit, entry("TQ4871K"))
    assert said(answer)[0][0] == "difference"
    assert QueuedEntry.objects.get().code == "TQ4871K"
    assert "TQ4871K" in text_of(marit.get("/differences/"))


DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("wrong", "which"), [(DAY, "24 h fast"), (-DAY, "24 h slow"), (timedelta(minutes=12), "12 min fast")]
)
def test_a_clock_that_is_wrong_is_corrected_kept_and_said_in_words(marit, bottle, code, wrong, which):
    send(marit, entry(code, clock_wrong_by=wrong), clock_wrong_by=wrong)
    line, row = bottle.entries.get(seq=2), QueuedEntry.objects.get()
    assert abs((line.recorded_at - line.done_at).total_seconds() - 30 * 60) < 60
    assert abs(row.clock_error_ms - wrong.total_seconds() * 1000) < 60_000
    assert f"its clock was {which}: the time is corrected" in text_of(marit.get(f"/C/{code}"))


def test_a_clock_that_is_right_is_not_spoken_of(marit, bottle, code):
    send(marit, entry(code), clock_wrong_by=timedelta(minutes=4))
    assert "its clock was" not in text_of(marit.get(f"/C/{code}"))


def test_a_clock_changed_between_doing_and_sending_is_not_guessed_at(marit, bottle, code):
    row = entry(code, clock_wrong_by=DAY) | {"known_error_ms": 86_400_000}
    answer = send(marit, row)
    assert (
        "The clock of the device was changed by 24 h between the doing and the sending" in said(answer)[0][1]
    )
    assert bottle.entries.count() == 1


def test_a_draw_from_before_a_weighing_is_not_counted_twice(marit, bottle, code):
    # 286.40 g less 5 mL of 1.082 g/mL is 280.99 g, by hand
    weigh(
        container=bottle,
        gross=builders.amount("280.99 g"),
        device_code="balance-0.01g",
        doing=Doing(by=builders.person("tobias"), reason="5 mL are missing"),
    )
    answer = send(marit, entry(code))
    assert "Tobias Renn recorded “weighed back” at" in said(answer)[0][1]
    assert "recording it now would count it twice" in said(answer)[0][1]


def test_a_mass_from_before_a_draw_is_not_believed(marit, bottle, code):
    draw(
        container=bottle,
        amount=builders.amount("7 mL"),
        device_code="syringe-10",
        doing=Doing(by=builders.person("tobias")),
    )
    answer = send(marit, entry(code, act="weigh", amount="286.40", unit="g", device="balance-0.01g"))
    assert "that mass no longer says what is left. Weigh it again." in said(answer)[0][1]


def test_somebody_elses_draw_in_between_is_no_clash_for_a_draw(marit, bottle, code):
    draw(
        container=bottle,
        amount=builders.amount("7 mL"),
        device_code="syringe-10",
        doing=Doing(by=builders.person("tobias")),
    )
    assert said(send(marit, entry(code)))[0][0] == "recorded"
    bottle.refresh_from_db()
    assert bottle.remaining == 41_000_000


@pytest.mark.parametrize(
    ("told", "kind", "change"),
    [
        ({"act": "spilt", "device": ""}, Kind.SPILT, -5_000_000),
        ({"act": "wasted"}, Kind.WASTED, -5_000_000),
        ({"act": "found"}, Kind.FOUND, 5_000_000),
        ({"amount": "500", "unit": "µL"}, Kind.DRAWN, -500_000),
    ],
)
def test_each_act_makes_its_own_line(marit, bottle, code, told, kind, change):
    assert said(send(marit, entry(code, **told)))[0][0] == "recorded"
    line = bottle.entries.get(seq=2)
    assert (line.kind, line.change) == (kind, change)


def test_a_weighing_without_signal_corrects_the_book(marit, bottle, code):
    answer = send(
        marit,
        entry(code),
        entry(code, ago_minutes=29, act="weigh", amount="280.94", unit="g", device="balance-0.01g"),
    )
    assert [state for state, _ in said(answer)] == ["recorded", "recorded"], said(answer)
    assert bottle.entries.get(seq=3).gross_ug == 280_940_000


def test_a_form_whose_answer_was_lost_is_not_recorded_again_by_the_queue(marit, bottle, code, use):
    key = str(uuid.uuid4())
    use(marit, amount="5", key=key)
    answer = send(marit, entry(code) | {"key": key})
    assert said(answer) == [("recorded", "5 mL recorded, 48.00 ± 0.38 mL left.")]
    assert bottle.entries.count() == 2


def test_a_key_that_comes_back_with_something_else_stays_on_the_device(marit, bottle, code):
    row = entry(code)
    send(marit, row)
    answer = send(marit, row | {"told": row["told"] | {"amount": "7"}})
    assert said(answer)[0][0] == "unread"
    assert "An entry with this key came before and said something else" in said(answer)[0][1]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("no json", "it is no list of entries"),
        ("{}", "it is no list of entries"),
        ('{"device_at": "2026-11-25T12:00:00", "entries": []}', "its device_at is no moment with a zone"),
        (json.dumps({"device_at": "2026-11-25T12:00:00Z", "entries": [{}] * 101}), "at most 100 go at once"),
    ],
)
def test_a_queue_that_cannot_be_read_is_refused_in_words(marit, body, words):
    response = marit.post(reverse("offline-send"), body, content_type="application/json")
    assert response.status_code == 422
    assert words in response.json()["said"]


@pytest.mark.parametrize(
    "broken", [{"key": "7"}, {"told": None}, {"person": "marit"}, {"code": "T" * 301}, {"done_at": "soon"}]
)
def test_a_broken_entry_stays_on_the_device_and_the_others_go(marit, bottle, code, broken):
    answer = send(marit, entry(code) | broken, entry(code))
    states = dict(said(answer))
    assert sorted(states) == ["recorded", "unread"]
    assert "It stays on the device" in states["unread"]


def test_who_may_not_record_sends_nothing(as_person, bottle, code):
    response = as_person("kasimir").post(reverse("offline-send"), "{}", content_type="application/json")
    assert response.status_code == 403
    assert "A viewer may not record what was used" in text_of(response)


def test_without_a_token_nothing_is_taken(bottle, code):
    client = Client(enforce_csrf_checks=True)
    client.force_login(builders.person(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(reverse("offline-send"), "{}", content_type="application/json").status_code == 403


def test_what_was_sent_is_never_changed_or_deleted(marit, bottle, code):
    send(marit, entry(code, amount="60"))
    for act in (lambda: QueuedEntry.objects.update(refusal=""), lambda: QueuedEntry.objects.all().delete()):
        with pytest.raises(DatabaseError, match="history"), transaction.atomic():
            act()


def test_the_database_refuses_a_row_that_made_a_line_and_was_refused(marit, bottle, code):
    send(marit, entry(code))
    row = QueuedEntry.objects.get()
    row.pk, row.key, row.refusal_code = None, uuid.uuid4(), "is-empty"
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(("way", "has_line"), [("recorded", False), ("not done", True)])
def test_the_database_refuses_words_with_a_line_and_a_line_without(marit, bottle, refused, way, has_line):
    line = bottle.entries.get(seq=1) if has_line else None
    with pytest.raises(IntegrityError), transaction.atomic():
        Settlement.objects.create(
            queued=refused, way=way, entry=line, reason="slip", by=builders.person(), at=timezone.now()
        )


# ---------------------------------------------------------------- settling


@pytest.fixture
def refused(marit, bottle, code):
    """Return a difference: 60 mL said to be drawn from a bottle that holds 53."""
    send(marit, entry(code, amount="60"))
    return QueuedEntry.objects.get()


def settle(client, queued, **fields):
    return client.post(reverse("difference", args=[queued.pk]), fields)


def test_the_front_page_says_what_is_open_to_whose_it_is_and_to_stewards(as_person, marit, refused):
    for name, words in (
        ("marit", "1 difference to settle"),
        ("wren", "1 difference to settle"),
        ("tobias", ""),
    ):
        page = text_of(as_person(name).get("/"))
        assert ("difference to settle" in page) is bool(words)


def test_a_difference_shows_what_was_done_and_what_the_book_says_now(marit, refused):
    page = text_of(marit.get(reverse("difference", args=[refused.pk])))
    assert "Used 60 mL, 5 mL syringe" in page
    assert "60 mL is more than the 53.00 ± 0.31 mL left" in page
    assert "53.00 ± 0.31 mL" in page
    assert "No line was written for anything done since then" in page


def test_it_is_settled_by_another_amount_at_the_time_it_was_done(marit, bottle, refused, code):
    settle(
        marit,
        refused,
        way="recorded",
        container=code,
        amount="6.0 mL",
        device="syringe-10",
        reason="a slip of the finger",
    )
    line = bottle.entries.get(seq=2)
    assert (line.change, line.reason, line.done_at) == (-6_000_000, "a slip of the finger", refused.done_at)
    assert Settlement.objects.get().entry == line
    assert "Nothing to settle" in text_of(marit.get("/differences/"))
    assert "Settled" in text_of(marit.get("/differences/"))


def test_it_is_settled_on_another_container(marit, bottle, refused):
    other = builders.container(holds="80 mL")
    settle(
        marit,
        refused,
        way="recorded",
        container=other.code,
        amount="60 mL",
        device="cylinder-100-b",
        reason="wrong bottle scanned",
    )
    assert other.entries.get(seq=2).change == -60_000_000
    assert bottle.entries.count() == 1


@pytest.mark.parametrize("way", ["in the book", "not done"])
def test_it_is_settled_by_words_alone(marit, bottle, refused, way):
    settle(marit, refused, way=way, reason="poured back before I left")
    assert Settlement.objects.get().way == way
    assert bottle.entries.count() == 1


def test_settling_twice_settles_once(marit, bottle, refused, code):
    for _ in range(2):
        settle(
            marit, refused, way="recorded", container=code, amount="6 mL", device="syringe-10", reason="slip"
        )
    assert (Settlement.objects.count(), bottle.entries.count()) == (1, 2)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "Choose one of the three"),
        ({"way": "not done"}, "Why?"),
        (
            {"way": "recorded", "reason": "slip", "container": "", "amount": "5 mL"},
            "To record it, give the code on the container.",
        ),
        ({"way": "recorded", "reason": "slip", "container": "TQ4871K", "amount": "5 mL"}, "TQ4871K"),
    ],
)
def test_a_way_out_that_lacks_something_is_refused_and_keeps_what_was_typed(marit, refused, fields, words):
    response = settle(marit, refused, **fields)
    assert response.status_code == 422
    assert words in text_of(response)
    assert not Settlement.objects.exists()


def test_a_blocked_bottle_still_refuses_when_it_is_settled(marit, bottle, refused, code):
    change_state(
        container=bottle, to=State.BLOCKED, doing=Doing(by=builders.person("wren"), reason="to be retested")
    )
    response = settle(
        marit, refused, way="recorded", container=code, amount="5 mL", device="syringe-5", reason="slip"
    )
    assert response.status_code == 422
    assert "is blocked (to be retested)" in text_of(response)


def test_somebody_else_may_not_settle_it_and_a_steward_settles_it_for_its_person(
    as_person, bottle, refused, code
):
    assert "for whoever sent it, or for a steward" in text_of(
        settle(as_person("tobias"), refused, way="not done", reason="x")
    )
    settle(
        as_person("wren"),
        refused,
        way="recorded",
        container=code,
        amount="6 mL",
        device="syringe-10",
        reason="asked her",
    )
    line = bottle.entries.get(seq=2)
    assert (line.by_name, str(line.for_person)) == ("Wren Halloran", "Marit Solberg")


def test_an_entry_for_a_container_that_was_disposed_of_is_settled_by_words(marit, bottle, code):
    dispose(container=bottle, doing=Doing(by=builders.person("wren"), reason="waste"))
    answer = send(marit, entry(code))
    assert "is disposed of" in said(answer)[0][1]
    settle(marit, QueuedEntry.objects.get(), way="in the book", reason="it went with the rest")
    assert Settlement.objects.get().get_way_display() == "already in the book"


# ---------------------------------------------------------------- what a device keeps


def test_a_device_keeps_todays_sessions_with_their_containers(marit, bottle):
    session = builders.session(builders.person("marit"))
    reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("marit"))
    kept = marit.get(reverse("offline-kept")).json()
    row = kept["containers"][bottle.code]
    assert [one["title"] for one in kept["sessions"]] == ["Acetanilide"]
    assert row["name"] == "acetic anhydride"
    assert row["left"].replace("\u00a0", " ") == "53.00 ± 0.31 mL"
    assert row["holds"][0]["amount"].replace("\u00a0", " ") == "12 mL"
    assert kept["person"]["name"] == "Marit Solberg"


def test_a_device_keeps_nothing_of_other_peoples_sessions(marit, bottle):
    session = builders.session(builders.person("tobias"))
    reserve(session=session, wants=[Want(bottle, 12_000_000)], by=builders.person("tobias"))
    kept = marit.get(reverse("offline-kept")).json()
    assert kept["sessions"] == []
    assert kept["containers"] == {}
    also = marit.get(reverse("offline-kept") + f"?also={bottle.code}").json()
    assert also["containers"][bottle.code]["held_by_others"].replace("\u00a0", " ") == "12 mL"


def test_what_is_kept_costs_few_questions(marit, bottle, django_assert_max_num_queries):
    for number in range(5):
        builders.container(number=5000 + 3 * number)
    codes = ",".join(Entry.objects.values_list("container__code", flat=True))
    with django_assert_max_num_queries(12):
        marit.get(reverse("offline-kept") + f"?also={codes}")


def test_the_page_for_no_signal_and_its_worker_hold_nothing_of_anybody(marit, bottle):
    for name in ("offline", "offline-worker"):
        mine, strangers = marit.get(reverse(name)), Client().get(reverse(name))
        assert mine.content == strangers.content
        assert b"Solberg" not in mine.content


def test_a_draft_can_ask_whether_its_key_was_recorded(marit, bottle, code, use):
    key = str(uuid.uuid4())
    address = reverse("offline-recorded") + f"?key={key}"
    assert marit.get(address).json() == {"is_recorded": False}
    use(marit, amount="5", key=key)
    assert marit.get(address).json() == {"is_recorded": True}
    assert marit.get(reverse("offline-recorded") + "?key=7").json() == {"is_recorded": False}
