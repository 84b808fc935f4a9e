"""CAS registry numbers: the check digit, and which mistake was made when it does not fit."""

import re

from labstock.chemistry.errors import LabError

_DASHES = str.maketrans("‐‑‒–—−", "------")
_PREFIX = re.compile(r"^\s*(?:CAS(?:\s*(?:RN|No\.?|number))?\s*[:#]?)?\s*", re.IGNORECASE)
_SHAPE = re.compile(r"(\d+)-(\d\d)-(\d)")


def check_cas(text: str) -> str:
    """Check a CAS registry number and give it back in its usual spelling.

    Parameters
    ----------
    text : str
        What was typed; long dashes, spaces round it and a leading "CAS" are allowed [-].

    Returns
    -------
    str
        The number as two to seven digits, two digits, check digit [-].

    Notes
    -----
    Source: the check digit is the sum of the digits before it, each times its place counted from the right,
    modulo 10 (the registry's published rule, from memory).

    Examples
    --------
    >>> check_cas("CAS 108–24–7")
    '108-24-7'
    >>> check_cas("108-24-8")
    Traceback (most recent call last):
    ...
    labstock.chemistry.errors.LabError: CAS number 108-24-8: the check digit should be 7 for 108-24, not 8. Read the number again.
    """
    cleaned = _PREFIX.sub("", text.translate(_DASHES), count=1).strip()
    if not cleaned:
        raise LabError(
            "cas-empty", "The CAS number is empty: type it as on the label, for instance 108-24-7."
        )
    match = _SHAPE.fullmatch(cleaned)
    if not match or not cleaned.isascii():
        raise _misshapen(cleaned)
    first, second, check = match.groups()
    _refuse_length(cleaned, first)
    wanted = check_digit(first + second)
    if int(check) != wanted:
        raise _wrong_digit(first, second, check, wanted)
    return cleaned


def check_digit(digits: str) -> int:
    """Compute the check digit that belongs to the digits before it.

    Parameters
    ----------
    digits : str
        All digits but the last, without dashes [-].

    Returns
    -------
    int
        The check digit [-].

    Notes
    -----
    Source: as `check_cas`.

    Examples
    --------
    >>> check_digit("773218")
    5
    """
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), start=1)) % 10


def _refuse_length(cleaned: str, first: str) -> None:
    if first.startswith("0"):
        raise LabError(
            "cas-leading-zero",
            "CAS number {typed} starts with a zero, and none does: leave the zero out ({without}).",
            typed=cleaned,
            without=cleaned.lstrip("0"),
        )
    if not 2 <= len(first) <= 7:
        raise LabError(
            "cas-length",
            "CAS number {typed}: before the first dash stand {count}, and there are always 2 to 7 digits: "
            "look for a digit {fault}.",
            typed=cleaned,
            count=len(first),
            fault="left out" if len(first) < 2 else "too many",
        )


def _misshapen(cleaned: str) -> LabError:
    shown = cleaned if len(cleaned) <= 40 else cleaned[:40] + "…"
    strange = re.search(r"[^0-9\s./_-]", cleaned)
    if strange:
        return LabError(
            "cas-character",
            "CAS number {typed}: '{character}' is no digit. Type digits and two dashes, for instance 108-24-7.",
            typed=shown,
            character=strange[0],
        )
    digits = re.sub(r"\D", "", cleaned)
    if not 5 <= len(digits) <= 10:
        return LabError(
            "cas-length",
            "CAS number {typed} has {count} digits, and there are always 5 to 10: look for a digit {fault}.",
            typed=shown,
            count=len(digits),
            fault="left out" if len(digits) < 5 else "too many",
        )
    return LabError(
        "cas-dashes",
        "CAS number {typed}: the dashes stand before the last digit and before the two digits in front of it. "
        "Did you mean {guess}?{doubt}",
        typed=shown,
        guess=_dashed(digits),
        doubt=""
        if int(digits[-1]) == check_digit(digits[:-1])
        else " (Its check digit does not fit either.)",
    )


def _dashed(digits: str) -> str:
    return f"{digits[:-3]}-{digits[-3:-1]}-{digits[-1]}"


def _wrong_digit(first: str, second: str, check: str, wanted: int) -> LabError:
    swaps = _valid_swaps(first + second + check)
    return LabError(
        "cas-check-digit",
        "CAS number {typed}: the check digit should be {wanted} for {body}, not {found}. {advice}",
        typed=f"{first}-{second}-{check}",
        wanted=wanted,
        body=f"{first}-{second}",
        found=check,
        advice=f"Two neighbouring digits may be swapped: {' or '.join(swaps)}?"
        if swaps
        else "Read the number again.",
    )


def _valid_swaps(digits: str) -> list[str]:
    found = []
    for place in range(len(digits) - 1):
        swapped = digits[:place] + digits[place + 1] + digits[place] + digits[place + 2 :]
        if swapped != digits and swapped[0] != "0" and int(swapped[-1]) == check_digit(swapped[:-1]):
            found.append(_dashed(swapped))
    return found
