"""Shelf life of kept material from its measured values over time, after ICH Q1E. A model, never a measurement.

Batches are pooled only where the data allow it: first their slopes are compared, then their intercepts, both at
the level 0.25. The shelf life is the time at which the 95 % confidence limit of the *mean* line meets the limit,
of the worst batch where batches keep their own lines. It says nothing beyond the reach of the data.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import copysign, inf, isfinite, sqrt
from typing import Literal

from labstock.chemistry.errors import LabError
from labstock.chemistry.regression import Fit, f_ratio, least_squares
from labstock.chemistry.uncertain import coverage_factor

Point = tuple[float, float]
Batches = Mapping[str, Sequence[Point]]
Model = Literal["one common line", "common slope", "separate lines"]
Side = Literal["lower", "upper"]
Storage = Literal["room", "refrigerator", "freezer"]

POOLING_LEVEL = 0.25  # ICH Q1E
CONFIDENCE = 0.95  # ICH Q1E
ALL_BATCHES = "all batches"
FEWEST_POINTS = 3  # a line through two points has no scatter to judge by
EXTRAPOLATION = {  # (times the data, months beyond them), by storage and whether statistics back it
    ("room", True): (2.0, 12.0),
    ("room", False): (1.5, 6.0),
    ("refrigerator", True): (1.5, 6.0),
    ("refrigerator", False): (1.5, 3.0),
    ("freezer", True): (1.0, 0.0),
    ("freezer", False): (1.0, 0.0),
}  # ICH Q1E, from memory


@dataclass(frozen=True)
class PoolingTest:
    """One comparison of batches.

    Attributes
    ----------
    what : str
        "slopes" or "intercepts" [-].
    f : float
        F ratio [-].
    degrees : tuple of int
        Degrees of freedom between and within batches [-].
    p : float
        Probability of an F as large by chance [-].
    is_pooled : bool
        Whether the batches may share it: p above 0.25 [-].
    """

    what: str
    f: float
    degrees: tuple[int, int]
    p: float
    is_pooled: bool


@dataclass(frozen=True)
class BatchLine:
    """The line of one batch, or of all together, with the variance of its mean.

    Attributes
    ----------
    batch : str
        Name of the batch, or "all batches" [-].
    intercept : float
        Value at month 0 [unit of the values].
    slope : float
        Change a month [unit of the values / month].
    variance : tuple of float
        Variance of intercept, covariance with slope, variance of slope [unit of the values squared, per month,
        per month squared].
    degrees : int
        Degrees of freedom of the scatter [-].
    t : float
        Student's t for the wanted limit [-].
    months : float or None
        When the limit of the mean meets the limit; None when it never does [month].
    """

    batch: str
    intercept: float
    slope: float
    variance: tuple[float, float, float]
    degrees: int
    t: float
    months: float | None = None

    def value(self, month: float) -> float:
        """Give the line's value at `month` [unit of the values]."""
        return self.intercept + self.slope * month

    def band(self, month: float) -> tuple[float, float, float]:
        """Give lower limit, mean and upper limit at `month` [unit of the values]."""
        v00, v01, v11 = self.variance
        reach = self.t * sqrt(max(0.0, v00 + 2 * v01 * month + v11 * month * month))
        mean = self.value(month)
        return mean - reach, mean, mean + reach

    @property
    def slope_f(self) -> float:
        """F ratio of the slope against none, 0 when there is no scatter to judge by [-]."""
        return self.slope**2 / self.variance[2] if self.variance[2] > 0 else 0.0


@dataclass(frozen=True)
class ShelfLife:
    """What the measured values say about how long the material stays within its limit.

    Attributes
    ----------
    months : float or None
        Where the confidence limit of the worst line meets the limit; None when it never does [month].
    model : str
        "one common line", "common slope" or "separate lines" [-].
    lines : tuple of BatchLine
        The fitted lines [-].
    tests : tuple of PoolingTest
        The comparisons made, in order [-].
    worst_batch : str
        The batch that decides [-].
    cap_months : float
        Furthest time that may be claimed from data of this length [month].
    words : str
        The result in plain English, marked as a model [-].
    """

    months: float | None
    model: Model
    lines: tuple[BatchLine, ...]
    tests: tuple[PoolingTest, ...]
    worst_batch: str
    cap_months: float
    words: str

    @property
    def claimable_months(self) -> float:
        """The shelf life cut at what the data may be stretched to [month]."""
        return self.cap_months if self.months is None else min(self.months, self.cap_months)

    def line(self, batch: str | None = None) -> BatchLine:
        """Find the line of a batch, by default of the worst one [-]."""
        wanted = batch if batch is not None else self.worst_batch
        return next((line for line in self.lines if line.batch == wanted), self.lines[0])

    def band(self, month: float, batch: str | None = None) -> tuple[float, float, float]:
        """Give lower limit, mean and upper limit at `month`, for a picture [unit of the values]."""
        return self.line(batch).band(month)


def shelf_life(
    batches: Batches,
    limit: float,
    side: Side = "lower",
    two_sided: bool = False,
    *,
    storage: Storage = "room",
    unit: str = "%",
) -> ShelfLife:
    """Find the shelf life from values measured over time.

    Parameters
    ----------
    batches : mapping of str to sequence of (float, float)
        For each batch its points: age [month] and measured value [any unit].
    limit : float
        The value that must not be crossed [unit of the values].
    side : str
        "lower" when the value must stay above the limit, "upper" when below [-].
    two_sided : bool
        Whether the 95 % limits are two-sided, for a value that may leave on either side [-].
    storage : str
        "room", "refrigerator" or "freezer": how far data may be stretched [-].
    unit : str
        Unit of the values, for the words [-].

    Returns
    -------
    ShelfLife
        Time, model, lines, tests, deciding batch and cap [month].

    Raises
    ------
    LabError
        When a batch has fewer than three points, or points at one time only.

    Notes
    -----
    ICH Q1E, Evaluation for stability data (2003). Slopes and intercepts are tested against the scatter of the
    model with separate lines. Pooled lines use the pooled scatter, separate lines each their own. Limits are
    those of the mean line, not of single values.

    Examples
    --------
    >>> points = [(0, 100.0), (3, 99.1), (6, 98.3), (9, 96.8), (12, 96.1), (18, 94.2)]
    >>> found = shelf_life({"TQ-A": points}, limit=90)
    >>> found.model, round(found.claimable_months, 1)
    ('one common line', 28.8)
    """
    _refuse_poor_data(batches, limit)
    names = list(batches)
    model, fit, tests = _choose_model(batches)
    t_confidence = CONFIDENCE if two_sided else 2 * CONFIDENCE - 1
    lines = tuple(
        _with_months(line, limit, side) for line in _lines(batches, names, model, fit, t_confidence)
    )
    worst = min(lines, key=lambda line: inf if line.months is None else line.months)
    reach = min(max(month for month, _ in points) for points in batches.values())
    cap = extrapolation_cap(reach, storage)
    words = _words(worst, model, len(names), limit, unit, two_sided, reach, cap)
    return ShelfLife(worst.months, model, lines, tests, worst.batch, cap, words)


def extrapolation_cap(
    last_month: float, storage: Storage = "room", is_backed_by_statistics: bool = True
) -> float:
    """Say how far beyond the data a shelf life may be claimed.

    Parameters
    ----------
    last_month : float
        How far the data reach; with several batches, the shortest one [month].
    storage : str
        "room", "refrigerator" or "freezer" [-].
    is_backed_by_statistics : bool
        Whether a regression supports it [-].

    Returns
    -------
    float
        Latest time that may be claimed [month].

    Notes
    -----
    ICH Q1E (2003), from memory: twice the data and 12 months beyond at most with statistics, 1.5 times and
    6 months without; 1.5 times and 6 (or 3) months under refrigeration; in a freezer the data themselves.

    Examples
    --------
    >>> extrapolation_cap(24), extrapolation_cap(6), extrapolation_cap(24, "refrigerator")
    (36.0, 12.0, 30.0)
    """
    times, beyond = EXTRAPOLATION[storage, is_backed_by_statistics]
    return min(times * last_month, last_month + beyond)


def _refuse_poor_data(batches: Batches, limit: float) -> None:
    if not batches:
        raise LabError(
            "shelf-life-no-data", "no measured values are given: enter at least three for each batch."
        )
    for batch, points in batches.items():
        if len(points) < FEWEST_POINTS:
            raise LabError(
                "shelf-life-not-enough",
                "not enough: batch {batch} has {count} of the {needed} points a line with limits needs. Measure "
                "again later, or leave the batch out.",
                batch=batch,
                count=len(points),
                needed=FEWEST_POINTS,
            )
        if len({month for month, _ in points}) < 2:
            raise LabError(
                "shelf-life-one-time",
                "all {count} points of batch {batch} were measured at month {month}: measure again later.",
                batch=batch,
                count=len(points),
                month=points[0][0],
            )
        for month, value in points:
            _refuse_bad_point(batch, month, value)
    if not isfinite(limit):
        raise LabError("shelf-life-limit", "the limit {limit} is no number: give a figure.", limit=limit)


def _refuse_bad_point(batch: str, month: float, value: float) -> None:
    if not (isfinite(month) and isfinite(value) and month >= 0):
        raise LabError(
            "shelf-life-bad-point",
            "batch {batch} has the value {value} at month {month}: both are finite numbers and the month is "
            "0 or more. Correct the point.",
            batch=batch,
            month=month,
            value=value,
        )


def _choose_model(batches: Batches) -> tuple[Model, Fit, tuple[PoolingTest, ...]]:
    common = _fit(batches, "one common line")
    if len(batches) == 1:
        return "one common line", common, ()
    parallel, separate = _fit(batches, "common slope"), _fit(batches, "separate lines")
    values = [value for points in batches.values() for _, value in points]
    mean = sum(values) / len(values)
    whole = sum((value - mean) ** 2 for value in values)
    slopes = _pooling_test("slopes", parallel, separate, separate, whole)
    if not slopes.is_pooled:
        return "separate lines", separate, (slopes,)
    intercepts = _pooling_test("intercepts", common, parallel, separate, whole)
    if intercepts.is_pooled:
        return "one common line", common, (slopes, intercepts)
    return "common slope", parallel, (slopes, intercepts)


def _pooling_test(what: str, narrow: Fit, wide: Fit, judge: Fit, whole: float) -> PoolingTest:
    f, p = f_ratio(narrow, wide, judge, whole)
    return PoolingTest(what, f, (narrow.degrees - wide.degrees, judge.degrees), p, p > POOLING_LEVEL)


def _fit(batches: Batches, model: Model) -> Fit:
    rows, values = [], []
    for place, points in enumerate(batches.values()):
        for month, value in points:
            rows.append(_row(model, place, len(batches), month))
            values.append(value)
    return least_squares(rows, values)


def _row(model: Model, place: int, count: int, month: float) -> list[float]:
    """Give the row of the design: intercepts first, then slopes."""
    if model == "one common line":
        return [1.0, month]
    own = [1.0 if place == each else 0.0 for each in range(count)]
    return own + ([month] if model == "common slope" else [month * each for each in own])


def _lines(
    batches: Batches, names: list[str], model: Model, fit: Fit, t_confidence: float
) -> list[BatchLine]:
    if model == "one common line":
        return [_line(names[0] if len(names) == 1 else ALL_BATCHES, fit, 0, 1, t_confidence)]
    if model == "common slope":
        return [_line(name, fit, place, len(names), t_confidence) for place, name in enumerate(names)]
    return [_line(name, _fit({name: batches[name]}, "one common line"), 0, 1, t_confidence) for name in names]


def _line(batch: str, fit: Fit, at: int, slope_at: int, t_confidence: float) -> BatchLine:
    pairs = ((at, at), (at, slope_at), (slope_at, slope_at))
    v00, v01, v11 = (fit.mean_square * fit.variances[row][column] for row, column in pairs)
    return BatchLine(
        batch,
        fit.coefficients[at],
        fit.coefficients[slope_at],
        (v00, v01, v11),
        fit.degrees,
        coverage_factor(fit.degrees, t_confidence),
    )


def _with_months(line: BatchLine, limit: float, side: Side) -> BatchLine:
    """Find when the confidence limit of a line meets the limit: the margin is concave, so it leaves only once."""
    sign = 1 if side == "lower" else -1
    room, fall = sign * (line.intercept - limit), sign * line.slope
    q00, q01, q11 = (line.t**2 * each for each in line.variance)
    if room < sqrt(max(0.0, q00)):
        return replace(line, months=0.0)
    roots = _roots(fall * fall - q11, 2 * (room * fall - q01), room * room - q00)
    met = [root for root in roots if root >= 0 and room + fall * root >= -1e-9 * room]
    return replace(line, months=min(met, default=None))


def _roots(a: float, b: float, c: float) -> list[float]:
    """Solve a·x² + b·x + c = 0 without losing digits when a is small."""
    inside = b * b - 4 * a * c
    if inside < -1e-12 * b * b:
        return []
    half = -(b + copysign(sqrt(max(0.0, inside)), b)) / 2  # points without scatter round to just below 0
    return [upper / lower for upper, lower in ((half, a), (c, half)) if lower]


def _words(
    worst: BatchLine,
    model: Model,
    count: int,
    limit: float,
    unit: str,
    two_sided: bool,
    reach: float,
    cap: float,
) -> str:
    limits = "two-sided" if two_sided else "one-sided"
    held = f"{limit:g} {unit}".replace("-", "\N{MINUS SIGN}").strip()
    decides = "" if model == "one common line" else f", {worst.batch} decides"
    whose = f"{model} for {count} batches{decides}" if count > 1 else f"the line of {worst.batch} alone"
    data = f"The data reach {reach:g} months, so nothing beyond {cap:g} months may be claimed."
    if worst.months is None:
        return f"By the model ({whose}) the {limits} 95 % limit never meets {held}. {data} Keep looking."
    if worst.months == 0:
        return f"By the model ({whose}) {held} is not surely kept even at month 0. {data} Measure again."
    return f"{worst.months:.1f} months by the model ({whose}; {limits} 95 % limit meets {held}). {data} Keep looking."
