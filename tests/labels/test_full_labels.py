"""Full labels: their size by capacity, the size of their pictures, what small packages leave out, refusals."""

from dataclasses import replace
from itertools import combinations
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import label_elements
from labstock.labels.clp_sizes import may_be_left_out, size_rule
from labstock.labels.content import LabelContent
from labstock.labels.layout import draw_label
from labstock.labels.marks import Drawing, Picture, Words
from labstock.labels.measures import LabelSize
from labstock.labels.sheets import render_selection
from tests.labels.test_sheets import boxes, codes_read, label, pages, words_in

ACID = (("H226", "3"), ("H302", "4"), ("H331", "3"), ("H314", "1B"))
EVERYTHING = (*ACID, ("H350", "1A"), ("H410", "1"), ("H200", ""), ("H270", "1"), ("H280", ""))


def full(capacity_mL: float, hazards: tuple[tuple[str, str], ...] = ACID, **parts: object) -> LabelContent:
    elements = label_elements(hazards)
    content = label(
        lines=("for synthesis, 100 mL", "lot SK 40817, Skerrow (invented)"),
        signal_word=elements.signal_word,
        hazard_words=tuple(words for _, words in elements.statements),
        pictograms=elements.pictograms,
        hazards=hazards,
        is_full=True,
        capacity_mL=capacity_mL,
    )
    return replace(content, **parts)


def said(drawing: Drawing) -> str:
    return " ".join(mark.text for mark in drawing.marks if isinstance(mark, Words))


def edges(drawing: Drawing) -> set[float]:
    """The edges of the squares that stand on their points [mm]."""
    return {round(mark.size / sqrt(2), 3) for mark in drawing.marks if isinstance(mark, Picture)}


@pytest.mark.parametrize(
    ("capacity_mL", "label_mm", "picture_mm", "least_mm"),
    # CLP (EC) 1272/2008, Annex I, 1.2.1.4, Table 1.3: capacity, label, picture
    [
        (3_000, (74, 52), 16, 10),
        (3_001, (105, 74), 23, 23),
        (50_000, (105, 74), 23, 23),
        (50_001, (148, 105), 32, 32),
        (500_000, (148, 105), 32, 32),
        (500_001, (210, 148), 46, 46),
    ],
)
def test_the_table_gives_label_and_picture_by_capacity(capacity_mL, label_mm, picture_mm, least_mm):
    rule = size_rule(capacity_mL)
    assert ((rule.width, rule.height), rule.picture, rule.picture_least) == (label_mm, picture_mm, least_mm)
    # same place: a picture covers a fifteenth of the label, and at least 1 cm2
    assert rule.picture_wanted**2 >= rule.width * rule.height / 15 - 1e-9
    assert rule.picture_least**2 >= 100


@pytest.mark.parametrize("capacity_mL", [0, -1, float("nan")])
def test_a_container_that_holds_nothing_has_no_label_size(capacity_mL):
    with pytest.raises(LabError, match="give the size of the container"):
        size_rule(capacity_mL)


@pytest.mark.parametrize(
    ("capacity_mL", "size"), [(250, (74, 52)), (10_000, (105, 74)), (200_000, (148, 105))]
)
def test_a_full_label_has_the_size_of_its_row_and_everything_on_it(capacity_mL, size):
    content = full(capacity_mL)
    drawing = draw_label(content)
    rule = size_rule(capacity_mL)
    assert (drawing.width, drawing.height, drawing.cut) == (*size, [])
    assert min(edges(drawing)) >= rule.picture_least
    for words in (
        content.name,
        content.signal_word,
        *content.hazard_words[0].split(),
        "flammable",
        "corrosive",
    ):
        assert words in said(drawing)


def test_pictures_of_a_large_container_also_cover_a_fifteenth_of_the_label():
    # 148 x 105 mm / 15 = 1036 mm2, more than 32 x 32 = 1024 mm2
    assert edges(draw_label(full(200_000))) == {round(sqrt(1036), 3)}


def test_a_label_too_small_is_refused_with_the_size_it_would_need():
    with pytest.raises(LabError) as caught:
        draw_label(full(500), size=LabelSize(70, 37))
    message = caught.value.message
    assert (
        "is not printed on 70 × 37 mm: a container of 500 mL (up to 3 L) asks for a label of 74 × 52 mm"
        in message
    )
    assert "pictures of 10 mm at least, 16 mm if possible" in message
    assert "Table 1.3" in message
    assert "fits on 74 × 52 mm" in message


def test_a_label_that_lies_or_stands_meets_the_same_row():
    assert draw_label(full(500, ACID[:1]), size=LabelSize(52, 74)).cut == []


def test_a_cap_is_refused_for_a_drum_with_the_drums_size():
    with pytest.raises(
        LabError, match=r"500 L.*asks for a label of 148 × 105 mm or more with pictures of 32 mm at least"
    ):
        draw_label(full(200_000), size=LabelSize(20, 20))


def test_words_that_overflow_the_row_ask_for_the_next_size():
    with pytest.raises(LabError, match=r"fits on 105 × 74 mm"):
        draw_label(full(1000, EVERYTHING))


def test_up_to_125_mL_names_the_relief_it_uses_and_keeps_the_grave_statements():
    drawing = draw_label(full(125), size=LabelSize(70, 37))
    assert "reduced by CLP Annex I, 1.5.2.1" in said(drawing)
    assert "1.5.2.1, up to 125 mL" in drawing.relief
    assert "Causes severe skin burns" in said(drawing)
    assert min(edges(drawing)) >= 10


def test_a_small_package_on_a_large_label_takes_no_relief():
    drawing = draw_label(full(100))
    assert drawing.relief == ""
    assert "Flammable liquid and vapour" in said(drawing)


def test_just_over_125_mL_there_is_no_relief():
    with pytest.raises(LabError, match="a container of 126 mL"):
        draw_label(full(126), size=LabelSize(70, 37))


def test_up_to_10_mL_for_research_keeps_name_and_the_two_gravest_pictures():
    drawing = draw_label(full(8, EVERYTHING), size=LabelSize(50, 25))
    # CLP Annex I, 1.5.2.4.2, from memory: of GHS01, 05, 06, 08 at most two, and 06 and 08 before the others
    assert [mark.code for mark in drawing.marks if isinstance(mark, Picture)] == ["GHS06", "GHS08"]
    assert "research or quality control" in drawing.relief
    assert "Danger" not in said(drawing)


@pytest.mark.parametrize(
    ("code", "category", "is_droppable"),
    # CLP Annex I, 1.5.2.1.1, from memory: flammable liquids 2 and 3, acute toxicity 4, irritation 2, not corrosion 1
    [
        ("H225", "2", True),
        ("H224", "1", False),
        ("H302", "4", True),
        ("H301", "3", False),
        ("H315", "2", True),
        ("H314", "1B", False),
        ("H318", "1", False),
        ("H410", "1", True),
        ("H350", "1A", False),
        ("H228", "", False),
    ],
)
def test_what_a_small_package_may_leave_out(code, category, is_droppable):
    assert may_be_left_out(code, category) is is_droppable


def test_without_hazards_on_record_there_is_no_full_label():
    with pytest.raises(LabError, match="no hazards are on record for Acetic anhydride"):
        draw_label(replace(full(100), hazards=()))


def test_without_a_capacity_there_is_no_full_label():
    with pytest.raises(LabError, match="nobody said how many millilitres it holds"):
        draw_label(replace(full(100), capacity_mL=None))


@pytest.mark.parametrize(
    ("capacity_mL", "size"), [(100, "70x37"), (8, "50x25"), (500, "74x52"), (10_000, "105x74")]
)
def test_every_full_label_is_read_back_at_150_dpi(capacity_mL, size):
    content = full(capacity_mL)
    pdf = render_selection([content], size)
    assert codes_read(pages(pdf, 150)) in ([content.url], [content.code])
    assert "TQ 4817 K" in words_in(pdf)


@settings(deadline=None)
@given(
    st.sampled_from([5, 60, 125, 400, 3000, 9000]),
    st.floats(30, 210),
    st.floats(15, 290),
    st.integers(1, len(EVERYTHING)),
)
def test_a_full_label_is_whole_or_refused_and_nothing_on_it_overlaps(capacity_mL, width, height, number):
    content = full(capacity_mL, EVERYTHING[:number])
    try:
        drawing = draw_label(content, size=LabelSize(width, height))
    except LabError as error:
        drawing = Drawing(0, 0, relief=error.code)
    assert drawing.cut == []
    assert drawing.marks or drawing.relief == "label-full-too-small"
    found = list(boxes(drawing))
    for text, (left, top, right, bottom) in found:
        assert min(left, top) >= 0, text
        assert right <= width + 0.01, text
        assert bottom <= height + 0.01, text
    for (one, a), (other, b) in combinations(found, 2):
        assert min(min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])) < 0.3, (
            f"{one} / {other}"
        )
