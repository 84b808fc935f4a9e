"""What people type for a formula, brought to one spelling; and the way back to a printed one."""

import re

from labstock.chemistry.atomic_weights import ELEMENTS
from labstock.chemistry.errors import LabError

_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")
_SUPERSCRIPT = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻"
_FRACTIONS = {"½": (1, 2), "¼": (1, 4), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5)}
_MINUSES = str.maketrans("−–‒‐‑—", "------")
_DOTS = str.maketrans("•∙⋅*×⸱・", "·······")

_NONMETAL_SYMBOLS = "H D T He B C N O F Ne Si P S Cl Ar As Se Br Kr Te I Xe At Rn"
_NONMETALS = frozenset(_NONMETAL_SYMBOLS.split())
_HALOGENS = frozenset({"F", "Cl", "Br", "I"})

# Molecules that crystallise with others: after one of these a point is a dot, never a decimal point.
_GUEST_FORMULAE = (
    "H2O OH2 HOH D2O NH3 HCl HBr HI HF HNO3 H2SO4 H3PO4 HClO4 HBF4 H2O2 I2 Br2 SO2 CO2 CH3OH CH4O C2H5OH C2H6O "
    "CH3CN C2H3N C4H8O C4H10O (C2H5)2O C2H4O2 CH3COOH C3H7NO C2H6OS C6H6 C7H8 CHCl3 CH2Cl2"
)
_GUESTS = frozenset(_GUEST_FORMULAE.split())

_STATE = re.compile(r"\s*\((?:s|l|g|aq|cr|am)\)$")
_MARKED_CHARGE = re.compile(r"(?:\^\s*\{?\(?|\s+\(?|\()(\d{0,2})([+-])\)?\}?$")
_SIGN_FIRST = re.compile(r"\s*\^?([+-])(\d{1,2})$")
_REPEATED = re.compile(r"\s*\^?(\+{2,4}|-{2,4})$")
_PLAIN_CHARGE = re.compile(r"(\d*)([+-])$")
_SPLIT_ELEMENT = re.compile(r"[A-Z][a-z]?")


def normalised(typed: str) -> tuple[str, int]:
    """Bring a typed formula to one spelling and take off its charge.

    Parameters
    ----------
    typed : str
        What the person wrote [-].

    Returns
    -------
    tuple of (str, int)
        Body with '·' between its parts, and the charge in elementary charges [-].

    Notes
    -----
    The rules stand at the top of `labstock.chemistry.formula`; they are ours.

    Examples
    --------
    >>> normalised("CuSO4 . 5 H2O")
    ('CuSO4·5H2O', 0)
    >>> normalised("SO₄²⁻")
    ('SO4', -2)
    """
    text = _superscripts(typed.strip()).translate(_SUBSCRIPTS).translate(_MINUSES).translate(_DOTS)
    text = _STATE.sub("", re.sub(rf"(\d*)([{''.join(_FRACTIONS)}])", _fraction, text))
    body, charge = _without_charge(text, typed)
    return _parts(body, typed), charge


def _fraction(match: re.Match[str]) -> str:
    above, below = _FRACTIONS[match[2]]
    return f"{int(match[1] or 0) * below + above}/{below}"


def _superscripts(text: str) -> str:
    """Superscripts before a letter are a mass number; at the end they are the charge."""
    text = re.sub(r"\^\{?(\d+)\}?([A-Z][a-z]?)", r"[\1\2]", text)
    text = re.sub(
        rf"([{_SUPERSCRIPT[:10]}]+)([A-Z][a-z]?)", lambda m: f"[{m[1].translate(_SUPERSCRIPTS)}{m[2]}]", text
    )
    return re.sub(rf"[{_SUPERSCRIPT}]+", lambda m: "^" + m[0].translate(_SUPERSCRIPTS), text)


def _without_charge(text: str, typed: str) -> tuple[str, int]:
    if match := _MARKED_CHARGE.search(text):
        return text[: match.start()], _signed(match[2], match[1])
    if match := _REPEATED.search(text):
        return text[: match.start()], _signed(match[1][0], str(len(match[1])))
    if match := _SIGN_FIRST.search(text):
        return text[: match.start()], _signed(match[1], match[2])
    if match := _PLAIN_CHARGE.search(text):
        before = text[: match.start()]
        digits, charge = _split_digits(before, match[1], match[2], typed)
        return before + digits, charge
    return text, 0


def _signed(sign: str, size: str) -> int:
    return int(size or 1) * (1 if sign == "+" else -1)


def _split_digits(before: str, digits: str, sign: str, typed: str) -> tuple[str, int]:
    """Decide which of the digits before a plain sign count atoms and which are the charge."""
    if not digits:
        return "", _signed(sign, "")
    if before.endswith("]") and before.startswith("["):
        return "", _signed(sign, digits)
    elements = _SPLIT_ELEMENT.findall(before)
    is_alone = len(elements) == 1 and before == elements[0]
    if len(digits) == 1:
        if _is_open(before, elements, is_alone, sign):
            raise _ask_charge(before, digits, sign, typed)
        is_cation = is_alone and elements[0] not in _NONMETALS
        return ("", _signed(sign, digits)) if is_cation else (digits, _signed(sign, ""))
    if len(digits) > 2 or "0" in digits or digits[0] == "1":
        return digits, _signed(sign, "")
    if elements and elements[-1] in {"C", "H"} and not is_alone and not before.endswith((")", "]", "}")):
        raise _ask_charge(before, digits, sign, typed)
    if digits[1] in "234":
        return digits[0], _signed(sign, digits[1])
    return digits, _signed(sign, "")


def _is_open(before: str, elements: list[str], is_alone: bool, sign: str) -> bool:
    if is_alone:
        return elements[0] in _NONMETALS - _HALOGENS or (elements[0] in _HALOGENS and sign == "+")
    has_metal = any(element in ELEMENTS - _NONMETALS for element in elements)
    ends_in_group = before.endswith((")", "]", "}"))
    return sign == "+" and has_metal and not ends_in_group


def _ask_charge(before: str, digits: str, sign: str, typed: str) -> LabError:
    count, size = (digits, "") if len(digits) == 1 else (digits[0], digits[1:])
    first = f"{before}{count}^{size}{sign}"
    second = f"{before}^{digits}{sign}" if len(digits) == 1 else f"{before}{digits}^{sign}"
    return LabError(
        "charge-unclear",
        "'{typed}' can be read as {first} or as {second}: write the one you mean, with '^' before the charge.",
        typed=typed,
        first=first,
        second=second,
    )


def _parts(body: str, typed: str) -> str:
    body = _points(re.sub(r"\s*·\s*", "·", body.strip()), typed)
    body = re.sub(r"(?<=[A-Za-z0-9)\]}])[=≡-](?=[A-Z(\[])", "", body)
    body = re.sub(r"((?:^|[·\s])\d[\d,/]*)\s+(?=[A-Z(\[])", r"\1", body)
    body = re.sub(r"\s+(?=[A-Z(\[{])", "", body)
    return re.sub(r"[·\s]+", "·", body).rstrip("·")


def _points(body: str, typed: str) -> str:
    """Turn every point into '·' (between molecules) or ',' (decimal), or ask."""
    out = ""
    for index, character in enumerate(body):
        out += _meaning_of_point(body, index, typed) if character == "." else character
    return out


def _meaning_of_point(body: str, index: int, typed: str) -> str:
    before = re.search(r"\d+$", body[:index])
    after = re.match(r"(\d+)([^.·\s]*)", body[index + 1 :])
    if not before or not after:
        return "·"
    number, molecule = after.groups()
    if number == "0" and body[index + 2 : index + 3] == "." and before[0] != "0":
        return "·"
    starts_part = before.start() == 0 or body[before.start() - 1] in "·. /"
    if starts_part or before[0] == "0" or not molecule:
        return ","
    if molecule in _GUESTS:
        return "·"
    if len(_SPLIT_ELEMENT.findall(molecule)) == 1 or re.search(r"[A-Za-z]0(?!\d)", molecule):
        return ","
    raise LabError(
        "point-unclear",
        "'{typed}': the point in {before}.{number} can stand for a count of {before}.{number} or part two molecules, "
        "{number} {molecule} being the second. Write '·' between molecules, or a comma in a decimal count.",
        typed=typed,
        before=before[0],
        number=number,
        molecule=molecule,
    )


_PRINTED = re.compile(r"\[(\d+)([A-Z][a-z]?)(\d*)\]|([·(\[{]|^)(\d[\d,/]*)|(\d+(?:,\d+)?(?:/\d+)?)|(\D)")


def pieces(body: str, charge: str) -> list[tuple[str, str]]:
    """Cut a normalised formula into text, subscripts and superscripts.

    Parameters
    ----------
    body : str
        Formula from `normalised` [-].
    charge : str
        Charge as printed, for instance "2−" [-].

    Returns
    -------
    list of (str, str)
        Text, and "sub", "sup" or "" [-].

    Notes
    -----
    Source: IUPAC, Nomenclature of Inorganic Chemistry 2005, IR-3.2 (where mass number, count and charge stand).

    Examples
    --------
    >>> pieces("SO4", "2−")
    [('SO', ''), ('4', 'sub'), ('2−', 'sup')]
    """
    out: list[tuple[str, str]] = []
    for match in _PRINTED.finditer(body):
        mass, isotope, number, opening, multiplier, count, other = match.groups()
        if mass:
            out += [(mass, "sup"), (isotope, "")] + ([(number, "sub")] if number else [])
        elif count:
            out.append((count.replace(",", "."), "sub"))
        else:
            out.append((other or opening + multiplier.replace(",", "."), ""))
    return _joined(out + ([(charge, "sup")] if charge else []))


def _joined(parts: list[tuple[str, str]]) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    for text, place in parts:
        if out and not place and not out[-1][1]:
            out[-1] = (out[-1][0] + text, "")
        else:
            out.append((text, place))
    return out
