"""Solutions: making them, diluting them, and reading the percent on a bottle of acid.

Percentages are four different things (w/w, w/v, v/v, mol %); each function says which one it takes.
"""

from labstock.chemistry.amounts import density, mass_fraction, positive, sure
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat


def concentration_mol_per_L(
    mass_g: float | UFloat,
    molar_mass_g_per_mol: float | UFloat,
    volume_mL: float | UFloat,
    fraction: float | UFloat = 1.0,
) -> UFloat:
    """Find the concentration of a mass made up to a volume.

    Parameters
    ----------
    mass_g : float or UFloat
        Mass weighed, impure as it is [g].
    molar_mass_g_per_mol : float or UFloat
        Molar mass; of the hydrate when the hydrate is weighed [g/mol].
    volume_mL : float or UFloat
        Final volume of the solution [mL].
    fraction : float or UFloat
        Effective purity, w/w [g/g].

    Returns
    -------
    UFloat
        Concentration [mol/L].

    Notes
    -----
    Source: definition, c = m·w/(M·V).

    Examples
    --------
    >>> round(concentration_mol_per_L(25.2, 60.052, 500).n, 3)  # vinegar
    0.839
    """
    amount = positive(mass_g, "mass", "g") * mass_fraction(fraction)
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return amount / molar_mass / positive(volume_mL, "volume", "mL") * 1000


def mass_for_solution_g(
    concentration_mol_per_L: float | UFloat,
    volume_mL: float | UFloat,
    molar_mass_g_per_mol: float | UFloat,
    fraction: float | UFloat = 1.0,
) -> UFloat:
    """Find the mass to weigh for a solution.

    Parameters
    ----------
    concentration_mol_per_L : float or UFloat
        Concentration wanted [mol/L].
    volume_mL : float or UFloat
        Final volume of the solution [mL].
    molar_mass_g_per_mol : float or UFloat
        Molar mass; of the hydrate when the hydrate is weighed [g/mol].
    fraction : float or UFloat
        Effective purity, w/w [g/g].

    Returns
    -------
    UFloat
        Mass to weigh, impure as it is [g].

    Notes
    -----
    Source: definition, m = c·V·M/w.

    Examples
    --------
    >>> round(mass_for_solution_g(1.0, 250, 40.0, 0.97).n, 2)
    10.31
    """
    amount = positive(concentration_mol_per_L, "concentration", "mol/L") * positive(volume_mL, "volume", "mL")
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return amount * molar_mass / 1000 / mass_fraction(fraction)


def stock_volume_mL(
    stock_mol_per_L: float | UFloat, wanted_mol_per_L: float | UFloat, wanted_mL: float | UFloat
) -> UFloat:
    """Find the volume of stock solution to dilute.

    Parameters
    ----------
    stock_mol_per_L : float or UFloat
        Concentration of the stock [mol/L].
    wanted_mol_per_L : float or UFloat
        Concentration wanted, not above the stock [mol/L].
    wanted_mL : float or UFloat
        Volume wanted [mL].

    Returns
    -------
    UFloat
        Volume of stock, to be made up to `wanted_mL` [mL].

    Notes
    -----
    Source: conservation of amount, c₁V₁ = c₂V₂.

    Examples
    --------
    >>> round(stock_volume_mL(1.59, 0.100, 5000).n)
    314
    """
    stock = positive(stock_mol_per_L, "concentration of the stock", "mol/L")
    wanted = positive(wanted_mol_per_L, "wanted concentration", "mol/L")
    if wanted.n > stock.n:
        raise LabError(
            "stronger-than-stock",
            "{wanted:g}\u00a0mol/L is wanted and the stock has {stock:g}\u00a0mol/L: "
            "diluting cannot make it stronger. Take a stronger stock.",
            wanted=wanted.n,
            stock=stock.n,
        )
    return wanted * positive(wanted_mL, "wanted volume", "mL") / stock


def diluted_mol_per_L(
    stock_mol_per_L: float | UFloat, stock_mL: float | UFloat, final_mL: float | UFloat
) -> UFloat:
    """Find the concentration after dilution.

    Parameters
    ----------
    stock_mol_per_L : float or UFloat
        Concentration of the stock [mol/L].
    stock_mL : float or UFloat
        Volume of stock taken [mL].
    final_mL : float or UFloat
        Volume made up to, not below `stock_mL` [mL].

    Returns
    -------
    UFloat
        Concentration [mol/L].

    Notes
    -----
    Source: conservation of amount, c₁V₁ = c₂V₂.

    Examples
    --------
    >>> round(diluted_mol_per_L(5.00, 850, 1800).n, 2)
    2.36
    """
    taken, final = positive(stock_mL, "volume of stock", "mL"), positive(final_mL, "final volume", "mL")
    if final.n < taken.n:
        raise LabError(
            "not-a-dilution",
            "{taken:g}\u00a0mL of stock made up to {final:g}\u00a0mL is no dilution: swap the two volumes.",
            taken=taken.n,
            final=final.n,
        )
    return positive(stock_mol_per_L, "concentration of the stock", "mol/L") * taken / final


def diluted_volume_mL(
    stock_mol_per_L: float | UFloat, stock_mL: float | UFloat, wanted_mol_per_L: float | UFloat
) -> UFloat:
    """Find the volume to make a portion of stock up to.

    Parameters
    ----------
    stock_mol_per_L : float or UFloat
        Concentration of the stock [mol/L].
    stock_mL : float or UFloat
        Volume of stock taken [mL].
    wanted_mol_per_L : float or UFloat
        Concentration wanted, not above the stock [mol/L].

    Returns
    -------
    UFloat
        Final volume [mL].

    Notes
    -----
    Source: conservation of amount, c₁V₁ = c₂V₂.

    Examples
    --------
    >>> round(diluted_volume_mL(0.45, 11, 0.12).n)
    41
    """
    share = stock_volume_mL(stock_mol_per_L, wanted_mol_per_L, 1.0)
    return positive(stock_mL, "volume of stock", "mL") / share


def diluted_by_mass_g(
    stock_fraction: float | UFloat, wanted_fraction: float | UFloat, wanted_g: float | UFloat
) -> UFloat:
    """Find the mass of a stronger solution for a mass of a weaker one.

    Parameters
    ----------
    stock_fraction : float or UFloat
        Strength of the stock, w/w [g/g].
    wanted_fraction : float or UFloat
        Strength wanted, w/w, not above the stock [g/g].
    wanted_g : float or UFloat
        Mass wanted [g].

    Returns
    -------
    UFloat
        Mass of stock, to be made up with solvent to `wanted_g` [g].

    Notes
    -----
    Source: conservation of mass.

    Examples
    --------
    >>> round(diluted_by_mass_g(0.680, 0.100, 400.0).n, 1)  # nitric acid
    58.8
    """
    stock, wanted = mass_fraction(stock_fraction, "stock"), mass_fraction(wanted_fraction, "wanted strength")
    if wanted.n > stock.n:
        raise LabError(
            "stronger-than-stock",
            "{wanted:g}\u00a0% is wanted and the stock has {stock:g}\u00a0%: diluting cannot make it stronger. "
            "Take a stronger stock.",
            wanted=wanted.n * 100,
            stock=stock.n * 100,
        )
    return positive(wanted_g, "wanted mass", "g") * wanted / stock


def strength_mol_per_L(
    fraction_w_w: float | UFloat, density_g_per_mL: float | UFloat, molar_mass_g_per_mol: float | UFloat
) -> UFloat:
    """Find the concentration of a concentrated acid or base from its percent by mass and its density.

    Parameters
    ----------
    fraction_w_w : float or UFloat
        Strength, w/w [g/g].
    density_g_per_mL : float or UFloat
        Density of the solution [g/mL].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of what is dissolved [g/mol].

    Returns
    -------
    UFloat
        Concentration [mol/L].

    Notes
    -----
    Source: definition, c = w·ρ/M.

    Examples
    --------
    >>> round(strength_mol_per_L(0.71, 1.42, 63.013).n, 1)  # nitric acid
    16.0
    """
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return mass_fraction(fraction_w_w, "strength") * density(density_g_per_mL) / molar_mass * 1000


def strength_from_w_v_mol_per_L(
    grams_per_100_mL: float | UFloat, molar_mass_g_per_mol: float | UFloat
) -> UFloat:
    """Find the concentration of a solution given in % w/v.

    Parameters
    ----------
    grams_per_100_mL : float or UFloat
        Strength, % w/v [g/100 mL].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of what is dissolved [g/mol].

    Returns
    -------
    UFloat
        Concentration [mol/L].

    Notes
    -----
    Source: definition of % w/v.

    Examples
    --------
    >>> round(strength_from_w_v_mol_per_L(0.9, 58.44).n, 3)  # saline
    0.154
    """
    strength = positive(grams_per_100_mL, "strength", "g/100 mL", 500)
    return strength * 10 / positive(molar_mass_g_per_mol, "molar mass", "g/mol")


def strength_from_v_v_mol_per_L(
    mL_per_100_mL: float | UFloat, pure_density_g_per_mL: float | UFloat, molar_mass_g_per_mol: float | UFloat
) -> UFloat:
    """Find the concentration of a solution given in % v/v.

    Parameters
    ----------
    mL_per_100_mL : float or UFloat
        Strength, % v/v, not over 100 [mL/100 mL].
    pure_density_g_per_mL : float or UFloat
        Density of the pure liquid, not of the mixture [g/mL].
    molar_mass_g_per_mol : float or UFloat
        Molar mass of the liquid [g/mol].

    Returns
    -------
    UFloat
        Concentration [mol/L].

    Notes
    -----
    Source: definition of % v/v.

    Examples
    --------
    >>> round(strength_from_v_v_mol_per_L(96, 0.7894, 46.069).n, 2)
    16.45
    """
    strength = positive(mL_per_100_mL, "strength", "mL/100 mL", 100)
    molar_mass = positive(molar_mass_g_per_mol, "molar mass", "g/mol")
    return strength * 10 * density(pure_density_g_per_mL) / molar_mass


def titrated_mol_per_L(
    titrant_mol_per_L: float | UFloat,
    titrant_mL: float | UFloat,
    sample_mL: float | UFloat,
    sample_per_titrant: float = 1.0,
) -> UFloat:
    """Find the concentration of a sample from a titration.

    Parameters
    ----------
    titrant_mol_per_L : float or UFloat
        Concentration of the titrant [mol/L].
    titrant_mL : float or UFloat
        Volume of titrant to the end point [mL].
    sample_mL : float or UFloat
        Volume of the sample [mL].
    sample_per_titrant : float
        Coefficient of the sample over that of the titrant [-].

    Returns
    -------
    UFloat
        Concentration of the sample [mol/L].

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> round(titrated_mol_per_L(0.09113, 23.24, 20.00, 5 / 2).n, 4)  # oxalic acid by permanganate
    0.2647
    """
    titrant = positive(titrant_mol_per_L, "concentration of the titrant", "mol/L")
    used = positive(titrant_mL, "volume of titrant", "mL")
    return titrant * used / positive(sample_mL, "volume of the sample", "mL") * sure(sample_per_titrant)
