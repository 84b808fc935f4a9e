"""Labels as they come out of the printer: read back by a decoder, searched as text, measured for overlaps."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import combinations
from typing import get_args
from xml.etree import ElementTree

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from labstock.chemistry.errors import LabError
from labstock.labels.content import Kind, LabelContent
from labstock.labels.fonts import MISSING, uncovered
from labstock.labels.layout import TEMPLATES, draw_label
from labstock.labels.marks import Code, Drawing, Picture, Words
from labstock.labels.measures import LabelSize
from labstock.labels.papers import SHEETS
from labstock.labels.pictograms import PICTOGRAMS
from labstock.labels.preview import label_svg
from labstock.labels.sheets import draw_pages, render_selection, render_sheet, render_single
from labstock.stock.codes import make_code, next_number, show_code

DATES = (
    ("received", date(2026, 9, 3)),
    ("opened", None),
    ("retest by", date(2027, 1, 9)),
    ("expiry", date(2028, 3, 31)),
)
LONG = "2-[[(4S)-4-[(2-methylpropan-2-yl)oxycarbonylamino]-5-oxo-5-phenylmethoxypentanoyl]amino]-3-"
NAMES = {
    "short": "Acetic anhydride",
    "long": LONG
    + "(1H-imidazol-5-yl)propanoic acid methyl ester hydrochloride, mixed with its N,N-diisopropyl adduct",
    "one word": "Z" * 200,
    "Cyrillic": "Ангидрид уксусной кислоты " * 8,
    "Greek": "α-D-γλυκοπυρανόζη",
    "CJK": "無水酢酸醋酸酐아세트산" * 18,
    "markup": "<b>acid & 'base'</b>",
}


def label(number: int = 4817, name: str = "Acetic anhydride", **parts: object) -> LabelContent:
    code = make_code("TQ", number)
    return LabelContent(code=code, url=f"HTTPS://STOCK.EXAMPLE/C/{code}", name=name, **parts)


def full(
    name: str = "Acetic anhydride", pictograms: tuple[str, ...] = ("GHS02", "GHS05", "GHS06")
) -> LabelContent:
    return label(
        name=name,
        strength="≥ 98 %",
        lines=("100 mL, lot SK 40817", "Skerrow (invented)", "Cupboard 4, tray B; Plover group"),
        signal_word="Danger",
        hazard_words=("Flammable liquid and vapour", "Burns skin and eyes severely", "Reacts with water"),
        pictograms=pictograms,
        dates=DATES,
        quoted="Acid. acet. anhydr. … 12. XI. 9[4?]",
    )


def labels(number: int) -> list[LabelContent]:
    last, made = 0, []
    for _ in range(number):
        last = next_number("TQ", last)
        made.append(label(last, hazard_words=("Irritates eyes",), dates=DATES))
    return made


def pages(pdf: bytes, dpi: int) -> list[Image.Image]:
    return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in pypdfium2.PdfDocument(pdf)]


def codes_read(images: list[Image.Image]) -> list[str]:
    return sorted(found.text for image in images for found in zxingcpp.read_barcodes(image))


def words_in(pdf: bytes) -> str:
    return "\n".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))


def boxes(drawing: Drawing) -> Iterator[tuple[str, tuple[float, float, float, float]]]:
    for mark in drawing.marks:
        if isinstance(mark, Words):
            yield mark.text, mark.box
        elif isinstance(mark, Code | Picture):
            yield type(mark).__name__, mark.box


@pytest.mark.parametrize(
    ("size", "dpi"), [("24-up", 150), ("vial", 150), ("bottle", 150), ("tag", 150), ("cap", 150)]
)
def test_every_code_of_a_sheet_is_read_back(size: str, dpi: int):
    contents = labels(SHEETS[size].places)
    images = pages(render_sheet(contents, size), dpi)
    assert len(images) == 1
    assert codes_read(images) == sorted(content.url for content in contents)


@pytest.mark.parametrize("kind", get_args(Kind))
@pytest.mark.parametrize("is_full", [False, True])
def test_a_label_of_every_kind_is_read_back_at_150_dpi(kind: Kind, is_full: bool):
    hazards = (("H226", "3"), ("H314", "1B"))
    content = replace(full(), kind=kind, is_full=is_full, capacity_mL=100.0, hazards=hazards, banner="WASTE")
    assert codes_read(pages(render_single(content, is_coloured=True), 150)) == [content.url]


def test_text_of_a_label_can_be_found():
    text = words_in(render_single(full()))
    for words in (
        "Acetic anhydride",
        "TQ 4817 K",
        "Danger",
        "received",
        "3 Sep 2026",
        "internal, not for supply",
    ):
        assert words in text


def test_start_place_leaves_the_used_places_empty():
    images = pages(render_sheet(labels(24), start=20), 150)
    assert [len(zxingcpp.read_barcodes(image)) for image in images] == [5, 19]
    first = images[0].crop((0, 0, images[0].width, images[0].height * 6 // 8))
    assert first.getextrema() == (255, 255)


@pytest.mark.parametrize("template", TEMPLATES)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_overlaps_or_leaves_the_label(template: str, name: str):
    drawing = draw_label(full(NAMES[name]), template)
    found = list(boxes(drawing))
    for text, (left, top, right, bottom) in found:
        assert left >= 0, text
        assert top >= 0, text
        assert right <= drawing.width, text
        assert bottom <= drawing.height, text
    for (one, a), (other, b) in combinations(found, 2):
        overlap = (min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))
        assert min(overlap) < 0.3, f"{one} / {other} by {overlap}"


@pytest.mark.parametrize("template", TEMPLATES)
@pytest.mark.parametrize("name", NAMES)
def test_name_is_always_printed_and_cut_visibly(template: str, name: str):
    content = full(NAMES[name])
    drawing = draw_label(content, template)
    printed = "".join(mark.text for mark in drawing.marks if isinstance(mark, Words)).replace(" ", "")
    start = content.name.replace(" ", "")[:5]
    assert start in printed or MISSING in printed
    assert ("name" not in drawing.cut) or "…" in printed


@pytest.mark.parametrize("number", range(1, 10))
def test_any_number_of_hazard_pictures_leaves_the_bottle_label_whole(number: int):
    drawing = draw_label(full(pictograms=tuple(PICTOGRAMS)[:number]), "bottle")
    assert max(box[3] for _, box in boxes(drawing)) <= drawing.height
    assert "hazards" not in drawing.cut


def test_characters_without_a_font_are_shown_as_boxes_and_reported():
    drawing = draw_label(label(name="حمض acid"))
    assert drawing.unprinted == "حضم"
    assert any(MISSING * 3 in mark.text for mark in drawing.marks if isinstance(mark, Words))


def test_opened_date_is_a_box_to_write_in_until_it_is_known():
    printed = [mark.text for mark in draw_label(full()).marks if isinstance(mark, Words)]
    assert printed[printed.index("opened") + 1] == "retest by"


def test_preview_is_clean_svg_with_the_same_words():
    content = full(NAMES["markup"])
    svg = label_svg(content)
    root = ElementTree.fromstring(svg)
    printed = [element.text for element in root.iter() if element.tag == "text"]
    assert printed == [mark.text for mark in draw_label(content).marks if isinstance(mark, Words)]
    assert root.attrib["width"] == "74mm"
    assert not re.search(r"\sstyle=|<script|href", svg)


def test_no_labels_are_refused():
    with pytest.raises(LabError, match=r"0 labels were chosen\. Choose at least one container"):
        render_selection([])


def test_more_than_a_thousand_labels_are_refused():
    with pytest.raises(LabError, match="1001 labels were chosen; at most 1000 are printed at once"):
        render_sheet([label()] * 1001)


@pytest.mark.parametrize("start", [0, 25, -1])
def test_start_off_the_sheet_is_refused(start: int):
    with pytest.raises(
        LabError, match=f"Place {start} is not on the sheet: its labels are counted from 1 to 24"
    ):
        render_sheet([label()], start=start)


def test_unknown_sheet_is_refused_with_the_known_ones():
    with pytest.raises(LabError, match="“30-up” is not a sheet of labels; there are 24-up, vial"):
        render_sheet([label()], "30-up")


def test_label_without_a_name_is_refused():
    with pytest.raises(LabError, match="has no name in words"):
        label(name=" \u200b ")


def test_unknown_hazard_picture_is_refused():
    with pytest.raises(LabError, match="asks for the hazard picture GHS10"):
        label(pictograms=("GHS10",))


def test_address_in_lower_case_is_refused():
    with pytest.raises(LabError, match="Write it in capital letters"):
        replace(label(), url="https://stock.example/c/TQ4817K")


def test_an_address_too_long_for_a_small_square_leaves_the_bare_code_there():
    content = replace(label(), url=f"HTTPS://{'A' * 190}.EXAMPLE/C/TQ4817K", kind="vial")
    assert codes_read(pages(render_single(content), 150)) == ["TQ4817K"]


def test_shown_code_is_on_every_kind_of_label():
    shown = show_code("TQ4817K").replace("\u00a0", " ")
    for template in TEMPLATES:
        assert any(
            mark.text == shown for mark in draw_label(full(), template).marks if isinstance(mark, Words)
        )


def test_a_short_name_is_whole_on_a_cap_and_within_its_circle():
    drawing = draw_label(label(), "cap")
    assert drawing.cut == []
    for text, (left, top, right, bottom) in boxes(drawing):
        for x, y in ((left, top), (right, top), (left, bottom), (right, bottom)):
            assert (x - 10) ** 2 + (y - 10) ** 2 <= 10**2, text


def test_a_narrow_label_that_stands_has_date_boxes_wide_enough_to_write_in():
    drawing = draw_label(full(), size=LabelSize(30, 60))
    heads = [mark for mark in drawing.marks if isinstance(mark, Words) and mark.text in dict(DATES)]
    assert [mark.text for mark in heads] == ["retest by", "expiry", "received", "opened"]
    assert len({round(mark.x, 1) for mark in heads}) == 2


@pytest.mark.parametrize("kind", ["vial", "cap"])
def test_a_waste_vial_says_waste_before_its_name(kind: Kind):
    content = label(name="halides", kind=kind, banner="WASTE")
    assert "WASTE" in words_in(render_single(content))


def test_a_sticker_for_a_vial_with_old_writing_says_not_over_it():
    content = label(kind="vial", quoted="Acid. acet.")
    assert "not over old writing" in words_in(render_single(content))


def test_the_drawing_tells_each_page_as_it_is_done():
    drawing = draw_pages(labels(29), "24-up", start=20)
    assert [(page.page, page.pages, page.labels) for page in drawing] == [(1, 2, 5), (2, 2, 29)]


def test_names_in_chinese_japanese_and_korean_print_whole_with_the_extra_fonts():
    assert uncovered("乙酸酐 無水酢酸 アセト 무수아세트산") == set()
    assert uncovered("حمض") == set("حمض"), "letters that join their neighbours would be drawn wrongly"
