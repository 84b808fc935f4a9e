"""Published sets: "Linear Regression 102: Stability Shelf Life Estimation Using Analysis of Covariance",
J. Valid. Technol. 17(3), 2011, 47-68: assay in % against months, limit 95 %."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from batches.retained.shelf_life import Batches, extrapolation_cap, shelf_life
from batches.retained.shelf_life_doubt import shelf_life_range
from labstock.chemistry.errors import LabError

ASSAYS = {
    "b2": "0 101.0; 1 101.3; 3 99.8 99.2; 6 99.5 97.8; 12 97.4 97.2; 24 96.9 96.0",
    "b5": "0 102.0; 1 101.4; 2 100.8; 3 100.2 99.7; 6 98.8 98.5; 12 98.0 97.1; 24 96.6 96.1",
    "b7": "0 101.3; 1 101.5; 3 100.2 99.8; 6 99.0 98.5; 12 98.5 97.4; 24 96.6 96.4",
    "b3": "0 104.8; 3 103.0 101.2; 6 100.8 99.2; 12 98.6 97.2; 24 97.6 98.0",
    "b4": "0 104.0; 3 103.2; 6 102.8 103.3; 12 102.4 101.2; 24 99.1 99.5",
}


def _points(text: str) -> list[tuple[float, float]]:
    rows = [row.split() for row in text.split(";")]
    return [(float(month), float(value)) for month, *values in rows for value in values]


def _batches(names: str) -> dict[str, list[tuple[float, float]]]:
    return {name: _points(ASSAYS[name]) for name in names.split()}


def test_pools_batches_that_do_not_differ() -> None:  # Table V and Fig. 4
    found = shelf_life(_batches("b2 b5 b7"), limit=95)
    slopes, intercepts = found.tests
    assert found.model == "one common line"
    assert (round(slopes.f, 3), round(intercepts.f, 3)) == (0.229, 0.436)
    assert (slopes.degrees, slopes.is_pooled, intercepts.is_pooled) == ((2, 25), True, True)
    (line,) = found.lines
    assert (round(line.intercept, 3), round(line.slope, 6)) == (100.567, -0.192994)
    assert round(line.slope_f, 3) == 129.051
    assert found.months == pytest.approx(25.9958, abs=5e-5)


def test_keeps_intercepts_apart_where_they_differ() -> None:  # Table VII and Fig. 6
    found = shelf_life(_batches("b3 b4 b5"), limit=95)
    slopes, intercepts = found.tests
    assert (found.model, found.worst_batch) == ("common slope", "b5")
    assert (round(slopes.f, 3), round(intercepts.f, 3)) == (0.183, 21.738)
    assert [round(line.intercept, 3) for line in found.lines] == [102.176, 104.255, 100.820]
    assert {round(line.slope, 6) for line in found.lines} == {-0.213121}
    assert found.months == pytest.approx(23.3973, abs=5e-5)


@pytest.mark.parametrize(
    "wrong", [28.84, 25.50, 21.54]
)  # line alone, two-sided limit, limits of single values
def test_does_not_fall_for_the_wrong_interval(wrong: float) -> None:
    months = shelf_life(_batches("b2 b5 b7"), limit=95).months
    assert months is not None
    assert abs(months - wrong) > 0.4


def test_a_two_sided_limit_gives_a_shorter_life() -> None:
    months = shelf_life(_batches("b2 b5 b7"), limit=95, two_sided=True).months
    assert months == pytest.approx(25.50, abs=0.005)  # worked by an independent script


def test_the_band_meets_the_limit_at_the_shelf_life() -> None:
    found = shelf_life(_batches("b3 b4 b5"), limit=95)
    assert found.months is not None
    low, mean, high = found.band(found.months)
    assert low == pytest.approx(95, abs=1e-9)
    assert mean - low == pytest.approx(high - mean)
    assert found.band(found.months, "b4")[0] > 97


def test_keeps_batches_with_different_slopes_apart_and_takes_the_worst() -> None:
    steady = [
        (month, 100.0 - 0.05 * month + wobble)
        for month, wobble in zip(range(0, 30, 6), (0.1, -0.1) * 3, strict=False)
    ]
    falling = [(month, value - 0.3 * month) for month, value in steady]
    found = shelf_life({"steady": steady, "falling": falling}, limit=90)
    assert (found.model, found.worst_batch) == ("separate lines", "falling")
    assert [test.what for test in found.tests] == ["slopes"]
    alone = shelf_life({"falling": falling}, limit=90)
    assert found.months == alone.months


def test_an_upper_limit_mirrors_a_lower_one() -> None:
    batches = _batches("b2 b5 b7")
    mirrored = {name: [(month, 200 - value) for month, value in points] for name, points in batches.items()}
    upper = shelf_life(mirrored, limit=105, side="upper").months
    assert upper == pytest.approx(25.9958, abs=5e-5)


def test_says_when_the_limit_is_never_met() -> None:
    rising = [(0, 99.0), (6, 99.6), (12, 99.9), (24, 101.2)]
    found = shelf_life({"A": rising}, limit=90)
    assert found.months is None
    assert found.claimable_months == found.cap_months == 36
    assert "one-sided 95 % limit never meets 90 %" in found.words


def test_says_when_the_limit_is_not_kept_even_at_the_start() -> None:
    found = shelf_life(_batches("b2 b5 b7"), limit=101)
    assert found.months == 0
    assert "101 % is not surely kept even at month 0" in found.words


def test_says_the_result_as_a_model_with_its_reach() -> None:
    words = shelf_life(_batches("b3 b4 b5"), limit=95).words
    assert words == (
        "23.4 months by the model (common slope for 3 batches, b5 decides; one-sided 95 % limit meets 95 %). "
        "The data reach 24 months, so nothing beyond 36 months may be claimed. Keep looking."
    )


@pytest.mark.parametrize(  # ICH Q1E (2003), from memory
    ("last", "storage", "statistics", "cap"),
    [
        (6, "room", True, 12),
        (24, "room", True, 36),
        (6, "room", False, 9),
        (24, "room", False, 30),
        (24, "refrigerator", True, 30),
        (24, "refrigerator", False, 27),
        (24, "freezer", True, 24),
    ],
)
def test_claims_nothing_far_beyond_the_data(last: float, storage: str, statistics: bool, cap: float) -> None:
    assert extrapolation_cap(last, storage, statistics) == cap


def test_the_shortest_batch_sets_the_reach_of_the_data() -> None:
    batches = _batches("b2 b5") | {"new": [(0, 101.2), (1, 100.9), (3, 100.4)]}
    assert shelf_life(batches, limit=95).cap_months == 6


@pytest.mark.parametrize(
    ("batches", "message"),
    [
        ({}, "no measured values are given"),
        ({"A": [(0, 100.0), (6, 99.0)]}, "not enough: batch A has 2 of the 3 points"),
        ({"A": [(6, 100.0)] * 3}, "all 3 points of batch A were measured at month 6: measure again later"),
        ({"A": [(0, 100.0), (6, 99.0), (-1, 98.0)]}, "the value 98.0 at month -1"),
        ({"A": [(0, 100.0), (6, 99.0), (12, float("nan"))]}, "the value nan at month 12"),
    ],
)
def test_refuses_data_that_carry_no_line(batches: Batches, message: str) -> None:
    with pytest.raises(LabError) as refusal:
        shelf_life(batches, limit=95)
    assert message in str(refusal.value)


def test_refuses_a_limit_that_is_no_number() -> None:
    with pytest.raises(LabError, match="the limit nan is no number"):
        shelf_life(_batches("b2"), limit=float("nan"))


def test_points_without_scatter_end_where_their_line_does() -> None:
    exact = [(float(month), 100 - 0.25 * month) for month in (0, 3, 6, 9, 12)]
    found = shelf_life({"A": exact, "B": exact}, limit=95)
    assert found.model == "one common line"
    assert found.months == pytest.approx(20)


VALUES = st.lists(st.floats(-1, 1), min_size=5, max_size=5)


@given(VALUES, st.floats(-0.6, -0.05), st.floats(0.5, 4))
def test_a_slower_clock_stretches_the_life(wobbles: list[float], slope: float, factor: float) -> None:
    points = [(6.0 * place, 100 + slope * 6 * place + wobble) for place, wobble in enumerate(wobbles)]
    months = shelf_life({"A": points}, limit=90).months
    slower = shelf_life({"A": [(month * factor, value) for month, value in points]}, limit=90).months
    assume(months is not None and months < 500)
    assert slower == pytest.approx(months * factor, rel=1e-6)


@given(VALUES, st.floats(-0.6, 0.2))
def test_the_life_never_passes_the_line_itself(wobbles: list[float], slope: float) -> None:
    points = [(6.0 * place, 100 + slope * 6 * place + wobble) for place, wobble in enumerate(wobbles)]
    found = shelf_life({"A": points}, limit=90)
    stricter = shelf_life({"A": points}, limit=90, two_sided=True)
    assume(found.months is not None and stricter.months is not None)
    assert stricter.months <= found.months
    assert found.lines[0].value(found.months) >= 90 - 1e-6


OLD = [(240.0, 99.0), (252.0, 98.9), (264.0, 98.4), (276.0, 98.2)]


def test_doubt_about_the_making_date_widens_the_answer() -> None:
    known = shelf_life({"old": OLD}, limit=97).months
    narrow = shelf_life_range({"old": OLD}, {"old": 0}, limit=97)
    wide = shelf_life_range({"old": OLD}, {"old": 120}, limit=97)
    assert narrow.shortest == narrow.longest == known
    assert wide.shortest is not None
    assert wide.longest is not None
    assert known is not None
    assert known <= wide.shortest < wide.longest <= known + 120
    assert wide.longest - wide.shortest > 100
    assert "with the doubt of the making dates in it" in wide.words


@pytest.mark.parametrize(
    ("doubt", "draws", "message"),
    [
        ({"other": 5.0}, 400, "a doubt of 5.0 months is given for batch other, which has no values"),
        ({"old": -5.0}, 400, "a doubt of -5.0 months for batch old cannot be"),
        ({"old": 5.0}, 3, "3 draws give no range: ask for at least 100"),
    ],
)
def test_refuses_a_doubt_that_makes_no_sense(doubt: dict[str, float], draws: int, message: str) -> None:
    with pytest.raises(LabError) as refusal:
        shelf_life_range({"old": OLD}, doubt, limit=97, draws=draws)
    assert message in str(refusal.value)
