"""How fast an opened, closed container loses what is in it: a model with wide bounds, never a measurement.

The loss goes round the cap, so it follows the size of the vessel and not what is left in it: a half-full bottle loses
relatively faster. It is never booked. It widens the doubt and lowers what can be counted on, until somebody weighs.
"""

from dataclasses import dataclass
from math import inf, isfinite

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, normal

SECONDS_PER_MONTH = 365.25 * 86_400 / 12
OFTEN_OPENED = 10
WORN_FACTOR = 3.0


@dataclass(frozen=True)
class LossPrior:
    """One row of the table of losses.

    Parameters
    ----------
    up_to_celsius : float
        Boiling points up to this one belong to the row [°C].
    low, high : float
        Bounds between which nineteen of twenty bottles lose, as a share of the vessel's capacity [1/month].
    """

    up_to_celsius: float
    low: float
    high: float


# Closed, 20 °C. Estimates, from memory: the lab's own weighings are to replace them.
LOSS_PRIORS = (
    LossPrior(50.0, 0.005, 0.02),
    LossPrior(100.0, 0.0005, 0.003),
    LossPrior(inf, 0.0001, 0.0005),
)


def loss_per_month(boiling_point_celsius: float, capacity: float, openings: int = 0) -> UFloat:
    """Estimate what an opened container loses through its closed cap at 20 °C.

    Parameters
    ----------
    boiling_point_celsius : float
        Boiling point of the liquid [°C].
    capacity : float
        Size of the vessel [mL or g].
    openings : int
        How often it was opened. Beyond ten the upper bound is three times as high: a septum or a cap may be worn,
        and which it has is not known [-].

    Returns
    -------
    UFloat
        The loss; nineteen of twenty bottles lie between the bounds, not all [unit of `capacity`/month].

    Notes
    -----
    Source: estimates, from memory. Bounds at the 95 percent level, divided by 1.96: JCGM 100:2008, 4.3.4.

    Examples
    --------
    >>> loss = loss_per_month(78.4, 500)  # between 0.25 and 1.5 mL a month
    >>> round(loss.n, 3), round(loss.s, 3)
    (0.875, 0.319)
    """
    if not isfinite(boiling_point_celsius):
        raise LabError(
            "bad-boiling-point",
            "A boiling point of {celsius} °C cannot be: give it in °C, or leave it empty if it is not known.",
            celsius=boiling_point_celsius,
        )
    row = next(row for row in LOSS_PRIORS if boiling_point_celsius <= row.up_to_celsius)
    worn = WORN_FACTOR if openings > OFTEN_OPENED else 1.0
    low, high = row.low * capacity, row.high * worn * capacity
    return normal((low + high) / 2, (high - low) / 2 / 1.96)


def words_for_loss(expected: float, unit: str) -> str:
    """Say roughly what may have evaporated, never finer than a model can be.

    Parameters
    ----------
    expected : float
        Loss expected by the model [unit].
    unit : str
        Its unit [-].

    Returns
    -------
    str
        Such as "about 0.9 mL"; empty where it is too little to speak of [-].

    Notes
    -----
    Common practice, no source: a model is never written to two decimals.

    Examples
    --------
    >>> words_for_loss(0.8751, "mL").replace("\\xa0", " "), words_for_loss(12.3, "mL").replace("\\xa0", " ")
    ('about 0.9 mL', 'about 12 mL')
    >>> words_for_loss(0.04, "mL")
    ''
    """
    if expected < 0.05:
        return ""
    return f"about {expected:.{1 if expected < 9.95 else 0}f}\u00a0{unit}"
