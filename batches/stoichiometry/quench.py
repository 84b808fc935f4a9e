"""Quenching what is left of a reactive reagent: water, heat, gas, neutraliser, rate, vessel.

Everything is worked out for the upper bound of what may be left (mean + 2u). No data, no number.
"""

from dataclasses import dataclass
from math import inf

from batches.stoichiometry.cautions import Caution, cautions_for
from batches.stoichiometry.lines import Problem
from labstock.chemistry.amounts import positive, sure
from labstock.chemistry.errors import LabError
from labstock.chemistry.thermochemistry import hydrolysis, neutralisation_kJ_per_mol
from labstock.chemistry.uncertain import UFloat, exact, half_width

WATER_G_PER_MOL = 18.015
WATER_J_PER_G_K = 4.18
ORGANIC_J_PER_G_K = 1.65
"""Acetic anhydride, 168.2 J/(mol·K) at 303 K (NIST Chemistry WebBook); most organic liquids hold more."""

VESSEL_TIMES_TOTAL = 3
VESSELS_ML = (10, 25, 50, 100, 250, 500, 1000, 2000, 3000, 5000, 10000, 20000)
HIGHEST_RISE_K = 30.0
"""Rise without any cooling that is taken as safe (common practice, no source)."""

STOP_ABOVE_START_K = 15.0
"""Rise during dosing at which to stop and wait (common practice, no source)."""


@dataclass(frozen=True)
class Neutraliser:
    """A base for the acid that a quench forms.

    Parameters
    ----------
    name : str
        The base [-].
    molar_mass_g_per_mol : float
        Its molar mass [g/mol].
    acid_per_mol : int
        Acid groups that one mole takes up [mol/mol].
    gas_per_acid : float
        Carbon dioxide set free per acid group [mol/mol].
    heat_kJ_per_acid : UFloat
        Enthalpy per acid group, below zero when heat is given off; uptake of heat is not counted [kJ/mol].
    source : str
        Where the heat comes from [-].
    """

    name: str
    molar_mass_g_per_mol: float
    acid_per_mol: int
    gas_per_acid: float
    heat_kJ_per_acid: UFloat
    source: str


NEUTRALISERS = {
    each.name: each
    for each in (
        Neutraliser(
            "sodium hydroxide", 39.997, 1, 0.0, neutralisation_kJ_per_mol(),
            "OpenStax, Chemistry 2e, appendix G: dissolved base",
        ),
        Neutraliser(
            "sodium hydrogen carbonate", 84.007, 1, 1.0, exact(0),
            "takes up heat by Hess's law (CRC table); not counted",
        ),
        Neutraliser(
            "sodium carbonate", 105.988, 2, 0.5, half_width(-13.4, 3.0, "dissolving sodium carbonate"),
            "from memory: dissolving it, -26.7 kJ/mol for two acid groups",
        ),
    )
}  # fmt: skip
"""By name; the heat of each is counted on top of the hydrolysis."""


@dataclass(frozen=True)
class QuenchPlan:
    """A worked-out quench; every number is for the upper bound of what may be left.

    Parameters
    ----------
    left_mmol : UFloat
        Reactive substance left, by mass balance [mmol].
    upper_mmol : float
        The same, mean + 2u [mmol].
    water_needed_g : float
        Water that the hydrolysis uses up [g].
    water_mL : float
        Water to have in the vessel [mL].
    heat_kJ : float
        Heat given off by the hydrolysis [kJ].
    rise_K : float
        Rise of temperature if nothing cools [K].
    gas_L : float
        Gas set free by hydrolysis and neutralising, at `start_C` and ordinary pressure [L].
    acid_mmol : float
        Acid groups formed [mmol].
    neutraliser_g : float
        Base for that acid [g].
    neutraliser_kJ : float
        Heat given off by neutralising [kJ].
    dosing_mL_per_min : float, optional
        Fastest dosing that the cooling holds [mL/min].
    dosing_min : float, optional
        Time for all of it at that rate [min].
    neutralising_min : float, optional
        Least time for adding the base [min].
    stop_above_C : float
        Stop and wait above this temperature [°C].
    vessel_mL : float
        Smallest vessel, at least three times the total [mL].
    cautions : tuple of Caution
        To print, with source [-].
    problems : list of Problem
        What to change [-].
    """

    left_mmol: UFloat
    upper_mmol: float
    water_needed_g: float
    water_mL: float
    heat_kJ: float
    rise_K: float
    gas_L: float
    acid_mmol: float
    neutraliser_g: float
    neutraliser_kJ: float
    dosing_mL_per_min: float | None
    dosing_min: float | None
    neutralising_min: float | None
    stop_above_C: float
    vessel_mL: float
    cautions: tuple[Caution, ...]
    problems: list[Problem]


@dataclass(frozen=True)
class Quench:
    """What is to be quenched, and how.

    Parameters
    ----------
    cas : str
        CAS number of the reactive substance [-].
    name : str
        Its name [-].
    left_mmol : UFloat
        What is left of it, see `left_mmol` [mmol].
    molar_mass_g_per_mol : UFloat
        Its molar mass [g/mol].
    density_g_per_mL : UFloat
        Its density, of the solid as well: it gives the volume [g/mL].
    mixture_mL : float, optional
        Volume of the mixture that is dosed; the substance alone when missing [mL].
    water_volumes : float
        Volumes of water per volume of reactive substance [mL/mL].
    neutraliser : str, optional
        Key of `NEUTRALISERS` [-].
    cooling_W : float, optional
        Heat that the bath takes away [W].
    start_C : float
        Temperature of the water at the start [°C].
    highest_rise_K : float
        Rise without cooling that the lab accepts [K].
    stop_above_start_K : float
        Rise during dosing at which to stop and wait [K].
    """

    cas: str
    name: str
    left_mmol: UFloat
    molar_mass_g_per_mol: UFloat
    density_g_per_mL: UFloat
    mixture_mL: float | None = None
    water_volumes: float = 10.0
    neutraliser: str | None = None
    cooling_W: float | None = None
    start_C: float = 20.0
    highest_rise_K: float = HIGHEST_RISE_K
    stop_above_start_K: float = STOP_ABOVE_START_K


def upper(value: UFloat) -> float:
    """Give the safe side of a value that is dangerous when large.

    Parameters
    ----------
    value : UFloat
        The value [any unit].

    Returns
    -------
    float
        Mean + 2u [unit of `value`].

    Notes
    -----
    Source: JCGM 100:2008, 6.3.3 (k = 2).

    Examples
    --------
    >>> upper(half_width(10, 3**0.5))
    12.0
    """
    return float(value.n + 2 * value.s)


def left_mmol(
    charged_mmol: float | UFloat, product_mmol: float | UFloat | None = None, per_product: float = 1.0
) -> UFloat:
    """Find what may be left of a reagent, by mass balance.

    Only what is found in the product counts as used up; without a product found, all of it is taken as left.

    Parameters
    ----------
    charged_mmol : float or UFloat
        What went in [mmol].
    product_mmol : float or UFloat, optional
        Product found [mmol].
    per_product : float
        Coefficient of the reagent over that of the product [mol/mol].

    Returns
    -------
    UFloat
        What may be left, not below zero [mmol].

    Notes
    -----
    Source: conservation of matter.

    Examples
    --------
    >>> left_mmol(105.0, 80.0).n
    25.0
    """
    charged = positive(charged_mmol, "amount charged", "mmol")
    if product_mmol is None:
        return charged
    left = charged - sure(product_mmol) * per_product
    return left if left.n > 0 else left - left.n


def gas_L(amount_mmol: float | UFloat, temperature_C: float = 20.0) -> UFloat:
    """Find the volume of a gas at ordinary pressure.

    Parameters
    ----------
    amount_mmol : float or UFloat
        Amount of gas [mmol].
    temperature_C : float
        Its temperature [°C].

    Returns
    -------
    UFloat
        Volume at 101 325 Pa [L].

    Notes
    -----
    Source: ideal gas law.

    Examples
    --------
    >>> round(gas_L(1000).n, 1)
    24.1
    """
    return sure(amount_mmol) * 8.314462618 * (temperature_C + 273.15) / 101325


def adiabatic_rise_K(heat_kJ: float | UFloat, heat_capacity_kJ_per_K: float | UFloat) -> UFloat:
    """Find the rise of temperature when nothing cools.

    Parameters
    ----------
    heat_kJ : float or UFloat
        Heat given off [kJ].
    heat_capacity_kJ_per_K : float or UFloat
        Heat capacity of everything in the vessel [kJ/K].

    Returns
    -------
    UFloat
        Rise [K].

    Notes
    -----
    Source: conservation of energy.

    Examples
    --------
    >>> round(adiabatic_rise_K(0.0500 * 55.83, 0.100 * 4.184).n, 2)
    6.67
    """
    return sure(heat_kJ) / positive(heat_capacity_kJ_per_K, "heat capacity", "kJ/K")


def dosing_mL_per_min(cooling_W: float, heat_kJ_per_mL: float | UFloat) -> UFloat:
    """Find the fastest dosing at which the cooling keeps up.

    Parameters
    ----------
    cooling_W : float
        Heat that the bath takes away [W].
    heat_kJ_per_mL : float or UFloat
        Heat given off per volume dosed [kJ/mL].

    Returns
    -------
    UFloat
        Rate [mL/min].

    Notes
    -----
    Source: conservation of energy; holds only when each portion reacts at once.

    Examples
    --------
    >>> round(dosing_mL_per_min(20, 0.618).n, 1)  # acetic anhydride into water
    1.9
    """
    cooling = positive(cooling_W, "cooling", "W", 1e6)
    return 60 * cooling / (positive(heat_kJ_per_mL, "heat", "kJ/mL") * 1000)


def vessel_mL(total_mL: float) -> float:
    """Choose a vessel for a quench.

    Parameters
    ----------
    total_mL : float
        Everything that will be in it [mL].

    Returns
    -------
    float
        The smallest usual size of at least three times that [mL].

    Notes
    -----
    Source: common practice, no source.

    Examples
    --------
    >>> vessel_mL(110)
    500
    """
    needed = positive(total_mL, "total volume", "mL").n * VESSEL_TIMES_TOTAL
    for size in VESSELS_ML:
        if size >= needed:
            return size
    raise LabError(
        "too-large-to-quench",
        "{total:.0f}\u00a0mL needs a vessel of {needed:.0f}\u00a0mL, larger than {largest}\u00a0mL: "
        "quench in portions.",
        total=sure(total_mL).n,
        needed=needed,
        largest=VESSELS_ML[-1],
    )


def plan_quench(quench: Quench) -> QuenchPlan:
    """Work out a quench with water, on the safe side.

    Parameters
    ----------
    quench : Quench
        What is left and how it is to be quenched [-].

    Returns
    -------
    QuenchPlan
        Water [mL], heat [kJ], rise [K], gas [L], neutraliser [g], rate [mL/min], vessel [mL], cautions.

    Notes
    -----
    Source: Hess's law over the table of `thermochemistry`; conservation of matter and energy.

    Examples
    --------
    >>> from labstock.chemistry.uncertain import exact
    >>> rest = Quench("108-24-7", "acetic anhydride", exact(106.0), exact(102.09), exact(1.082), cooling_W=20)
    >>> plan = plan_quench(rest)
    >>> round(plan.water_mL), plan.vessel_mL, round(plan.heat_kJ, 1)
    (100, 500, 6.5)
    """
    reaction = hydrolysis(quench.cas, quench.name)
    base = _neutraliser(quench.neutraliser)
    amount = _upper_left_mmol(quench)
    acid = amount * reaction.acid_groups
    substance_mL = amount / 1000 * _safe_volume_mL_per_mol(quench)
    water = substance_mL * positive(quench.water_volumes, "volume of water", "volumes", 1000).n
    heat = amount / 1000 * upper(-reaction.heat_kJ_per_mol)
    base_heat = acid / 1000 * max(upper(-base.heat_kJ_per_acid), 0.0) if base else 0.0
    dosed = max(quench.mixture_mL or 0.0, substance_mL)
    rise = adiabatic_rise_K(heat, _heat_capacity_kJ_per_K(quench, amount, water)).n
    gas = amount * reaction.hydrogen + (acid * base.gas_per_acid if base else 0.0)
    return QuenchPlan(
        left_mmol=quench.left_mmol,
        upper_mmol=amount,
        water_needed_g=amount / 1000 * reaction.water * WATER_G_PER_MOL,
        water_mL=water,
        heat_kJ=heat,
        rise_K=rise,
        gas_L=gas_L(gas, quench.start_C).n if gas else 0.0,
        acid_mmol=acid,
        neutraliser_g=acid / 1000 / base.acid_per_mol * base.molar_mass_g_per_mol if base else 0.0,
        neutraliser_kJ=base_heat,
        dosing_mL_per_min=_rate(quench, heat / dosed),
        dosing_min=_minutes(heat, quench.cooling_W),
        neutralising_min=_minutes(base_heat, quench.cooling_W) if base else None,
        stop_above_C=quench.start_C + quench.stop_above_start_K,
        vessel_mL=vessel_mL(water + dosed),
        cautions=cautions_for(reaction.kind, quench.neutraliser or ""),
        problems=_problems(
            quench, rise, heat, amount, water - amount / 1000 * reaction.water * WATER_G_PER_MOL
        ),
    )


def _neutraliser(name: str | None) -> Neutraliser | None:
    if name is None:
        return None
    if name not in NEUTRALISERS:
        raise LabError(
            "unknown-neutraliser",
            "no thermochemistry for {name} as a neutraliser: ask, or take {known}",
            name=name,
            known=" or ".join(NEUTRALISERS),
        )
    return NEUTRALISERS[name]


def _upper_left_mmol(quench: Quench) -> float:
    amount = upper(quench.left_mmol)
    if amount <= 0:
        raise LabError(
            "nothing-left",
            "By mass balance nothing of {name} is left ({amount:g}\u00a0mmol): test the mixture "
            "before you take it as quenched.",
            name=quench.name,
            amount=amount,
        )
    return amount


def _safe_volume_mL_per_mol(quench: Quench) -> float:
    molar_mass = positive(quench.molar_mass_g_per_mol, f"molar mass of {quench.name}", "g/mol")
    density = positive(quench.density_g_per_mL, f"density of {quench.name}", "g/mL", 22.7)
    return upper(molar_mass / density)


def _heat_capacity_kJ_per_K(quench: Quench, amount_mmol: float, water_mL: float) -> float:
    substance_g = amount_mmol / 1000 * quench.molar_mass_g_per_mol.n
    return float(water_mL * WATER_J_PER_G_K + substance_g * ORGANIC_J_PER_G_K) / 1000


def _rate(quench: Quench, heat_kJ_per_mL: float) -> float | None:
    if quench.cooling_W is None:
        return None
    return float(dosing_mL_per_min(quench.cooling_W, heat_kJ_per_mL).n)


def _minutes(heat_kJ: float, cooling_W: float | None) -> float | None:
    return None if cooling_W is None else heat_kJ * 1000 / cooling_W / 60


def _problems(
    quench: Quench, rise_K: float, heat_kJ: float, amount_mmol: float, spare_water_mL: float
) -> list[Problem]:
    problems = []
    if spare_water_mL < 0:
        message = f"{quench.water_volumes:g} volumes of water are {-spare_water_mL:.1f}\u00a0mL short of what reacts"
        problems.append(Problem("water-runs-out", f"{message}: take more"))
    if rise_K > quench.highest_rise_K:
        enough = _volumes_for(quench.highest_rise_K, quench, heat_kJ, amount_mmol)
        message = (
            f"{quench.water_volumes:g} volumes of water would heat up by {rise_K:.0f}\u00a0K without cooling: "
            f"take at least {enough:.0f} volumes"
        )
        problems.append(Problem("too-little-water", message))
    if quench.cooling_W is None:
        problems.append(
            Problem("no-cooling", "no cooling is given: enter its power in W to get a dosing rate")
        )
    return problems


def _volumes_for(rise_K: float, quench: Quench, heat_kJ: float, amount_mmol: float) -> float:
    substance_g = amount_mmol / 1000 * quench.molar_mass_g_per_mol.n
    water_g = (heat_kJ * 1000 / rise_K - substance_g * ORGANIC_J_PER_G_K) / WATER_J_PER_G_K
    volume = substance_g / quench.density_g_per_mL.n
    return float(-(-water_g // volume)) if volume else inf
