"""How fast the arithmetic is, beside the same arithmetic in plain floats, measured in turns in one run."""

from collections.abc import Callable
from dataclasses import dataclass
from statistics import median
from time import perf_counter
from typing import Any

from batches.stoichiometry.lines import LineInput
from batches.stoichiometry.plan import work_out
from batches.stoichiometry.yields import percent_yield
from labstock.chemistry.amounts import amount_mmol
from labstock.chemistry.equation import balance, parse_equation
from labstock.chemistry.uncertain import exact, normal, rectangle

ROUNDS = 15
SECONDS_PER_TURN = 0.02
Act = Callable[[], object]


@dataclass(frozen=True)
class SpeedRow:
    """One sum: calls a second of ours and of the plain one, medians of the turns."""

    name: str
    ours_per_s: float
    plain_per_s: float

    @property
    def times(self) -> float:
        """Return how many plain sums fit into one of ours [-]."""
        return self.plain_per_s / self.ours_per_s

    def __str__(self) -> str:
        return (
            f"{self.name:<28} {self.ours_per_s:>10,.0f}/s with doubt, checks and words"
            f" {self.plain_per_s:>12,.0f}/s in plain floats   {self.times:>7.1f} times"
        )


def measure(rounds: int = ROUNDS) -> list[SpeedRow]:
    """Measure each sum beside its plain one."""
    return [side_by_side(name, ours, plain, rounds) for name, (ours, plain) in SUMS.items()]


def side_by_side(name: str, ours: Act, plain: Act, rounds: int) -> SpeedRow:
    """Run the two in turns, so that whatever else the machine does slows both alike."""
    counts = _calls_for_a_turn(ours), _calls_for_a_turn(plain)
    rates: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        for act, count, found in zip((ours, plain), counts, rates, strict=True):
            found.append(count / _seconds(act, count))
    return SpeedRow(name, median(rates[0]), median(rates[1]))


def _calls_for_a_turn(act: Act) -> int:
    act()  # what is imported or kept on first use is not measured
    return max(1, round(SECONDS_PER_TURN / max(_seconds(act, 3) / 3, 1e-9)))


def _seconds(act: Act, count: int) -> float:
    start = perf_counter()
    for _ in range(count):
        act()
    return perf_counter() - start


ANILINE, ANHYDRIDE, ACETANILIDE = 93.129, 102.089, 135.166
LINES = [
    LineInput("a", "aniline", "reactant", exact(ANILINE), fraction=rectangle(0.99, 1)),
    LineInput(
        "b", "acetic anhydride", "reactant", normal(ANHYDRIDE, 0.003), equivalents=exact(1.1),
        fraction=normal(0.971, 0.004), density_g_per_mL=normal(1.082, 0.001),
    ),
    LineInput("p", "acetanilide", "product", exact(ACETANILIDE)),
]  # fmt: skip
SCALE_G = normal(5.0, 0.017)
EQUATION = parse_equation("Cu + HNO3 -> Cu(NO3)2 + H2O + NO")
COMPOSITION = [
    [1.0, 0.0, -1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0, -2.0, 0.0],
    [0.0, 1.0, -2.0, 0.0, -1.0],
    [0.0, 3.0, -6.0, -1.0, -1.0],
]


def plan() -> Any:
    """Plan a preparation from 5 g of aniline."""
    return work_out(LINES, SCALE_G, "mass", "a")


def plain_plan() -> Any:
    """Do the same in floats: amounts, masses, volume, limiting reagent, theory."""
    amounts = {"a": 5.0 * 0.995 / ANILINE * 1000}
    amounts["b"] = amounts["a"] * 1.1
    mass_g = amounts["b"] * ANHYDRIDE / 0.971 / 1000
    limiting = min(amounts, key=lambda key: amounts[key])
    return mass_g, mass_g / 1.082, limiting, amounts[limiting] * ACETANILIDE / 1000


def exact_balance() -> Any:
    """Balance an equation exactly."""
    return balance(EQUATION)


def plain_balance() -> Any:
    """Eliminate the same table in floats; the last coefficient is set to 1."""
    rows = [row[:] for row in COMPOSITION]
    for i in range(4):
        pivot = max(range(i, 4), key=lambda r: abs(rows[r][i]))
        rows[i], rows[pivot] = rows[pivot], rows[i]
        for r in range(4):
            if r != i:
                factor = rows[r][i] / rows[i][i]
                rows[r] = [a - factor * b for a, b in zip(rows[r], rows[i], strict=True)]
    return [-rows[i][4] / rows[i][i] for i in range(4)] + [1.0]


def doubtful_yield() -> Any:
    """Find a percent yield with its doubt."""
    limiting = amount_mmol(SCALE_G, exact(ANILINE), LINES[0].fraction)
    return percent_yield(normal(5.61, 0.017), normal(0.98, 0.005), limiting, 1, exact(ACETANILIDE)).s


def plain_yield() -> Any:
    """Find the same yield in floats."""
    return 5.61 * 0.98 / (5.0 * 0.995 / ANILINE * ACETANILIDE) * 100


SUMS: dict[str, tuple[Act, Act]] = {
    "plan of three lines": (plan, plain_plan),
    "balance of five substances": (exact_balance, plain_balance),
    "percent yield": (doubtful_yield, plain_yield),
}
