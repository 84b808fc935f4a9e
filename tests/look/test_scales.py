from datetime import date

import pytest

from labstock.look.drawing.age_range import Made, age_picture
from labstock.look.drawing.date_rules import DateRule, date_rules
from labstock.look.drawing.session_strip import session_strip
from labstock.look.drawing.strength import Claim, Measured, Modelled, strength_picture
from labstock.look.drawing.strokes import steps_of
from labstock.look.drawing.yield_gauge import yield_gauge
from tests.look.drawn import label_of, of_class, words_of

TODAY = date(2026, 11, 25)
RETEST = DateRule("last pass + 3 months", date(2026, 10, 9), date(2027, 1, 9))
EXPIRY = DateRule("the maker’s expiry", date(2026, 9, 3), date(2028, 3, 31))


def test_earliest_date_wins_and_says_so() -> None:
    drawing = date_rules([EXPIRY, RETEST], TODAY)
    assert "9 Jan 2027, last pass + 3 months: wins" in words_of(drawing)
    assert len(of_class(drawing, "c-win-text")) == 2  # one in each cut


def test_a_date_that_has_passed_is_told_as_past() -> None:
    assert "the earliest was 9 Jan 2027" in label_of(date_rules([RETEST], date(2027, 2, 1)))


def test_rules_of_one_day_can_be_drawn() -> None:
    assert date_rules([DateRule("today", TODAY, TODAY)], TODAY).count("<svg") == 2


def test_label_claim_is_flat_and_measurement_a_diamond_and_model_fades() -> None:
    drawing = strength_picture(
        [Claim(98, 100, "label"), Measured(97.1, 0.4, "measured"), Modelled(95.4, 0.8, "by model")]
    )
    assert len(of_class(drawing, "c-soft")) == 2
    assert len(of_class(drawing, "c-mark--weigh")) == 2
    assert len(of_class(drawing, "c-dot")) > 40


@pytest.mark.parametrize("value", [0.1023, 5.0, 36.9, 100.0])
def test_strength_scale_holds_what_it_shows(value: float) -> None:
    words = words_of(strength_picture([Measured(value, value / 500, "titrated")], "mol/L"))
    ends = [
        float(word.split(" ")[0]) for word in words if word.replace(".", "").replace(" mol/L", "").isdigit()
    ]
    assert min(ends) <= value <= max(ends)


def test_yield_beyond_theory_is_shown_with_a_line_at_one_hundred() -> None:
    drawing = yield_gauge(107, 1.5)
    assert of_class(drawing, "c-limit")
    assert "120 %" in words_of(drawing)


def test_usual_range_is_drawn_under_the_yield() -> None:
    assert "earlier runs gave 67 to 85 %" in label_of(yield_gauge(73.9, 0.4, (67, 85), "own history"))


def test_open_start_fades_instead_of_ending() -> None:
    opened = age_picture(Made(None, date(1939, 12, 31), words="../1939, at least 86 years old"), TODAY)
    closed = age_picture(Made(date(1890, 1, 1), date(1899, 12, 31), words="189X"), TODAY)
    assert of_class(opened, "v-ruled")
    assert of_class(opened, "c-fill") == []
    assert of_class(closed, "v-ruled") == []
    assert label_of(opened) == "Made ../1939, at least 86 years old"


def test_strip_stretches_for_early_work() -> None:
    early, usual = session_strip(6, 9), session_strip(9, 12)
    assert early.count("strip__day") > usual.count("strip__day")


def test_strip_of_another_day_has_no_now() -> None:
    assert "strip__now" not in session_strip(9, 12)


@pytest.mark.parametrize(
    ("low", "high", "marks"),
    [(0, 100, [0, 20, 40, 60, 80, 100]), (0, 2.5, [0, 0.5, 1, 1.5, 2, 2.5]), (97, 103, [98, 100, 102])],
)
def test_axis_marks_are_round(low: float, high: float, marks: list[float]) -> None:
    assert steps_of(low, high) == marks
