"""Cautions to print beside a quench, each with its source; none replaces the risk assessment."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """One thing to know before starting.

    Parameters
    ----------
    text : str
        What the person reads [-].
    source : str
        Where it comes from [-].
    applies_to : tuple of str
        Kinds of substance or neutraliser; empty for every quench [-].
    """

    text: str
    source: str
    applies_to: tuple[str, ...] = ()


CAUTIONS = (
    Caution(
        "Add the reactive mixture to an excess of quencher, slowly, stirred, watching the temperature; let each "
        "portion react before the next. Cold can hide a build-up: slow at low temperature, then all at once.",
        "university guides to quenching reactive substances; practice",
    ),
    Caution(
        "Anhydride and water start slowly while they are two layers; mineral acid speeds them up. A little water "
        "in much anhydride can heat itself later.",
        "adiabatic calorimetry of acetic anhydride hydrolysis, Int. J. Chem. Kinet. 2014",
        ("anhydride",),
    ),
    Caution(
        "Alcohols with anhydride and strong acid react violently; perchloric acid, nitric acid, chromic oxide, "
        "boric acid or peroxide with anhydride: never together.",
        "Prudent Practices in the Laboratory; handbooks, from memory",
        ("anhydride",),
    ),
    Caution(
        "Hydrogen halide comes off while there is too little water: trap it, never in a closed vessel.",
        "textbook chemistry",
        ("acyl halide",),
    ),
    Caution(
        "Under solvent and inert gas: first a hindered alcohol, then ethanol, then water. Hydrogen: no flame, no "
        "spark, an open way out for the gas.",
        "university guides to quenching reactive substances",
        ("hydride",),
    ),
    Caution(
        "Carbonate sets carbon dioxide free: open vessel, wide funnel, in portions, never a stopper.",
        "textbook chemistry",
        ("sodium hydrogen carbonate", "sodium carbonate"),
    ),
    Caution(
        "Neutralising gives about twice the heat of the hydrolysis itself: cool first, and use a solution, "
        "never pellets.",
        "Hess's law, see the heats of this plan",
        ("sodium hydroxide",),
    ),
    Caution(
        "This is a calculation, not the risk assessment. Ask before a scale larger than you have done.",
        "laboratory policy",
    ),
)


def cautions_for(*kinds: str) -> tuple[Caution, ...]:
    """Choose the cautions for a quench.

    Parameters
    ----------
    *kinds : str
        Kind of substance and name of the neutraliser [-].

    Returns
    -------
    tuple of Caution
        Those that always apply and those of the kinds [-].

    Notes
    -----
    Source: stands with each caution.

    Examples
    --------
    >>> len(cautions_for("hydride"))
    3
    """
    return tuple(each for each in CAUTIONS if not each.applies_to or set(each.applies_to) & set(kinds))
