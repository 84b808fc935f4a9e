"""The page of the account: what it says, what it refuses, how many questions it asks of the database."""

import re
from datetime import timedelta
from decimal import Decimal
from threading import Thread
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.utils import timezone

from labstock.bench.pages.where import where_page
from labstock.stock.account_lines import Scope
from labstock.stock.actions.ledger import draw, found_more, record_loss
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reversing import reverse
from labstock.stock.actions.weighing import weigh
from labstock.stock.heads import site_head
from labstock.stock.models import Container, Kind
from tests.batches.preparations import drawn_for, planned
from tests.builders import amount, container, person

pytestmark = pytest.mark.django_db


def words(response):
    """Return what a page says, without its marks and with plain spaces."""
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"[\s\u00a0\u202f]+", " ", text).replace("&#x27;", "'")


@pytest.fixture
def story():
    """A bottle that was drawn from, spilt, corrected, weighed back, found and used for a batch."""
    bottle, marit, tobias = container(gross="400 g"), person(), person("tobias")
    drawn_for(planned(), bottle, "7.2 mL", "syringe-10", 2, minutes=0)
    slip = draw(
        container=bottle, amount=amount("2 mL"), device_code="syringe-10",
        doing=Doing(by=tobias, purpose="teaching set"),
    )  # fmt: skip
    draw(container=bottle, amount=amount("1.25 mL"), device_code="syringe-5", doing=Doing(by=tobias))
    reverse(entry=slip, doing=Doing(by=tobias, reason="wrong bottle scanned"))
    record_loss(
        container=bottle, kind=Kind.SPILT, amount=amount("1 mL"), device_code="by-eye",
        doing=Doing(by=marit, reason="hood 7, wiped up"),
    )  # fmt: skip
    weigh(container=bottle, gross=amount("389.4 g"), device_code="balance-0.01g", doing=Doing(by=marit))
    found_more(
        container=bottle, amount=amount("0.5 mL"), device_code="syringe-1",
        doing=Doing(by=marit, reason="left in the syringe"),
    )  # fmt: skip
    return Container.objects.get(pk=bottle.pk)


def column(response, number):
    rows = re.findall(
        r"<tr.*?</tr>", response.content.decode().split("lines ledger")[1].split("<tfoot")[0], re.S
    )
    cells = [re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row, re.S) for row in rows[1:]]
    return [
        Decimal(cell[number].replace("−", "-").replace("\u202f", ""))
        for cell in cells
        if cell[number].strip()
    ]


def test_every_line_is_told_with_person_batch_device_and_reason(marit, story):
    said = words(marit.get("/where/", {"container": story.code}))
    assert re.search(r"Drawn batch 26-001 , Acetanilide Marit Solberg 10 mL syringe, ± 0\.\d+ mL", said)
    assert re.search(r"Spilt Marit Solberg by eye, from the level, ± \d\.\d mL hood 7, wiped up", said)
    assert "Drawn teaching set Tobias Renn" in said
    assert "left in the syringe" in said


def test_the_lines_add_up_to_the_last_digit(marit, story):
    response = marit.get("/where/", {"container": story.code})
    assert sum(column(response, 3)) == Decimal(story.remaining) / 1_000_000
    assert column(response, 4)[-1] == Decimal(story.remaining) / 1_000_000
    assert "Now, and it adds up" in words(response)


def test_a_reversal_stands_right_after_what_it_reverses(marit, story):
    response = marit.get("/where/", {"container": story.code})
    said = words(response)
    numbers = re.findall(r'<th scope="row" class="num">(\d+)</th>', response.content.decode())
    assert numbers == ["1", "2", "3", "5", "4", "6", "7", "8"]
    assert "wrong bottle scanned cancels line 3" in said


def test_what_is_unexplained_is_told_with_its_tolerance(marit, story):
    said = words(marit.get("/where/", {"container": story.code}))
    assert "What is unexplained" in said
    assert re.search(r"Tolerance alone explains it: in \d+ of 100 cases", said)
    assert re.search(r"line 7, Marit Solberg [−+]0\.\d+ ± \d\.\d+ \d\.\d", said)


def test_the_picture_says_it_too(marit, story):
    said = marit.get("/where/", {"container": story.code}).content.decode().replace("\u00a0", " ")
    assert re.search(
        r'aria-label="Where it went, in mL: Came in \+100; Batch 26-001, Acetanilide −7.2;', said
    )
    assert "1 line reversed 0; Found, with a reason +0.5; Unexplained: weighed or counted" in said


def test_the_head_of_the_ledger_and_the_corrections_are_printed(marit, story):
    said = words(marit.get("/where/", {"container": story.code}))
    assert site_head() in said.replace(" ", "")
    assert "3 corrections since the first line" in said


def test_a_person_s_account_is_of_the_last_thirty_days_and_says_so(marit, story):
    said = words(marit.get("/where/", {"person": person("tobias").pk}))
    since = timezone.localdate() - timedelta(days=30)
    assert f"what Tobias Renn used from {since.day} {since:%b %Y} to now" in said
    assert "lines by others in the same containers" in said
    assert "1.25 mL went into 1 draw" in said


def test_a_substance_and_a_lot_have_accounts(marit, story):
    for question in ({"substance": story.substance_id}, {"lot": story.lot_id}):
        said = words(marit.get("/where/", question))
        assert "8.45 mL went into 2 draws" in said


def test_days_before_anything_happened_are_empty_and_say_what_to_do(marit, story):
    said = words(marit.get("/where/", {"container": story.code, "from": "2020-01-01", "to": "2020-02-01"}))
    assert "Nothing happened here in this time" in said
    assert "Take a longer time, or another container" in said


def test_the_empty_page_says_what_to_do(marit):
    said = words(marit.get("/where/"))
    assert "Ask about one thing" in said
    assert "Type the code of a container, choose a person, or give two days" in said


@pytest.mark.parametrize(
    ("question", "refusal"),
    [
        ({"container": "TQ1001X"}, "is not a code of this lab"),
        (
            {"from": "2026-11-02", "to": "2026-11-01"},
            "01 Nov 2026 lies before 02 Nov 2026: give the later day here",
        ),
        ({"from": "yesterday"}, "Enter a valid date"),
        ({"substance": "999"}, "There is no substance 999: open its page again and ask from there"),
    ],
)
def test_refuses_in_words_and_keeps_what_was_typed(marit, question, refusal):
    response = marit.get("/where/", question)
    assert response.status_code == 422
    assert refusal in words(response)
    assert next(iter(question.values())) in response.content.decode()


def test_refuses_two_subjects_at_once(marit, story):
    response = marit.get("/where/", {"container": story.code, "person": person().pk})
    assert response.status_code == 422
    assert "this asks for a container and a person. Empty one of the two" in words(response)


def test_refuses_an_account_too_long_to_read(marit, story, monkeypatch):
    monkeypatch.setattr("labstock.stock.account_lines.MOST_LINES", 3)
    monkeypatch.setattr("labstock.stock.account_lines.MOST_NAMED", 3)
    response = marit.get("/where/", {"container": story.code})
    assert response.status_code == 422
    assert "more than 3 lines, too many for one account: choose a shorter time" in words(response)


def test_every_page_of_the_lines_adds_up_to_the_last_digit(marit, story, monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.LINES_ON_A_PAGE", 3)
    for page, told in (
        (1, "1 earlier line: came in"),
        (2, "1 later line: lost"),
        (3, "2 later lines: reversed and cancelled"),
    ):
        response = marit.get("/where/", {"container": story.code, "page": page})
        assert told in words(response)
        assert f"Page {page} of 3" in words(response)
        assert sum(column(response, 3)) == Decimal(story.remaining) / 1_000_000
        assert column(response, 4)[-1] == Decimal(story.remaining) / 1_000_000


def test_the_picture_and_the_verdict_are_the_same_on_every_page(marit, story, monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.LINES_ON_A_PAGE", 3)
    pages = [
        marit.get("/where/", {"container": story.code, "page": page}).content.decode() for page in (1, 2, 3)
    ]
    pictures = {re.search(r'aria-label="Where it went[^"]+"', page)[0] for page in pages}
    assert len(pictures) == 1
    assert all("Tolerance alone explains it" in page for page in pages)


def test_the_other_pages_keep_the_question_and_its_days(marit, story, monkeypatch):
    monkeypatch.setattr("labstock.stock.account_sums.LINES_ON_A_PAGE", 3)
    asked = {"container": story.code, "from": "2026-01-01", "to": timezone.localdate().isoformat(), "page": 2}
    said = marit.get("/where/", asked).content.decode()
    for word, page in (("prev", 1), ("next", 3)):
        address = re.search(rf'rel="{word}" href="([^"]+)"', said)[1].replace("&amp;", "&")
        assert address == "/where/?" + urlencode(asked | {"page": page})


def test_a_page_that_is_no_number_is_refused_in_words(marit, story):
    response = marit.get("/where/", {"container": story.code, "page": "0"})
    assert response.status_code == 422
    assert "There is no page 0: page 1 has the newest lines" in words(response)


def test_at_most_sixteen_queries_for_each_kind_of_account(marit, story, django_assert_max_num_queries):
    for question in (
        {"container": story.code},
        {"lot": story.lot_id, "from": "2026-01-01", "to": timezone.localdate().isoformat()},
        {"substance": story.substance_id},
        {"person": person().pk},
        {"from": "2026-01-01"},
    ):
        with django_assert_max_num_queries(16):
            assert marit.get("/where/", question).status_code == 200


def test_a_difference_beyond_tolerance_asks_for_a_cause(marit):
    bottle = container(gross="400 g")
    draw(container=bottle, amount=amount("5 mL"), device_code="syringe-5", doing=Doing(by=person()))
    weigh(
        container=bottle, gross=amount("329.67 g"), device_code="balance-0.01g",
        doing=Doing(by=person(), reason="nobody knows"),
    )  # fmt: skip
    said = words(marit.get("/where/", {"container": bottle.code}))
    assert (
        "Tolerance does not explain it: it would make as much in fewer than 1 in 100 cases. Look for a cause."
        in said
    )


def test_a_viewer_may_read_it_and_a_stranger_is_sent_to_log_in(as_person, client, story):
    assert as_person("kasimir").get("/where/", {"container": story.code}).status_code == 200
    assert client.get("/where/").status_code == 302


@pytest.mark.django_db(transaction=True)
def test_a_draw_while_the_account_is_made_does_not_look_like_a_ledger_that_is_wrong():
    bottle, by = container(), person()

    def draw_meanwhile():
        draw(container=bottle, amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=by))
        connection.close()

    def after_the_sums(execute, sql, params, many, context):
        rows = execute(sql, params, many, context)
        if "SUM(" in sql and not drawn:
            drawn.append(sql)
            writer = Thread(target=draw_meanwhile)
            writer.start()
            writer.join(20)
        return rows

    drawn: list[str] = []
    with connection.execute_wrapper(after_the_sums):
        [section] = where_page(Scope(container=bottle)).sections
    assert drawn
    assert section.account.adds_up
    assert section.account.closing == 100_000_000
    assert where_page(Scope(container=bottle)).sections[0].account.closing == 95_000_000
