"""The pages behind "Reserve": plan, work out again, hold; what is refused keeps what was typed."""

import re
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from batches.models import Batch
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import HoldState, Reservation, Session, State
from tests.builders import (
    ACETANILIDE,
    ACETIC_ACID,
    ANHYDRIDE,
    ANILINE,
    amount,
    container,
    hood,
    person,
    session,
    substance,
)

pytestmark = pytest.mark.django_db
ACETYLATION = "C6H7N + C4H6O3 -> C8H9NO + C2H4O2"


def shelf():
    return [substance(about) for about in (ANILINE, ANHYDRIDE, ACETANILIDE, ACETIC_ACID)]


@pytest.fixture
def marit(client):
    client.force_login(person("marit"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def times(hours=2, length=2):
    start = timezone.localtime() + timedelta(hours=hours)
    end = start + timedelta(hours=length)
    return {
        "on": f"{start:%Y-%m-%d}", "starts": f"{start:%H:%M}", "ends": f"{end:%H:%M}", "ends_on": f"{end:%Y-%m-%d}",
    }  # fmt: skip


def sent(**fields):
    return {
        "way": "prepare", "key": str(uuid.uuid4()), "title": "acetanilide", "equation": ACETYLATION,
        "scale": "100 mmol", "place": hood().pk, **times(), **fields,
    }  # fmt: skip


def planned(client, **fields):
    answer = client.post(reverse("plan-start"), sent(**fields))
    assert answer.status_code == 302, text(answer)
    return Batch.objects.latest("id")


def text(answer):
    bare = re.sub(r"<(?!/?[a-z]+>)?[^>]+>", " ", answer.content.decode())
    return re.sub(
        r"\s+",
        " ",
        bare.replace("\u00a0", " ").replace("&gt;", ">").replace("&lt;", "<").replace("&#x27;", "'"),
    )


def page(client, batch):
    return client.get(reverse("plan", args=[batch.number]))


def lines_sent(batch, **changes):
    """Return the form of a plan as its page would send it, with some boxes changed."""
    rows = list(batch.lines.all())
    data = {
        "equation": batch.equation, "scale": batch.scale, "scale_line": batch.scale_line, "seen": rows[0].pk,
        "line-TOTAL_FORMS": len(rows) + 1, "line-INITIAL_FORMS": len(rows), "line-MIN_NUM_FORMS": 0,
        "line-MAX_NUM_FORMS": 24,
    }  # fmt: skip
    for number, line in enumerate(rows):
        data |= {f"line-{number}-name": line.name, f"line-{number}-equivalents": line.equivalents_typed}
        data |= {
            f"line-{number}-role": line.role if not line.coefficient else "",
            f"line-{number}-amount": line.amount_typed,
        }
    return data | changes


def test_a_preparation_is_planned_with_its_session(marit):
    shelf()
    batch = planned(marit)
    assert (batch.session.place, batch.lines.count()) == (hood(), 4)
    assert "All lines are covered" not in text(page(marit, batch))


def test_the_page_answers_first_and_offers_the_bottles(marit):
    shelf(), container(), container(ANILINE)
    said = text(page(marit, planned(marit)))
    assert "All lines are covered: hold them" in said
    assert "Conserved: C 10, H 13, N 1, O 3 on both sides" in said
    assert "sealed: would break a seal" in said
    assert "Hold all" in said


def test_all_is_held_in_one_act_and_the_page_says_until_when(marit):
    shelf()
    bottles = container(ANILINE), container()
    batch = planned(marit)
    choices = {"pick-1": bottles[0].pk, "pick-2": bottles[1].pk}
    answer = marit.post(reverse("plan-hold", args=[batch.number]), choices, follow=True)
    assert "Held for you: 9.16 mL of aniline in TQ 1001 Z; 9.49 mL of acetic anhydride in TQ 1002 X." in text(
        answer
    )
    assert "Held for you " in text(answer)
    assert "let them go below to change its numbers" in text(answer)


def test_holding_twice_says_it_is_held_already(marit):
    shelf()
    bottle, batch = container(), planned(marit)
    for _ in range(2):
        answer = marit.post(reverse("plan-hold", args=[batch.number]), {"pick-2": bottle.pk}, follow=True)
    assert "All of it was held already" in text(answer)
    assert Reservation.objects.count() == 1


def test_choosing_nothing_is_said(marit):
    shelf()
    answer = marit.post(reverse("plan-hold", args=[planned(marit).number]), {"pick-2": ""})
    assert answer.status_code == 422
    assert "choose at least one, then hold" in text(answer)


def held_by_tobias(millilitres=90):
    bottle = container()
    reserve(
        session=session(person("tobias")), wants=[Want(bottle, millilitres * 1_000_000)], by=person("tobias")
    )
    return bottle


def test_a_short_line_says_who_holds_it_until_when_and_what_else_would_do(marit):
    shelf(), container(ANILINE), held_by_tobias()
    said = text(page(marit, planned(marit)))
    assert "acetic anhydride is 0.99 mL short" in said
    assert "90 mL is held by Tobias Renn until" in said
    assert "Free now 8.50 mL, wanted 9.49 mL." in said
    assert "Ask Tobias Renn to let some go" in said
    # by hand: 8.5 mL of 9.483 mL needed for 100 mmol is 89.6 mmol; what is surely there is a little less
    scale = re.findall(r"Scale to (\S+) mmol now", said)[0]
    assert 80 < float(scale) < 89.6


def test_the_second_of_two_people_is_told_at_once_and_may_take_the_other_bottle(marit):
    shelf()
    bottle, other, batch = container(), container(), planned(marit)
    reserve(session=session(person("tobias")), wants=[Want(bottle, 95_000_000)], by=person("tobias"))
    hold = reverse("plan-hold", args=[batch.number])
    answer = marit.post(hold, {"pick-2": bottle.pk})
    assert answer.status_code == 422
    assert "Tobias Renn holds 95 mL until" in text(answer)
    assert "acetic anhydride is 5.99 mL short in that bottle; another has enough" in text(answer)
    assert "Take TQ 1002 X instead" in text(answer)
    marit.post(hold, {"pick-2": bottle.pk, "instead": f"2:{other.pk}"})
    assert Reservation.objects.get(session=batch.session).container == other


def test_scaling_down_fits_what_is_surely_there(marit):
    shelf()
    bottle, batch = held_by_tobias(), planned(marit)
    offered = re.findall(r'name="scale_to" value="([^"]+)"', page(marit, batch).content.decode())[0]
    marit.post(reverse("plan", args=[batch.number]), {"scale_to": offered})
    answer = marit.post(reverse("plan-hold", args=[batch.number]), {"pick-2": bottle.pk})
    assert answer.status_code == 302
    assert Reservation.objects.get(session=batch.session).amount <= 8_500_000


def test_the_session_moves_to_the_end_of_the_others(marit):
    shelf()
    bottle = container()
    theirs = session(person("tobias"), hours=6)
    reserve(session=theirs, wants=[Want(bottle, 90_000_000)], by=person("tobias"))
    batch = planned(marit)
    assert "Start at" in text(page(marit, batch))
    marit.post(reverse("session", args=[batch.session_id]), {"move_to": theirs.ends_at.isoformat()})
    batch.session.refresh_from_db()
    assert abs(batch.session.starts_at - theirs.ends_at) < timedelta(minutes=1)


def test_a_plan_is_worked_out_again_with_equivalents_and_a_quench(marit):
    shelf()
    batch = planned(marit)
    changes = {
        "line-1-equivalents": "1.20",
        "line-4-role": "quench",
        "line-4-name": "water",
        "line-4-amount": "0.4 L",
    }
    answer = marit.post(reverse("plan", args=[batch.number]), lines_sent(batch, **changes))
    assert answer.status_code == 302
    second, last = batch.lines.all()[1], batch.lines.last()
    assert (second.equivalents, last.name, last.dispense, last.dispense_unit) == (
        pytest.approx(1.2),
        "water",
        400,
        "mL",
    )


def test_sending_the_same_change_twice_is_no_fault(marit):
    shelf()
    batch = planned(marit)
    data = lines_sent(batch, **{"line-1-equivalents": "1.20"})
    answers = [marit.post(reverse("plan", args=[batch.number]), data).status_code for _ in range(2)]
    assert answers == [302, 302]


def test_a_plan_changed_meanwhile_is_not_overwritten(marit):
    shelf()
    batch = planned(marit)
    mine = lines_sent(batch, **{"line-1-equivalents": "1.20"})
    marit.post(reverse("plan", args=[batch.number]), lines_sent(batch, **{"line-1-equivalents": "2"}))
    answer = marit.post(reverse("plan", args=[batch.number]), mine)
    assert answer.status_code == 422
    assert "worked out again after you opened this page" in text(answer)
    assert batch.lines.all()[1].equivalents == pytest.approx(2)


def test_another_equation_keeps_the_equivalents_of_what_stays(marit):
    shelf()
    batch = planned(marit)
    changes = {"equation": "C4H6O3 + H2O -> 2 C2H4O2", "line-1-equivalents": "1.5"}
    marit.post(reverse("plan", args=[batch.number]), lines_sent(batch, **changes))
    assert [line.equivalents_typed for line in batch.lines.all()] == ["1.5", "", ""]


def test_a_name_of_another_composition_is_refused_at_its_line(marit):
    shelf()
    batch = planned(marit)
    data = lines_sent(batch, **{"line-1-name": "aniline"})
    answer = marit.post(reverse("plan", args=[batch.number]), data)
    assert answer.status_code == 422
    assert "aniline is C6H7N, and the equation has C4H6O3 here" in text(answer)


@pytest.mark.parametrize(
    ("box", "typed", "words"),
    [
        ("line-1-equivalents", "lots", "equivalents of acetic anhydride cannot be read"),
        ("line-1-amount", "1,500 mL", "Do you mean 1.5 mL or 1500 mL"),
        ("scale", "5", "has no unit"),
        ("equation", "C6H7N -> C8H9NO", "does not conserve"),
    ],
)
def test_a_refused_change_keeps_what_was_typed_and_changes_nothing(marit, box, typed, words):
    shelf()
    batch = planned(marit)
    answer = marit.post(reverse("plan", args=[batch.number]), lines_sent(batch, **{box: typed}))
    assert answer.status_code == 422
    assert words in text(answer)
    assert typed.replace(">", "&gt;") in answer.content.decode()
    assert batch.lines.count() == 4


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"equation": "C6H7N + C4H6O3 -> C8H9NO"}, "does not conserve"),
        ({"equation": "Fe2+ -> Fe3+"}, "charge: +2 on the left, +3 on the right"),
        ({"scale": "1,500 mL"}, "Do you mean 1.5 mL or 1500 mL"),
        ({"scale": "-3 g"}, "below zero"),
        ({"place": ""}, "Choose where you will work."),
        ({"starts": "25:00"}, "valid time"),
    ],
)
def test_a_refused_preparation_keeps_what_was_typed_and_plans_nothing(marit, fields, words):
    shelf()
    answer = marit.post(reverse("plan-start"), sent(**fields))
    assert answer.status_code == 422
    assert words in text(answer)
    assert 'value="acetanilide"' in answer.content.decode()
    assert not Batch.objects.exists()
    assert not Session.objects.exists()


def test_a_session_in_the_past_is_refused(marit):
    shelf()
    answer = marit.post(reverse("plan-start"), sent(**times(hours=-30)))
    assert answer.status_code == 422
    assert "choose a time that is still to come" in text(answer)


def test_the_right_coefficients_are_one_press_away(marit):
    answer = marit.post(reverse("plan-start"), sent(equation="2 H2 + 2 O2 -> 2 H2O"))
    assert "Take this equation" in text(answer)
    assert planned(marit, equation="x", take="2 H2 + O2 -> 2 H2O").equation == "2 H2 + O2 -> 2 H2O"


def test_sending_the_front_form_twice_makes_one_plan(marit):
    shelf()
    data = sent()
    first, second = (marit.post(reverse("plan-start"), data).url for _ in range(2))
    assert first == second
    assert (Batch.objects.count(), Session.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("scale", "kept", "line"),
    [("5 g acetanilide", "5 g", 3), ("20 mL of acetic anhydride", "20 mL", 2), ("60 mmol", "60 mmol", 1)],
)
def test_the_scale_names_its_line(marit, scale, kept, line):
    shelf()
    batch = planned(marit, scale=scale)
    assert (batch.scale, batch.scale_line) == (kept, line)


def test_a_milligram_is_not_magnesium(marit):
    assert planned(marit, equation="2 Mg + O2 -> 2 MgO", scale="50 mg").scale == "50 mg"


def test_a_preparation_made_again_brings_its_other_lines(marit):
    shelf()
    batch = planned(marit)
    changes = {
        "line-1-equivalents": "1.20",
        "line-4-role": "wash",
        "line-4-name": "water",
        "line-4-amount": "40 mL",
    }
    marit.post(reverse("plan", args=[batch.number]), lines_sent(batch, **changes))
    form = marit.get(reverse("plan-start"), {"again": batch.number}).content.decode()
    assert 'value="acetanilide"' in form
    again = planned(marit, again=batch.number)
    assert [line.name for line in again.lines.all()][-1] == "water"


def hold_sent(**fields):
    data = {
        "key": str(uuid.uuid4()),
        "what": "acetic anhydride",
        "amount": "12 mL",
        "place": hood().pk,
        **times(),
        **fields,
    }
    return {"way": "hold"} | {f"hold-{name}": value for name, value in data.items()}


def test_an_amount_is_just_held(marit):
    bottle = container()
    answer = marit.post(reverse("plan-start"), hold_sent(), follow=True)
    assert "12 mL of acetic anhydride held for you in TQ 1001 Z, room 214, cupboard 4." in text(answer)
    assert bottle.reservations.get().session.title == "acetic anhydride"


def test_an_amount_of_the_named_bottle_is_held_there(marit):
    container()
    second = container()
    marit.post(reverse("plan-start"), hold_sent(what="tq 1002-x"))
    assert Reservation.objects.get().container == second


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"amount": "99 mL"}, "99 mL of acetic anhydride is wanted and 98.5 mL of TQ 1001 Z is free"),
        ({"amount": "12"}, "has no unit"),
        ({"amount": "1,500 mL"}, "Do you mean 1.5 mL or 1500 mL"),
        ({"amount": "5 J"}, "cannot be held"),
        ({"what": "TQ 1001 K"}, "TQ 1001"),
        ({"what": "unobtainium"}, "neither a name on the substance list nor a code"),
        ({"what": "acetic"}, "may be acetic acid, acetic anhydride: write the whole name"),
    ],
)
def test_a_refused_hold_keeps_what_was_typed_and_holds_nothing(marit, fields, words):
    shelf(), container()
    answer = marit.post(reverse("plan-start"), hold_sent(**fields))
    assert answer.status_code == 422
    assert words in text(answer)
    assert next(iter(fields.values())) in answer.content.decode()
    assert not Session.objects.exists()


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"q": "12 mL acetic anhydride"}, ["From which container?", 'value="12 mL"']),
        ({"q": "acetanilide, 60 mmol"}, ['value="acetanilide"', 'value="60 mmol"']),
        ({"q": ACETYLATION}, ["C6H7N + C4H6O3 -&gt; C8H9NO"]),
        ({"container": "TQ1001Z"}, ['value="TQ1001Z"']),
    ],
)
def test_the_words_of_the_front_page_fill_the_form(marit, asked, words):
    shelf(), container()
    said = marit.get(reverse("plan-start"), asked).content.decode()
    assert [word for word in words if word not in said] == []


def test_a_substance_may_be_asked_for_by_its_page(marit):
    said = marit.get(reverse("plan-start"), {"substance": substance(ANHYDRIDE).pk}).content.decode()
    assert 'value="acetic anhydride"' in said


def test_holds_of_a_session_that_is_over_lapse_when_the_plan_is_opened(marit):
    shelf()
    bottle, batch = container(), planned(marit)
    marit.post(reverse("plan-hold", args=[batch.number]), {"pick-2": bottle.pk})
    past = timezone.now() - timedelta(minutes=1)
    Session.objects.update(starts_at=past - timedelta(hours=1), ends_at=past)
    assert "The session is over and holds nothing any more" in text(page(marit, batch))
    assert Reservation.objects.get().state == HoldState.LAPSED


def test_a_plan_whose_session_is_over_is_put_into_another(marit):
    shelf()
    batch = planned(marit)
    data = {f"when-{name}": value for name, value in (times(hours=30) | {"place": hood().pk}).items()}
    answer = marit.post(reverse("plan", args=[batch.number]), {"act": "session"} | data)
    assert answer.status_code == 302
    assert Session.objects.count() == 2


def test_drawn_from_plans_stay_as_they_were(marit):
    shelf()
    bottle, batch = container(), planned(marit)
    marit.post(reverse("plan-hold", args=[batch.number]), {"pick-2": bottle.pk})
    row = Reservation.objects.get()
    draw(
        container=bottle,
        amount=amount("9 mL"),
        device_code="syringe-10",
        doing=Doing(by=person()),
        reservation=row,
    )
    answer = marit.post(reverse("plan", args=[batch.number]), lines_sent(batch))
    assert "let the holds go before changing it" in text(answer)


def test_a_viewer_sees_a_plan_and_may_change_nothing(marit, client):
    shelf(), container()
    batch = planned(marit)
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    said = text(page(client, batch))
    assert "Work it out again" not in said
    assert "Hold nothing for this line" not in said
    assert client.post(reverse("plan", args=[batch.number]), {"scale_to": "5 mmol"}).status_code == 403
    assert client.get(reverse("plan-start")).status_code == 403


def test_a_plan_that_is_not_there_is_a_page_not_found(marit):
    assert marit.get(reverse("plan", args=["26-999"])).status_code == 404


def test_a_blocked_bottle_is_shown_with_its_reason_and_cannot_be_chosen(marit):
    shelf()
    bottle = container()
    bottle.state, bottle.state_because = State.BLOCKED, "crystals"
    bottle.save()
    said = page(marit, planned(marit)).content.decode()
    assert "Blocked: crystals" in said
    assert f'value="{bottle.pk}" id="pick-2' not in said


def test_a_plan_of_six_lines_takes_few_queries(marit, django_assert_max_num_queries):
    shelf(), container(), container(ANILINE), container(ACETIC_ACID)
    batch = planned(marit)
    for number, name in ((4, "acetic acid"), (5, "aniline"), (6, "water")):
        marit.post(
            reverse("plan", args=[batch.number]),
            lines_sent(
                batch,
                **{
                    f"line-{number}-name": name,
                    f"line-{number}-role": "wash",
                    f"line-{number}-amount": "5 mL",
                },
            ),
        )
    assert batch.lines.count() == 7
    with django_assert_max_num_queries(20):
        page(marit, batch)


def test_a_preparation_is_planned_by_choosing_substances(marit):
    shelf()
    chosen = {"in_1": "aniline", "in_2": "Acetic anhydride", "out_1": "acetanilide", "out_2": "acetic acid"}
    batch = planned(marit, equation="", **chosen)
    assert batch.equation == "aniline + Acetic anhydride -> acetanilide + acetic acid"
    assert batch.lines.filter(substance__isnull=False).count() == 4


def test_neither_an_equation_nor_substances_is_asked_for(marit):
    answer = marit.post(reverse("plan-start"), sent(equation=""))
    assert "Write the equation, or choose what goes in and what comes out." in text(answer)


def test_what_was_made_before_is_filled_in_from_its_title(marit):
    shelf(), planned(marit)
    said = marit.get(reverse("plan-start"), {"q": "Acetanilide, 60 mmol"}).content.decode()
    assert "C6H7N + C4H6O3 -&gt; C8H9NO + C2H4O2" in said
    assert 'value="60 mmol"' in said


def test_a_plan_held_for_one_session_is_not_put_into_another(marit):
    shelf()
    bottle, batch = container(), planned(marit)
    marit.post(reverse("plan-hold", args=[batch.number]), {"pick-2": bottle.pk})
    data = {f"when-{name}": value for name, value in (times(hours=30) | {"place": hood().pk}).items()}
    answer = marit.post(reverse("plan", args=[batch.number]), {"act": "session"} | data)
    assert "let the holds go first, or move the session" in text(answer)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("plan-hold", {"pick-2": "9" * 40}),
        ("plan-hold", {"instead": "x:y"}),
        ("plan-hold", {"instead": "99:1"}),
        ("plan", {"scale_to": "much"}),
        ("plan", {"scale_to": "\0"}),
        ("plan", {"equation": "\0", "scale": "\0"}),
        ("plan", {"act": "session", "when-session": "9" * 30, "when-on": "0001-01-01"}),
    ],
)
def test_what_no_browser_sends_is_refused_without_an_exception(marit, name, data):
    shelf(), container()
    batch = planned(marit)
    assert marit.post(reverse(name, args=[batch.number]), data).status_code == 422
    assert not Reservation.objects.exists()


@pytest.mark.parametrize(
    "asked", [{"q": "\0"}, {"q": "a" * 5000}, {"substance": "9" * 40}, {"container": "\0"}, {"again": "\0"}]
)
def test_odd_addresses_open_the_empty_form(marit, asked):
    assert marit.get(reverse("plan-start"), asked).status_code == 200


def test_a_year_nobody_works_in_is_refused(marit):
    shelf()
    answer = marit.post(reverse("plan-start"), sent(on="9999-12-31", ends_on="9999-12-31"))
    assert "31 Dec 9999 is no day to work on: check the year." in text(answer)
