"""Amounts as people type them: one parser, used everywhere.

A "±" typed without more is the half width of a rectangle, u = a/√3 (JCGM 100:2008, 4.3.7): nothing was said about
its shape. With "(k=2)" behind it, it is an expanded uncertainty, u = U/2 (4.3.3).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from functools import lru_cache

from labstock.chemistry import display
from labstock.chemistry.devices import DEVICES
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantity_text import NumberText, QuantityText, read_quantity_text
from labstock.chemistry.uncertain import UFloat, normal
from labstock.chemistry.units import DIMENSIONS, Unit, convert, decimal_of, get_unit, unit

LEDGER_UNITS = ("g", "mL", "piece")
LARGEST_BASE_VALUE = 10**9


@dataclass(frozen=True)
class Quantity:
    """An amount with its unit.

    Parameters
    ----------
    value : Decimal
        The whole amount; "2 x 500 mL" is 1000 [unit].
    unit : Unit
        The unit it was given in [-].
    u : Decimal, optional
        Standard uncertainty of the whole amount [unit].
    count : int
        How many equal portions it comes in; "2 x 500 mL" has 2 [-].
    typed : str
        What the person wrote [-].
    """

    value: Decimal
    unit: Unit
    u: Decimal | None = None
    count: int = 1
    typed: str = ""

    def __str__(self) -> str:
        portion = self.each
        if self.count == 1:
            return display.show(portion.value, self.unit.symbol, portion.u)
        number = display.show_number(portion.value, portion.u)
        return display.with_unit(
            f"{self.count}\u00a0×\u00a0{f'({number})' if portion.u else number}", self.unit.symbol
        )

    @property
    def dimension(self) -> str:
        """What is measured, a key of `DIMENSIONS` [-]."""
        return self.unit.dimension

    @property
    def each(self) -> "Quantity":
        """One of the equal portions; the amount itself when there is one [unit]."""
        if self.count == 1:
            return self
        u = None if self.u is None else self.u / self.count
        return replace(self, value=self.value / self.count, u=u, count=1)

    def to(self, symbol: str) -> "Quantity":
        """Give the same amount in another unit.

        Parameters
        ----------
        symbol : str
            The unit wanted [-].

        Returns
        -------
        Quantity
            The amount; what was typed stays with it [symbol].

        Examples
        --------
        >>> parse_quantity("1.5 g").to("mg").value
        Decimal('1500')
        """
        target = unit(symbol)
        if target == self.unit:
            return self
        u = None if self.u is None else self.u * decimal_of(self.unit.factor / target.factor)
        return replace(self, value=self.in_unit(symbol), unit=target, u=u)

    def in_unit(self, symbol: str) -> Decimal:
        """Give the number alone, in another unit.

        Parameters
        ----------
        symbol : str
            The unit wanted [-].

        Returns
        -------
        Decimal
            The number, exact where it ends within 34 digits [symbol].

        Examples
        --------
        >>> parse_quantity("6 drops").in_unit("mL")
        Decimal('0.3')
        """
        target = unit(symbol)
        return self.value if target == self.unit else decimal_of(convert(self.value, self.unit, target))

    def as_uncertain(self, symbol: str | None = None) -> UFloat:
        """Give the amount for a calculation.

        Parameters
        ----------
        symbol : str, optional
            The unit wanted; the amount's own when left out [-].

        Returns
        -------
        UFloat
            The amount with its standard uncertainty. Drops bring the doubt of the dropper when
            nothing else was typed; other amounts without "±" are exact [symbol].

        Examples
        --------
        >>> parse_quantity("6 drops").as_uncertain("mL")
        0.3+/-0.025980762113533163
        """
        wanted = self.to(symbol or self.unit.symbol)
        if self.u is None and self.unit.device:
            mL_per_unit = float(self.unit.factor)
            doubt = DEVICES[self.unit.device].uncertainty(float(self.value) * mL_per_unit).u
            return normal(float(wanted.value), doubt / float(wanted.unit.factor))
        return normal(float(wanted.value), float(wanted.u or 0))

    def millionths(self, symbol: str) -> int:
        """Give the amount as the ledger keeps it.

        Parameters
        ----------
        symbol : str
            The ledger's unit: g, mL or piece [-].

        Returns
        -------
        int
            Whole millionths of that unit [µg, nL or millionths of a piece].

        Raises
        ------
        LabError
            "too-fine" where the amount does not come out whole.

        Examples
        --------
        >>> parse_quantity("250 mg").millionths("g")
        250000
        """
        if symbol not in LEDGER_UNITS:
            raise LabError(
                "not-a-ledger-unit",
                "The ledger keeps g, mL or pieces, not {symbol}: convert the amount first.",
                symbol=symbol,
            )
        millionths = convert(self.value, self.unit, unit(symbol)) * 10**6
        if millionths.denominator != 1:
            raise LabError(
                "too-fine",
                "'{typed}' is finer than the ledger keeps, which is 0.000001 {symbol}: round it to {rounded}.",
                typed=self.typed or str(self),
                symbol=symbol,
                rounded=display.show(Decimal(round(millionths)).scaleb(-6).normalize(), symbol),
            )
        return int(millionths)


def parse_quantity(
    text: str,
    *,
    dimensions: Sequence[str] | None = None,
    default_unit: str | None = None,
    hint: str = "",
    allow_zero: bool = True,
) -> Quantity:
    """Read an amount as a person typed it.

    Parameters
    ----------
    text : str
        What was typed [-].
    dimensions : sequence of str, optional
        The dimensions that make sense here, keys of `DIMENSIONS`; any when left out [-].
    default_unit : str, optional
        The unit of a bare number; without it a bare number is refused [-].
    hint : str
        What to say after "'5 g' is a mass; " when the dimension is wrong [-].
    allow_zero : bool
        False where an amount of nothing makes no sense [-].

    Returns
    -------
    Quantity
        The amount, with what was typed [its own unit].

    Raises
    ------
    LabError
        Names what was typed, what would be right, and what to do.

    Examples
    --------
    >>> amount = parse_quantity("2 x 1,5 mL")
    >>> amount.value, amount.unit.symbol, amount.count
    (Decimal('3.0'), 'mL', 2)
    >>> parse_quantity("1,500 mL")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: '1,500 mL' is not clear. Do you mean 1.5 mL or 1500 mL? Write 1.500 or 1500.
    """
    parts = read_quantity_text(text)
    its_unit, half_unit = _units_of(parts, text, dimensions, default_unit)
    _refuse_wrong_dimension(its_unit, text, dimensions, hint)
    value = parts.number.value * parts.count
    _refuse_impossible(value, its_unit, text, allow_zero)
    u = None if parts.half is None else _standard_uncertainty(parts, parts.half, its_unit, half_unit, text)
    return Quantity(value, its_unit, u, parts.count, text)


def _units_of(
    parts: QuantityText, typed: str, dimensions: Sequence[str] | None, default_unit: str | None
) -> tuple[Unit, Unit | None]:
    half_unit = _unit_named(parts.half, typed) if parts.half else None
    its_unit = _unit_named(parts.number, typed)
    if its_unit is None and half_unit is not None and not (default_unit and half_unit.symbol == "%"):
        its_unit = half_unit
    if its_unit is None and default_unit:
        its_unit = unit(default_unit)
    if its_unit is None:
        example = DIMENSIONS[dimensions[0]].base if dimensions else "mL"
        raise LabError(
            "no-unit",
            "'{typed}' has no unit: write it behind the number, such as '{number} {unit}'.",
            typed=typed,
            number=f"{parts.number.value:f}",
            unit=example,
        )
    return its_unit, half_unit


def _unit_named(number: NumberText, typed: str) -> Unit | None:
    if not number.unit:
        return None
    try:
        return get_unit(number.unit)
    except LabError as error:
        parts = {**error.parts, "typed": typed, "advice": error.message}
        raise LabError(error.code, "'{typed}' cannot be read: {advice}", **parts) from None


def _refuse_wrong_dimension(its_unit: Unit, typed: str, dimensions: Sequence[str] | None, hint: str) -> None:
    families = {DIMENSIONS[name].family for name in dimensions or ()}
    mine = DIMENSIONS[its_unit.dimension]
    if dimensions is None or mine.family in families:
        return
    wanted = [DIMENSIONS[name] for name in dimensions]
    phrases, examples = (
        " or ".join(row.phrase for row in wanted),
        "; or in ".join(row.examples for row in wanted),
    )
    raise LabError(
        "wrong-dimension",
        "'{typed}' is {mine}; {hint}.",
        typed=typed,
        mine=mine.phrase,
        hint=hint.rstrip(".") or f"{phrases} is needed here: give it in {examples}",
        dimension=its_unit.dimension,
    )


def _refuse_impossible(value: Decimal, its_unit: Unit, typed: str, allow_zero: bool) -> None:
    if its_unit.dimension == "temperature":
        _refuse_below_absolute_zero(value, its_unit, typed)
    elif value < 0:
        raise LabError("negative", "'{typed}' is below zero: give an amount of 0 or more.", typed=typed)
    if value == 0 and not allow_zero:
        raise LabError("zero", "'{typed}' is nothing: give an amount above 0.", typed=typed)
    base = DIMENSIONS[its_unit.dimension].base
    if abs(value) > _largest(its_unit):
        raise LabError(
            "absurd",
            "'{typed}' is more than 1,000,000,000 {base}: check the number and the unit.",
            typed=typed,
            base=base,
        )
    if its_unit.is_counted and value != value.to_integral_value():
        instead = "give the volume in mL" if its_unit.symbol == "drop" else "weigh it and give g"
        raise LabError(
            "not-whole",
            "'{typed}' is not a whole number of {unit}s: count whole ones, or {instead}.",
            typed=typed,
            unit=its_unit.symbol,
            instead=instead,
        )


@lru_cache(maxsize=256)
def _largest(its_unit: Unit) -> Decimal:
    return decimal_of(LARGEST_BASE_VALUE * unit(DIMENSIONS[its_unit.dimension].base).factor / its_unit.factor)


def _refuse_below_absolute_zero(value: Decimal, its_unit: Unit, typed: str) -> None:
    if convert(value, its_unit, unit("K")) < 0:
        raise LabError(
            "below-absolute-zero",
            "'{typed}' lies below absolute zero (−273.15 °C): check the number and the unit.",
            typed=typed,
        )


def _standard_uncertainty(
    parts: QuantityText, half: NumberText, its_unit: Unit, half_unit: Unit | None, typed: str
) -> Decimal:
    size = half.value * parts.count
    if half_unit is not None and half_unit.symbol == "%":
        if "%" not in its_unit.symbol:
            size = half.value / 100 * abs(parts.number.value) * parts.count
    elif half_unit is not None:
        size *= _times_larger(half_unit, its_unit, typed)
    if parts.k is not None and parts.k <= 0:
        raise LabError(
            "bad-coverage", "'{typed}' has k = {k}: k is above 0, mostly 2.", typed=typed, k=parts.k
        )
    with localcontext(prec=15):
        return size / (parts.k or Decimal(3).sqrt())


def _times_larger(half_unit: Unit, its_unit: Unit, typed: str) -> Decimal:
    if not half_unit.converts_to(its_unit):
        raise LabError(
            "uncertainty-of-other-dimension",
            "'{typed}' has its uncertainty in {half} and its value in {unit}: give both in {unit}.",
            typed=typed,
            half=half_unit.symbol,
            unit=its_unit.symbol,
        )
    return decimal_of(half_unit.factor / its_unit.factor)
