"""Getting the product out: recovery, washing, drying, mass balance, melting range."""

from collections.abc import Mapping
from dataclasses import dataclass

from labstock.chemistry.amounts import positive, sure
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact

ASK_ABOVE_PERCENT = 5.0
"""Unexplained part of a mass balance above which the person is asked (common practice, no source)."""

LITERATURE_TOLERANCE_K = 2.0
"""Melting points of three compilations differ by up to 2 K."""

SHARP_RANGE_K = 2.0
"""A pure substance melts within 2 K (common practice, no source)."""


@dataclass(frozen=True)
class Recovery:
    """What a recrystallisation gives back.

    Parameters
    ----------
    recovered_g : UFloat
        Crystals expected [g].
    percent : UFloat
        The same, of what was dissolved [%].
    lost_g : UFloat
        Left in the mother liquor [g].
    is_dissolved : bool
        True when everything dissolves hot [-].
    """

    recovered_g: UFloat
    percent: UFloat
    lost_g: UFloat
    is_dissolved: bool


@dataclass(frozen=True)
class MassBalance:
    """What went in against what came out.

    Parameters
    ----------
    in_g, out_g : UFloat
        The two sums [g].
    unexplained_g : UFloat
        In - out [g].
    percent : UFloat
        Unexplained part of what went in [%].
    is_to_be_explained : bool
        True when it is above the limit or above its own doubt, whichever is larger [-].
    """

    in_g: UFloat
    out_g: UFloat
    unexplained_g: UFloat
    percent: UFloat
    is_to_be_explained: bool

    @property
    def words(self) -> str:
        """One line for the batch record [-]."""
        size, doubt = abs(self.percent.n), self.percent.s
        missing = show(size, "%", doubt) if doubt else f"{size:.1f}\u00a0%"
        kind = "unexplained" if self.unexplained_g.n >= 0 else "more out than in"
        return f"{missing} {kind}: {'find out where' if self.is_to_be_explained else 'nothing to explain'}"


@dataclass(frozen=True)
class MeltingRange:
    """A melting range as observed: first drop and clear melt.

    Parameters
    ----------
    low_C, high_C : float
        First liquid and last solid [°C].
    """

    low_C: float
    high_C: float

    def __post_init__(self) -> None:
        if not -200 <= self.low_C <= self.high_C <= 1000:
            raise LabError(
                "bad-melting-range",
                "A melting range of {low:g} to {high:g}\u00a0°C cannot be: give the first drop, then the clear "
                "melt, between -200 and 1000\u00a0°C.",
                low=self.low_C,
                high=self.high_C,
            )


def minimum_solvent_mL(mass_g: float | UFloat, hot_g_per_100_mL: float | UFloat) -> UFloat:
    """Find the least hot solvent that dissolves a mass.

    Parameters
    ----------
    mass_g : float or UFloat
        Crude product [g].
    hot_g_per_100_mL : float or UFloat
        Solubility hot [g/100 mL].

    Returns
    -------
    UFloat
        Volume of solvent [mL].

    Notes
    -----
    Source: definition of the solubility.

    Examples
    --------
    >>> round(minimum_solvent_mL(5.0, 5.0).n)
    100
    """
    mass = positive(mass_g, "crude mass", "g")
    return mass / positive(hot_g_per_100_mL, "solubility hot", "g/100 mL") * 100


def recovery(
    mass_g: float | UFloat,
    solvent_mL: float | UFloat,
    hot_g_per_100_mL: float | UFloat,
    cold_g_per_100_mL: float | UFloat,
) -> Recovery:
    """Find what a recrystallisation gives back.

    Parameters
    ----------
    mass_g : float or UFloat
        Product put in [g].
    solvent_mL : float or UFloat
        Solvent [mL].
    hot_g_per_100_mL : float or UFloat
        Solubility hot [g/100 mL].
    cold_g_per_100_mL : float or UFloat
        Solubility cold, below the hot one [g/100 mL].

    Returns
    -------
    Recovery
        Crystals [g], recovery [%], loss in the mother liquor [g].

    Notes
    -----
    Source: conservation of mass: the cold mother liquor keeps what the cold solubility allows.

    Examples
    --------
    >>> round(recovery(5.0, 100, 5.5, 0.53).percent.n, 1)
    89.4
    """
    mass, solvent = positive(mass_g, "product", "g"), positive(solvent_mL, "solvent", "mL")
    hot = positive(hot_g_per_100_mL, "solubility hot", "g/100 mL")
    cold = positive(cold_g_per_100_mL, "solubility cold", "g/100 mL")
    if cold.n >= hot.n:
        raise LabError(
            "not-a-recrystallisation",
            "The solubility cold ({cold:g}\u00a0g/100\u00a0mL) is not below the one hot "
            "({hot:g}\u00a0g/100\u00a0mL): swap them or take another solvent.",
            cold=cold.n,
            hot=hot.n,
        )
    kept = cold * solvent / 100
    lost = kept if kept.n < mass.n else mass
    recovered = mass - lost
    return Recovery(recovered, recovered / mass * 100, lost, (hot * solvent / 100).n >= mass.n)


def wash_loss_g(
    crystals_g: float | UFloat, washes_mL: float | UFloat, cold_g_per_100_mL: float | UFloat
) -> UFloat:
    """Find the most that washing with cold solvent dissolves.

    Parameters
    ----------
    crystals_g : float or UFloat
        Crystals on the filter [g].
    washes_mL : float or UFloat
        All washes together [mL].
    cold_g_per_100_mL : float or UFloat
        Solubility at the temperature of the wash [g/100 mL].

    Returns
    -------
    UFloat
        Upper limit of the loss: the wash is taken as saturated [g].

    Notes
    -----
    Source: conservation of mass.

    Examples
    --------
    >>> wash_loss_g(4.5, 20, 0.5).n
    0.1
    """
    crystals = positive(crystals_g, "crystals", "g")
    loss = (
        positive(cold_g_per_100_mL, "solubility cold", "g/100 mL") * positive(washes_mL, "wash", "mL") / 100
    )
    return loss if loss.n < crystals.n else crystals


def loss_on_drying(wet_g: float | UFloat, dry_g: float | UFloat, vessel_g: float | UFloat = 0.0) -> UFloat:
    """Find the loss on drying.

    Parameters
    ----------
    wet_g : float or UFloat
        Mass before drying, with the vessel [g].
    dry_g : float or UFloat
        Mass after drying, with the vessel [g].
    vessel_g : float or UFloat
        The empty vessel; pass the same value object for one weighing [g].

    Returns
    -------
    UFloat
        Loss per mass before drying [g/g].

    Notes
    -----
    Source: definition (as in the pharmacopoeias' test for loss on drying).

    Examples
    --------
    >>> round(loss_on_drying(21.000, 20.995, 20.000).n, 4)
    0.005
    """
    wet, dry, vessel = sure(wet_g), sure(dry_g), sure(vessel_g)
    if wet.n <= vessel.n or dry.n < vessel.n:
        raise LabError(
            "lighter-than-vessel",
            "{wet:g}\u00a0g wet and {dry:g}\u00a0g dry cannot be with a vessel of {vessel:g}\u00a0g: "
            "weigh all three with the vessel.",
            wet=wet.n,
            dry=dry.n,
            vessel=vessel.n,
        )
    if dry.n - wet.n > 2 * (dry - wet).s + 1e-9:
        raise LabError(
            "heavier-after-drying",
            "It weighs {dry:g}\u00a0g dry and {wet:g}\u00a0g wet: swap the two, or weigh it again once cold.",
            dry=dry.n,
            wet=wet.n,
        )
    return (wet - dry) / (wet - vessel)


def mass_balance(
    inputs_g: Mapping[str, float | UFloat],
    outputs_g: Mapping[str, float | UFloat],
    ask_above_percent: float = ASK_ABOVE_PERCENT,
) -> MassBalance:
    """Set what went in against what came out.

    Parameters
    ----------
    inputs_g : mapping of str to float or UFloat
        Everything that went in, by name [g].
    outputs_g : mapping of str to float or UFloat
        Product, kept sample, waste, recovered solvent, by name [g].
    ask_above_percent : float
        Unexplained part above which the person is asked [%].

    Returns
    -------
    MassBalance
        The unexplained part [g] and [%].

    Notes
    -----
    Source: conservation of mass; asking above 5 % is common practice, no source.

    Examples
    --------
    >>> mass_balance({"all": 100.0}, {"product": 20.0, "waste": 77.0}).words
    '3.0\\xa0% unexplained: nothing to explain'
    """
    for name, mass in (*inputs_g.items(), *outputs_g.items()):
        if sure(mass).n < 0:
            raise LabError(
                "negative-mass",
                "The mass of {name} is {mass:g}\u00a0g: it cannot be below zero. Check the tare.",
                name=name,
                mass=sure(mass).n,
            )
    total_in = positive(_sum(inputs_g), "sum of what went in", "g")
    total_out = _sum(outputs_g)
    missing = total_in - total_out
    percent = missing / total_in * 100
    limit = max(ask_above_percent, 2 * percent.s)
    return MassBalance(total_in, total_out, missing, percent, abs(percent.n) > limit)


def compare_melting(
    observed: MeltingRange, literature: MeltingRange, reference: MeltingRange | None = None
) -> str:
    """Compare a melting range with literature and with a reference sample taken on the same apparatus.

    The reference sample, where there is one, takes the error of the thermometer out.

    Parameters
    ----------
    observed : MeltingRange
        The sample [°C].
    literature : MeltingRange
        Lowest and highest value of the literature [°C].
    reference : MeltingRange, optional
        A reference sample of the same substance, same apparatus, same day [°C].

    Returns
    -------
    str
        "agrees", or what differs and what it may mean; a melting range proves no identity [-].

    Notes
    -----
    Source: literature ± 2 K, as three compilations differ by that; a range wider than 2 K and below the
    literature is common practice for "impure or wet", no source.

    Examples
    --------
    >>> compare_melting(MeltingRange(113.5, 115), MeltingRange(114.3, 115))
    'agrees with the literature (114.3 to 115\\xa0°C)'
    """
    against, name = (reference, "reference sample") if reference is not None else (literature, "literature")
    limits = f"{name} ({_range(against)})"
    is_sharp = observed.high_C - observed.low_C <= SHARP_RANGE_K + _width(against)
    is_low = observed.low_C < against.low_C - LITERATURE_TOLERANCE_K
    if observed.high_C > against.high_C + LITERATURE_TOLERANCE_K:
        return (
            f"higher than the {limits}: heat more slowly, check the thermometer, or it is another substance"
        )
    if is_low and not is_sharp:
        return f"lower and wider than the {limits}: impure or wet"
    if is_low:
        return f"lower than the {limits}: check the thermometer with a standard, or it is another substance"
    if not is_sharp:
        return f"wider than the {limits}: heat more slowly, or dry and recrystallise"
    return f"agrees with the {limits}"


def _width(given: MeltingRange) -> float:
    return given.high_C - given.low_C


def _range(given: MeltingRange) -> str:
    if given.low_C == given.high_C:
        return f"{given.low_C:g}\u00a0°C"
    return f"{given.low_C:g} to {given.high_C:g}\u00a0°C"


def _sum(masses: Mapping[str, float | UFloat]) -> UFloat:
    return sum((sure(mass) for mass in masses.values()), start=exact(0))
