from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.look.drawing.content import Content, height_of, speak
from labstock.look.drawing.glass import GLASS, SMALL, definitions
from labstock.look.drawing.vessel import vessel
from labstock.look.drawing.vessel_large import spread, usual_notes
from tests.look.drawn import label_of, of_class, parsed, words_of

FIFTY_THREE = Content(53, 1.2, 100, heel=1.5, held=12, mine=5)


@pytest.mark.parametrize("kind", GLASS)
@pytest.mark.parametrize("size", ["s", "m", "l"])
def test_draws_every_kind_in_every_size(kind: str, size: str) -> None:
    assert label_of(vessel(kind, FIFTY_THREE, size)).startswith(kind.capitalize())


def test_every_kind_has_a_small_drawing_and_a_room() -> None:
    assert set(GLASS) == set(SMALL)
    assert all(f'id="in-{kind}"' in definitions() for kind in GLASS)


def test_stacks_heel_then_others_then_mine_from_the_floor() -> None:
    drawing = vessel("bottle", FIFTY_THREE)
    heel, held, mine = (of_class(drawing, css)[0] for css in ("v-heel", "v-held", "v-mine"))
    tops = [float(part.get("y", "0")) for part in (heel, held, mine)]
    assert tops == sorted(tops, reverse=True)
    # 12 of 100 mL in a straight part of 129 - 52 units
    assert float(held.get("height", "0")) == pytest.approx(12 / 100 * 77, abs=0.01)


def test_level_is_linear_in_the_straight_part() -> None:
    bottle = GLASS["bottle"]
    assert height_of(bottle, Content(0, 0, 100), 25) == pytest.approx(129 - 77 / 4)
    assert height_of(bottle, Content(0, 0, 100), 500) > 0


def test_band_is_half_toned_at_the_best_amount() -> None:
    drawing = vessel("bottle", Content(50, 5, 100), size="l")
    tones = [float(part.get("fill-opacity", "0")) for part in of_class(drawing, "v-tone")[0]]
    assert min(abs(tone - 0.5) for tone in tones) < 0.06
    assert tones == sorted(tones)


def test_draws_no_band_without_doubt() -> None:
    assert of_class(vessel("jar", Content(46, 0, 100)), "v-tone") == []


def test_unknown_amount_is_a_question_mark_never_an_empty_vessel() -> None:
    drawing = vessel("bottle", Content(0, 0, 100), state="unknown")
    assert words_of(drawing) == ["?"]
    assert of_class(drawing, "v-level") == []
    assert label_of(drawing) == "Bottle, amount not known"


def test_not_seen_is_dashed_and_disposed_is_struck_through() -> None:
    assert of_class(vessel("vial", Content(1, 0, 2), state="away"), "v-glass--away")
    assert of_class(vessel("vial", Content(0, 0, 2), state="gone"), "v-strike")
    assert speak("vial", Content(0, 0, 2), "gone") == "Vial, disposed of"


def test_sealed_cap_is_filled_and_has_no_ribs() -> None:
    drawing = vessel("bottle", Content(100, 0, 100), sealed=True)
    assert of_class(drawing, "v-cap--sealed")
    assert of_class(drawing, "v-rib") == []


def test_says_the_amounts_in_words() -> None:
    assert label_of(vessel("bottle", FIFTY_THREE)) == (
        "Bottle, 53.0 of 100 mL; plus or minus 2.4; 12 held by others; 5 held for you; 1.5 cannot be got out"
    )


def test_loupe_marks_best_and_both_limits() -> None:
    words = words_of(vessel("bottle", FIFTY_THREE, size="l"))
    assert {"55.4", "53.0", "50.6"} <= set(words)


def test_small_vessel_shows_no_line_for_a_doubt_that_cannot_be_seen() -> None:
    assert of_class(vessel("bottle", Content(250, 0.2, 500), size="s"), "vs-level") == []
    assert of_class(vessel("bottle", Content(250, 20, 500), size="s"), "vs-level")


def test_capacity_that_nobody_knows_is_not_said() -> None:
    assert label_of(vessel("bottle", Content(13, 0))) == "Bottle, 13 mL"


def test_refuses_a_vessel_that_was_never_drawn() -> None:
    with pytest.raises(LabError) as refused:
        vessel("bucket", FIFTY_THREE)
    assert str(refused.value) == (
        "There is no drawing of a 'bucket': use bottle, vial, ampoule, jar, tube, drum."
    )


def test_long_numbers_move_their_doubt_to_the_second_line() -> None:
    first = usual_notes(Content(13200, 900, 20000))[0]
    assert (first.figure, first.doubt) == ("13200\xa0mL", "")
    assert first.words == "±\xa01800\xa0mL at 95 %"


@given(st.lists(st.floats(0, 318), max_size=6), st.booleans())
def test_call_outs_never_overlap(aims: list[float], has_loupe: bool) -> None:
    places = spread(sorted(aims), has_loupe)
    assert all(below - above >= 42.99 for above, below in pairwise(places))


amounts = st.floats(0, 1e7, allow_nan=False)


@given(amounts, amounts, st.floats(0.001, 1e7), amounts, amounts, st.sampled_from(sorted(GLASS)))
def test_any_amount_can_be_drawn(
    m: float, u: float, capacity: float, held: float, heel: float, kind: str
) -> None:
    content = Content(m, u, capacity, heel=heel, held=held)
    for size in ("s", "m", "l"):
        for part in parsed(vessel(kind, content, size)).iter():
            assert float(part.get("height", "0")) >= 0
