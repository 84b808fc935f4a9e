"""What water does to a moisture-sensitive bottle: an estimate, marked as one, never in place of an assay.

The priors are starting values; a lab replaces them by what its own assays show.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from math import exp

from labstock.chemistry.amounts import mass_fraction, positive, sure
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact, rectangle

WATER_G_PER_MOL = 18.015
GAS_CONSTANT = 8.314462618

LEAK_G_PER_MONTH = {"good": (0.005, 0.02), "worn": (0.1, 0.5), "sealed": (0.0, 0.0)}
"""Water let in by a closed cap of a 500 mL bottle [g/month]; from memory, to be learned from assays."""

EVENT_WATER_G = {"wet pipette": (0.01, 0.05), "opened cold": (0.01, 0.1), "drop of water": (0.025, 0.075)}
"""Water brought in by one mishap [g]; common practice, no source."""

HEADSPACE_SHARE_SWAPPED = (0.2, 1.0)
"""Part of the air above the liquid that one opening swaps [-]; common practice, no source."""


@dataclass(frozen=True)
class MoistureClass:
    """What one mole of a kind of substance does with water.

    Parameters
    ----------
    name : str
        The kind [-].
    water_per_mol : int
        Water used up [mol/mol].
    acid_per_mol : int
        Acid groups formed, hydrogen halide included [mol/mol].
    gas_per_mol : int
        Hydrogen formed [mol/mol].
    words : str
        The reaction in words [-].
    """

    name: str
    water_per_mol: int
    acid_per_mol: int
    gas_per_mol: int
    words: str


CLASSES = {
    each.name: each
    for each in (
        MoistureClass("anhydride", 1, 2, 0, "(RCO)2O + H2O → 2 RCOOH"),
        MoistureClass("acyl halide", 1, 2, 0, "RCOX + H2O → RCOOH + HX: pressure in a closed bottle"),
        MoistureClass("sulfonyl halide", 1, 2, 0, "RSO2X + H2O → RSO3H + HX: pressure in a closed bottle"),
        MoistureClass("hydride", 1, 0, 1, "MH + H2O → MOH + H2: pressure in a closed bottle"),
    )
}
"""By kind; metal alkyls and Grignard reagents are not modelled, their titre is measured."""


@dataclass(frozen=True)
class Exposure:
    """What happened to a container since a day.

    Parameters
    ----------
    openings : int
        Times opened [-].
    headspace_mL : float
        Air above the content, on average [mL].
    months_closed : float
        Time on the shelf [months].
    temperature_C : float
        Temperature of the room [°C].
    humidity_percent : UFloat
        Relative humidity of the room [%].
    cap : str
        "good", "worn" or "sealed" (never opened) [-].
    events : sequence of str
        Mishaps: "wet pipette", "opened cold", "drop of water" [-].
    leak_g_per_month : UFloat, optional
        Leak of this cap as learned from assays; goes before the prior of `cap` [g/month].
    since : date, optional
        First day counted [-].
    """

    openings: int
    headspace_mL: float
    months_closed: float
    temperature_C: float = 23.0
    humidity_percent: UFloat = field(default_factory=lambda: rectangle(30, 70, "humidity"))
    cap: str = "good"
    events: Sequence[str] = ()
    leak_g_per_month: UFloat | None = None
    since: date | None = None


@dataclass(frozen=True)
class MoistureModel:
    """A bottle of one moisture-sensitive substance and what it was exposed to; a model for `purity.effective`.

    Parameters
    ----------
    kind : str
        Key of `CLASSES` [-].
    molar_mass_g_per_mol : UFloat or float
        Molar mass of the substance [g/mol].
    content_g : float
        Content of the container, on average over the time [g].
    exposure : Exposure
        What happened [-].
    """

    kind: str
    molar_mass_g_per_mol: UFloat | float
    content_g: float
    exposure: Exposure

    @property
    def since(self) -> date | None:
        """First day counted [-]."""
        return self.exposure.since

    @property
    def water_g(self) -> UFloat:
        """Water taken up [g]."""
        return water_taken_up_g(self.exposure)

    @property
    def words(self) -> str:
        """What the model counted [-]."""
        exposure = self.exposure
        mishaps = f", {', '.join(exposure.events)}" if exposure.events else ""
        return (
            f"lowered by a moisture model ({exposure.openings} openings, {exposure.months_closed:g} months, "
            f"{exposure.cap} cap{mishaps}; not a measurement)"
        )

    def fraction_after(self, fraction: UFloat) -> UFloat:
        """Give the purity now, from the purity then.

        Parameters
        ----------
        fraction : UFloat
            Purity then, w/w [g/g].

        Returns
        -------
        UFloat
            Purity now, w/w [g/g].
        """
        share = self.water_g / positive(self.content_g, "content", "g")
        return fraction_after_water(fraction, share, self.molar_mass_g_per_mol, self.kind)


def moisture_class(kind: str) -> MoistureClass:
    """Find how a kind of substance reacts with water.

    Parameters
    ----------
    kind : str
        "anhydride", "acyl halide", "sulfonyl halide" or "hydride" [-].

    Returns
    -------
    MoistureClass
        Water, acid and gas per mole [mol/mol].

    Notes
    -----
    Source: textbook chemistry.

    Examples
    --------
    >>> moisture_class("anhydride").acid_per_mol
    2
    """
    if kind not in CLASSES:
        raise LabError(
            "no-moisture-model",
            "There is no moisture model for {kind}: measure the purity or the titre. Models exist for {known}.",
            kind=kind,
            known=", ".join(CLASSES),
        )
    return CLASSES[kind]


def destroyed_g_per_g(molar_mass_g_per_mol: float | UFloat, kind: str = "anhydride") -> UFloat:
    """Find the mass of substance that one gram of water destroys.

    Parameters
    ----------
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    kind : str
        Key of `CLASSES` [-].

    Returns
    -------
    UFloat
        Substance destroyed per water [g/g].

    Notes
    -----
    Source: stoichiometry of the hydrolysis.

    Examples
    --------
    >>> round(destroyed_g_per_g(102.089).n, 2)  # acetic anhydride
    5.67
    """
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return molar_mass / (WATER_G_PER_MOL * moisture_class(kind).water_per_mol)


def fraction_after_water(
    fraction: float | UFloat,
    water_g_per_g: float | UFloat,
    molar_mass_g_per_mol: float | UFloat,
    kind: str = "anhydride",
) -> UFloat:
    """Find the purity after water was taken up, by mass balance.

    The water stays in the bottle as part of the product, so the whole gets heavier, too.

    Parameters
    ----------
    fraction : float or UFloat
        Purity before, w/w [g/g].
    water_g_per_g : float or UFloat
        Water taken up per mass of content before [g/g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    kind : str
        Key of `CLASSES`; the hydrogen that leaves a hydride is left out of the balance [-].

    Returns
    -------
    UFloat
        Purity after, w/w [g/g].

    Notes
    -----
    Source: conservation of mass, p = (p₀ - w·M/M_water)/(1 + w).

    Examples
    --------
    >>> round(fraction_after_water(0.99, 0.003, 102.089).n, 3)
    0.97
    """
    before, water = mass_fraction(fraction), sure(water_g_per_g)
    if water.n < 0:
        raise LabError(
            "negative-water", "Water taken up is {water:g}\u00a0g/g: it cannot be below zero.", water=water.n
        )
    left = before - water * destroyed_g_per_g(molar_mass_g_per_mol, kind)
    if left.n <= 0:
        raise LabError(
            "all-destroyed",
            "{water:.1f}\u00a0% of water is enough to destroy all of it: measure the purity before use.",
            water=water.n * 100,
        )
    return left / (1 + water)


def acid_formed_mmol(
    lost_g: float | UFloat, molar_mass_g_per_mol: float | UFloat, kind: str = "anhydride"
) -> UFloat:
    """Find the acid groups formed when substance is lost to water: as many as base they will eat.

    Parameters
    ----------
    lost_g : float or UFloat
        Mass of substance lost to water [g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    kind : str
        Key of `CLASSES` [-].

    Returns
    -------
    UFloat
        Acid groups, equal to the base needed on top [mmol].

    Notes
    -----
    Source: stoichiometry of the hydrolysis.

    Examples
    --------
    >>> round(acid_formed_mmol(1.0, 102.089).n, 1)  # 1 % of 100 g acetic anhydride
    19.6
    """
    lost = sure(lost_g)
    if lost.n == 0:
        return exact(0)
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return positive(lost, "lost mass", "g") / molar_mass * 1000 * moisture_class(kind).acid_per_mol


def extra_base_mmol(
    dispensed_g: float | UFloat,
    label_fraction: float | UFloat,
    effective_fraction: float | UFloat,
    molar_mass_g_per_mol: float | UFloat,
    kind: str = "anhydride",
) -> UFloat:
    """Find the base that the acid in a dispensed portion eats, on top of what the reaction needs.

    Parameters
    ----------
    dispensed_g : float or UFloat
        Mass dispensed, impure as it is [g].
    label_fraction : float or UFloat
        Purity before water came in, w/w [g/g].
    effective_fraction : float or UFloat
        Purity now, w/w [g/g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    kind : str
        Key of `CLASSES` [-].

    Returns
    -------
    UFloat
        Base needed on top; zero when nothing was lost [mmol].

    Notes
    -----
    Source: conservation of mass: p = (p₀ - w·k)/(1 + w) gives the water w per mass before, k being the mass
    destroyed per mass of water.

    Examples
    --------
    >>> round(extra_base_mmol(10.0, 0.99, 0.936, 102.089).n, 2)
    9.01
    """
    before, now = mass_fraction(label_fraction), mass_fraction(effective_fraction)
    if before.n <= now.n:
        return exact(0)
    per_water = destroyed_g_per_g(molar_mass_g_per_mol, kind)
    water_per_g_now = (before - now) / (per_water + before)
    lost = positive(dispensed_g, "mass dispensed", "g") * water_per_g_now * per_water
    return acid_formed_mmol(lost, molar_mass_g_per_mol, kind)


def vapour_pressure_Pa(temperature_C: float) -> float:
    """Give the saturation pressure of water vapour.

    Parameters
    ----------
    temperature_C : float
        Temperature, -20 to 60 °C [°C].

    Returns
    -------
    float
        Pressure, 0.3 % low at 20 to 25 °C [Pa].

    Notes
    -----
    Source: Magnus formula with 611.2 Pa, 17.62 and 243.12 °C.

    Examples
    --------
    >>> round(vapour_pressure_Pa(25), 1)
    3160.1
    """
    if not -20 <= temperature_C <= 60:
        raise LabError(
            "outside-formula",
            "{temperature:g}\u00a0°C is outside the formula (-20 to 60\u00a0°C): enter the room's temperature.",
            temperature=temperature_C,
        )
    return 611.2 * exp(17.62 * temperature_C / (243.12 + temperature_C))


def absolute_humidity_mg_per_L(temperature_C: float, humidity_percent: float | UFloat) -> UFloat:
    """Find the mass of water in air.

    Parameters
    ----------
    temperature_C : float
        Temperature of the air [°C].
    humidity_percent : float or UFloat
        Relative humidity, 0 to 100 [%].

    Returns
    -------
    UFloat
        Water in the air, the same number in g/m³ [mg/L].

    Notes
    -----
    Source: Magnus formula and the ideal gas law.

    Examples
    --------
    >>> round(absolute_humidity_mg_per_L(23, 50).n)
    10
    """
    humidity = sure(humidity_percent)
    if not 0 <= humidity.n <= 100:
        raise LabError(
            "bad-humidity",
            "A relative humidity of {humidity:g}\u00a0% cannot be: it lies between 0 and 100\u00a0%. Read the hygrometer again.",
            humidity=humidity.n,
        )
    pressure = humidity / 100 * vapour_pressure_Pa(temperature_C)
    return pressure * WATER_G_PER_MOL / (GAS_CONSTANT * (temperature_C + 273.15))


def water_taken_up_g(exposure: Exposure) -> UFloat:
    """Estimate the water that came into a container.

    Parameters
    ----------
    exposure : Exposure
        What happened to it [-].

    Returns
    -------
    UFloat
        Water, a model with a wide band [g].

    Notes
    -----
    Source: ours: openings · headspace · humidity + leak of the closed cap + mishaps; priors as documented on
    the tables of this module.

    Examples
    --------
    >>> round(water_taken_up_g(Exposure(10, 250, 6)).n, 2)
    0.09
    """
    _refuse_bad_exposure(exposure)
    humidity = absolute_humidity_mg_per_L(exposure.temperature_C, exposure.humidity_percent)
    swapped = rectangle(*HEADSPACE_SHARE_SWAPPED, "share of headspace swapped")
    by_opening = swapped * exposure.openings * exposure.headspace_mL / 1e6 * humidity
    leak = _leak_g_per_month(exposure) * exposure.months_closed
    mishaps = sum((rectangle(*EVENT_WATER_G[event], event) for event in exposure.events), start=exact(0))
    return by_opening + leak + mishaps


def leak_from_assays_g_per_month(
    first_fraction: UFloat,
    second_fraction: UFloat,
    months: float,
    content_g: float,
    molar_mass_g_per_mol: float | UFloat,
    kind: str = "anhydride",
) -> UFloat:
    """Learn the leak of a cap from two assays, everything else being small.

    Parameters
    ----------
    first_fraction, second_fraction : UFloat
        Purity at the earlier and the later assay, w/w [g/g].
    months : float
        Time between them [months].
    content_g : float
        Content of the container over that time [g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    kind : str
        Key of `CLASSES` [-].

    Returns
    -------
    UFloat
        Water let in; below zero when the later assay is the higher one [g/month].

    Notes
    -----
    Source: conservation of mass, as in `fraction_after_water`.

    Examples
    --------
    >>> round(leak_from_assays_g_per_month(exact(0.99), exact(0.97), 6, 400, 102.089).n, 2)
    0.2
    """
    per_water = destroyed_g_per_g(molar_mass_g_per_mol, kind)
    first, second = mass_fraction(first_fraction), mass_fraction(second_fraction)
    water_per_g = (first - second) / (per_water + second)
    return water_per_g * positive(content_g, "content", "g") / positive(months, "time", "months")


def decision_line(planned_equiv: float, effective_fraction: UFloat, label_fraction: UFloat) -> str:
    """Say what the purity now does to the equivalents that were planned with the label.

    Parameters
    ----------
    planned_equiv : float
        Equivalents planned with the label's purity [mol/mol].
    effective_fraction : UFloat
        Purity now, w/w [g/g].
    label_fraction : UFloat
        Purity the plan was made with, w/w [g/g].

    Returns
    -------
    str
        One line; it asks for a measurement where less than 1 equiv may be left [-].

    Notes
    -----
    Source: ours; "may" is two standard uncertainties (JCGM 100:2008, 6.3.3).

    Examples
    --------
    >>> decision_line(1.05, exact(0.936), exact(0.99)).replace("\\u00a0", " ")
    'at 93.6 % your 1.05 equiv is 0.99: measure before you start'
    """
    planned = positive(planned_equiv, "number of equivalents", "equiv", 1e4)
    now = planned * mass_fraction(effective_fraction) / mass_fraction(label_fraction, "purity on the label").n
    start = f"at {effective_fraction.n * 100:.1f}\u00a0% your {planned.n:.2f} equiv is"
    if now.n < 1:
        return f"{start} {now.n:.2f}: measure before you start"
    if now.n - 2 * now.s < 1:
        low = now.n - 2 * now.s
        return f"{start} {now.n:.2f}, and may be as low as {low:.2f}: measure before you start"
    return f"{start} {now.n:.2f}: still an excess"


def dried_over_sieves_ppm(days: float, start_ppm: float, end_ppm: float, rate_per_day: float) -> float:
    """Estimate the water left in a solvent that stands over fresh sieves.

    Parameters
    ----------
    days : float
        Time over the sieves [days].
    start_ppm : float
        Water at the start [mg/kg].
    end_ppm : float
        Water that stays in the end [mg/kg].
    rate_per_day : float
        Rate of drying, learned from titrations [1/day].

    Returns
    -------
    float
        Water now, a model [mg/kg].

    Notes
    -----
    Source: first-order approach to an end value; common practice, no source.

    Examples
    --------
    >>> round(dried_over_sieves_ppm(3, 100, 5, 1.5))
    6
    """
    for value, what, unit in ((start_ppm, "water at the start", "ppm"), (rate_per_day, "rate", "1/day")):
        positive(value, what, unit)
    return end_ppm + (start_ppm - end_ppm) * exp(-rate_per_day * days)


def _leak_g_per_month(exposure: Exposure) -> UFloat:
    if exposure.leak_g_per_month is not None:
        return exposure.leak_g_per_month
    return rectangle(*LEAK_G_PER_MONTH[exposure.cap], "leak of the cap")


def _refuse_bad_exposure(exposure: Exposure) -> None:
    for value, what, unit in (
        (exposure.openings, "number of openings", ""),
        (exposure.headspace_mL, "headspace", "\u00a0mL"),
        (exposure.months_closed, "time on the shelf", "\u00a0months"),
    ):
        if value < 0:
            raise LabError(
                "negative-exposure",
                "The {what} is {value:g}{unit}: it cannot be below zero. Correct it, or leave it at 0.",
                what=what,
                value=value,
                unit=unit,
            )
    _refuse_unknown(exposure.cap, LEAK_G_PER_MONTH, "cap")
    for event in exposure.events:
        _refuse_unknown(event, EVENT_WATER_G, "mishap")


def _refuse_unknown(value: str, known: dict[str, tuple[float, float]], what: str) -> None:
    if value not in known:
        raise LabError(
            "unknown-word",
            'The {what} "{value}" is not known: choose one of {known}.',
            what=what,
            value=value,
            known=", ".join(known),
        )
