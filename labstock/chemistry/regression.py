"""Ordinary least squares: straight lines with correlated intercept and slope, and the tests built on them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, sqrt

import numpy as np

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, correlated

ROUNDING = 1e-20  # a sum of squares below this part of the whole is rounding of the arithmetic, not scatter


@dataclass(frozen=True)
class Fit:
    """A least-squares fit.

    Attributes
    ----------
    coefficients : tuple of float
        Fitted coefficients, one for each column of the design [unit of values / unit of the column].
    variances : tuple of tuple of float
        Their covariance matrix for a scatter of 1; times `mean_square` it is theirs [1/unit of columns squared].
    sum_of_squares : float
        Sum of the squared residuals [unit of values squared].
    degrees : int
        Degrees of freedom: points less coefficients [-].
    """

    coefficients: tuple[float, ...]
    variances: tuple[tuple[float, ...], ...]
    sum_of_squares: float
    degrees: int

    @property
    def mean_square(self) -> float:
        """Variance of the residuals [unit of values squared]."""
        return self.sum_of_squares / self.degrees if self.degrees else inf


@dataclass(frozen=True)
class StraightLine:
    """A straight line through measured points, y = intercept + slope·(x - origin).

    Attributes
    ----------
    intercept : UFloat
        Value at the origin, correlated with the slope [unit of y].
    slope : UFloat
        Change of y with x [unit of y / unit of x].
    origin : float
        Where the intercept is taken [unit of x].
    correlation : float
        Correlation of intercept and slope [-].
    scatter : float
        Standard deviation of the residuals [unit of y].
    degrees : int
        Degrees of freedom: points less two [-].
    """

    intercept: UFloat
    slope: UFloat
    origin: float
    correlation: float
    scatter: float
    degrees: int

    def value(self, x: float) -> UFloat:
        """Give the line's value with its uncertainty at `x` [unit of y]."""
        return self.intercept + self.slope * (x - self.origin)


def least_squares(design: Sequence[Sequence[float]], values: Sequence[float]) -> Fit:
    """Fit a linear model by ordinary least squares.

    Parameters
    ----------
    design : sequence of sequence of float
        One row for each value, one column for each coefficient [any unit].
    values : sequence of float
        The measured values [any unit].

    Returns
    -------
    Fit
        Coefficients, their variances, residual sum of squares and degrees of freedom [see Fit].

    Raises
    ------
    LabError
        When a figure is not finite or the points do not settle the coefficients.

    Notes
    -----
    Gauss's normal equations, solved by orthogonal factors for the sake of the digits; any statistics textbook.

    Examples
    --------
    >>> fit = least_squares([[1, 0], [1, 1], [1, 2]], [1.0, 3.0, 5.0])
    >>> [round(coefficient, 9) for coefficient in fit.coefficients], fit.degrees
    ([1.0, 2.0], 1)
    """
    matrix, measured = np.asarray(design, dtype=float), np.asarray(values, dtype=float)
    if not (np.isfinite(matrix).all() and np.isfinite(measured).all()):
        raise LabError(
            "fit-not-finite", "a point of the fit is no finite number: correct or leave out that point."
        )
    points, unknowns = matrix.shape
    orthogonal, triangle = np.linalg.qr(matrix) if points >= unknowns else (None, np.zeros((1, 1)))
    sizes = np.abs(np.diag(triangle))
    if orthogonal is None or sizes.min() <= 1e-12 * sizes.max():
        raise LabError(
            "fit-undetermined",
            "{points} points do not settle {unknowns} coefficients: measure at more, different times or settings.",
            points=points,
            unknowns=unknowns,
        )
    inverse = np.linalg.inv(triangle)
    coefficients = inverse @ (orthogonal.T @ measured)
    residuals = measured - matrix @ coefficients
    return Fit(
        tuple(coefficients.tolist()),
        tuple(tuple(row) for row in (inverse @ inverse.T).tolist()),
        float(residuals @ residuals),
        points - unknowns,
    )


def straight_line(xs: Sequence[float], ys: Sequence[float], origin: float = 0.0) -> StraightLine:
    """Fit a straight line and keep the correlation of its intercept and slope.

    Parameters
    ----------
    xs : sequence of float
        Settings, taken as exact [any unit].
    ys : sequence of float
        Measured values, at least three [any unit].
    origin : float
        Where the intercept is taken [unit of xs].

    Returns
    -------
    StraightLine
        The line; values read from it carry the right uncertainty [unit of ys].

    Raises
    ------
    LabError
        When there are fewer than three points or all lie at one setting.

    Notes
    -----
    Source: JCGM 100:2008, H.3.

    Examples
    --------
    >>> line = straight_line([0, 1, 2, 3], [0.1, 1.9, 4.1, 5.9])
    >>> round(line.slope.n, 2), round(line.value(1.5).n, 2)
    (1.96, 3.0)
    """
    if len(xs) != len(ys) or len(xs) < 3:
        raise LabError(
            "line-not-enough",
            "{xs} settings with {ys} values are not enough for a line with uncertainty: "
            "give at least three points, each with both figures.",
            xs=len(xs),
            ys=len(ys),
        )
    fit = least_squares([[1.0, x - origin] for x in xs], ys)
    (v00, v01), (_, v11) = fit.variances
    s = sqrt(fit.mean_square)
    r = v01 / sqrt(v00 * v11)
    intercept, slope = correlated(fit.coefficients, (s * sqrt(v00), s * sqrt(v11)), r)
    return StraightLine(intercept, slope, origin, r, s, fit.degrees)


def f_ratio(narrow: Fit, wide: Fit, judge: Fit, whole: float) -> tuple[float, float]:
    """Compare two nested models by an F test.

    Parameters
    ----------
    narrow : Fit
        The model with fewer coefficients [-].
    wide : Fit
        The model that contains it [-].
    judge : Fit
        The model whose residuals measure the scatter [-].
    whole : float
        Sum of squares of the values about their mean; tells scatter from rounding [unit of values squared].

    Returns
    -------
    tuple of float
        F and the probability of an F as large by chance [-].

    Notes
    -----
    Analysis of variance, any statistics textbook. Points without any scatter give F = 0 when the models agree
    and infinity when they do not.

    Examples
    --------
    >>> one, two = least_squares([[1], [1], [1]], [1, 2, 4]), least_squares([[1, 0], [1, 1], [1, 2]], [1, 2, 4])
    >>> [round(figure, 3) for figure in f_ratio(one, two, two, 4.667)]
    [27.0, 0.121]
    """
    from scipy.special import fdtrc  # slow to import, and most callers never need it

    gain = max(0.0, narrow.sum_of_squares - wide.sum_of_squares)
    between = narrow.degrees - wide.degrees
    if gain <= ROUNDING * whole:
        return 0.0, 1.0
    if judge.sum_of_squares <= ROUNDING * whole:
        return inf, 0.0
    f = gain / between / judge.mean_square
    return f, float(fdtrc(between, judge.degrees, f)) if isfinite(f) else 0.0
