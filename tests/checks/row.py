"""One published check: what is expected, how close, what our code finds, and who says so."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from numbers import Real

from labstock.chemistry.errors import LabError

Values = float | Sequence[float]


@dataclass(frozen=True)
class Check:
    """A row of the table of checks. `found` is worked out when the row is looked at."""

    number: str
    what: str
    expected: object
    find: Callable[..., object]
    source: str
    unit: str = ""
    tolerance: float | None = None
    is_interval: bool = False

    def found(self) -> object:
        """Work out our own value; a refusal counts as the value it says."""
        try:
            return self.find()
        except LabError as refusal:
            return f"refused: {refusal.code}"

    def holds(self, found: object) -> bool:
        """Say whether our value is the published one."""
        if self.is_interval:
            low, high = _numbers(self.expected)
            return all(low <= number <= high for number in _numbers(found))
        if self.tolerance is None:
            return bool(found == self.expected)
        pairs = list(zip(_numbers(found), _numbers(self.expected), strict=True))
        return bool(pairs) and all(abs(one - other) <= self.tolerance * (1 + 1e-9) for one, other in pairs)

    @property
    def expected_text(self) -> str:
        """Write what is expected, with its tolerance and unit."""
        if self.is_interval:
            low, high = _numbers(self.expected)
            return f"{low:g} to {high:g} {self.unit}".strip()
        near = f" ± {self.tolerance:g}" if self.tolerance else ""
        return f"{_text(self.expected)}{near} {self.unit}".strip()

    def found_text(self, found: object) -> str:
        """Write our value with its unit."""
        return f"{_text(found)} {self.unit}".strip()


def near(
    number: str,
    what: str,
    expected: Values,
    tolerance: float,
    find: Callable[..., object],
    source: str,
    unit: str = "",
) -> Check:
    """Expect a number, or several, within a tolerance."""
    return Check(number, what, expected, find, source, unit, tolerance)


def inside(
    number: str, what: str, low: float, high: float, find: Callable[..., object], source: str, unit: str = ""
) -> Check:
    """Expect a number between two limits."""
    return Check(number, what, (low, high), find, source, unit, is_interval=True)


def same(number: str, what: str, expected: object, find: Callable[..., object], source: str) -> Check:
    """Expect exactly this."""
    return Check(number, what, expected, find, source)


def _numbers(values: object) -> list[float]:
    if isinstance(values, Real):
        return [float(values)]
    if isinstance(values, Iterable) and not isinstance(values, str):
        return [float(value) for value in values]
    return []


def _text(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.9g}"
    if isinstance(value, tuple | list):
        return ", ".join(_text(each) for each in value)
    return str(value)
