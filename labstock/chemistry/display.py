"""The one printer of numbers: digits follow the uncertainty.

The expanded uncertainty k·u is rounded to two significant digits, the most that JCGM 100:2008, 7.2.6 finds useful,
and the value to the same decimal place; halves go to the even digit. One digit would be tidier but can make an
uncertainty of 0.149 read as 0.1, a third too small. Number, ± and unit are held together by no-break spaces.
"""

from decimal import ROUND_HALF_EVEN, Decimal, localcontext

from uncertainties.core import AffineScalarFunc

from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat

NO_BREAK = "\u00a0"
MINUS = "\u2212"
PLUS_MINUS = f"{NO_BREAK}±{NO_BREAK}"

Number = Decimal | float | int | str | UFloat

_DIGITS_OF_A_CALCULATED_NUMBER = 5
_MOST_OWN_DIGITS = 15
_COUNTED = ("piece", "drop")
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def show(value: Number, unit: str, u: Decimal | float | None = None, k: float = 2) -> str:
    """Print a value with its unit and, where known, its expanded uncertainty.

    Parameters
    ----------
    value : Decimal, float, int, str or UFloat
        The value; a UFloat brings its own uncertainty [unit].
    unit : str
        The unit, as it is to be printed; empty for a plain number [-].
    u : Decimal or float, optional
        Standard uncertainty; left out or 0 where there is none to show [unit].
    k : float
        Coverage factor of what stands behind ± [-].

    Returns
    -------
    str
        Such as "53.0 ± 2.4 mL" [-].

    Notes
    -----
    Source: JCGM 100:2008, 7.2.2 and 7.2.6.

    Examples
    --------
    >>> show(53.04, "mL", 1.2)
    '53.0\\xa0±\\xa02.4\\xa0mL'
    >>> show("5.00", "g")
    '5.00\\xa0g'
    """
    return with_unit(show_number(value, u, k), unit)


def with_unit(number: str, unit: str) -> str:
    """Put the unit behind a number already printed.

    Parameters
    ----------
    number : str
        The number as it is to be read [-].
    unit : str
        The unit; "piece" and "drop" get their plural; empty for a plain number [-].

    Returns
    -------
    str
        The two, held together by a no-break space [-].

    Examples
    --------
    >>> with_unit("6", "drop")
    '6\\xa0drops'
    """
    if unit in _COUNTED and number != "1":
        unit = f"{unit}s"
    return f"{number}{NO_BREAK}{unit.replace(' ', NO_BREAK)}" if unit else number


def show_number(value: Number, u: Decimal | float | None = None, k: float = 2) -> str:
    """Print a number, with its expanded uncertainty where known.

    Parameters
    ----------
    value : Decimal, float, int, str or UFloat
        The value. Without uncertainty a str or Decimal keeps its own digits; a float is taken as
        calculated and gets five significant digits, whole numbers kept whole [any unit].
    u : Decimal or float, optional
        Standard uncertainty [unit of `value`].
    k : float
        Coverage factor of what stands behind ± [-].

    Returns
    -------
    str
        Such as "53.0 ± 2.4" [-].

    Notes
    -----
    Source: JCGM 100:2008, 7.2.6.

    Examples
    --------
    >>> show_number(1002.6997, 0.43)
    '1002.70\\xa0±\\xa00.86'
    >>> show_number(-1.5)
    '−1.5'
    """
    if isinstance(value, AffineScalarFunc):
        value, u = value.nominal_value, value.std_dev if u is None else u
    number, doubt = _decimal(value), Decimal(0) if u is None else _decimal(u) * _decimal(k)
    if doubt < 0:
        raise LabError(
            "negative-uncertainty", "An uncertainty of {u} is below zero: give its size, 0 or more.", u=u
        )
    if doubt and doubt.adjusted() > number.adjusted() - _MOST_OWN_DIGITS + 2:
        return _with_doubt(number, _two_digits(doubt))
    has_own_digits = isinstance(value, str | int | Decimal) and _length(number) <= _MOST_OWN_DIGITS
    return _alone(number if has_own_digits else _calculated(number))


def show_percent(fraction: Number, u: Decimal | float | None = None, k: float = 2, kind: str = "") -> str:
    """Print a fraction as a percentage.

    Parameters
    ----------
    fraction : Decimal, float, int, str or UFloat
        The fraction, 1 for all of it [-].
    u : Decimal or float, optional
        Standard uncertainty of the fraction [-].
    k : float
        Coverage factor of what stands behind ± [-].
    kind : str
        "w/w", "w/v", "v/v" or "mol"; empty where there is only one that makes sense [-].

    Returns
    -------
    str
        Such as "93.6 ± 1.2 %" [-].

    Examples
    --------
    >>> show_percent(0.936, 0.006)
    '93.6\\xa0±\\xa01.2\\xa0%'
    """
    if isinstance(fraction, AffineScalarFunc):
        fraction, u = fraction.nominal_value, fraction.std_dev if u is None else u
    percent = _decimal(fraction).scaleb(2)
    sign = "mol %" if kind == "mol" else f"% {kind}".strip()
    doubt = None if u is None else _decimal(u) * 100
    return show(percent if isinstance(fraction, str | int | Decimal) else float(percent), sign, doubt, k)


def _decimal(number: Number) -> Decimal:
    made = Decimal(str(number).replace(MINUS, "-"))
    if not made.is_finite():
        raise LabError(
            "not-a-number", "{number} is not a number that can be shown: check the inputs.", number=number
        )
    return made


def _length(number: Decimal) -> int:
    return len(number.as_tuple().digits)


def _calculated(number: Decimal) -> Decimal:
    if not number:
        return Decimal(0)
    place = min(number.adjusted() - _DIGITS_OF_A_CALCULATED_NUMBER + 1, 0)
    return _to_place(number, place).normalize()


def _two_digits(doubt: Decimal) -> Decimal:
    rounded = _to_place(doubt, doubt.adjusted() - 1)
    return _to_place(rounded, rounded.adjusted() - 1)  # 0.0996 became 0.100, which has one digit too many


def _to_place(number: Decimal, place: int) -> Decimal:
    with localcontext(prec=80):
        return number.quantize(Decimal(1).scaleb(place), ROUND_HALF_EVEN)


def _alone(number: Decimal) -> str:
    power = number.adjusted() if number else 0
    if _is_plain(power):
        return _signed(number)
    digits = number.scaleb(-power)
    shortest = digits.normalize() if number == number.to_integral_value() else digits
    return f"{_signed(shortest)}{_times_ten_to(power)}"


def _with_doubt(number: Decimal, doubt: Decimal) -> str:
    number = _to_place(number, doubt.adjusted() - 1)
    power = max(number.adjusted() if number else doubt.adjusted(), doubt.adjusted())
    if _is_plain(power):
        return f"{_signed(number)}{PLUS_MINUS}{_signed(doubt)}"
    pair = f"({_signed(number.scaleb(-power))}{PLUS_MINUS}{_signed(doubt.scaleb(-power))})"
    return f"{pair}{_times_ten_to(power)}"


def _is_plain(power: int) -> bool:
    return -4 <= power < 7


def _times_ten_to(power: int) -> str:
    return f"{NO_BREAK}×{NO_BREAK}10{str(power).translate(_SUPERSCRIPT)}"


def _signed(number: Decimal) -> str:
    return f"{number:f}".replace("-", MINUS) if number else f"{abs(number):f}"
