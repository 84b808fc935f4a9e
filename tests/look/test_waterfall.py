"""The waterfall: every step begins where the last one ended, and what stands is drawn with its doubt."""

from labstock.look.drawing.waterfall import Bar, waterfall
from tests.look.drawn import label_of, of_class, parsed, words_of

BARS = [
    Bar("At the start", "stands", 100, "100"),
    Bar("Came in", "in", 20, "+20"),
    Bar("Batch 26-005, Acetanilide", "out", -30, "−30"),
    Bar("Spilt", "lost", -10, "−10"),
    Bar("1 line reversed", "reversed", 0, "0"),
    Bar("Unexplained: weighed or counted", "unexplained", -2, "−2"),
    Bar("Now", "stands", 78, "78.0 ± 3.0", u=1.5),
]


def x_range(d: str) -> tuple[float, float]:
    """Return left and right of an outline 'Mx yhw…'."""
    x, rest = d[1:].split(" ", 1)
    return float(x), float(x) + float(rest.split("h")[1].split("v")[0])


def test_every_name_and_amount_is_written_in_both_cuts() -> None:
    words = words_of(waterfall(BARS, "mL"))
    for bar in BARS:
        assert words.count(bar.name) == 2
        assert words.count(bar.amount) >= 2  # the axis may say it too


def test_a_step_begins_where_the_one_before_ended() -> None:
    wide = "<svg" + waterfall(BARS, "mL").split("<svg")[2]
    drawn, lost = (
        x_range(str(part.get("d"))) for part in of_class(wide, "c-step") if "z" in str(part.get("d"))
    )
    assert abs(drawn[0] - lost[1]) < 0.02  # what was spilt begins where the draw ended
    assert abs((drawn[1] - drawn[0]) / (lost[1] - lost[0]) - 3) < 0.01


def test_each_kind_has_its_mark() -> None:
    drawing = waterfall(BARS, "mL")
    for css in ("c-mark--spilt", "c-mark--rev", "c-mark--weigh", "c-limit"):
        assert len(of_class(drawing, css)) == 2


def test_what_is_left_has_a_band_of_doubt() -> None:
    sure = [Bar("At the start", "stands", 100, "100"), Bar("Now", "stands", 100, "100")]
    assert "fill-opacity" in waterfall(BARS, "mL")
    assert "fill-opacity" not in waterfall(sure, "mL")


def test_a_reader_hears_every_step() -> None:
    assert label_of(waterfall(BARS, "mL")).startswith(
        "Where it went, in mL: At the start 100; Came in +20; Batch 26-005, Acetanilide −30;"
    )


def test_a_long_name_is_cut_and_nothing_is_left_unescaped() -> None:
    bars = [Bar("<b>" + "teaching " * 20, "stands", 1, "1"), Bar("Now", "stands", 1, "1")]
    drawing = waterfall(bars, "g")
    assert "<b>" not in drawing
    assert any(words.endswith("…") for words in words_of(drawing))


def test_nothing_at_all_can_be_drawn() -> None:
    empty = [Bar("At the start", "stands", 0, "0"), Bar("Now", "stands", 0, "0")]
    assert parsed(waterfall(empty, "piece")) is not None
