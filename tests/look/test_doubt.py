import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.look.drawing.doubt import bell, chance_above, level_band, ruling, upright_band
from tests.look.drawn import parsed


@pytest.mark.parametrize(
    ("z", "p"),
    # Standard normal distribution, GUM JCGM 100:2008, table G.1: k = 1, 1.960, 2, 3 give 68.27, 95, 95.45, 99.73 %
    [(1, 0.6827), (1.960, 0.95), (2, 0.9545), (3, 0.9973)],
)
def test_chance_agrees_with_the_normal_table(z: float, p: float) -> None:
    assert 1 - 2 * chance_above(z, 0, 1) == pytest.approx(p, abs=5e-5)


def test_without_doubt_the_chance_is_all_or_nothing() -> None:
    assert [chance_above(a, 53, 0) for a in (52, 53, 54)] == [1, 1, 0]


def test_ruling_is_thickest_at_one_half() -> None:
    assert ruling(3, 0.5) > ruling(3, 0.3) > ruling(3, 0.01)


@given(st.floats(0.01, 100), st.floats(0.01, 50))
def test_band_stays_between_empty_and_full(m: float, u: float) -> None:
    band = upright_band(0, 10, lambda a: 104 - a, (m, u), (0, 104), 2)
    assert -1e-6 <= band.start <= band.end <= 104 + 1e-6


def test_level_band_grows_with_the_doubt() -> None:
    narrow, wide = (level_band(0, 10, lambda a: a, (50, u)) for u in (1, 5))
    assert wide.end - wide.start == pytest.approx(5 * (narrow.end - narrow.start))


def test_every_line_of_a_band_has_a_tone_between_none_and_all() -> None:
    band = upright_band(0, 10, lambda a: 100 - a, (50, 3), (0, 100), 2)
    tones = [
        float(str(part.get("fill-opacity"))) for part in parsed(band.drawn).iter() if part.get("fill-opacity")
    ]
    assert tones
    assert all(0 <= tone <= 1 for tone in tones)


def test_bell_is_highest_at_the_best_value() -> None:
    assert bell(5, 5, 1) == 1
    # exp(-1/2), worked by hand
    assert bell(6, 5, 1) == pytest.approx(0.60653, abs=1e-5)
