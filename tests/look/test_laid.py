from labstock.look.drawing.content import Content
from labstock.look.drawing.laid import laid
from tests.look.drawn import label_of, of_class, words_of

ANHYDRIDE = Content(53, 1.2, 100, heel=1.5, held=12, mine=5)


def test_need_starts_after_heel_and_other_peoples_part() -> None:
    bracket = of_class(laid(ANHYDRIDE, need=20, width=104), "l-need")[0]
    # 1 unit for each mL, from 2: 1.5 + 12 = 13.5 mL
    assert str(bracket.get("d")).startswith("M15.5 14")


def test_need_beyond_the_glass_ends_in_an_arrow() -> None:
    assert len(of_class(laid(ANHYDRIDE, need=200), "l-need")) == 2


def test_need_is_written_and_said() -> None:
    drawing = laid(ANHYDRIDE, need=38)
    assert words_of(drawing) == ["need 38\xa0mL"]
    assert label_of(drawing).endswith("38 mL needed")


def test_bar_without_need_has_no_bracket() -> None:
    assert of_class(laid(ANHYDRIDE), "l-need") == []


def test_words_from_outside_are_escaped() -> None:
    assert "&lt;script&gt;" in laid(ANHYDRIDE, words="<script>")
