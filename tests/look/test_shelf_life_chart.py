"""The picture of a shelf life: what is measured, fitted, stretched and allowed."""

import re
from dataclasses import replace

from labstock.look.drawing.shelf_life_chart import Life, Line, shelf_life_chart

POINTS = [("b2", 0.0, 101.0), ("b2", 12.0, 97.3), ("b2", 24.0, 96.4)]


def line(name: str = "b2", u: float = 0.3, decides: bool = True) -> Line:
    return Line(name, lambda month: 100.6 - 0.193 * month, lambda month: u, decides)


LIFE = Life(POINTS, [line()], 95.0, 26.0, 24.0, 36.0, "%")


def life(**changes) -> Life:
    return replace(LIFE, **changes)


def test_every_measured_value_is_a_diamond_in_both_cuts():
    assert shelf_life_chart(life()).count("c-mark--weigh") == 2 * len(POINTS)


def test_beyond_the_data_the_line_is_dashed_and_the_limit_always_is():
    drawn = shelf_life_chart(life())
    assert (drawn.count("c-trace"), drawn.count("c-old"), drawn.count("c-limit")) == (2, 2, 2)


def test_only_the_line_that_decides_has_a_band():
    assert "c-fill" not in shelf_life_chart(life(lines=[line(decides=False)]))
    assert "c-fill" not in shelf_life_chart(life(lines=[line(u=0.0)]))
    assert "c-fill" in shelf_life_chart(life())


def test_the_band_is_darkest_on_the_line():
    tones = [float(tone) for tone in re.findall(r'fill-opacity="([\d.]+)"', shelf_life_chart(life()))]
    assert max(tones) > 0.9
    assert min(tones) < 0.1


def test_it_says_in_words_what_it_shows():
    assert (
        "the confidence limit meets it at 26.0 months; nothing beyond 36 months may be claimed"
        in shelf_life_chart(life())
    )
    assert "the confidence limit never meets it" in shelf_life_chart(life(months=None))


def test_names_are_escaped():
    assert "<b>" not in shelf_life_chart(life(lines=[line("<b>")]))
