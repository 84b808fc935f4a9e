"""What a maker's code on a bottle says beside the product's number: lot and expiry, by the GS1 General Specifications."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date

SEPARATOR = "\x1d"
# Application identifiers of fixed length [AI -> characters]; GS1 General Specifications, figure 7.8.5-2 (from memory).
FIXED = {"00": 18, "01": 14, "02": 14, "11": 6, "12": 6, "13": 6, "15": 6, "16": 6, "17": 6, "20": 2}
# A bar code of so many digits is the product's number alone, with zeros in front: GTIN-12, GTIN-13, GTIN-14.
ALONE = (12, 13, 14)
VARIABLE = {"10": 20, "21": 20, "22": 20, "240": 30, "241": 30, "37": 8}


@dataclass(frozen=True)
class MakersCode:
    """The product's number, the lot, and the last day of use; empty or None where the code does not say."""

    gtin: str
    lot: str = ""
    expires_on: date | None = None


def find_makers_code(text: str, today: date) -> MakersCode | None:
    """Read a maker's code, or return None where the text is none.

    Parameters
    ----------
    text : str
        As scanned: an element string with or without separators, one written with brackets, a web address of
        the same shape, or the digits of a bar code alone [-].
    today : date
        The day it is read; decides the century of a year of two digits [-].

    Returns
    -------
    MakersCode or None
        What it says; None if it does not begin with the number of a product, or that fails its check digit [-].

    Notes
    -----
    GS1 General Specifications, 7.8 (element strings), 7.9 (check digit) and 7.12 (century of a date); GS1 Digital
    Link URI syntax 1.2 for addresses.

    Examples
    --------
    >>> find_makers_code("(01)09506000134352(17)271231(10)AB-123", date(2026, 11, 25))
    MakersCode(gtin='09506000134352', lot='AB-123', expires_on=datetime.date(2027, 12, 31))
    """
    typed = text.strip()
    is_alone = len(typed) in ALONE and re.fullmatch(r"[0-9]+", typed)
    said = {"01": typed.zfill(14)} if is_alone else _elements(typed)
    number = said.get("01", "")
    if not re.fullmatch(r"[0-9]{14}", number) or not _checks(number):
        return None
    return MakersCode(number, said.get("10", ""), _day(said.get("17", ""), today))


def _checks(digits: str) -> bool:
    """Say whether the last digit is the check digit of the others: 3 and 1 in turn from the right, to a multiple of 10."""
    return sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(reversed(digits))) % 10 == 0


def _elements(text: str) -> dict[str, str]:
    if re.match(r"https?:", text, re.IGNORECASE):
        return dict(re.findall(r"[/?&](01|10|17)[/=]([^/?&#]+)", text))
    if text.startswith("("):
        return dict(re.findall(r"\(([0-9]{2,4})\)([^()]*)", text))
    return _parted(re.sub(r"^\][A-Za-z][0-9]", "", text).lstrip(SEPARATOR))


def _parted(text: str) -> dict[str, str]:
    """Part an element string; what follows an identifier that is not known here is left unread."""
    said: dict[str, str] = {}
    while text:
        ai = next((ai for ai in (*FIXED, *VARIABLE) if text.startswith(ai)), "")
        if not ai:
            break
        text = text[len(ai) :]
        if ai in FIXED:
            said[ai], text = text[: FIXED[ai]], text[FIXED[ai] :].lstrip(SEPARATOR)
        else:
            said[ai], _, text = text.partition(SEPARATOR)
            said[ai] = said[ai][: VARIABLE[ai]]
    return said


def _day(text: str, today: date) -> date | None:
    """Return a day written YYMMDD; day 00 is the last of the month."""
    if not re.fullmatch(r"[0-9]{6}", text):
        return None
    year, month, day = int(text[:2]), int(text[2:4]), int(text[4:])
    ahead = year - today.year % 100
    century = today.year // 100 + (1 if ahead <= -50 else -1 if ahead >= 51 else 0)
    full_year = century * 100 + year
    if not 1 <= month <= 12 or day > monthrange(full_year, month)[1]:
        return None
    return date(full_year, month, day or monthrange(full_year, month)[1])
