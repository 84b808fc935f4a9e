"""Fields that read what chemists type. A refusal of the pure code becomes the field's error."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from labstock.chemistry.cas import check_cas
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.hazards import hazard
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.chemistry.structure import canonical_smiles
from labstock.chemistry.uncertain import UFloat

MOST_HAZARDS = 40
EARLIEST, LATEST = date(1850, 1, 1), date(2150, 1, 1)


@contextmanager
def said_by_the_field() -> Iterator[None]:
    """Turn a refusal into a validation error with the same words."""
    try:
        yield
    except LabError as error:
        raise ValidationError(error.message, code=error.code) from error


class QuantityField(forms.CharField):
    """An amount with its unit; a bare number is in `default_unit`. Cleans to a Quantity, or None where nothing is typed."""

    def __init__(
        self,
        *,
        dimensions: Sequence[str] | None = None,
        default_unit: str = "",
        low: float | None = None,
        high: float | None = None,
        allow_zero: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(**({"max_length": 80} | options))
        self.dimensions, self.default_unit, self.allow_zero = dimensions, default_unit, allow_zero
        self.low, self.high = low, high
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off", "spellcheck": "false"}

    def clean(self, value: Any) -> Any:
        """Read the amount and refuse what lies outside the sensible."""
        text = super().clean(value)
        if not text:
            return None
        with said_by_the_field():
            quantity = read_quantity(text, self.default_unit, self.dimensions, allow_zero=self.allow_zero)
            self._refuse_absurd(quantity)
        return quantity

    def _refuse_absurd(self, quantity: Quantity) -> None:
        if self.low is None or self.high is None:
            return
        number = float(quantity.in_unit(self.default_unit))
        if not self.low <= number <= self.high:
            raise LabError(
                "absurd",
                "'{typed}' cannot be: it lies between {low:g} and {high:g} {unit}. Check the number and the unit.",
                typed=quantity.typed,
                low=self.low,
                high=self.high,
                unit=self.default_unit,
            )


def read_quantity(
    text: str, default_unit: str = "", dimensions: Sequence[str] | None = None, *, allow_zero: bool = False
) -> Quantity:
    """Read an amount typed beside its unit on the page: number and unit are both what the person meant to write."""
    read = parse_quantity(
        text, dimensions=dimensions, default_unit=default_unit or None, allow_zero=allow_zero
    )
    has_unit = not default_unit or any(letter.isalpha() or letter in "%°" for letter in text)
    return read if has_unit else replace(read, typed=f"{text} {default_unit}")


class ReadField(forms.CharField):
    """A text that a pure function reads; cleans to what the function returns, or "" where nothing is typed."""

    def __init__(self, *, read: Callable[[str], Any], **options: Any) -> None:
        super().__init__(**options)
        self.read = read
        self.widget.attrs.update({"autocomplete": "off", "spellcheck": "false", "autocapitalize": "none"})

    def clean(self, value: Any) -> Any:
        """Read the text."""
        text = super().clean(value)
        if not text:
            return ""
        with said_by_the_field():
            return self.read(text)


def cas_field(**options: Any) -> ReadField:
    """Return a field whose CAS number fits its check digit."""
    return ReadField(read=check_cas, max_length=40, required=False, **options)


def formula_field(**options: Any) -> ReadField:
    """Return a field that holds a readable formula, kept as typed."""
    return ReadField(read=_readable(parse_formula), max_length=200, required=False, **options)


def smiles_field(**options: Any) -> ReadField:
    """Return a field that holds a readable structure, kept as typed."""
    return ReadField(read=_readable(canonical_smiles), max_length=1000, required=False, **options)


def _readable(read: Callable[[str], Any]) -> Callable[[str], str]:
    def kept(text: str) -> str:
        read(text)
        return text

    return kept


class LinesField(forms.CharField):
    """One thing a line; empty lines are dropped."""

    widget = forms.Textarea

    def __init__(self, *, rows: int = 3, **options: Any) -> None:
        super().__init__(**({"max_length": 4000, "required": False} | options))
        self.widget.attrs.update({"rows": rows, "spellcheck": "false"})

    def clean(self, value: Any) -> Any:
        """Return the lines, each once, in the order typed."""
        lines = [line.strip() for line in super().clean(value).splitlines()]
        return list(dict.fromkeys(line for line in lines if line))


class HazardsField(LinesField):
    """H statements with their categories: "H314 1B", one a line. Cleans to pairs."""

    def clean(self, value: Any) -> Any:
        """Return [code, category] pairs that the table of statements knows."""
        lines = super().clean(value)
        if len(lines) > MOST_HAZARDS:
            raise ValidationError(
                f"{len(lines)} statements are too many: no substance has over {MOST_HAZARDS}."
            )
        with said_by_the_field():
            return [_hazard_pair(line) for line in lines]


def _hazard_pair(line: str) -> list[str]:
    code, _, category = line.replace(",", " ").replace(";", " ").replace(":", " ").partition(" ")
    category = category.strip(" ()")
    known = [hazard(part, category if "+" not in code else "").code for part in code.split("+")]
    return ["+".join(known), category]


class DayField(forms.DateField):
    """A day, in the browser's own picker; years that cannot be meant are refused."""

    def __init__(self, **options: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        formats = ["%Y-%m-%d", "%d.%m.%Y", "%d %b %Y", "%d %B %Y"]
        about: dict[str, Any] = {"widget": widget, "required": False, "input_formats": formats}
        super().__init__(**(about | options))
        self.error_messages["invalid"] = "This is no day of the calendar: write it like 2026-11-25."

    def clean(self, value: Any) -> date | None:
        """Read the day."""
        day = super().clean(value)
        if day is not None and not EARLIEST <= day <= LATEST:
            raise ValidationError(
                f"{day:%d %b}, year {day.year}, cannot be meant: give a day from {EARLIEST.year} to {LATEST.year}."
            )
        return day


def typed_again(value: UFloat | None, unit: str) -> str:
    """Write a stored value as a person would type it, so that an edit changes nothing by itself."""
    if value is None:
        return ""
    best, u = float(value.nominal_value), float(value.std_dev)
    return f"{best:.10g} ± {2 * u:.4g} {unit} (k=2)" if u else f"{best:.10g} {unit}"
