"""How a portion is dispensed: by weight, volume, drops; in the unit a person would use."""

from batches.stoichiometry.lines import LineInput, Measures, Problem
from labstock.chemistry.amounts import drop_volume_mL
from labstock.chemistry.uncertain import UFloat


def mode_of(line: LineInput, portion: Measures) -> str:
    """Choose how a portion is dispensed.

    Parameters
    ----------
    line : LineInput
        The line with what the person wishes [-].
    portion : Measures
        The portion [mmol, g, mL, drops].

    Returns
    -------
    str
        "mass", "volume", "drops" or "amount" [-].

    Notes
    -----
    Source: common practice, no source: solutions and liquids of known density by volume, the rest by weight.

    Examples
    --------
    >>> mode_of(LineInput("a", "aniline", "reactant"), Measures())
    'mass'
    """
    if line.role == "product":
        return "mass"
    if line.dispense != "auto":
        return line.dispense
    if line.fixed is not None and line.fixed.dimension != "amount":
        return line.fixed.dimension.removesuffix(" per mmol")
    return "mass" if portion.volume_mL is None else "volume"


def with_drops(line: LineInput, portion: Measures) -> Measures:
    """Add the number of drops where drops are wanted and the volume is known.

    Parameters
    ----------
    line : LineInput
        The line [-].
    portion : Measures
        The portion [mmol, g, mL, drops].

    Returns
    -------
    Measures
        The portion, with its drops [mmol, g, mL, drops].

    Notes
    -----
    Source: Ph. Eur. 2.1.1 for the drop; see `drop_volume_mL`.

    Examples
    --------
    >>> from labstock.chemistry.uncertain import exact
    >>> acid = LineInput("h", "sulfuric acid", "catalyst", dispense="drops")
    >>> round(with_drops(acid, Measures(volume_mL=exact(0.3))).drops.n, 6)
    6.0
    """
    if mode_of(line, portion) != "drops" or portion.drops is not None or portion.volume_mL is None:
        return portion
    drops = portion.volume_mL / drop_volume_mL()
    return Measures(portion.amount_mmol, portion.mass_g, portion.volume_mL, drops)


def dispensed_as(line: LineInput, portion: Measures) -> tuple[UFloat | None, str]:
    """Give the number to dispense in the unit a person would use.

    Parameters
    ----------
    line : LineInput
        The line [-].
    portion : Measures
        The portion [mmol, g, mL, drops].

    Returns
    -------
    tuple of (UFloat or None, str)
        The number [the unit] and its unit; a portion that lacks the data for the wished way is given the
        other way, and a `Problem` says so [-].

    Notes
    -----
    Source: common practice, no source: mg below 1 g, kg from 1000 g, µL below 0.1 mL, L from 1000 mL.

    Examples
    --------
    >>> from labstock.chemistry.uncertain import exact
    >>> value, unit = dispensed_as(LineInput("a", "aniline", "reactant"), Measures(mass_g=exact(0.25)))
    >>> round(value.n), unit
    (250, 'mg')
    """
    mode = mode_of(line, portion)
    if mode == "drops" and portion.drops is not None:
        return portion.drops, "drops"
    if mode == "amount" and portion.amount_mmol is not None:
        return portion.amount_mmol, "mmol"
    if portion.volume_mL is not None and (mode in ("volume", "drops") or portion.mass_g is None):
        return _volume(portion.volume_mL)
    if portion.mass_g is not None:
        return _mass(portion.mass_g)
    return portion.amount_mmol, "" if portion.amount_mmol is None else "mmol"


def problems_of(line: LineInput, portion: Measures) -> list[Problem]:
    """Name the data that one line lacks.

    Parameters
    ----------
    line : LineInput
        The line [-].
    portion : Measures
        The portion as far as it could be worked out [mmol, g, mL, drops].

    Returns
    -------
    list of Problem
        At most one, the one to mend first [-].

    Notes
    -----
    Source: ours; missing data are named, never guessed.

    Examples
    --------
    >>> [problem.code for problem in problems_of(LineInput("s", "ethanol", "solvent"), Measures())]
    ['no-quantity']
    """
    if portion == Measures():
        return [_no_quantity(line)]
    if mode_of(line, portion) == "amount" and portion.amount_mmol is not None:
        return []
    wants_volume = mode_of(line, portion) in ("volume", "drops")
    if portion.mass_g is None and portion.volume_mL is None:
        return [_no_molar_mass(line)]
    if wants_volume and portion.volume_mL is None:
        return [no_density(line)]
    if mode_of(line, portion) == "mass" and portion.mass_g is None:
        return [no_density(line, "measure it by volume")]
    if portion.amount_mmol is None and line.role == "reactant":
        needs_density = portion.mass_g is None or line.concentration_mol_per_L is not None
        return [no_density(line) if needs_density else _no_molar_mass(line)]
    return []


def no_density(line: LineInput, instead: str = "weigh") -> Problem:
    """Say that a density is missing.

    Parameters
    ----------
    line : LineInput
        The line [-].
    instead : str
        The other way out [-].

    Returns
    -------
    Problem
        The text for the person [-].

    Notes
    -----
    Source: ours.

    Examples
    --------
    >>> no_density(LineInput("a", "aniline", "reactant")).message
    'no density for this lot of aniline: enter it or weigh instead'
    """
    message = f"no density for this lot of {line.name}: enter it or {instead} instead"
    return Problem("no-density", message, line.key)


def _no_quantity(line: LineInput) -> Problem:
    message = f"{line.name} has no amount: enter equivalents, or a mass, a volume or drops"
    return Problem("no-quantity", message, line.key)


def _no_molar_mass(line: LineInput) -> Problem:
    message = f"no molar mass for {line.name}: enter its formula, or the concentration of the solution"
    return Problem("no-molar-mass", message, line.key)


def _mass(mass_g: UFloat) -> tuple[UFloat, str]:
    if mass_g.n >= 1000:
        return mass_g / 1000, "kg"
    return (mass_g, "g") if mass_g.n >= 1 else (mass_g * 1000, "mg")


def _volume(volume_mL: UFloat) -> tuple[UFloat, str]:
    if volume_mL.n >= 1000:
        return volume_mL / 1000, "L"
    return (volume_mL, "mL") if volume_mL.n >= 0.1 else (volume_mL * 1000, "µL")
