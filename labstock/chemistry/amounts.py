"""Mass, volume and amount of substance, one into the other, with their doubt.

A number given as float is taken as exact. Nothing missing is guessed: no density, no volume.
"""

from math import isfinite

from uncertainties.core import AffineScalarFunc

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact, half_width

DENSEST_G_PER_ML = 22.7  # osmium, 22.59 g/mL; anything above is a slip of units
LARGEST = 1e9
DROPS_PER_ML = 20


def sure(value: float | UFloat) -> UFloat:
    """Give any number the shape of a value with uncertainty.

    Parameters
    ----------
    value : float or UFloat
        The number; a plain one is taken as exact [any unit].

    Returns
    -------
    UFloat
        The same value [unit of `value`].

    Notes
    -----
    Source: ours; a convenience.

    Examples
    --------
    >>> sure(5).n
    5.0
    """
    return value if isinstance(value, AffineScalarFunc) else exact(float(value))


def positive(value: float | UFloat, what: str, unit: str, largest: float = LARGEST) -> UFloat:
    """Refuse a quantity that is not above zero, or that is absurd.

    Parameters
    ----------
    value : float or UFloat
        The quantity [`unit`].
    what : str
        What it is called in the refusal, such as "mass of aniline" [-].
    unit : str
        Its unit, as printed [-].
    largest : float
        The largest that is believed [`unit`].

    Returns
    -------
    UFloat
        The quantity [`unit`].

    Notes
    -----
    Source: ours; common sense of the bench.

    Examples
    --------
    >>> positive(5, "mass of aniline", "g").n
    5.0
    """
    number = sure(value)
    if not isfinite(number.n) or number.n <= 0:
        raise LabError(
            "not-positive",
            "The {what} is {value:g}\u00a0{unit}: it must be above zero. Check the number.",
            what=what,
            value=number.n,
            unit=unit,
        )
    if number.n > largest:
        raise LabError(
            "absurd",
            "The {what} is {value:g}\u00a0{unit}: more than {largest:g}\u00a0{unit} is not believed. Check the unit.",
            what=what,
            value=number.n,
            unit=unit,
            largest=largest,
        )
    return number


def mass_fraction(value: float | UFloat, what: str = "purity") -> UFloat:
    """Refuse a mass fraction outside 0 to 1.05.

    Assays up to 105 % are accepted: titrations scatter about 100 %.

    Parameters
    ----------
    value : float or UFloat
        The mass fraction [g/g].
    what : str
        What it is called in the refusal [-].

    Returns
    -------
    UFloat
        The mass fraction [g/g].

    Notes
    -----
    Source: common practice, no source.

    Examples
    --------
    >>> mass_fraction(0.98).n
    0.98
    """
    number = sure(value)
    if not 0 < number.n <= 1.05:
        raise LabError(
            "bad-fraction",
            "The {what} is {percent:g}\u00a0%: it lies above 0 and not over 105\u00a0%. Give 98\u00a0% as 0.98.",
            what=what,
            percent=number.n * 100,
        )
    return number


def density(value: float | UFloat, what: str = "density") -> UFloat:
    """Refuse a density that no liquid or solid has.

    Parameters
    ----------
    value : float or UFloat
        The density [g/mL].
    what : str
        What it is called in the refusal [-].

    Returns
    -------
    UFloat
        The density [g/mL].

    Notes
    -----
    Source: the densest element, osmium, has 22.59 g/mL (from memory: CRC Handbook).

    Examples
    --------
    >>> density(1.081).n
    1.081
    """
    return positive(value, what, "g/mL", DENSEST_G_PER_ML)


def amount_mmol(
    mass_g: float | UFloat, molar_mass_g_per_mol: float | UFloat, fraction: float | UFloat = 1.0
) -> UFloat:
    """Find the amount of substance in a weighed mass of impure material.

    Parameters
    ----------
    mass_g : float or UFloat
        Mass as weighed [g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    fraction : float or UFloat
        Effective purity, w/w [g/g].

    Returns
    -------
    UFloat
        Amount of the substance itself [mmol].

    Notes
    -----
    Source: definition, n = m·w/M.

    Examples
    --------
    >>> round(amount_mmol(5.0, 93.129, 0.99).n, 2)
    53.15
    """
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return positive(mass_g, "mass", "g") * mass_fraction(fraction) / molar_mass * 1000


def mass_g(
    amount_mmol: float | UFloat, molar_mass_g_per_mol: float | UFloat, fraction: float | UFloat = 1.0
) -> UFloat:
    """Find the mass of impure material to weigh for a wanted amount.

    Parameters
    ----------
    amount_mmol : float or UFloat
        Wanted amount of the substance itself [mmol].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the substance [g/mol].
    fraction : float or UFloat
        Effective purity, w/w [g/g].

    Returns
    -------
    UFloat
        Mass to weigh [g].

    Notes
    -----
    Source: definition, m = n·M/w.

    Examples
    --------
    >>> round(mass_g(53.15, 93.129, 0.99).n, 2)
    5.0
    """
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return positive(amount_mmol, "amount", "mmol") * molar_mass / mass_fraction(fraction) / 1000


def volume_mL(mass_g: float | UFloat, density_g_per_mL: float | UFloat) -> UFloat:
    """Find the volume of a mass.

    Parameters
    ----------
    mass_g : float or UFloat
        Mass [g].
    density_g_per_mL : float or UFloat
        Density at the temperature of measuring [g/mL].

    Returns
    -------
    UFloat
        Volume [mL].

    Notes
    -----
    Source: definition, V = m/ρ.

    Examples
    --------
    >>> round(volume_mL(5.41, 1.082).n, 3)
    5.0
    """
    return positive(mass_g, "mass", "g") / density(density_g_per_mL)


def mass_of_volume_g(volume_mL: float | UFloat, density_g_per_mL: float | UFloat) -> UFloat:
    """Find the mass of a volume.

    Parameters
    ----------
    volume_mL : float or UFloat
        Volume [mL].
    density_g_per_mL : float or UFloat
        Density at the temperature of measuring [g/mL].

    Returns
    -------
    UFloat
        Mass [g].

    Notes
    -----
    Source: definition, m = V·ρ.

    Examples
    --------
    >>> round(mass_of_volume_g(5.0, 1.082).n, 3)
    5.41
    """
    return positive(volume_mL, "volume", "mL") * density(density_g_per_mL)


def drop_volume_mL() -> UFloat:
    """Give the volume of one drop of water.

    Every call is a new dropper: hold on to the value to count drops from the same one.

    Returns
    -------
    UFloat
        0.05 mL; a half to one and a half of that, by the width of the tip and the liquid [mL].

    Notes
    -----
    Source: Ph. Eur. 2.1.1 (20 drops of water weigh 1000 ± 50 mg from the normal dropper). The limits, those of
    the device "pasteur", are common practice, no source: tips of 0.7 to 4.2 mm give drops of 13 to 69 mg.

    Examples
    --------
    >>> drop_volume_mL().n
    0.05
    """
    return half_width(1 / DROPS_PER_ML, 0.5 / DROPS_PER_ML, "drop")


def density_at(
    density_g_per_mL: float | UFloat,
    temperature_C: float | UFloat,
    reference_C: float | UFloat = 20.0,
    expansion_per_K: float | UFloat = 0.0,
) -> UFloat:
    """Carry a density to another temperature.

    Parameters
    ----------
    density_g_per_mL : float or UFloat
        Density at `reference_C` [g/mL].
    temperature_C : float or UFloat
        Temperature wanted [°C].
    reference_C : float or UFloat
        Temperature the density belongs to [°C].
    expansion_per_K : float or UFloat
        Cubic expansion of the liquid; about 0.001 for organic liquids [1/K].

    Returns
    -------
    UFloat
        Density at `temperature_C` [g/mL].

    Notes
    -----
    Source: definition of the cubic expansion, ρ = ρ₀/(1 + β·ΔT); for a few tens of kelvin.

    Examples
    --------
    >>> round(density_at(1.0811, 25, 20, 0.00112).n, 4)  # acetic anhydride
    1.0751
    """
    rise = sure(temperature_C) - sure(reference_C)
    if abs(rise.n) > 60:
        raise LabError(
            "far-from-reference",
            "The density is known at {reference:g}\u00a0°C and wanted at {wanted:g}\u00a0°C: "
            "that is too far to carry it over. Enter a density nearer to {wanted:g}\u00a0°C.",
            reference=sure(reference_C).n,
            wanted=sure(temperature_C).n,
        )
    return density(density_g_per_mL) / (1 + sure(expansion_per_K) * rise)


def water_density_g_per_mL(temperature_C: float) -> float:
    """Give the density of air-free water at ordinary pressure.

    Parameters
    ----------
    temperature_C : float
        Temperature, 0 to 40 °C [°C].

    Returns
    -------
    float
        Density [g/mL].

    Notes
    -----
    Source: M. Tanaka et al., Metrologia 38 (2001) 301 (the CIPM formula).

    Examples
    --------
    >>> round(water_density_g_per_mL(20), 6)
    0.998207
    """
    if not 0 <= temperature_C <= 40:
        raise LabError(
            "outside-formula",
            "Water at {temperature:g}\u00a0°C is outside the formula (0 to 40\u00a0°C): enter its density.",
            temperature=temperature_C,
        )
    t = temperature_C
    return 0.999974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
