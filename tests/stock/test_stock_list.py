"""The stock list: what it shows, what it is narrowed by, what it costs."""

from datetime import date
from io import BytesIO

import pytest
from django.db import connection
from django.urls import reverse
from openpyxl import load_workbook

from labstock.stock import tables
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.reservations import Want, reserve
from labstock.stock.models import Container, State
from labstock.stock.pages import stock_list
from tests.builders import ACETANILIDE, ANHYDRIDE, ANILINE, amount, container, lot, person, place, session

pytestmark = pytest.mark.django_db


@pytest.fixture
def viewer(client):
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def shown(client, **asked):
    page = client.get(reverse("container-list"), asked).context["page"]
    return [row.code for row in page.table.containers_shown()]


def ending(on, about=ANILINE, number="A"):
    return container(about, lot=lot(about, number=number, expires_on=on))


def test_the_soonest_end_comes_first_and_no_end_last(viewer):
    never, late, soon = container(ANILINE), ending(date(2027, 5, 1)), ending(date(2026, 12, 1), number="B")
    assert shown(viewer) == [soon.code, late.code, never.code]
    assert shown(viewer, sort="-ends") == [late.code, soon.code, never.code]


@pytest.mark.parametrize(
    "typed", ["anhydride", "ACETIC  anhydride", "108-24-7", "sk 40817", "Skerrow acetic"]
)
def test_every_word_must_be_found_in_names_numbers_and_lots(viewer, typed):
    wanted = container(ANHYDRIDE)
    container(ACETANILIDE, "5 g", lot=lot(ACETANILIDE, number="B 1", supplier="Holm (invented)"))
    assert shown(viewer, q=typed) == [wanted.code]


def test_a_code_is_found_as_it_stands_on_the_label(viewer):
    wanted, _ = container(ANILINE), container(ANILINE)
    assert shown(viewer, q=f"{wanted.code[:2]} {wanted.code[2:-1]} {wanted.code[-1]}") == [wanted.code]


def test_the_list_narrows_by_place_with_all_below_it(viewer):
    wanted = container(ANILINE, location=place("cupboard 4"))
    container(ANILINE, location=place("cupboard 42"))
    assert shown(viewer, location=place("cupboard 4").pk) == [wanted.code]
    assert len(shown(viewer, location=place("cupboard 4").parent_id)) == 2


def test_what_is_not_in_use_is_shown_when_asked_for(viewer):
    blocked = container(ANILINE)
    Container.objects.filter(pk=blocked.pk).update(state=State.BLOCKED)
    assert shown(viewer) == []
    assert shown(viewer, state="blocked") == [blocked.code]
    assert shown(viewer, state="any") == [blocked.code]


def test_the_list_narrows_by_opening_end_flag_group_and_substance(viewer):
    wet, other = ending(date(2026, 12, 1), ANHYDRIDE), container(ANILINE)
    draw(container=other, amount=amount("5 mL"), device_code="syringe-10", doing=Doing(by=person()))
    assert shown(viewer, opened="yes") == [other.code]
    assert shown(viewer, opened="no") == [wet.code]
    assert shown(viewer, ends_before="2027-01-01") == [wet.code]
    assert shown(viewer, flag="moisture") == [wet.code]
    assert shown(viewer, substance=other.substance_id) == [other.code]
    assert len(shown(viewer, owner_group=person("wren").group_id)) == 2


@pytest.mark.parametrize(
    "asked",
    [
        {"location": "999999"}, {"location": "x"}, {"ends_before": "31.02.2026"}, {"state": "melted"}, {"page": "x"},
        {"page": "99999"}, {"sort": "password"}, {"q": "a" * 500}, {"substance": "-1"}, {"q": "\x00 %_'\""},
    ],
)  # fmt: skip
def test_nonsense_in_the_address_is_answered_with_a_page(viewer, asked):
    container(ANILINE)
    assert viewer.get(reverse("container-list"), asked).status_code == 200


def test_an_impossible_day_is_named_beside_its_field(viewer):
    page = viewer.get(reverse("container-list"), {"ends_before": "31.02.2026"}).content.decode()
    assert "This is no day of the calendar" in page


def test_usable_is_what_is_neither_heel_nor_held(viewer):
    bottle = container(ANILINE)
    reserve(session=session(), wants=[Want(bottle, amount("20 mL").millionths("mL"))], by=person())
    page = viewer.get(reverse("container-list")).context["page"]
    row = Container.objects.get()
    # 100 mL − 1.5 mL heel − 20 mL held
    assert "78.5" in page.table.render_usable(row)
    assert "20" in page.table.render_held(row)


def test_a_page_takes_few_queries_however_long_the_list(viewer, django_assert_max_num_queries):
    for _ in range(30):
        container(ANILINE)
    with django_assert_max_num_queries(12):
        page = viewer.get(reverse("container-list")).content.decode()
    assert "30 containers" in page
    assert len(shown(viewer)) == 25
    assert len(shown(viewer, page=2)) == 5


def test_no_order_is_found_by_sorting_the_whole_table(viewer):
    container(ANILINE)
    for asked in (
        {},
        {"sort": "-code"},
        {"sort": "code"},
        {"state": "any"},
        {"state": "any", "sort": "ends"},
    ):
        rows = viewer.get(reverse("container-list"), asked).context["page"].table.data.data
        plan = rows.order_by(*rows.query.order_by)[:25].explain()
        assert connection.vendor != "sqlite" or "TEMP B-TREE" not in plan, (asked, plan)


def test_counting_stops_where_paging_does(viewer, monkeypatch):
    monkeypatch.setattr(tables, "MOST_PAGED", 3)
    for _ in range(5):
        container(ANILINE)
    assert (
        viewer.get(reverse("container-list")).context["page"].count_words.startswith("More than 2 containers")
    )


def test_an_empty_list_says_what_to_do(viewer):
    assert (
        "Fewer words, another state or another place may find it"
        in viewer.get(reverse("container-list")).content.decode()
    )


def exported(client, **asked):
    response = client.get(reverse("container-export"), asked)
    assert response["Content-Type"].endswith("spreadsheetml.sheet")
    return [
        [cell.value for cell in row] for row in load_workbook(BytesIO(response.content)).active.iter_rows()
    ]


def test_the_list_is_taken_away_as_it_is_narrowed(viewer):
    wanted = container(ANHYDRIDE)
    container(ANILINE)
    heads, row = exported(viewer, q="anhydride")
    line = dict(zip(heads, row, strict=True))
    assert (line["code"], line["left"], line["heel"], line["usable"], line["unit"]) == (
        wanted.code,
        100,
        1.5,
        98.5,
        "mL",
    )
    assert line["purity"].replace("\u00a0", " ").startswith("≥ 99 %")


def test_a_name_like_a_formula_stays_a_name(viewer):
    bottle = container(ANILINE)
    Container.objects.filter(pk=bottle.pk).update(described_as="=HYPERLINK(1)")
    response = viewer.get(reverse("container-export"))
    assert load_workbook(BytesIO(response.content)).active["B2"].data_type == "s"


def test_a_list_that_is_too_long_is_refused_not_cut(viewer, monkeypatch):
    monkeypatch.setattr(stock_list, "MOST_EXPORTED", 1)
    container(ANILINE), container(ANILINE)
    response = viewer.get(reverse("container-export"), {"q": "aniline"}, follow=True)
    assert response.redirect_chain[0][0] == f"{reverse('container-list')}?q=aniline"
    assert "More than 1 containers fit" in response.content.decode()
