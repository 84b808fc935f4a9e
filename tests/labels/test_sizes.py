"""Sizes freely given, plates, sheets cut to size, and a thousand labels; everything is read back."""

import time
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.labels.codes_read import ACTS, AMOUNTS, location_code, person_code, show_short_code
from labstock.labels.content import Plate, PlateKind, Printable
from labstock.labels.layout import draw_label
from labstock.labels.making import blank_plate, card_plates
from labstock.labels.measures import LabelSize, check_size
from labstock.labels.papers import is_sheet, own_size, sheet_named
from labstock.labels.sheets import render_selection
from tests.labels.test_sheets import NAMES, boxes, codes_read, full, labels, pages, words_in


def plate(kind: PlateKind = "location", name: str = "cupboard 4") -> Plate:
    code = location_code(12) if kind == "location" else person_code(12345678901234)
    return Plate(
        kind, f"HTTPS://STOCK.EXAMPLE/L/{code}", code, show_short_code(code), name, ("room 214", "dark, cold")
    )


@settings(deadline=None, max_examples=150)
@given(
    st.floats(10, 210),
    st.floats(10, 297),
    st.sampled_from(sorted(NAMES)),
    st.sampled_from(["label", "place", "badge", "blank"]),
)
def test_in_any_size_nothing_overlaps_or_leaves_the_label(width, height, name, what):
    assume(width * height >= 144)
    kinds: dict[str, Printable] = {
        "label": full(NAMES[name]),
        "place": plate(name=NAMES[name]),
        "badge": plate("person", NAMES[name]),
        "blank": plate("blank", ""),
    }
    found = list(boxes(draw_label(kinds[what], size=LabelSize(width, height))))
    assert found
    for text, (left, top, right, bottom) in found:
        assert left >= -0.01, text
        assert top >= -0.01, text
        assert right <= width + 0.01, text
        assert bottom <= height + 0.01, text
    for (one, a), (other, b) in combinations(found, 2):
        overlap = min(min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))
        assert overlap < 0.3, f"{one} / {other} by {overlap:.2f}"


@pytest.mark.parametrize(
    "size", ["57x32", "25x10", "12x12", "30x50", "100x150", "38.5x21.2-sheet", "62x29-sheet"]
)
def test_a_label_of_ones_own_size_is_read_back_at_150_dpi(size):
    contents = labels(3)
    found = codes_read(pages(render_selection(contents, size), 150))
    assert found in (sorted(each.url for each in contents), sorted(each.code for each in contents))


def test_a_roll_has_one_page_of_the_size_for_each_label():
    images = pages(render_selection(labels(2), "57x32"), 254)
    assert [image.size for image in images] == [(570, 320), (570, 320)]  # 10 dots for each mm at 254 dpi


def test_a_sheet_of_ones_own_size_holds_as_many_as_have_room():
    # 210 mm less two margins of 8: 194; three labels of 60 and two gaps of 4 are 188, four would be 252
    sheet = sheet_named("60x40-sheet")
    assert (sheet.columns, sheet.rows, sheet.has_cut_marks) == (3, 6, True)
    assert "18 labels of 60 × 40 mm" in sheet.words


def test_the_start_position_counts_on_a_sheet_of_ones_own_size_too():
    images = pages(render_selection(labels(3), "60x40-sheet", start=17), 150)
    assert [len(codes_read([image])) for image in images] == [2, 1]
    with pytest.raises(LabError, match="its labels are counted from 1 to 18"):
        render_selection(labels(1), "60x40-sheet", start=19)


@pytest.mark.parametrize("size", [(9.9, 40), (40, 9.9), (11, 12), (211, 50), (50, 298)])
def test_a_size_that_is_no_label_is_refused_with_the_limits(size):
    with pytest.raises(LabError, match=r"sizes go from 12 × 12 mm \(or 15 × 10 mm\) to 210 × 297 mm"):
        check_size(*size)


def test_a_label_larger_than_the_cut_sheet_is_refused():
    with pytest.raises(LabError, match="has no room on A4 to cut"):
        render_selection(labels(1), "200x290-sheet")


def test_what_is_a_roll_and_what_a_sheet():
    assert [is_sheet(size) for size in ("24-up", "57x32-sheet", "57x32", "one-per-page", "30-up")] == [
        True, True, False, False, True,
    ]  # fmt: skip
    assert own_size("57x32.5") == LabelSize(57, 32.5)


@pytest.mark.parametrize("size", ["one-per-page", "24-up", "vial", "57x32"])
@pytest.mark.parametrize("kind", ["location", "person", "blank"])
def test_every_plate_is_read_back_at_150_dpi(kind, size):
    made = plate(kind, "" if kind == "blank" else "cupboard 4")
    (found,) = codes_read(pages(render_selection([made], size), 150))
    assert found in (made.text, made.code)


def test_the_cards_are_three_pages_with_every_field_read_back_at_150_dpi():
    pdf = render_selection(card_plates(), "card")
    images = pages(pdf, 150)
    assert len(images) == 3
    assert codes_read(images) == sorted(
        [*(f"AMOUNT/{key}" for key in AMOUNTS), *(f"ACT/{key}" for key in ACTS)]
    )
    for words in (*AMOUNTS.values(), *ACTS.values()):
        assert words in words_in(pdf)


def test_a_blank_has_a_line_to_write_on_and_its_code_in_letters():
    pdf = render_selection([blank_plate(1002)])
    assert "TQ 1002 X" in words_in(pdf)
    assert len(codes_read(pages(pdf, 150))) == 1


def test_a_thousand_labels_are_drawn_with_progress():
    told: list[tuple[int, int]] = []
    began = time.process_time()
    render_selection(labels(1000), "24-up", progress=lambda done, of: told.append((done, of)))
    took = time.process_time() - began
    assert told[0] == (24, 1000)
    assert told[-1] == (1000, 1000)
    # 5 s on an idle machine; the limit leaves room for one that is not
    assert took < 10


@pytest.mark.parametrize("number", [0, 1001, 100_000])
def test_no_labels_and_too_many_are_refused(number):
    with pytest.raises(LabError, match=f"^{number} labels were chosen"):
        render_selection([plate()] * number, "24-up")
