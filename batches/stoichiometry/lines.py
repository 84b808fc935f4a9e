"""The lines of a preparation: what is asked of each, and what comes out for each."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from labstock.chemistry import amounts
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact

Role = Literal["reactant", "product", "solvent", "catalyst", "quench", "wash", "other"]
Dispense = Literal["auto", "mass", "volume", "drops", "amount"]
Dimension = Literal["mass", "volume", "amount", "drops", "volume per mmol", "mass per mmol"]

UNITS: dict[str, str] = {
    "mass": "g",
    "volume": "mL",
    "amount": "mmol",
    "drops": "drops",
    "volume per mmol": "mL/mmol",
    "mass per mmol": "g/mmol",
}
STRONGEST_MOL_PER_L = 60.0  # pure water is 55.5 mol/L


@dataclass(frozen=True)
class Problem:
    """Something missing or doubtful on one line, and the way out.

    Parameters
    ----------
    code : str
        Short stable name [-].
    message : str
        What the person reads [-].
    key : str
        The line; empty when it is about the whole plan [-].
    """

    code: str
    message: str
    key: str = ""


@dataclass(frozen=True)
class Fixed:
    """A quantity given outright instead of equivalents.

    Parameters
    ----------
    value : UFloat
        The quantity [g, mL, mmol, drops, mL/mmol or g/mmol, as `dimension` says].
    dimension : str
        "mass", "volume", "amount", "drops", "volume per mmol" or "mass per mmol" of the limiting reagent [-].
    """

    value: UFloat
    dimension: Dimension

    @property
    def is_relative(self) -> bool:
        """True when the quantity follows the scale [-]."""
        return self.dimension.endswith("per mmol")


@dataclass(frozen=True)
class LineInput:
    """One line as it is planned or as it was dispensed.

    Parameters
    ----------
    key : str
        Identifies the line [-].
    name : str
        What the person calls it; used in every message [-].
    role : str
        "reactant", "product", "solvent", "catalyst", "quench", "wash" or "other" [-].
    molar_mass_g_per_mol : UFloat, optional
        Molar mass [g/mol].
    coefficient : Fraction, optional
        Coefficient in the equation, above zero; 1 when missing [-].
    equivalents : UFloat, optional
        Wanted equivalents: for reactants per coefficient, for others per limiting reagent [mol/mol].
    fixed : Fixed, optional
        A quantity given outright, goes before `equivalents` [as it says].
    fraction : UFloat
        Effective purity, w/w; not used where `concentration_mol_per_L` is given [g/g].
    density_g_per_mL : UFloat, optional
        Density of the liquid or solution [g/mL].
    concentration_mol_per_L : UFloat, optional
        Concentration of a solution [mol/L].
    dispense : str
        "auto", "mass", "volume", "drops" or "amount"; "auto" takes volume where one can be known [-].
    """

    key: str
    name: str
    role: Role
    molar_mass_g_per_mol: UFloat | None = None
    coefficient: Fraction | None = None
    equivalents: UFloat | None = None
    fixed: Fixed | None = None
    fraction: UFloat = field(default_factory=lambda: exact(1))
    density_g_per_mL: UFloat | None = None
    concentration_mol_per_L: UFloat | None = None
    dispense: Dispense = "auto"

    @property
    def nu(self) -> float:
        """Coefficient in the equation, 1 when it has none [-]."""
        return float(self.coefficient) if self.coefficient is not None else 1.0


@dataclass(frozen=True)
class Measures:
    """One portion in every measure that its data allow.

    Parameters
    ----------
    amount_mmol, mass_g, volume_mL, drops : UFloat, optional
        None where the data are missing [mmol, g, mL, drops].
    """

    amount_mmol: UFloat | None = None
    mass_g: UFloat | None = None
    volume_mL: UFloat | None = None
    drops: UFloat | None = None


@dataclass(frozen=True)
class PlannedLine:
    """One line of a plan, ready to dispense.

    Parameters
    ----------
    key : str
        The line [-].
    amount_mmol : UFloat, optional
        Amount of the substance itself that will be in the flask [mmol].
    mass_g : UFloat, optional
        Mass to weigh, of the material as it is [g].
    volume_mL : UFloat, optional
        Volume to measure [mL].
    drops : UFloat, optional
        Drops to count, when drops were asked for [drops].
    equivalents : UFloat, optional
        Equivalents that the dispensed portion really holds, per limiting reagent and coefficient [mol/mol].
    dispense_value : UFloat, optional
        The number to dispense; None when data are missing [`dispense_unit`].
    dispense_unit : str
        "g", "mg", "kg", "mL", "µL", "L", "mmol" or "drops" [-].
    is_limiting : bool
        True for the limiting reagent [-].
    """

    key: str
    amount_mmol: UFloat | None
    mass_g: UFloat | None
    volume_mL: UFloat | None
    drops: UFloat | None
    equivalents: UFloat | None
    dispense_value: UFloat | None
    dispense_unit: str
    is_limiting: bool = False


@dataclass(frozen=True)
class Plan:
    """A worked-out preparation.

    Parameters
    ----------
    lines : tuple of PlannedLine
        In the order of the input [-].
    limiting_key : str
        Line of the limiting reagent [-].
    limiting_amount_mmol : UFloat
        Effective amount of the limiting reagent [mmol].
    theoretical_mass_g : UFloat, optional
        Mass of pure product at 100 % yield; None without a product of known molar mass [g].
    problems : list of Problem
        What is missing or doubtful [-].
    """

    lines: tuple[PlannedLine, ...]
    limiting_key: str
    limiting_amount_mmol: UFloat
    theoretical_mass_g: UFloat | None
    problems: list[Problem]

    def line(self, key: str) -> PlannedLine:
        """Give the line with this key.

        Parameters
        ----------
        key : str
            The key [-].

        Returns
        -------
        PlannedLine
            Its line [-].
        """
        for line in self.lines:
            if line.key == key:
                return line
        raise LabError(
            "unknown-line",
            'This plan has no line "{key}": its lines are {known}.',
            key=key,
            known=", ".join(line.key for line in self.lines),
        )


def measures(line: LineInput, value: UFloat, dimension: str) -> Measures:
    """Express one portion in every measure that the data of its line allow.

    Parameters
    ----------
    line : LineInput
        The line with its purity, density and molar mass [-].
    value : UFloat
        The portion [g, mL, mmol or drops].
    dimension : str
        "mass" [g], "volume" [mL], "amount" [mmol] or "drops" [-].

    Returns
    -------
    Measures
        The same portion [mmol, g, mL, drops].

    Notes
    -----
    Source: definitions, n = m·w/M, V = m/ρ, n = c·V.

    Examples
    --------
    >>> anhydride = LineInput("b", "acetic anhydride", "reactant", exact(102.09), density_g_per_mL=exact(1.082))
    >>> round(measures(anhydride, exact(5.0), "volume").amount_mmol.n, 2)
    52.99
    """
    if dimension not in ("mass", "volume", "amount", "drops"):
        raise LabError(
            "wrong-dimension",
            '{name} is given as "{dimension}": give it as mass, volume, amount or drops.',
            name=line.name,
            dimension=dimension,
        )
    value = amounts.positive(value, f"{dimension} of {line.name}", UNITS[dimension])
    if dimension == "amount":
        return _from_amount(line, value)
    if dimension == "mass":
        return _from_mass(line, value)
    if dimension == "drops":
        whole = _from_volume(line, value * amounts.drop_volume_mL())
        return Measures(whole.amount_mmol, whole.mass_g, whole.volume_mL, value)
    return _from_volume(line, value)


def check_line(line: LineInput) -> None:
    """Refuse a line whose own numbers cannot be.

    Parameters
    ----------
    line : LineInput
        The line [-].

    Notes
    -----
    Source: ours; common sense of the bench.

    Examples
    --------
    >>> check_line(LineInput("s", "ethanol", "solvent", exact(46.07), density_g_per_mL=exact(0.789)))
    """
    amounts.mass_fraction(line.fraction, f"purity of {line.name}")
    if line.molar_mass_g_per_mol is not None:
        amounts.positive(line.molar_mass_g_per_mol, f"molar mass of {line.name}", "g/mol", 1e6)
    if line.density_g_per_mL is not None:
        amounts.density(line.density_g_per_mL, f"density of {line.name}")
    if line.concentration_mol_per_L is not None:
        amounts.positive(
            line.concentration_mol_per_L, f"concentration of {line.name}", "mol/L", STRONGEST_MOL_PER_L
        )
    if line.equivalents is not None:
        amounts.positive(line.equivalents, f"number of equivalents of {line.name}", "equiv", 1e4)
    if line.coefficient is not None and line.coefficient <= 0:
        raise LabError(
            "bad-coefficient",
            "The coefficient of {name} is {coefficient}: it must be above zero. "
            "Say by its role on which side it stands.",
            name=line.name,
            coefficient=line.coefficient,
        )


def _from_amount(line: LineInput, amount: UFloat) -> Measures:
    if line.concentration_mol_per_L is not None:
        return _from_volume(line, amount / line.concentration_mol_per_L)
    if line.molar_mass_g_per_mol is None:
        return Measures(amount_mmol=amount)
    mass = amounts.mass_g(amount, line.molar_mass_g_per_mol, line.fraction)
    return Measures(amount, mass, _volume(line, mass))


def _from_mass(line: LineInput, mass: UFloat) -> Measures:
    volume = _volume(line, mass)
    if line.concentration_mol_per_L is not None:
        amount = None if volume is None else volume * line.concentration_mol_per_L
        return Measures(amount, mass, volume)
    if line.molar_mass_g_per_mol is None:
        return Measures(None, mass, volume)
    return Measures(amounts.amount_mmol(mass, line.molar_mass_g_per_mol, line.fraction), mass, volume)


def _from_volume(line: LineInput, volume: UFloat) -> Measures:
    mass = None if line.density_g_per_mL is None else volume * line.density_g_per_mL
    if line.concentration_mol_per_L is not None:
        return Measures(volume * line.concentration_mol_per_L, mass, volume)
    if mass is None:
        return Measures(volume_mL=volume)
    return Measures(_from_mass(line, mass).amount_mmol, mass, volume)


def _volume(line: LineInput, mass: UFloat) -> UFloat | None:
    return None if line.density_g_per_mL is None else mass / line.density_g_per_mL
