"""How much of what goes in ends up in the product."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from labstock.chemistry.amounts import positive, sure
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, exact

Term = tuple[float | UFloat, Fraction | float]
"""Molar mass [g/mol] and coefficient [-] of one substance in the equation."""
# Sums of floats differ in their last digits: that is no product out of nothing.
ROUNDING = 1e-9


def atom_economy_percent(products: Sequence[Term], reactants: Sequence[Term]) -> UFloat:
    """Find the atom economy of an equation.

    Parameters
    ----------
    products : sequence of (float or UFloat, Fraction or float)
        The wanted products only: molar mass [g/mol] and coefficient [-].
    reactants : sequence of (float or UFloat, Fraction or float)
        All reactants: molar mass [g/mol] and coefficient [-].

    Returns
    -------
    UFloat
        Atom economy [%].

    Notes
    -----
    Source: definition; OpenStax, Chemistry 2e, Reaction Yields.

    Examples
    --------
    >>> round(atom_economy_percent([(180.157, 1)], [(138.121, 1), (102.089, 1)]).n)  # aspirin
    75
    """
    wanted, all_in = _sum_of_terms(products, "product"), _sum_of_terms(reactants, "reactant")
    economy = wanted / all_in * 100
    if economy.n > 100 * (1 + 1e-4):
        raise LabError(
            "more-out-than-in",
            "An atom economy of {economy:.1f}\u00a0% cannot be: the equation does not conserve mass. "
            "Check the coefficients.",
            economy=economy.n,
        )
    return economy


def process_mass_intensity(inputs_g: Mapping[str, float | UFloat], product_g: float | UFloat) -> UFloat:
    """Find the mass of everything used per mass of product.

    Parameters
    ----------
    inputs_g : mapping of str to float or UFloat
        Everything that went in, by name: reactants, solvents, water, washes [g].
    product_g : float or UFloat
        Product isolated [g].

    Returns
    -------
    UFloat
        PMI, at least 1 when mass balances [g/g].

    Notes
    -----
    Source: definition; Green Chem. 9 (2007) 1273 (from memory).

    Examples
    --------
    >>> process_mass_intensity({"all": 120.0}, 10.0).n
    12.0
    """
    total = sum((sure(mass) for mass in inputs_g.values()), start=exact(0))
    product = positive(product_g, "mass of product", "g")
    _refuse_more_out(total, product)
    return positive(total, "sum of what went in", "g") / product


def e_factor(inputs_g: Mapping[str, float | UFloat], product_g: float | UFloat) -> UFloat:
    """Find the mass of waste per mass of product.

    Parameters
    ----------
    inputs_g : mapping of str to float or UFloat
        Everything that went in and was not recovered, by name [g].
    product_g : float or UFloat
        Product isolated [g].

    Returns
    -------
    UFloat
        E factor [g/g].

    Notes
    -----
    Source: definition; E = PMI - 1 when all inputs are counted, Green Chem. 9 (2007) 1273 (from memory).

    Examples
    --------
    >>> e_factor({"all": 120.0}, 10.0).n
    11.0
    """
    return process_mass_intensity(inputs_g, product_g) - 1


def reaction_mass_efficiency_percent(
    reactants_g: Mapping[str, float | UFloat], product_g: float | UFloat
) -> UFloat:
    """Find the mass of product per mass of reactants, excess included.

    Parameters
    ----------
    reactants_g : mapping of str to float or UFloat
        Reactants only, by name; no solvents [g].
    product_g : float or UFloat
        Product isolated [g].

    Returns
    -------
    UFloat
        RME [%].

    Notes
    -----
    Source: Green Chem. 4 (2002) 521.

    Examples
    --------
    >>> reaction_mass_efficiency_percent({"a": 6.0, "b": 4.0}, 5.0).n
    50.0
    """
    return 100 / process_mass_intensity(reactants_g, product_g)


def stoichiometric_factor(
    reactants_g: Mapping[str, float | UFloat], stoichiometric_g: Mapping[str, float | UFloat]
) -> UFloat:
    """Find how much more reactant was used than the equation asks for.

    Parameters
    ----------
    reactants_g : mapping of str to float or UFloat
        Reactants used, by name [g].
    stoichiometric_g : mapping of str to float or UFloat
        What the equation asks for with the same limiting reagent, by name [g].

    Returns
    -------
    UFloat
        The factor, 1 without excess; RME = atom economy · yield / factor [g/g].

    Notes
    -----
    Source: Green Chem. 10 (2008), metric rationale (from memory).

    Examples
    --------
    >>> round(stoichiometric_factor({"a": 10.0, "b": 12.0}, {"a": 10.0, "b": 10.0}).n, 2)
    1.1
    """
    used = sum((sure(mass) for mass in reactants_g.values()), start=exact(0))
    asked = sum((sure(mass) for mass in stoichiometric_g.values()), start=exact(0))
    return positive(used, "sum of reactants", "g") / positive(asked, "sum by the equation", "g")


def _sum_of_terms(terms: Sequence[Term], what: str) -> UFloat:
    if not terms:
        raise LabError("no-terms", "There is no {what}: give at least one.", what=what)
    parts = (
        positive(molar_mass, f"molar mass of a {what}", "g/mol")
        * positive(float(nu), f"coefficient of a {what}", "")
        for molar_mass, nu in terms
    )
    return sum(parts, start=exact(0))


def _refuse_more_out(total: UFloat, product: UFloat) -> None:
    spare = total - product
    if -spare.n > 2 * spare.s + ROUNDING * total.n:
        raise LabError(
            "more-out-than-in",
            "{product:g}\u00a0g of product from {total:g}\u00a0g put in cannot be: "
            "an input is missing, or the product is wet.",
            product=product.n,
            total=total.n,
        )
