"""From an equation and a scale to what each person dispenses; and from what was dispensed to what it was.

Equivalents count per coefficient: 1.00 equiv of every reactant is the equation itself.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from batches.stoichiometry.dispensing import dispensed_as, problems_of, with_drops
from batches.stoichiometry.lines import (
    UNITS,
    Dimension,
    Fixed,
    LineInput,
    Measures,
    Plan,
    PlannedLine,
    Problem,
    check_line,
    measures,
)
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact

__all__ = ["Actual", "Fixed", "LineInput", "Plan", "PlannedLine", "Problem", "actual", "work_out"]


@dataclass(frozen=True)
class Actual:
    """What was really in the flask.

    Parameters
    ----------
    amounts_mmol : mapping of str to UFloat
        Effective amount of every line whose amount can be known [mmol].
    limiting_key : str, optional
        Line that limits; None while no reactant is in [-].
    limiting_amount_mmol : UFloat, optional
        Its effective amount [mmol].
    equivalents : mapping of str to UFloat
        Equivalents per limiting reagent and coefficient [mol/mol].
    theoretical_mass_g : UFloat, optional
        Mass of pure product at 100 % yield [g].
    problems : list of Problem
        What is missing or doubtful [-].
    """

    amounts_mmol: Mapping[str, UFloat]
    limiting_key: str | None
    limiting_amount_mmol: UFloat | None
    equivalents: Mapping[str, UFloat]
    theoretical_mass_g: UFloat | None
    problems: list[Problem]


def work_out(
    lines: Sequence[LineInput],
    scale: UFloat,
    scale_dimension: Dimension,
    scale_key: str,
    given_key: str | None = None,
) -> Plan:
    """Work out what to dispense for a scale given on any line.

    On a reactant the scale is what is weighed or measured, impure as it is; on a product it is what
    100 % yield would give. Without equivalents a reactant takes 1.00.

    Parameters
    ----------
    lines : sequence of LineInput
        The lines of the preparation [-].
    scale : UFloat
        The scale [g, mL, mmol or drops].
    scale_dimension : str
        "mass" [g], "volume" [mL], "amount" [mmol] or "drops" [-].
    scale_key : str
        The line that the scale is given on [-].
    given_key : str, optional
        The reactant that equivalents are counted from: it gets 1.00, whatever its line says [-].

    Returns
    -------
    Plan
        The lines with amounts [mmol], masses [g] and volumes [mL], the limiting reagent, the theoretical yield.

    Notes
    -----
    Source: definitions; the limiting reagent is the one with the least effective amount per coefficient
    (OpenStax, Chemistry 2e, Reaction Yields).

    Examples
    --------
    >>> aniline = LineInput("a", "aniline", "reactant", exact(93.129), fraction=exact(0.99))
    >>> anhydride = LineInput("b", "acetic anhydride", "reactant", exact(102.089), equivalents=exact(1.1),
    ...                       density_g_per_mL=exact(1.082))
    >>> product = LineInput("p", "acetanilide", "product", exact(135.166))
    >>> plan = work_out([aniline, anhydride, product], exact(5.0), "mass", "a")
    >>> round(plan.line("b").dispense_value.n, 2), plan.line("b").dispense_unit
    (5.52, 'mL')
    >>> plan.limiting_key, round(plan.theoretical_mass_g.n, 2)
    ('a', 7.18)
    """
    checked = _checked(lines, given_key)
    scaled = _get_line(checked, scale_key, "scale")
    share = _measures_of_scale(scaled, scale, scale_dimension)
    extent = _extent_mmol(checked, scaled, share)
    portions = {line.key: _target(line, scaled, share, extent) for line in checked if line.role == "reactant"}
    delivered = {key: _delivered(_get_line(checked, key), each) for key, each in portions.items()}
    if scale_dimension != "amount" and scaled.role == "reactant":
        delivered[scaled.key] = share.amount_mmol
    limiting, limiting_amount = _limiting(checked, delivered, (scale_key, given_key))
    for line in checked:
        if line.role != "reactant":
            portions[line.key] = _follower(line, limiting, limiting_amount, scaled, share)
            delivered[line.key] = _delivered(line, portions[line.key])
    planned = [
        _planned(line, portions[line.key], delivered[line.key], limiting, limiting_amount) for line in checked
    ]
    problems = [problem for line in checked for problem in problems_of(line, portions[line.key])]
    problems += _doubts(checked, planned, limiting, scaled)
    theoretical = _theoretical(checked, limiting, limiting_amount, scaled, problems)
    return Plan(tuple(planned), limiting.key, limiting_amount, theoretical, problems)


def actual(lines: Sequence[LineInput]) -> Actual:
    """Find what was really in the flask, from the portions that were dispensed.

    Parameters
    ----------
    lines : sequence of LineInput
        One per portion, its `fixed` being what was dispensed; portions from two bottles for one line share its
        key and each brings its own purity and density [-].

    Returns
    -------
    Actual
        Amounts [mmol], equivalents [mol/mol], limiting reagent and theoretical yield [g].

    Notes
    -----
    Source: as for `work_out`.

    Examples
    --------
    >>> silicon = LineInput("si", "silicon", "reactant", exact(28.085), 3, fixed=Fixed(exact(2.00), "mass"))
    >>> nitrogen = LineInput("n", "nitrogen", "reactant", exact(28.014), 2, fixed=Fixed(exact(1.50), "mass"))
    >>> actual([silicon, nitrogen]).limiting_key
    'si'
    """
    problems: list[Problem] = []
    found: dict[str, UFloat] = {}
    for line in lines:
        check_line(line)
        amount = _dispensed_mmol(line, problems)
        if amount is not None:
            found[line.key] = found[line.key] + amount if line.key in found else amount
    reactants = [line for line in lines if line.role == "reactant" and line.key in found]
    if not reactants:
        return Actual(found, None, None, {}, None, problems)
    limiting, limiting_amount = _limiting(reactants, found, ())
    equivalents = {
        line.key: _ratio(line, found[line.key], limiting, limiting_amount)
        for line in lines
        if line.key in found and line.role not in ("solvent", "wash")
    }
    theoretical = _theoretical(lines, limiting, limiting_amount, limiting, problems)
    return Actual(found, limiting.key, limiting_amount, equivalents, theoretical, problems)


def _checked(lines: Sequence[LineInput], given_key: str | None) -> list[LineInput]:
    keys = [line.key for line in lines]
    doubled = next((key for key in keys if keys.count(key) > 1), None)
    if doubled is not None:
        raise LabError("same-key", 'Two lines have the key "{key}": give each its own.', key=doubled)
    if not any(line.role == "reactant" for line in lines):
        raise LabError("no-reactant", "No line is a reactant: mark at least one line as a reactant.")
    for line in lines:
        check_line(line)
        if line.role == "reactant" and _is_relative(line):
            raise LabError(
                "relative-reactant",
                "{name} is a reactant given as {dimension}: give equivalents, or a mass, volume or amount.",
                name=line.name,
                dimension=line.fixed.dimension if line.fixed else "",
            )
    if given_key is None:
        return list(lines)
    given = _get_line(lines, given_key, "reference")
    if given.role != "reactant":
        raise LabError(
            "reference-not-reactant",
            "Equivalents cannot be counted from {name}, a {role}: choose a reactant.",
            name=given.name,
            role=given.role,
        )
    return [replace(line, equivalents=exact(1)) if line is given else line for line in lines]


def _get_line(lines: Sequence[LineInput], key: str, what: str = "line") -> LineInput:
    for line in lines:
        if line.key == key:
            return line
    raise LabError(
        "unknown-line",
        'The {what} names the line "{key}", which is not in this plan: its lines are {known}.',
        what=what,
        key=key,
        known=", ".join(line.key for line in lines),
    )


def _measures_of_scale(line: LineInput, scale: UFloat, dimension: Dimension) -> Measures:
    share = measures(line, scale, dimension)
    if share.amount_mmol is not None or (line.fixed is not None and line.fixed.is_relative):
        return share
    needs_density = dimension in ("volume", "drops") or line.concentration_mol_per_L is not None
    if needs_density and line.density_g_per_mL is None:
        raise LabError(
            "no-density",
            "The scale is {value:g}\u00a0{unit} of {name}, but no density for this lot of {name} is known: "
            "enter it or give the scale in mmol.",
            value=scale.n,
            unit=UNITS[dimension],
            name=line.name,
        )
    raise LabError(
        "no-molar-mass",
        "The scale is {value:g}\u00a0{unit} of {name}, but its molar mass is not known: "
        "enter its formula, or give the scale in mmol.",
        value=scale.n,
        unit=UNITS[dimension],
        name=line.name,
    )


def _equivalents(line: LineInput) -> UFloat:
    return line.equivalents if line.equivalents is not None else exact(1)


def _extent_mmol(lines: Sequence[LineInput], scaled: LineInput, share: Measures) -> UFloat:
    """Find how far 1.00 equiv of everything would go [mmol per coefficient 1]."""
    if scaled.role == "reactant":
        assert share.amount_mmol is not None
        return share.amount_mmol / (_equivalents(scaled) * scaled.nu)
    free = [line for line in lines if line.role == "reactant" and not _is_absolute(line)]
    if not free or (scaled.role != "product" and scaled.equivalents is None and not _is_relative(scaled)):
        raise LabError(
            "nothing-to-scale",
            "The scale is given on {name}, but nothing in this plan follows it: "
            "give the scale on a reactant or a product, or give equivalents or mL per mmol.",
            name=scaled.name,
        )
    limiting = min(free, key=lambda line: _equivalents(line).n)
    if scaled.role == "product":
        assert share.amount_mmol is not None
        return share.amount_mmol / scaled.nu / _equivalents(limiting)
    return _limiting_from(scaled, share) / (_equivalents(limiting) * limiting.nu)


def _limiting_from(scaled: LineInput, share: Measures) -> UFloat:
    """Find the limiting amount behind a solvent or catalyst that carries the scale [mmol]."""
    if scaled.fixed is not None and scaled.fixed.is_relative:
        measure = share.volume_mL if scaled.fixed.dimension == "volume per mmol" else share.mass_g
        if measure is None:
            raise LabError(
                "no-density",
                "{name} is planned as {dimension}, and no density for this lot is known: "
                "enter it or give the scale in the same measure.",
                name=scaled.name,
                dimension=scaled.fixed.dimension,
            )
        return measure / scaled.fixed.value
    assert share.amount_mmol is not None
    return share.amount_mmol / _equivalents(scaled)


def _is_absolute(line: LineInput) -> bool:
    return line.fixed is not None and not line.fixed.is_relative


def _is_relative(line: LineInput) -> bool:
    return line.fixed is not None and line.fixed.is_relative


def _target(line: LineInput, scaled: LineInput, share: Measures, extent: UFloat) -> Measures:
    if line is scaled:
        return share
    if line.fixed is not None and not line.fixed.is_relative:
        return measures(line, line.fixed.value, line.fixed.dimension)
    return measures(line, extent * _equivalents(line) * line.nu, "amount")


def _delivered(line: LineInput, portion: Measures) -> UFloat | None:
    """Find the amount in the flask once the planned number is dispensed, with the doubt of its purity [mmol]."""
    dispensed, unit = dispensed_as(line, portion)
    is_given = line.role == "product" or _is_absolute(line) or unit == "mmol"
    if dispensed is None or is_given or portion.amount_mmol is None:
        return portion.amount_mmol
    by_mass = unit in ("g", "mg", "kg")
    planned = portion.mass_g if by_mass else portion.volume_mL
    assert planned is not None
    return measures(line, exact(planned.n), "mass" if by_mass else "volume").amount_mmol


def _limiting(
    lines: Sequence[LineInput], found: Mapping[str, UFloat | None], preferred: Sequence[str | None]
) -> tuple[LineInput, UFloat]:
    known = [
        (line, n) for line in lines if line.role == "reactant" and (n := found.get(line.key)) is not None
    ]
    if not known:
        raise LabError(
            "no-amount",
            "No reactant has an amount: enter molar masses, and a density where a volume is given.",
        )
    least = min(amount.n / line.nu for line, amount in known) * (1 + 1e-9)
    tied = [(line, amount) for line, amount in known if amount.n / line.nu <= least]
    return next((pair for key in preferred for pair in tied if pair[0].key == key), tied[0])


def _follower(
    line: LineInput, limiting: LineInput, limiting_amount: UFloat, scaled: LineInput, share: Measures
) -> Measures:
    if line.role == "product":
        return measures(line, limiting_amount / limiting.nu * line.nu, "amount")
    if line is scaled:
        return share
    if line.fixed is not None:
        value = line.fixed.value * limiting_amount if line.fixed.is_relative else line.fixed.value
        return measures(line, value, line.fixed.dimension.removesuffix(" per mmol"))
    if line.equivalents is not None:
        return measures(line, line.equivalents * limiting_amount, "amount")
    return Measures()


def _planned(
    line: LineInput,
    portion: Measures,
    amount: UFloat | None,
    limiting: LineInput,
    limiting_amount: UFloat,
) -> PlannedLine:
    portion = with_drops(line, portion)
    value, unit = dispensed_as(line, portion)
    has_ratio = amount is not None and line.role not in ("solvent", "wash")
    return PlannedLine(
        key=line.key,
        amount_mmol=amount,
        mass_g=portion.mass_g,
        volume_mL=portion.volume_mL,
        drops=portion.drops,
        equivalents=_ratio(line, amount, limiting, limiting_amount)
        if has_ratio and amount is not None
        else None,
        dispense_value=value,
        dispense_unit=unit,
        is_limiting=line.key == limiting.key,
    )


def _ratio(line: LineInput, amount: UFloat, limiting: LineInput, limiting_amount: UFloat) -> UFloat:
    """Give equivalents: reactants and products per coefficient, the rest per limiting reagent [mol/mol]."""
    if line.key == limiting.key:
        return exact(1)
    nu = line.nu / limiting.nu if line.role in ("reactant", "product") else 1.0
    return amount / nu / limiting_amount


def _doubts(
    lines: Sequence[LineInput], planned: Sequence[PlannedLine], limiting: LineInput, scaled: LineInput
) -> list[Problem]:
    problems = []
    for line, out in zip(lines, planned, strict=True):
        if line.role != "reactant" or out.is_limiting or out.equivalents is None:
            continue
        ratio = out.equivalents
        if ratio.n > 1 + 1e-9 and ratio.n - 2 * ratio.s < 1:
            message = (
                f"{line.name} at {show(ratio, 'equiv')} may turn out to limit: "
                f"measure its purity or plan a larger excess"
            )
            problems.append(Problem("limiting-unclear", message, line.key))
    if _is_absolute(limiting) and limiting is not scaled:
        message = f"the given amount of {limiting.name} is less than the scale needs: it limits the batch"
        problems.append(Problem("fixed-limits", message, limiting.key))
    return problems


def _theoretical(
    lines: Sequence[LineInput],
    limiting: LineInput,
    limiting_amount: UFloat,
    scaled: LineInput,
    problems: list[Problem],
) -> UFloat | None:
    products = [line for line in lines if line.role == "product"]
    if not products:
        problems.append(Problem("no-product", "no line is a product: add one to see the theoretical yield"))
        return None
    main = scaled if scaled.role == "product" else products[0]
    if main.molar_mass_g_per_mol is None:
        return None
    return limiting_amount / limiting.nu * main.nu * main.molar_mass_g_per_mol / 1000


def _dispensed_mmol(line: LineInput, problems: list[Problem]) -> UFloat | None:
    if line.role == "product":
        return None
    if line.fixed is None:
        if line.role == "reactant":
            problems.append(
                Problem("not-dispensed", f"{line.name} is not in yet: record what went in", line.key)
            )
        return None
    if line.fixed.is_relative:
        raise LabError(
            "wrong-dimension",
            "{name} is given as {dimension}: give what was dispensed, as mass, volume, amount or drops.",
            name=line.name,
            dimension=line.fixed.dimension,
        )
    portion = measures(line, line.fixed.value, line.fixed.dimension)
    problems.extend(problems_of(line, portion))
    return portion.amount_mmol
