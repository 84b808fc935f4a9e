"""Container codes: read back from whatever people type or scan. The rest of a code's life is offered here too."""

import re
import unicodedata
from collections.abc import Collection

from labstock.chemistry.errors import LabError
from labstock.stock.code_shape import (
    FEWEST_DIGITS,
    MOST_DIGITS,
    check_character,
    check_prefix,
    is_code,
    make_code,
    next_number,
    show_code,
    split_code,
)
from labstock.stock.misreadings import Reading, find_readings

__all__ = [
    "check_character",
    "check_prefix",
    "is_code",
    "make_code",
    "narrow_mistake",
    "next_number",
    "read_code",
    "show_code",
    "split_code",
]
LONGEST_TEXT = 300


def read_code(text: str, prefix: str) -> str:
    """Read a code that was typed, pasted or scanned, bare or as the address on a label.

    Parameters
    ----------
    text : str
        What came in; spaces, dashes, lower case and a full address are all right [-].
    prefix : str
        The lab's two letters [-].

    Returns
    -------
    str
        The stored code [-].

    Raises
    ------
    LabError
        With the kind of mistake in its code, and in its parts `candidates` (codes) and `readings`
        (`Reading` rows with the mistake in words) that the caller looks up [-].

    Notes
    -----
    Check character by ISO 7064 MOD 37,36.

    Examples
    --------
    >>> read_code("tq 4817-k", "TQ"), read_code("HTTPS://STOCK.EXAMPLE/C/TQ4817K", "TQ")
    ('TQ4817K', 'TQ4817K')
    """
    typed = text.strip()[:LONGEST_TEXT]
    clean = unicodedata.normalize("NFKC", typed).upper()
    bare = _without_separators(_without_address(clean))
    if is_code(bare, prefix):
        return bare
    raise _refusal(typed, bare, prefix)


def narrow_mistake(error: LabError, known: Collection[str]) -> LabError:
    """Say a refusal again with only those candidates that exist in the stock.

    Parameters
    ----------
    error : LabError
        What `read_code` raised [-].
    known : collection of str
        Those of its candidates that exist [-].

    Returns
    -------
    LabError
        The kind of mistake that explains an existing code, or the same refusal if none exists [-].

    Notes
    -----
    Never takes a candidate as the answer: a person confirms it. Rule of this project.

    Examples
    --------
    >>> try:
    ...     read_code("TQ4871K", "TQ")
    ... except LabError as error:
    ...     narrow_mistake(error, ["TQ4817K"]).code
    'code-swapped'
    """
    readings = [reading for reading in _readings_of(error) if reading.code in known]
    if not readings:
        return error
    return _mistyped(str(error.parts["typed"]), readings)


def _without_address(typed: str) -> str:
    """Keep what follows /C/, or /S/ on a sample's tag; a scanner set to another keyboard types other signs for the slashes."""
    address = re.match(r"HTTPS?[^A-Z0-9].*[^A-Z0-9][CS][^A-Z0-9](?P<code>[^/?#&]+)/?(?:[?#].*)?$", typed)
    return address["code"] if address else typed


def _without_separators(typed: str) -> str:
    return re.sub(r"[\s\u00ad\u2010-\u2015\u2212_.·-]|%20", "", typed)


def _refusal(typed: str, bare: str, prefix: str) -> LabError:
    if not bare:
        return LabError(
            "code-empty", "No code was typed. Type it as on the label, such as {like}.", like=_like(prefix)
        )
    if strange := _not_ours(typed, bare, prefix):
        return strange
    if re.fullmatch(r"[A-Z]{2}[0-9]{4,8}[0-9A-Z]", bare) and bare[:2] != prefix and is_code(bare, bare[:2]):
        return _foreign(bare, prefix)
    if readings := find_readings(bare, prefix):
        return _mistyped(typed, readings)
    return _hopeless(typed, bare, prefix)


def _not_ours(typed: str, bare: str, prefix: str) -> LabError | None:
    way_out = f"This lab's codes look like {_like(prefix)}: scan the lab's own label on the container."
    if re.fullmatch(r"[0-9]{2,7}-[0-9]{2}-[0-9]", typed):
        kind, what = (
            "code-cas",
            "is a CAS number: it names a substance, not a container. Search the stock for it, or scan the label.",
        )
    elif re.match(r"(HTTPS?|WWW)[^A-Z0-9]", bare):
        kind, what = "code-address", f"is an address that does not lead to a container. {way_out}"
    elif _is_makers(typed, bare):
        kind = "code-maker"
        what = f"is a maker's bar code ({len(bare)} characters), not a code of this lab. {way_out}"
    elif unknown := re.search(r"[^0-9A-Z]", bare):
        kind, what = "code-not-ours", f"contains “{unknown[0]}”, which no code of this lab has. {way_out}"
    else:
        return None
    return LabError(kind, "“{typed}” {what}", typed=typed[:60], what=what, candidates=[], readings=())


def _is_makers(typed: str, bare: str) -> bool:
    """Say whether it is a number of the GS1 General Specifications: GTIN alone, or in front of lot and expiry (01)."""
    if re.match(r"\]|\(01\)", typed) or re.match(r"01[0-9]{14}[0-9A-Z]", bare):
        return True
    return bare.isdigit() and (len(bare) > MOST_DIGITS or (len(bare) == 8 and _fits_gtin(bare)))


def _fits_gtin(digits: str) -> bool:
    """Say whether the last digit is the check digit of the others (GS1 General Specifications, 7.9.1)."""
    weighted = [int(digit) * (3 if i % 2 else 1) for i, digit in enumerate(reversed(digits))]
    return sum(weighted) % 10 == 0


def _foreign(bare: str, prefix: str) -> LabError:
    return LabError(
        "code-foreign",
        "{shown} is a code of another lab: it begins with {other}, ours begin with {prefix}. "
        "Ask that lab, or receive the container here and print a label of ours.",
        shown=show_code(bare),
        other=bare[:2],
        prefix=prefix,
        candidates=[],
        readings=(),
    )


def _mistyped(typed: str, readings: list[Reading]) -> LabError:
    shown = [f"{show_code(reading.code)} ({reading.words})" for reading in readings[:3]]
    more = f", or one of {len(readings) - 3} more" if len(readings) > 3 else ""
    return LabError(
        f"code-{readings[0].mistake}",
        "“{typed}” is not a code of this lab. It may be {meant}. Compare with the label and type it again.",
        typed=typed[:60],
        meant=" or ".join(shown) + more,
        candidates=[reading.code for reading in readings],
        readings=tuple(readings),
    )


def _hopeless(typed: str, bare: str, prefix: str) -> LabError:
    fewest, most = len(prefix) + FEWEST_DIGITS + 1, len(prefix) + MOST_DIGITS + 1
    if not fewest <= len(bare) <= most:
        code, why = ("code-too-short", "too short") if len(bare) < fewest else ("code-too-long", "too long")
        why = f"is {why}: it has {len(bare)} characters, ours have {fewest} to {most}"
    elif bare[:2].isalpha() and bare[:2] != prefix:
        code, why = (
            "code-foreign",
            f"begins with {bare[:2]}, ours begin with {prefix}, and more in it is wrong",
        )
    else:
        code, why = "code-wrong", "has more than one wrong character"
    return LabError(
        code,
        "“{typed}” {why}. Type the code as on the label, such as {like}.",
        typed=typed[:60],
        why=why,
        like=_like(prefix),
        candidates=[],
        readings=(),
    )


def _like(prefix: str) -> str:
    return show_code(make_code(prefix, next_number(prefix, 4816)))


def _readings_of(error: LabError) -> tuple[Reading, ...]:
    readings = error.parts.get("readings", ())
    return readings if isinstance(readings, tuple) else ()
