"""The units this lab writes: a closed table, and which of them turn into each other.

What people type is looked up here and nowhere else. The factors are pint's, read once at import from the
names in the table; pint never sees typed text (it reads "2,5 mL" as 25 mL and "ML" as megalitres).
Source of the symbols: SI brochure, 9th ed., tables 2 to 8; spellings beside them are common practice.
"""

import re
import unicodedata
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from typing import Any

import pint
from rapidfuzz.distance import OSA
from rapidfuzz.process import extract

from labstock.chemistry.errors import LabError
from labstock.chemistry.unit_table import DIMENSIONS, TABLE, TRAPS

__all__ = ["DIMENSIONS", "UNITS", "Unit", "convert", "decimal_of", "get_unit", "unit"]


@dataclass(frozen=True)
class Unit:
    """One unit.

    Parameters
    ----------
    symbol : str
        How this project writes it [-].
    dimension : str
        Key into `DIMENSIONS` [-].
    factor : Fraction
        One of this unit in the base unit of its family [base unit].
    offset : Fraction
        Value of the unit's zero in the base unit; only °C has one [base unit].
    kind : str
        What a fraction is a fraction of: "by mass", "by volume", "by amount" or "of a kind not said" [-].
    device : str
        Code of the device the unit itself implies; "dropper" for drops [-].
    """

    symbol: str
    dimension: str
    factor: Fraction = field(repr=False)
    offset: Fraction = field(default=Fraction(0), repr=False)
    kind: str = ""
    device: str = ""

    @property
    def is_counted(self) -> bool:
        """Whether only whole numbers make sense [-]."""
        return self.symbol in ("piece", "drop")

    def converts_to(self, other: "Unit") -> bool:
        """Tell whether values turn into another unit by a fixed factor.

        Parameters
        ----------
        other : Unit
            The unit wanted [-].

        Returns
        -------
        bool
            False across dimensions, and between kinds of percent [-].

        Examples
        --------
        >>> unit("g/L").converts_to(unit("g/mL")), unit("% w/w").converts_to(unit("% v/v"))
        (True, False)
        """
        same_family = DIMENSIONS[self.dimension].family == DIMENSIONS[other.dimension].family
        return same_family and self.kind == other.kind


def unit(symbol: str) -> Unit:
    """Give the unit of a symbol that this project wrote itself.

    Parameters
    ----------
    symbol : str
        Canonical symbol, such as "mL" [-].

    Returns
    -------
    Unit
        The unit [-].

    Examples
    --------
    >>> unit("mg").factor
    Fraction(1, 1000)
    """
    return UNITS[symbol] if symbol in UNITS else get_unit(symbol)


@lru_cache(maxsize=1024)
def get_unit(text: str) -> Unit:
    """Read a unit as people write it.

    Parameters
    ----------
    text : str
        The unit as typed [-].

    Returns
    -------
    Unit
        The unit [-].

    Raises
    ------
    LabError
        "unit-trap" where the spelling means something else, "unit-unknown" with the nearest units.

    Examples
    --------
    >>> get_unit("ml").symbol, get_unit("% (w/w)").symbol
    ('mL', '% w/w')
    >>> get_unit("ML")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: 'ML' would be megalitres; write mL.
    """
    spelling = _tidy(text)
    if spelling in _SYMBOLS:
        return _SYMBOLS[spelling]
    if spelling in TRAPS:
        raise LabError("unit-trap", "{advice}.", advice=TRAPS[spelling], unit=text)
    if spelling.lower() in _WORDS:
        return _WORDS[spelling.lower()]
    raise LabError(
        "unit-unknown",
        "'{unit}' is not a unit known here: write {nearest}.",
        unit=text.strip(),
        nearest=_or_list(_nearest(spelling)),
    )


def convert(value: Decimal | Fraction | int, source: Unit, target: Unit) -> Fraction:
    """Convert a value between units, exactly.

    Parameters
    ----------
    value : Decimal, Fraction or int
        The value [source].
    source : Unit
        The unit it is in [-].
    target : Unit
        The unit wanted [-].

    Returns
    -------
    Fraction
        The value, not rounded [target].

    Examples
    --------
    >>> convert(Decimal("1.5"), unit("g"), unit("mg"))
    Fraction(1500, 1)
    >>> convert(25, unit("°C"), unit("K"))
    Fraction(5963, 20)
    """
    if not source.converts_to(target):
        raise LabError(
            "units-do-not-convert",
            "{value} {source} cannot be turned into {target}: {why}.",
            value=value,
            source=source.symbol,
            target=target.symbol,
            why=_why_not(source, target),
        )
    return (Fraction(value) * source.factor + source.offset - target.offset) / target.factor


def decimal_of(value: Fraction) -> Decimal:
    """Write a fraction as a decimal number.

    Parameters
    ----------
    value : Fraction
        The number [any unit].

    Returns
    -------
    Decimal
        The same number, exact where it ends within 34 digits, else rounded there [unit of `value`].

    Examples
    --------
    >>> decimal_of(Fraction(1, 8))
    Decimal('0.125')
    """
    with localcontext(prec=34):
        return Decimal(value.numerator) / Decimal(value.denominator)


def _why_not(source: Unit, target: Unit) -> str:
    if source.dimension == target.dimension:
        return f"the one is a fraction {source.kind}, the other a fraction {target.kind}; say which kind is meant"
    here, there = DIMENSIONS[source.dimension], DIMENSIONS[target.dimension]
    return f"the one is {here.phrase}, the other {there.phrase}; give it in {there.examples}"


def _tidy(text: str) -> str:
    plain = unicodedata.normalize("NFKC", text.replace("º", "°")).replace("μ", "µ").replace("−", "-")
    plain = re.sub(r"[⋅∙•*]", "·", plain)
    return re.sub(r"\s*([/%()·°])\s*", r"\1", " ".join(plain.split()))


def _nearest(spelling: str) -> list[str]:
    found = extract(spelling, list(_SYMBOLS), scorer=OSA.distance, limit=8, score_cutoff=1)
    symbols = list(dict.fromkeys(_SYMBOLS[name].symbol for name, _, _ in found))
    words = extract(spelling.lower(), list(_WORDS), scorer=OSA.distance, limit=3, score_cutoff=2)
    if len(spelling) > 3 and words:
        symbols = list(dict.fromkeys(_WORDS[name].symbol for name, _, _ in words))
    return symbols[:4] or ["g", "mg", "mL", "µL", "mmol", "pieces"]


def _or_list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _build() -> tuple[dict[str, Unit], dict[str, Unit], dict[str, Unit]]:
    rows = [[cell.strip() for cell in line.split(";")] for line in TABLE.strip().splitlines()]
    pint_names = {symbol: pint_name for symbol, _, pint_name, *_ in rows}
    registry: Any = pint.UnitRegistry(non_int_type=Fraction)
    units, symbols, words = {}, {}, {}
    for symbol, measures, pint_name, spellings, names in rows:
        dimension, _, kind = measures.partition("/")
        base = next(row.base for row in DIMENSIONS.values() if row.family == DIMENSIONS[dimension].family)
        factor, offset = _factor_and_offset(registry, pint_name, pint_names[base])
        kind = kind or ("of a kind not said" if dimension == "fraction" else "")
        made = Unit(symbol, dimension, factor, offset, kind, "dropper" if symbol == "drop" else "")
        units[symbol] = made
        for spelling in (symbol, *spellings.split()):
            symbols[_tidy(spelling.replace("_", " "))] = made
        words.update(dict.fromkeys(names.split(), made))
    return units, symbols, words


def _factor_and_offset(registry: Any, pint_name: str, base_name: str) -> tuple[Fraction, Fraction]:
    times, _, name = pint_name.rpartition(" ")
    zero, one = (Fraction(registry.Quantity(number, name).to(base_name).magnitude) for number in (0, 1))
    return (one - zero) * Fraction(times or 1), zero


UNITS, _SYMBOLS, _WORDS = _build()
