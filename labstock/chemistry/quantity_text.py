"""The grammar of a typed amount: what its characters say, before units have a meaning.

``[count x] number [unit] [± half width [unit or %]] [(k=2)]``, or ``(number ± half width) unit``.
The decimal sign is a point or a comma; powers of ten are "2e-3" or "2 × 10⁻³".
What could mean two things is asked, never guessed. Signs and spaces follow the SI brochure, 9th ed., 5.4; the rest is
common practice, no source.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from labstock.chemistry.errors import LabError

LONGEST_TEXT = 80
MOST_DIGITS = 15
LARGEST_POWER = 30
MOST_PORTIONS = 1000

_DIGITS = r"[0-9][0-9.,']*|[.,][0-9][0-9.,']*"
_POWER = r"[eE][+-]?[0-9]+|\s*[x·*]\s*10(?:\^[+-]?|[+-])[0-9]+"
_NUMBER = re.compile(rf"(?P<sign>[+-]?)\s*(?P<digits>{_DIGITS})(?P<power>{_POWER})?\s*(?P<unit>.*)")
_COUNT = re.compile(r"(?P<count>[0-9]+)\s*[xX*]\s*(?!10[\^+-])(?P<rest>[0-9.,(].*)")
_COUNT_BEHIND = re.compile(r"(?P<rest>[0-9][^xX*]*[^0-9xX*\s])\s*[xX*]\s*(?P<count>[0-9]+)")
_BRACKET = re.compile(rf"\((?P<value>[^()±]+)±(?P<half>[^()±]+)\)(?P<power>{_POWER})?\s*(?P<unit>.*)")
_COVERAGE = re.compile(r"(?P<rest>.*)\(\s*k\s*=\s*(?P<k>[0-9]+(?:[.,][0-9]+)?)\s*\)")
_RANGE = re.compile(
    r"(?P<low>[0-9]+(?:[.,][0-9]+)?)\s*(?:[-–—…]|to|\.\.+)\s*(?P<high>[0-9]+(?:[.,][0-9]+)?)\s*(?P<unit>[^0-9]*)"
)
_SIMPLE_FRACTION = re.compile(r"[0-9]+\s*/\s*[0-9]+.*|.*[½¼¾⅓⅔⅛].*")
_LIMIT = re.compile(r"(?:[<>≤≥≦≧~≈]|ca\b|about|approx|max|min\b|at (?:least|most)).*", re.IGNORECASE)
_NOT_FINITE = re.compile(r"[+-]?\s*(?:nan|inf(?:inity)?|∞)(?![a-z]).*", re.IGNORECASE)
_ASKED_COMMA = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_ASKED_SPACE = re.compile(r"(?P<first>[0-9]{1,3}) (?P<rest>[0-9]{3}(?:[.,][0-9]+)?)(?P<unit>[^0-9].*|)")
_GROUPING_SPACE = re.compile(r"(?<=[0-9])[\u00a0\u2009\u202f](?=[0-9]{3}(?![0-9]))")
_SUPERSCRIPT = re.compile(r"10([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
_INVISIBLE = dict.fromkeys(map(ord, "\u200b\u2060\ufeff\u00ad"))
_PLAIN_POWER = str.maketrans("⁺⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "+-0123456789")


@dataclass(frozen=True)
class NumberText:
    """A number and the unit text behind it.

    Parameters
    ----------
    value : Decimal
        The number [unit as typed].
    unit : str
        The unit as typed, empty when there was none [-].
    """

    value: Decimal
    unit: str


@dataclass(frozen=True)
class QuantityText:
    """The parts of a typed amount.

    Parameters
    ----------
    number : NumberText
        One portion [unit as typed].
    half : NumberText, optional
        What stood behind ± [unit as typed].
    k : Decimal, optional
        Coverage factor, where one was typed [-].
    count : int
        Number of equal portions [-].
    """

    number: NumberText
    half: NumberText | None
    k: Decimal | None
    count: int


def read_quantity_text(typed: str) -> QuantityText:
    """Take a typed amount apart.

    Parameters
    ----------
    typed : str
        What the person wrote [-].

    Returns
    -------
    QuantityText
        Its parts [units as typed].

    Raises
    ------
    LabError
        Names what was typed, why it cannot be read, and what to write.

    Examples
    --------
    >>> parts = read_quantity_text("2 x 250mg ± 1 mg")
    >>> parts.count, parts.number.value, parts.half.value, parts.half.unit
    (2, Decimal('250'), Decimal('1'), 'mg')
    """
    text = _tidy(typed)
    _refuse_other_forms(text, typed)
    count, text = _take_count(text, typed)
    k, text = _take_coverage(text)
    if bracket := _BRACKET.fullmatch(text):
        power, unit = bracket["power"] or "", bracket["unit"]
        value, half = (
            bracket["value"].strip() + power + " " + unit,
            bracket["half"].strip() + power + " " + unit,
        )
    else:
        value, _, half = text.partition("±")
    number = _read_number(value, typed)
    doubt = _read_half_width(half, typed) if half or "±" in text else None
    if k is not None and doubt is None:
        raise _unreadable(typed)
    return QuantityText(number, doubt, k, count)


def _tidy(typed: str) -> str:
    if not typed.strip():
        raise LabError("empty", "Nothing was entered: write a number and a unit, such as '5 mL'.")
    if len(typed) > LONGEST_TEXT:
        raise LabError(
            "too-long",
            "'{start}…' is {length} characters long; an amount has at most {most}: "
            "write a number and a unit, such as '5 mL'.",
            start=typed[:20],
            length=len(typed),
            most=LONGEST_TEXT,
        )
    text = _SUPERSCRIPT.sub(
        lambda match: "10^" + match[1].translate(_PLAIN_POWER), typed.translate(_INVISIBLE)
    )
    text = _GROUPING_SPACE.sub("", text)
    text = " ".join(text.split()).replace("×", "x").replace("−", "-")
    return text.replace("+/-", "±").replace("+-", "±")


def _refuse_other_forms(text: str, typed: str) -> None:
    if _NOT_FINITE.fullmatch(text):
        raise LabError(
            "not-finite", "'{typed}' is not a number: write a figure, such as '5 mL'.", typed=typed
        )
    if _LIMIT.fullmatch(text):
        raise LabError(
            "limit-not-amount",
            "'{typed}' is a limit or an estimate, not an amount: write the amount, with ± where it is not sure, "
            "such as '5 ± 1 mL'.",
            typed=typed,
        )
    if between := _RANGE.fullmatch(text):
        raise _range_refusal(between, typed)
    if _SIMPLE_FRACTION.fullmatch(text):
        raise LabError(
            "fraction-typed",
            "'{typed}' is written as a fraction: write a decimal number, such as '0.5 mL'.",
            typed=typed,
        )
    if spaced := _ASKED_SPACE.fullmatch(text):
        raise LabError(
            "ambiguous-space",
            "'{typed}' is not clear. Do you mean {first}{rest}{unit} or {first} x {rest}{unit}? Write it that way.",
            typed=typed,
            **spaced.groupdict(),
        )


def _range_refusal(between: re.Match[str], typed: str) -> LabError:
    low, high = (Decimal(between[end].replace(",", ".")) for end in ("low", "high"))
    return LabError(
        "range-typed",
        "'{typed}' is a range: write its middle and half width, '{middle:f} ± {half:f}{unit}'.",
        typed=typed,
        middle=(low + high) / 2,
        half=abs(high - low) / 2,
        unit=f" {between['unit'].strip()}".rstrip(),
    )


def _take_count(text: str, typed: str) -> tuple[int, str]:
    found = _COUNT.fullmatch(text)
    if not found:
        if behind := _COUNT_BEHIND.fullmatch(text):
            raise LabError(
                "count-behind",
                "'{typed}' has the number of portions behind: write '{count} x {rest}'.",
                typed=typed,
                count=behind["count"],
                rest=behind["rest"],
            )
        return 1, text
    count = int(found["count"])
    if not 1 <= count <= MOST_PORTIONS:
        raise LabError(
            "bad-count",
            "'{typed}' has {count} portions: give 1 to {most}.",
            typed=typed,
            count=count,
            most=MOST_PORTIONS,
        )
    return count, found["rest"]


def _take_coverage(text: str) -> tuple[Decimal | None, str]:
    found = _COVERAGE.fullmatch(text)
    return (Decimal(found["k"].replace(",", ".")), found["rest"].strip()) if found else (None, text)


def _read_number(text: str, typed: str) -> NumberText:
    found = _NUMBER.fullmatch(text.strip())
    if not found or re.match(r"[0-9+±.,'x^*·]|-[0-9]", found["unit"]):
        raise _unreadable(typed)
    value = _plain_number(found["digits"], found["unit"], typed) * Decimal(10) ** _power(
        found["power"] or "", typed
    )
    return NumberText(-value if found["sign"] == "-" else value, found["unit"])


def _read_half_width(text: str, typed: str) -> NumberText:
    if not text.strip():
        raise LabError(
            "nothing-behind-plus-minus",
            "'{typed}' has nothing behind ±: write the half width, such as '5 ± 0.1 mL'.",
            typed=typed,
        )
    half = _read_number(text, typed)
    if half.value < 0:
        raise LabError(
            "negative-uncertainty",
            "'{typed}' has an uncertainty below zero: write its size behind ±.",
            typed=typed,
        )
    return half


def _plain_number(digits: str, unit: str, typed: str) -> Decimal:
    if sum(map(str.isdigit, digits)) > MOST_DIGITS:
        raise LabError(
            "too-many-digits",
            "'{typed}' has more than {most} digits: round it to what was measured.",
            typed=typed,
            most=MOST_DIGITS,
        )
    if _ASKED_COMMA.fullmatch(digits):
        raise _comma_question(digits, unit, typed)
    if "'" in digits or len(re.findall("[.,]", digits)) > 1 or digits[-1] in ".,":
        raise LabError(
            "grouped-digits",
            "'{typed}' has more than one sign between its digits, or one at the end: "
            "write one decimal sign and no grouping, such as '{example}'.",
            typed=typed,
            example=_without_grouping(digits),
        )
    return Decimal(digits.replace(",", "."))


def _comma_question(digits: str, unit: str, typed: str) -> LabError:
    small = Decimal(digits.replace(",", "."))
    ending = f" {unit}" if unit else ""
    return LabError(
        "ambiguous-comma",
        "'{typed}' is not clear. Do you mean {small}{ending} or {large}{ending}? Write {point} or {large}.",
        typed=typed,
        small=f"{small.normalize():f}",
        large=digits.replace(",", ""),
        point=digits.replace(",", "."),
        ending=ending,
    )


def _without_grouping(digits: str) -> str:
    last = max(digits.rfind("."), digits.rfind(","))
    is_decimal = len({sign for sign in digits if sign in ".,"}) > 1 or digits.count("'") > 0
    whole, rest = (digits[:last], digits[last + 1 :]) if is_decimal and last > 0 else (digits, "")
    whole, rest = re.sub(r"\D", "", whole), re.sub(r"\D", "", rest)
    return f"{whole}.{rest}" if rest else whole


def _power(text: str, typed: str) -> int:
    if not text:
        return 0
    digits = re.sub(r"\s*[x·*]\s*10\^?|[eE]", "", text, count=1)
    if len(digits) > 5 or abs(int(digits)) > LARGEST_POWER:
        raise LabError(
            "absurd-power",
            "'{typed}' has a power of ten beyond {most}: check the number and the unit.",
            typed=typed,
            most=LARGEST_POWER,
        )
    return int(digits)


def _unreadable(typed: str) -> LabError:
    return LabError(
        "not-a-quantity",
        "'{typed}' is not read as an amount: write a number and a unit, such as '5 mL'.",
        typed=typed,
    )
