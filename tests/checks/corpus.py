"""A public corpus of balanced reactions, kept as formulae and coefficients in fixtures/reference/reactions.txt."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from labstock.chemistry.equation import Equation, balance, parse_equation

FILE = Path(__file__).resolve().parents[2] / "fixtures" / "reference" / "reactions.txt"
CORPUS_SOURCE = "chemicals 1.5.2, source archive, tests/test_reaction.py"
ORDINARY, ILL_CONDITIONED, OFF_BY_ONE = "corpus", "ill-conditioned", "off by one"


@dataclass(frozen=True)
class Reaction:
    """One reaction with the coefficients that were published for it."""

    equation: Equation
    coefficients: tuple[int, ...]
    group: str


@lru_cache(maxsize=1)
def _all() -> tuple[Reaction, ...]:
    rows = []
    for line in FILE.read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            group, equation, coefficients = (part.strip() for part in line.split(";"))
            rows.append(Reaction(parse_equation(equation), tuple(map(int, coefficients.split())), group))
    return tuple(rows)


def reactions(group: str = ORDINARY) -> tuple[Reaction, ...]:
    """Return one part of the corpus."""
    return tuple(row for row in _all() if row.group == group)


def agreeing(group: str = ORDINARY) -> int:
    """Count the reactions that we balance with exactly the published coefficients."""
    return sum(is_agreed(row) for row in reactions(group))


def is_agreed(reaction: Reaction) -> bool:
    """Say whether we find the published coefficients, or the substance they put on the other side."""
    found = balance(reaction.equation)
    pairs = zip(reaction.equation.species, reaction.coefficients, strict=True)
    misplaced = tuple(species.label for species, number in pairs if number < 0)
    return found.misplaced == misplaced if misplaced else found.coefficients == reaction.coefficients
