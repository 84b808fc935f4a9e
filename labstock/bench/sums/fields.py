"""Fields of the bench sums: amounts, purities, substances, lists. What cannot be read is refused in words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from batches.drafts import substance_called
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import Formula, parse_formula
from labstock.chemistry.purity import Claim
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.chemistry.uncertain import UFloat, exact, normal
from labstock.stock.forms import fields
from labstock.stock.forms.fields import said_by_the_field
from labstock.stock.models import Substance

LONGEST_LIST = 20_000
MOST_ROWS = 500
AT_LEAST = ("≥", ">=", "at least", "min.")


@dataclass(frozen=True)
class Typed:
    """A quantity as typed, with the name it has in a budget."""

    quantity: Quantity
    name: str

    def value(self, unit: str) -> UFloat:
        """Return the quantity for a sum [`unit`]."""
        plain = self.quantity.as_uncertain(unit)
        return normal(plain.n, plain.s, self.name)

    def mass_fraction(self) -> UFloat:
        """Return a percentage by mass as a fraction [g/g]; a bare % is by mass where nothing else makes sense."""
        kind = self.quantity.unit.kind
        if kind in ("by volume", "by amount"):
            raise LabError(
                "which-percent",
                "'{typed}' is a fraction {kind}: give % w/w.",
                typed=self.quantity.typed,
                kind=kind,
            )
        return self.value("% w/w" if kind == "by mass" else "%") / 100

    def number(self, unit: str) -> float:
        """Return the number alone [`unit`]."""
        return float(self.quantity.in_unit(unit))


@dataclass(frozen=True)
class Purity:
    """A purity as typed: what it says, and the fraction it stands for."""

    fraction: UFloat
    words: str
    claim: Claim | None = None


@dataclass(frozen=True)
class Kind:
    """A substance by formula, name or molar mass."""

    name: str
    molar_mass: UFloat
    source: str
    formula: Formula | None = None
    substance: Substance | None = None


class QuantityField(fields.QuantityField):
    """One amount in any unit of its dimension, with the name it has in a budget."""

    def __init__(
        self, label: str, *dimensions: str, unit: str = "", zero: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(
            label=label, dimensions=dimensions or None, default_unit=unit, allow_zero=zero, **kwargs
        )
        self.widget.attrs["data-unit"] = unit

    def clean(self, value: Any) -> Typed | None:
        """Return the amount with its name in a budget."""
        quantity = super().clean(value)
        return None if quantity is None else Typed(quantity, str(self.label).lower())


class NumberField(forms.CharField):
    """A plain number, such as equivalents or a count; a decimal comma is taken."""

    def __init__(self, label: str, low: float, high: float, **kwargs: Any) -> None:
        self.low, self.high = low, high
        super().__init__(
            label=label,
            max_length=30,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            **kwargs,
        )

    def clean(self, value: Any) -> float | None:
        """Return the number, or refuse it with the limits it has to keep."""
        text = super().clean(value).replace(",", ".")
        if not text:
            return None
        try:
            number = float(text)
        except ValueError:
            number = float("nan")
        if not self.low <= number <= self.high:
            raise forms.ValidationError(
                f"\u2018{value}\u2019 cannot be: give a number from {self.low:g} to {self.high:g}."
            )
        return number


class PurityField(forms.CharField):
    """A purity as a label says it: "≥ 98 %", "99.7 ± 0.2 %", "97 %"."""

    def __init__(self, label: str = "Purity, as the label says it", **kwargs: Any) -> None:
        kwargs.setdefault(
            "help_text", "≥ 98 % is taken as anything from 98 to 100 %; with ± it is a certificate’s, k = 2."
        )
        super().__init__(label=label, max_length=60, **kwargs)
        self.widget.attrs |= {"autocomplete": "off", "placeholder": "≥ 99 %"}

    def clean(self, value: Any) -> Purity | None:
        """Return the fraction and the words."""
        text = super().clean(value)
        if not text:
            return None
        with said_by_the_field():
            return read_purity(text)


class KindField(forms.CharField):
    """A substance: a formula, a name on the list, or a molar mass."""

    def __init__(self, label: str = "Substance", **kwargs: Any) -> None:
        kwargs.setdefault(
            "help_text", "A formula (C4H6O3), a name on the substance list, or a molar mass (102.09 g/mol)."
        )
        super().__init__(label=label, max_length=200, **kwargs)
        self.widget.attrs |= {"autocomplete": "off", "spellcheck": "false"}

    def clean(self, value: Any) -> Kind | None:
        """Return the substance with its molar mass."""
        text = super().clean(value)
        if not text:
            return None
        with said_by_the_field():
            return read_kind(text)


class ListField(forms.CharField):
    """Several lines, each read by a function; a refusal names its line."""

    def __init__(self, label: str, read: Callable[[str], Any], **kwargs: Any) -> None:
        self.read = read
        super().__init__(
            label=label, max_length=LONGEST_LIST, widget=forms.Textarea(attrs={"rows": 5}), **kwargs
        )
        self.widget.attrs |= {"spellcheck": "false", "autocomplete": "off"}

    def clean(self, value: Any) -> list[Any]:
        """Return what each line says, empty lines left out."""
        lines = [
            (no, line) for no, line in enumerate((super().clean(value) or "").splitlines(), 1) if line.strip()
        ]
        if len(lines) > MOST_ROWS:
            raise forms.ValidationError(
                f"There are {len(lines)} lines and {MOST_ROWS} are the most: split the list."
            )
        return [self._line(no, line) for no, line in lines]

    def _line(self, no: int, line: str) -> Any:
        try:
            return self.read(line)
        except LabError as error:
            raise forms.ValidationError(f"Line {no}: {error.message}", code=error.code) from error


def read_purity(text: str) -> Purity:
    """Return what a purity as typed stands for."""
    plain = text.strip()
    start = next((word for word in AT_LEAST if plain.lower().startswith(word)), "")
    quantity = parse_quantity(plain[len(start) :], dimensions=("fraction",), default_unit="% w/w")
    if quantity.unit.kind not in ("by mass", "of a kind not said"):
        raise LabError(
            "purity-basis",
            "'{typed}' is a fraction {kind}: a purity is needed by mass, w/w.",
            typed=plain,
            kind=quantity.unit.kind,
        )
    factor = float(quantity.unit.factor)
    percent = float(quantity.value) * factor
    if start:
        claim = Claim("at least", percent)
        return Purity(claim.fraction, claim.words, claim)
    if quantity.u:
        half_to_u = 1.0 if "k" in plain else 3**0.5 / 2  # a certificate's ± is U with k = 2 (ISO 33401)
        claim = Claim("certificate", percent, float(quantity.u) * factor * half_to_u)
        return Purity(claim.fraction, claim.words, claim)
    claim = Claim("certificate", percent)
    return Purity(claim.fraction, f"{percent:g}\u00a0% as typed, without ±", claim)


def read_kind(text: str) -> Kind:
    """Return the substance a text stands for: a name on the list, a molar mass, or a formula."""
    plain = text.strip()
    known = substance_called(plain)
    if known is not None:
        return kind_of(known)
    if plain[0].isdigit() and "/" in plain:
        typed = parse_quantity(plain, dimensions=("molar mass",)).as_uncertain("g/mol")
        mass = normal(typed.n, typed.s, "molar mass")
        return Kind(plain, mass, "molar mass as typed")
    formula = parse_formula(plain)
    return Kind(plain, formula.molar_mass, "CIAAW, Standard Atomic Weights 2021", formula)


def kind_of(substance: Substance) -> Kind:
    """Return a substance of the list with its molar mass, from its formula where it has one."""
    if substance.formula:
        formula = parse_formula(substance.formula)
        source = f"{substance.formula}, CIAAW, Standard Atomic Weights 2021"
        return Kind(substance.name, formula.molar_mass, source, formula, substance)
    if substance.molar_mass is None:
        raise LabError(
            "no-molar-mass",
            "{name} is on the substance list without formula or molar mass: enter one there, or type the formula.",
            name=substance.name,
        )
    return Kind(substance.name, substance.molar_mass, "the substance list", None, substance)


def parts_of(line: str, fewest: int, most: int, like: str) -> list[str]:
    """Part a line at its semicolons or tabs."""
    parts = [part.strip() for part in (line.split("\t") if "\t" in line else line.split(";"))]
    if not fewest <= len(parts) <= most or not all(parts[:fewest]):
        raise LabError(
            "list-line",
            "'{line}' is not read: part it by semicolons, like {like}.",
            line=line.strip()[:80],
            like=like,
        )
    return parts + [""] * (most - len(parts))


def fraction_or_pure(purity: Purity | None) -> UFloat:
    """Return the fraction, or 1 without doubt where no purity was given [g/g]."""
    return purity.fraction if purity else exact(1)


def choices_of(words: Sequence[str]) -> list[tuple[str, str]]:
    """Return choices whose value is what is read."""
    return [(word, word) for word in words]
