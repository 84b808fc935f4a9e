"""Yield against theory, and against what this preparation has given before."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

from labstock.chemistry import amounts
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat

FEWEST_RUNS = 5
MAD_TO_SIGMA = 1.4826
WIDTH_IN_SIGMA = 3.0


@dataclass(frozen=True)
class ExpectedRange:
    """What this preparation has given before.

    Parameters
    ----------
    runs : int
        Number of earlier runs [-].
    middle, low, high : float, optional
        Median and the limits about it; None under five runs [%].
    """

    runs: int
    middle: float | None = None
    low: float | None = None
    high: float | None = None

    @property
    def words(self) -> str:
        """The range, or that there is no verdict yet [-]."""
        if self.middle is None or self.low is None or self.high is None:
            return f"no verdict: {self.runs} earlier runs, at least {FEWEST_RUNS} are needed"
        return f"{self.low:.0f} to {self.high:.0f}\u00a0% expected, median {self.middle:.0f}\u00a0% of {self.runs} runs"

    def verdict(self, percent: UFloat) -> str:
        """Say how a yield compares with the range.

        Parameters
        ----------
        percent : UFloat
            The yield [%].

        Returns
        -------
        str
            "as expected", "low", "high" or "no verdict"; low and high only beyond the doubt 2u [-].
        """
        if self.low is None or self.high is None:
            return "no verdict"
        if percent.n + 2 * percent.s < self.low:
            return "low"
        return "high" if percent.n - 2 * percent.s > self.high else "as expected"


def theoretical_mass_g(
    limiting_amount_mmol: float | UFloat,
    coefficient_ratio: Fraction | float,
    molar_mass_g_per_mol: float | UFloat,
) -> UFloat:
    """Find the mass of pure product at 100 % yield.

    Parameters
    ----------
    limiting_amount_mmol : float or UFloat
        Effective amount of the limiting reagent [mmol].
    coefficient_ratio : Fraction or float
        Coefficient of the product over that of the limiting reagent [-].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the product [g/mol].

    Returns
    -------
    UFloat
        Theoretical mass [g].

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> round(theoretical_mass_g(1.274 / 159.609 * 1000, 1, 63.546).n, 4)  # Cu from CuSO4
    0.5072
    """
    molar_mass = amounts.positive(molar_mass_g_per_mol, "molar mass of the product", "g/mol")
    amount = amounts.positive(limiting_amount_mmol, "amount of the limiting reagent", "mmol")
    return amount * _ratio(coefficient_ratio) * molar_mass / 1000


def percent_yield(
    product_mass_g: float | UFloat,
    product_fraction: float | UFloat,
    limiting_amount_mmol: float | UFloat,
    coefficient_ratio: Fraction | float,
    molar_mass_g_per_mol: float | UFloat,
) -> UFloat:
    """Find the yield of pure product against theory.

    Inputs that enter twice (one balance, one purity) stay correlated as long as the same value object is passed.

    Parameters
    ----------
    product_mass_g : float or UFloat
        Mass of product as isolated; zero is a yield too [g].
    product_fraction : float or UFloat
        Purity of the product, w/w [g/g].
    limiting_amount_mmol : float or UFloat
        Effective amount of the limiting reagent [mmol].
    coefficient_ratio : Fraction or float
        Coefficient of the product over that of the limiting reagent [-].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the product [g/mol].

    Returns
    -------
    UFloat
        Yield [%].

    Notes
    -----
    Source: definition; propagation by JCGM 100:2008, 5.1 and 5.2.

    Examples
    --------
    >>> round(percent_yield(0.392, 1, 1.274 / 159.609 * 1000, 1, 63.546).n, 1)
    77.3
    """
    mass = amounts.sure(product_mass_g)
    if mass.n < 0:
        raise LabError(
            "negative-mass",
            "The mass of product is {mass:g}\u00a0g: it cannot be below zero. Check the tare.",
            mass=mass.n,
        )
    pure = mass * amounts.mass_fraction(product_fraction, "purity of the product")
    theory = theoretical_mass_g(limiting_amount_mmol, coefficient_ratio, molar_mass_g_per_mol)
    return pure / theory * 100


def yield_problem(percent: UFloat) -> str:
    """Say what a yield above 100 % means; empty when there is nothing to say.

    Parameters
    ----------
    percent : UFloat
        The yield [%].

    Returns
    -------
    str
        The remark [-].

    Notes
    -----
    Source: conservation of mass.

    Examples
    --------
    >>> yield_problem(amounts.sure(85))
    ''
    """
    over = percent.n - 100
    if over <= 0:
        return ""
    if over <= 2 * percent.s:
        return f"{percent.n:.1f}\u00a0% is above 100\u00a0% but within its doubt of ±\u00a0{2 * percent.s:.1f}\u00a0%"
    return (
        f"{percent.n:.1f}\u00a0% is more than can be: the product may be wet or impure, "
        f"or an amount is wrong. Dry to constant mass and check the purity."
    )


def expected_range(history_percent: Sequence[float]) -> ExpectedRange:
    """Find the range in which a yield of this preparation usually falls.

    Parameters
    ----------
    history_percent : sequence of float
        Yields of earlier runs [%].

    Returns
    -------
    ExpectedRange
        Median ± 3·1.4826·MAD, not below 0; no verdict under five runs [%].

    Notes
    -----
    Source: common practice, no source; 1.4826 makes the median absolute deviation of a normal
    distribution its standard deviation.

    Examples
    --------
    >>> expected_range([80, 82, 79, 81, 60]).words
    '76 to 84\\xa0% expected, median 80\\xa0% of 5 runs'
    """
    runs = len(history_percent)
    if runs < FEWEST_RUNS:
        return ExpectedRange(runs)
    middle = float(median(history_percent))
    mad = float(median(abs(percent - middle) for percent in history_percent))
    half = WIDTH_IN_SIGMA * MAD_TO_SIGMA * mad
    return ExpectedRange(runs, middle, max(middle - half, 0.0), middle + half)


def _ratio(coefficient_ratio: Fraction | float) -> float:
    if coefficient_ratio <= 0:
        raise LabError(
            "bad-ratio",
            "A ratio of coefficients of {ratio} cannot be: both coefficients are above zero. Correct the equation.",
            ratio=coefficient_ratio,
        )
    return float(coefficient_ratio)
