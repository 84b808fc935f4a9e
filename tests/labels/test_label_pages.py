"""Choosing, looking at and printing labels; the PDFs are read back by a decoder and as text."""

import re
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from django.test import Client, override_settings
from django.urls import reverse

from batches.retained.actions import Keeping, OldLabel, catalogue_old
from batches.retained.edtf import read_edtf
from labstock.labels.contents import content_of, made_words
from labstock.labels.queries import split_codes
from labstock.stock.actions.keeping import dispose
from labstock.stock.actions.ledger import draw
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival
from labstock.stock.codes import make_code, next_number, show_code
from labstock.stock.models import Container
from tests.builders import ACETANILIDE, ANHYDRIDE, amount, container, lot, person, place, refused

pytestmark = pytest.mark.django_db
HAZARDS = [["H226", "3"], ["H302", "4"], ["H331", "3"], ["H314", "1B"]]


@pytest.fixture
def viewer(client: Client) -> Client:
    client.force_login(person("kasimir"), backend="django.contrib.auth.backends.ModelBackend")
    return client


def bottle(**fields) -> Container:
    row = container(lot=lot(ANHYDRIDE, expires_on=date(2028, 3, 31), grade="for synthesis"), **fields)
    row.substance.hazards = HAZARDS
    row.substance.save()
    return row


def pages_of(file: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(file)
    return [
        page.get_textpage().get_text_bounded().replace("\r\n", " ").replace("\xa0", " ") for page in document
    ]


def codes_on(file: bytes) -> list[str]:
    found = []
    for page in pypdfium2.PdfDocument(file):
        found += zxingcpp.read_barcodes(page.render(scale=4).to_pil())
    return [code.text for code in found]


def said(response) -> str:
    return re.sub(r"\s+", " ", response.content.decode().replace("\xa0", " "))


def test_a_label_says_what_the_bottle_is_and_how_it_bites():
    content = content_of(bottle())
    assert content.name == "acetic anhydride"
    assert content.signal_word == "Danger"
    assert "Causes severe skin burns and eye damage" in content.hazard_words
    assert content.strength.replace("\xa0", " ") == "≥ 99 %"
    assert [line.replace("\xa0", " ") for line in content.lines] == [
        "for synthesis, 100 mL",
        "lot SK 40817, Skerrow (invented)",
        "room 214, cupboard 4; Plover group",
    ]


def test_opened_is_a_box_to_write_in_until_the_first_draw():
    row = bottle()
    assert content_of(row).dates == (
        ("received", date(2026, 9, 3)),
        ("opened", None),
        ("expiry", date(2028, 3, 31)),
    )
    draw(container=row, amount=amount("5 mL"), device_code="syringe-5", doing=Doing(by=person("marit")))
    row.refresh_from_db()
    assert content_of(row).dates[1] == ("opened", row.opened_on)
    assert row.opened_on is not None


@override_settings(PUBLIC_URL="https://stock.example")
def test_the_code_on_the_label_is_the_address_of_the_container(viewer):
    row = bottle()
    file = viewer.get(reverse("label-single", args=[row.code])).content
    assert codes_on(file) == [f"HTTPS://STOCK.EXAMPLE/C/{row.code}"]


def test_hazards_that_nobody_recorded_are_said_to_be_unrecorded():
    content = content_of(container(ACETANILIDE, "25 g"))
    assert content.hazard_words == ("Hazards not on record",)
    assert content.signal_word == ""


def test_hazards_that_cannot_be_read_stop_the_label_and_name_the_substance():
    row = bottle()
    row.substance.hazards = [["H261", ""]]
    with refused(r"hazards of acetic anhydride cannot be read: H261 alone does not decide.*substance's page"):
        content_of(row)


def test_a_vial_gets_a_vial_label_unless_another_is_asked_for(viewer):
    row = bottle(vessel="vial")
    assert content_of(row).kind == "vial"
    assert content_of(row, "cap").kind == "cap"


def test_a_retained_sample_wears_a_tag_that_quotes_the_old_label():
    label = OldLabel(
        name="Fluorescein",
        label_as_written="Fluoresceïn …\n12. XI. 9[4?]",
        date_edtf="1894~",
        other_numbers="No. 44",
    )
    keeping = Keeping(location=place("slot 17", "drawer"), review_on=date(2027, 10, 1))
    arrival = Arrival(unit="g", capacity=amount("5 g"), amount=amount("3 g"))
    doing = Doing(by=person("sunniva"))
    row = catalogue_old(label=label, arrival=arrival, keeping=keeping, doing=doing).container
    content = content_of(row)
    assert (content.kind, content.quoted) == ("tag", "Fluoresceïn … 12. XI. 9[4?]")
    assert content.lines == (
        "made about 1894, also No. 44",
        "room 214, slot 17",
        "kept by S. Pryce, review 1 Oct 2027",
    )


@pytest.mark.parametrize(
    ("paper", "is_warned"), [("24-up", True), ("vial", True), ("tag", False), ("one-per-page", False)]
)
def test_a_sticker_for_an_old_tube_is_warned_of_and_its_tag_is_not(viewer, paper, is_warned):
    arrival = Arrival(unit="g", capacity=amount("5 g"), amount=amount("3 g"))
    label = OldLabel(name="Eosin", label_as_written="Eosin, bläulich")
    row = catalogue_old(
        label=label, arrival=arrival, keeping=Keeping(location=place()), doing=Doing(by=person("sunniva"))
    ).container
    page = said(viewer.get(reverse("label-sheet"), {"codes": row.code, "size": paper}))
    assert ("It carries old writing: print the tie-on tag" in page) == is_warned


def test_the_page_offers_the_latest_arrivals_first(viewer):
    rows = [bottle(), container(ACETANILIDE, "25 g")]
    page = said(viewer.get(reverse("label-sheet")))
    assert page.index(rows[1].code) < page.index(rows[0].code)
    assert "Which containers want a label?" in page


def test_a_search_narrows_the_offer_and_keeps_what_was_ticked(viewer):
    first, second = bottle(), container(ACETANILIDE, "25 g")
    page = said(viewer.post(reverse("label-sheet"), {"codes": [first.code], "q": "ACETANI", "find": "yes"}))
    assert f'value="{first.code}" id="tick-{first.code}" checked' in page
    assert f'id="tick-{second.code}">' in page
    assert "All labels say all they should" in page or "One label says all it should" in page


def test_disposed_containers_are_not_offered(viewer):
    row = bottle()
    dispose(container=row, doing=Doing(by=person("wren"), reason="old"))
    assert row.code not in said(viewer.get(reverse("label-sheet")))


def test_previews_are_drawn_to_scale_with_the_quiet_note_of_where_they_go(viewer):
    row = bottle()
    page = said(viewer.get(reverse("label-sheet"), {"codes": row.code}))
    assert '<svg class="label-preview" width="74mm" height="52mm"' in page
    assert "Stick it beside the maker’s label, never over it." in page
    assert "internal, not for supply" in page


def test_the_page_says_what_was_cut_and_what_cannot_be_printed(viewer):
    row = bottle(described_as="שלום " + "tris" * 45)
    page = said(viewer.get(reverse("label-sheet"), {"codes": row.code, "size": "vial"}))
    assert "One label does not say all it should" in page
    assert re.search(r"No room for all of this: name.*Choose a larger label\.", page)
    assert "print as empty boxes: ו ל ם ש" in page


def test_a_label_printed_at_once_says_on_the_next_page_what_prints_as_empty_boxes(viewer):
    row = bottle(described_as="שלום")
    assert viewer.get(reverse("label-single", args=[row.code])).content.startswith(b"%PDF")
    page = said(viewer.get("/"))
    assert f"{show_code(row.code)}: These characters print as empty boxes:".replace("\u00a0", " ") in page


def test_typed_codes_are_printed_with_the_ticked_ones_each_once(viewer):
    first, second = bottle(), container(ACETANILIDE, "25 g")
    typed = f"{second.code.lower()}\n{first.code[:2]} {first.code[2:-1]} {first.code[-1]}"
    data = {"codes": [first.code], "typed": typed, "size": "24-up", "start": "24"}
    response = viewer.post(reverse("label-print"), data)
    assert response["Content-Type"] == "application/pdf"
    pages = pages_of(response.content)
    assert len(pages) == 2
    assert "acetic anhydride" in pages[0]
    assert "acetanilide" in pages[1]


def test_a_selection_is_printed_by_address_too(viewer):
    codes = ",".join(bottle().code for _ in range(3))
    file = viewer.get(reverse("label-print"), {"codes": codes}).content
    assert len(pages_of(file)) == 3


def test_a_single_label_is_printed_in_the_size_asked_for(viewer):
    row = bottle()
    page = pypdfium2.PdfDocument(
        viewer.get(reverse("label-single", args=[row.code]), {"size": "vial"}).content
    )[0]
    assert [round(side * 25.4 / 72) for side in page.get_size()] == [38, 13]
    page = pypdfium2.PdfDocument(
        viewer.get(reverse("label-single", args=[row.code]), {"size": "24-up"}).content
    )[0]
    assert [round(side * 25.4 / 72) for side in page.get_size()] == [210, 297]


def test_a_thousand_labels_are_printed_and_written_down_with_few_queries(
    viewer, django_assert_max_num_queries
):
    row = bottle()
    Container.objects.bulk_create(copies(row, 999))
    codes = list(Container.objects.values_list("code", flat=True))
    with django_assert_max_num_queries(16):  # SQLite takes 999 values at once: eight inserts for the log
        response = viewer.post(reverse("label-print"), {"typed": "\n".join(codes), "size": "24-up"})
    assert len(pypdfium2.PdfDocument(response.content)) == 42  # 1,000 over 24 to a sheet, rounded up


def copies(row: Container, number: int) -> list[Container]:
    rows, last = [], row.number
    for _ in range(number):
        last = next_number("TQ", last)
        values = {field.attname: getattr(row, field.attname) for field in Container._meta.concrete_fields}
        rows.append(Container(**values | {"id": None, "number": last, "code": make_code("TQ", last)}))
    return rows


def test_the_page_asks_the_database_twelve_times_at_most(viewer, django_assert_max_num_queries):
    rows = [bottle() for _ in range(5)]
    with django_assert_max_num_queries(12):
        viewer.get(reverse("label-sheet"), {"codes": ",".join(row.code for row in rows)})


REFUSED = [
    ({}, "0 labels were chosen. Choose at least one container, then print."),
    ({"typed": "TQ9999X"}, "“TQ9999X” is not a code of this lab"),
    ({"typed": "108-24-7"}, "is a CAS number: it names a substance, not a container"),
    ({"typed": "\n".join(["TQ1002X"] * 1001)}, "1001 labels were chosen; at most 1000 are printed at once"),
    ({"size": "A5"}, "“A5” is no paper for labels"),
    ({"start": "25", "size": "24-up"}, "Place 25 is not on the sheet: its labels are counted from 1 to 24"),
    ({"start": "0", "size": "24-up"}, "Place 0 is not on the sheet"),
]


@pytest.mark.parametrize(("data", "words"), REFUSED)
def test_what_cannot_be_printed_comes_back_with_the_reason_and_what_was_typed(viewer, data, words):
    response = viewer.post(reverse("label-print"), data)
    assert response.status_code == 422
    page = said(response)
    assert words in page
    assert data.get("typed", "")[:7] in page


def test_an_unknown_code_is_told_from_a_wrong_one(viewer):
    row = bottle()
    Container.objects.filter(pk=row.pk).update(code="TQ4817K", number=4817)
    wrong = said(viewer.get(reverse("label-single", args=["TQ4871K"])))
    assert "TQ 4817 K" in wrong
    unknown = said(viewer.get(reverse("label-single", args=["TQ0326B"])))
    assert "is written like one of our codes, but no container has it" in unknown


def test_lines_commas_and_semicolons_part_codes_but_spaces_belong_to_them():
    assert split_codes("TQ 4817 K\r\nTQ0326B, tq1002x;;") == ["TQ 4817 K", "TQ0326B", "tq1002x"]


@pytest.mark.parametrize(
    ("edtf", "words"),
    [
        ("1934~", "about 1934"),
        ("1894?", "perhaps 1894"),
        ("193X", "1930 to 1939"),
        ("../1939", "1939 or before"),
    ],
)
def test_the_age_on_a_tag_is_said_as_a_range(edtf, words):
    understood = read_edtf(edtf)
    assert made_words(understood.earliest, understood.latest, edtf) == f"made {words}"
