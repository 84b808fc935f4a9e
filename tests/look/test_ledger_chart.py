from datetime import datetime, timedelta

from labstock.look.drawing.content import Content
from labstock.look.drawing.ledger_chart import Hold, Step, ledger_chart
from labstock.look.drawing.time_axis import time_marks
from tests.look.drawn import label_of, of_class, words_of

START = datetime(2026, 9, 3, 9)
NOW = datetime(2026, 11, 25, 10, 40)
BOTTLE = Content(53, 1.2, 100, heel=1.5)


def ledger() -> list[Step]:
    return [
        Step(START, 100, 0.25, "received"),
        Step(datetime(2026, 9, 15), 85, 0.6, "drawn"),
        Step(datetime(2026, 10, 12), 76.2, 0.25, "weighed back"),
        Step(datetime(2026, 11, 3), 69, 0.8, "spilt"),
        Step(datetime(2026, 11, 24), 53, 1.2, "drawn"),
    ]


def test_line_of_now_carries_amount_and_doubt() -> None:
    assert "now 53.0 ± 2.4" in words_of(ledger_chart(ledger(), NOW, BOTTLE))


def test_each_kind_has_its_mark() -> None:
    drawing = ledger_chart(ledger(), NOW, BOTTLE)
    assert len(of_class(drawing, "c-mark--weigh")) == 2  # one in each cut
    assert len(of_class(drawing, "c-mark--spilt")) == 2


def test_says_how_far_weighing_back_shrank_the_doubt() -> None:
    assert "± 0.50, was ± 1.2" in words_of(ledger_chart(ledger(), NOW, BOTTLE))


def test_holds_stand_right_of_now_and_on_top_of_each_other() -> None:
    holds = [Hold(NOW, NOW + timedelta(days=5), 12), Hold(NOW, NOW + timedelta(days=5), 5, is_mine=True)]
    drawing = ledger_chart(ledger(), NOW, BOTTLE, holds)
    held, mine = of_class(drawing, "v-held")[0], of_class(drawing, "v-mine")[0]
    bottom_of_mine = float(str(mine.get("y"))) + float(str(mine.get("height")))
    assert abs(bottom_of_mine - float(str(held.get("y")))) < 0.02


def test_one_line_an_hour_old_can_be_drawn() -> None:
    one = [Step(NOW - timedelta(hours=1), 250, 0, "received")]
    assert "now 250" in words_of(ledger_chart(one, NOW, Content(250, 0, 250)))


def test_a_thousand_lines_stay_a_small_picture_of_the_right_shape() -> None:
    steps = [Step(START, 1000, 1, "received")]
    steps += [Step(START + timedelta(hours=i), 1000 - i / 2, 1, "drawn") for i in range(1, 1000)]
    drawing = ledger_chart(steps, START + timedelta(hours=1000), Content(500.5, 1, 1000))
    assert len(drawing) < 2_500_000
    tops = [float(str(part.get("y"))) for part in of_class(drawing, "v-body")]
    assert len({round(top) for top in tops}) > 100


def test_reader_hears_first_last_and_weighing() -> None:
    assert label_of(ledger_chart(ledger(), NOW, BOTTLE)) == (
        "Amount in mL over time, 5 lines: 100 on 3 Sep 2026, now 53.0 ± 2.4;"
        " doubt shrank at the last weighed back on 12 Oct 2026"
    )


def test_years_are_marked_on_a_long_line() -> None:
    words = [mark.words for mark in time_marks(datetime(1890, 1, 1), datetime(2026, 1, 2))]
    assert words == ["1900", "1920", "1940", "1960", "1980", "2000", "2020"]
