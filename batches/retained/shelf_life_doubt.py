"""Shelf life of samples whose making date is in doubt: the doubt enters as a range and widens the answer."""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import quantiles

import numpy as np

from batches.retained.shelf_life import Batches, Side, Storage, shelf_life
from labstock.chemistry.errors import LabError

FEWEST_DRAWS = 100
NEVER = 1e9  # months; stands for "the limit is never met" while the draws are sorted


@dataclass(frozen=True)
class ShelfLifeRange:
    """Shelf life with the doubt of the making dates in it.

    Attributes
    ----------
    shortest, middle, longest : float or None
        2.5 %, 50 % and 97.5 % point of the shelf life counted from the making; None for never [month].
    share_never : float
        Part of the draws in which the limit is never met [-].
    models : dict of str to float
        Part of the draws in which each pooling model was chosen [-].
    words : str
        The range in plain English, marked as a model [-].
    """

    shortest: float | None
    middle: float | None
    longest: float | None
    share_never: float
    models: dict[str, float]
    words: str


def shelf_life_range(
    batches: Batches,
    doubt_months: Mapping[str, float],
    limit: float,
    side: Side = "lower",
    two_sided: bool = False,
    *,
    storage: Storage = "room",
    draws: int = 400,
    seed: int = 2,
) -> ShelfLifeRange:
    """Find the shelf life of batches whose making date is only known as a range.

    Parameters
    ----------
    batches : mapping of str to sequence of (float, float)
        For each batch its points: age at least, counted from the latest possible making [month], and measured
        value [any unit].
    doubt_months : mapping of str to float
        How much older each batch may be, 0 or left out when the date is known [month].
    limit : float
        The value that must not be crossed [unit of the values].
    side : str
        "lower" or "upper" [-].
    two_sided : bool
        Whether the 95 % limits are two-sided [-].
    storage : str
        "room", "refrigerator" or "freezer" [-].
    draws : int
        Number of random making dates tried, at least 100 [-].
    seed : int
        Start of the random numbers [-].

    Returns
    -------
    ShelfLifeRange
        The range from the making on [month].

    Raises
    ------
    LabError
        As `shelf_life`; or when a doubt is negative, names no batch, or too few draws are asked for.

    Notes
    -----
    Any day of the range is taken as likely as any other, one shift for all points of a batch, since the days of
    measuring are known (rectangular distribution, JCGM 100:2008, 4.3.7); each draw is evaluated after ICH Q1E.

    Examples
    --------
    >>> points = [(240, 99.0), (252, 98.9), (264, 98.4), (276, 98.2)]
    >>> found = shelf_life_range({"old": points}, {"old": 12}, limit=97)
    >>> round(found.longest - found.shortest) in (11, 12)
    True
    """
    _refuse_bad_doubt(batches, doubt_months, draws)
    generator = np.random.default_rng(seed)
    months: list[float] = []
    models: dict[str, float] = {}
    for _ in range(draws):
        shifted = {}
        for batch, points in batches.items():
            shift = float(generator.uniform(0, doubt_months.get(batch, 0.0)))
            shifted[batch] = [(month + shift, value) for month, value in points]
        found = shelf_life(shifted, limit, side, two_sided, storage=storage)
        months.append(NEVER if found.months is None else found.months)
        models[found.model] = models.get(found.model, 0.0) + 1 / draws
    return _summed_up(months, models)


def _refuse_bad_doubt(batches: Batches, doubt_months: Mapping[str, float], draws: int) -> None:
    for batch, doubt in doubt_months.items():
        if batch not in batches:
            raise LabError(
                "doubt-without-batch",
                "a doubt of {doubt} months is given for batch {batch}, which has no values: enter them or drop it.",
                batch=batch,
                doubt=doubt,
            )
        if not 0 <= doubt < NEVER:
            raise LabError(
                "doubt-negative",
                "a doubt of {doubt} months for batch {batch} cannot be: give how much older it may be, 0 or more.",
                batch=batch,
                doubt=doubt,
            )
    if draws < FEWEST_DRAWS:
        raise LabError(
            "too-few-draws",
            "{draws} draws give no range: ask for at least {fewest}.",
            draws=draws,
            fewest=FEWEST_DRAWS,
        )


def _summed_up(months: list[float], models: dict[str, float]) -> ShelfLifeRange:
    cuts = quantiles(months, n=40, method="inclusive")  # steps of 2.5 %
    shortest, middle, longest = (None if cut >= NEVER / 2 else cut for cut in (cuts[0], cuts[19], cuts[38]))
    share_never = sum(month >= NEVER for month in months) / len(months)
    if shortest is None:
        words = "By the model the limit is never met, whatever the making dates. Keep looking."
    elif longest is None:
        words = f"{shortest:.0f} months or more by the model: for some making dates the limit is never met."
    else:
        words = (
            f"{shortest:.0f} to {longest:.0f} months by the model, with the doubt of the making dates in it."
        )
    return ShelfLifeRange(shortest, middle, longest, share_never, models, words)
