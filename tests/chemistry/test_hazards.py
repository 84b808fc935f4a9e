"""GHS label elements. The table of CLP or GHS behind each list is named above it."""

import pytest

from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import HAZARDS, PICTOGRAM_NAMES, hazard, label_elements


def refusal(function, *arguments) -> str:
    with pytest.raises(LabError) as caught:
        function(*arguments)
    return str(caught.value)


PUBLISHED = [
    # CLP annex I, table 2.6.2
    ("H224", "1", "GHS02", "Danger"), ("H225", "2", "GHS02", "Danger"), ("H226", "3", "GHS02", "Warning"),
    # CLP annex I, table 2.3.1
    ("H229", "3", "", "Warning"),
    # CLP annex I, table 3.1.3 (text of 2025-09-01); category 5: GHS annex 3, not in CLP
    ("H300", "1", "GHS06", "Danger"), ("H300", "2", "GHS06", "Danger"), ("H310", "1", "GHS06", "Danger"),
    ("H310", "2", "GHS06", "Danger"), ("H330", "1", "GHS06", "Danger"), ("H330", "2", "GHS06", "Danger"),
    ("H301", "3", "GHS06", "Danger"), ("H311", "3", "GHS06", "Danger"), ("H331", "3", "GHS06", "Danger"),
    ("H302", "4", "GHS07", "Warning"), ("H312", "4", "GHS07", "Warning"), ("H332", "4", "GHS07", "Warning"),
    ("H303", "5", "", "Warning"), ("H313", "5", "", "Warning"), ("H333", "5", "", "Warning"),
    # CLP annex I, table 3.8.4
    ("H370", "1", "GHS08", "Danger"), ("H371", "2", "GHS08", "Warning"), ("H335", "3", "GHS07", "Warning"),
    ("H336", "3", "GHS07", "Warning"),
    # CLP annex I, table 2.12.2
    ("H260", "1", "GHS02", "Danger"), ("H261", "2", "GHS02", "Danger"), ("H261", "3", "GHS02", "Warning"),
    # GHS annex 3; CLP annexes III and V (signal words of H304 to H319 read, the others from memory)
    ("H314", "1", "GHS05", "Danger"), ("H314", "1A", "GHS05", "Danger"), ("H314", "1B", "GHS05", "Danger"),
    ("H314", "1C", "GHS05", "Danger"), ("H315", "2", "GHS07", "Warning"), ("H317", "1", "GHS07", "Warning"),
    ("H317", "1A", "GHS07", "Warning"), ("H317", "1B", "GHS07", "Warning"), ("H318", "1", "GHS05", "Danger"),
    ("H319", "2", "GHS07", "Warning"), ("H304", "1", "GHS08", "Danger"), ("H334", "1", "GHS08", "Danger"),
    ("H340", "1A", "GHS08", "Danger"), ("H350", "1B", "GHS08", "Danger"), ("H360", "1A", "GHS08", "Danger"),
    ("H341", "2", "GHS08", "Warning"), ("H351", "2", "GHS08", "Warning"), ("H361", "2", "GHS08", "Warning"),
    ("H400", "1", "GHS09", "Warning"), ("H410", "1", "GHS09", "Warning"), ("H411", "2", "GHS09", ""),
    ("H412", "3", "", ""), ("H413", "4", "", ""), ("H271", "1", "GHS03", "Danger"), ("H272", "2", "GHS03", "Danger"),
    ("H272", "3", "GHS03", "Warning"), ("H290", "1", "GHS05", "Warning"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "category", "pictogram", "word"), PUBLISHED)
def test_pictogram_and_signal_word_by_class_and_category(code, category, pictogram, word):
    found = hazard(code, category)
    assert found.pictograms == ((pictogram,) if pictogram else ())
    assert found.signal_word == word


@pytest.mark.parametrize("category", ["1", "1A", "1B", "1C"])
def test_burns_are_corrosion_and_never_the_exclamation_mark(category):
    """Two public tables in open repositories have H314 as GHS07 and H317 as GHS05; both are wrong."""
    assert hazard("H314", category).pictograms == ("GHS05",)
    assert hazard("H317", category[:2].replace("C", "B")).pictograms == ("GHS07",)


@pytest.mark.parametrize("code", ["H261", "H272", "H229", "H242", "H228", "H221", "H207"])
def test_a_code_with_two_signal_words_asks_for_its_category(code):
    assert f"{code} alone does not decide the signal word or pictogram" in refusal(hazard, code)


def test_the_question_lists_both_meanings():
    assert "(Danger in category 2; Warning in category 3): add the category" in refusal(hazard, "H261")


def test_category_five_is_marked_as_not_in_the_clp():
    assert hazard("H303").is_only_un
    assert not hazard("H302").is_only_un


# CLP article 26(1)
@pytest.mark.parametrize(
    ("given", "shown", "optional"),
    [
        ([("H201", ""), ("H228", "1"), ("H272", "2")], ("GHS01",), ("GHS02", "GHS03")),
        ([("H301", ""), ("H315", ""), ("H335", "")], ("GHS06",), ()),
        ([("H314", "1B"), ("H319", "2"), ("H315", "")], ("GHS05",), ()),
        ([("H314", "1B"), ("H302", "")], ("GHS05", "GHS07"), ()),
        ([("H314", "1B"), ("H317", "")], ("GHS05", "GHS07"), ()),
        ([("H334", ""), ("H317", ""), ("H315", ""), ("H319", "2")], ("GHS08",), ()),
        ([("H334", ""), ("H302", ""), ("H317", "")], ("GHS07", "GHS08"), ()),
        ([("H350", ""), ("H317", "")], ("GHS07", "GHS08"), ()),
        ([("H220", ""), ("H280", "")], ("GHS02",), ("GHS04",)),
        ([("H331", ""), ("H280", "")], ("GHS06",), ("GHS04",)),
        ([("H241", "B")], ("GHS01", "GHS02"), ()),
    ],
)
def test_precedence_of_pictograms(given, shown, optional):
    found = label_elements(given)
    assert (found.pictograms, found.optional_pictograms) == (shown, optional)


# CLP article 20(3)
def test_danger_suppresses_warning():
    assert label_elements([("H226", "3"), ("H314", "1B")]).signal_word == "Danger"
    assert label_elements([("H226", "3"), ("H302", "4")]).signal_word == "Warning"
    assert label_elements([("H411", "2"), ("H412", "3")]).signal_word == ""


# GHS 1.4
@pytest.mark.parametrize(("kept", "cut"), [("H410", "H400"), ("H411", "H401"), ("H314", "H318")])
def test_a_statement_that_another_contains_is_cut(kept, cut):
    assert [code for code, _ in label_elements([(cut, ""), (kept, "")]).statements] == [kept]
    assert [code for code, _ in label_elements([(cut, "")]).statements] == [cut]


def test_acetic_anhydride_label():
    """Harmonised classification of acetic anhydride: H226, H302, H314 1B, H332 (CLP annex VI, from memory)."""
    found = label_elements([("H226", "3"), ("H302", "4"), ("H314", "1B"), ("H332", "4")])
    assert found.pictograms == ("GHS02", "GHS05", "GHS07")
    assert found.signal_word == "Danger"
    assert found.statements[2] == ("H314", "Causes severe skin burns and eye damage")


def test_statements_come_in_the_order_of_their_numbers():
    found = label_elements([("EUH019", ""), ("H336", ""), ("H302+H332", "4"), ("H225", "2")])
    assert [code for code, _ in found.statements] == ["H225", "H302", "H332", "H336", "EUH019"]


@pytest.mark.parametrize("typed", ["h225", " H 225 ", "H225"])
def test_spellings_of_a_code_are_one(typed):
    assert hazard(typed, "Cat. 2").text == "Highly flammable liquid and vapour"
    assert hazard("H360FD", "1B").text == "May damage fertility. May damage the unborn child"


@pytest.mark.parametrize(
    ("code", "category", "words"),
    [
        (
            "H999",
            "",
            "'H999' is no hazard statement known here: copy it from section 2 of the safety data sheet.",
        ),
        ("H227x", "", "(near it: H220, H221, H222, H223)"),
        ("R36", "", "'R36' is no hazard statement known here"),
        ("H225", "3", "H225 has no category 3: it belongs to flammable liquids, category 2."),
        ("H314", "2", "category 1 or 1A or 1B or 1C."),
    ],
)
def test_refusals_name_what_would_be_right(code, category, words):
    assert words in refusal(hazard, code, category)


def test_every_row_is_whole():
    for row in HAZARDS:
        assert set(row.pictograms) <= set(PICTOGRAM_NAMES)
        assert row.signal_word in {"Danger", "Warning", ""}
        assert row.text[0].isupper()
        assert not row.text.endswith(".")
    assert len({(row.code, row.category) for row in HAZARDS}) == len(HAZARDS)


def test_every_number_in_use_is_covered():
    """Codes of GHS annex 3 that CLP annex III has too, from memory."""
    numbers = "200-208 220-232 240-242 250-252 260-261 270-272 280-281 290 300-305 310-320 330-336 340-341 350-351 360-362 370-373 400-402 410-413 420"
    skipped = {"H233", "H305"}
    wanted = set()
    for part in numbers.split():
        low, _, high = part.partition("-")
        wanted |= {f"H{number}" for number in range(int(low), int(high or low) + 1)}
    assert wanted - skipped <= {row.code for row in HAZARDS}
