from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labstock.chemistry.errors import LabError
from labstock.chemistry.regression import Fit, f_ratio, least_squares, straight_line

TEMPERATURES = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTIONS = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_agrees_with_the_thermometer_example() -> None:  # JCGM 100:2008, H.3
    line = straight_line(TEMPERATURES, CORRECTIONS, origin=20)
    assert (round(line.intercept.n, 4), round(line.intercept.s, 4)) == (-0.1712, 0.0029)  # °C
    assert (round(line.slope.n, 5), round(line.slope.s, 5)) == (0.00218, 0.00067)
    assert (round(line.correlation, 3), round(line.scatter, 4), line.degrees) == (-0.930, 0.0035, 9)


def test_a_value_read_from_the_line_keeps_the_correlation() -> None:  # JCGM 100:2008, H.3.4
    at_30 = straight_line(TEMPERATURES, CORRECTIONS, origin=20).value(30)
    assert (round(at_30.n, 4), round(at_30.s, 4)) == (
        -0.1494,
        0.0041,
    )  # without correlation u would be 0.0073


def test_the_origin_does_not_change_what_is_read_from_the_line() -> None:
    near, far = (straight_line(TEMPERATURES, CORRECTIONS, origin=origin).value(30) for origin in (20, 0))
    assert near.n == pytest.approx(far.n)
    assert near.s == pytest.approx(far.s, rel=1e-6)


def test_fits_more_than_a_line() -> None:
    design = [[1, x, x * x] for x in range(6)]
    fit = least_squares(design, [2 - 3 * x + 0.5 * x * x for x in range(6)])
    assert fit.coefficients == pytest.approx((2, -3, 0.5))
    assert fit.degrees == 3
    assert fit.sum_of_squares == pytest.approx(0, abs=1e-20)


@pytest.mark.parametrize(
    ("xs", "ys", "message"),
    [
        ([1, 2], [1, 2], "2 settings with 2 values are not enough for a line"),
        ([1, 2, 3], [1, 2], "3 settings with 2 values are not enough for a line"),
        (
            [5, 5, 5],
            [1, 2, 3],
            "3 points do not settle 2 coefficients: measure at more, different times or settings",
        ),
        ([1, 2, float("nan")], [1, 2, 3], "no finite number: correct or leave out that point"),
    ],
)
def test_refuses_points_that_make_no_line(xs: list[float], ys: list[float], message: str) -> None:
    with pytest.raises(LabError) as refusal:
        straight_line(xs, ys)
    assert message in str(refusal.value)


def test_refuses_more_coefficients_than_points() -> None:
    with pytest.raises(LabError, match="1 points do not settle 2 coefficients"):
        least_squares([[1, 2]], [3])


def test_models_without_scatter_are_told_apart_all_the_same() -> None:
    exact, worse = Fit((), (), 0.0, 4), Fit((), (), 2.0, 5)
    assert f_ratio(exact, exact, exact, whole=10) == (0.0, 1.0)
    assert f_ratio(worse, exact, exact, whole=10) == (inf, 0.0)


@given(st.floats(-100, 100), st.floats(-10, 10), st.lists(st.floats(-1, 1), min_size=4, max_size=12))
def test_the_line_leaves_residuals_that_balance(start: float, slope: float, wobbles: list[float]) -> None:
    ys = [start + slope * x + wobble for x, wobble in enumerate(wobbles)]
    line = straight_line(range(len(ys)), ys)
    residuals = [y - line.value(x).n for x, y in enumerate(ys)]
    assert sum(residuals) == pytest.approx(0, abs=1e-9)
    assert sum(x * residual for x, residual in enumerate(residuals)) == pytest.approx(0, abs=1e-8)
