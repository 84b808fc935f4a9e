"""What a mistyped code may have been meant to be, and which kind of mistake that would be."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from labstock.stock.code_shape import (
    ALPHABET,
    FEWEST_DIGITS,
    MOST_DIGITS,
    NEVER_PRINTED,
    check_character,
    is_code,
)

Mistake = Literal["look-alike", "swapped", "one-wrong", "too-long", "too-short"]
LOOK_ALIKES = ("0OQD", "1IL", "2Z", "5S", "6G", "8B")


@dataclass(frozen=True)
class Reading:
    """One way to read a mistyped code: the right code, the kind of mistake, and the mistake in words."""

    code: str
    mistake: Mistake
    words: str


def find_readings(text: str, prefix: str) -> list[Reading]:
    """List the codes that a mistyped text is one slip away from, likeliest kind first.

    Parameters
    ----------
    text : str
        What was typed, in capitals, without spaces and dashes [-].
    prefix : str
        The lab's two letters [-].

    Returns
    -------
    list of Reading
        Valid codes of this lab, each once; which of them exist is for the caller to look up [-].

    Notes
    -----
    Look-alikes come before swaps, swaps before a single wrong character: common practice in reading
    hand-typed numbers, no source.

    Examples
    --------
    >>> good = "TQ4817" + check_character("TQ4817")
    >>> [reading.code == good for reading in find_readings(good.replace("1", "I"), "TQ")]
    [True]
    """
    look_alike = _look_alike(text, prefix)
    if look_alike and not _is_shaped_like_a_code(text, prefix):
        return [look_alike]
    found = {look_alike.code: look_alike} if look_alike else {}
    for ways in (_missing, _swapped, _one_wrong, _one_extra):
        for reading in ways(text, prefix):
            if is_code(reading.code, prefix):
                found.setdefault(reading.code, reading)
    return list(found.values())


def _is_shaped_like_a_code(text: str, prefix: str) -> bool:
    """Then the check character may be the wrong one, but so may any other."""
    return text.startswith(prefix) and text[len(prefix) : -1].isdigit() and text[-1] not in NEVER_PRINTED


def _twins(character: str) -> str:
    return next((group.replace(character, "") for group in LOOK_ALIKES if character in group), "")


def _look_alike(text: str, prefix: str) -> Reading | None:
    """Letters where digits belong and the other way round; all such slips at once."""
    if not len(prefix) + FEWEST_DIGITS < len(text) <= len(prefix) + MOST_DIGITS + 1:
        return None
    head = "".join(
        meant if typed in _twins(meant) else typed for typed, meant in zip(text, prefix, strict=False)
    )
    digits = "".join(c if c.isdigit() else next((t for t in _twins(c) if t.isdigit()), c) for c in text[2:-1])
    for last in text[-1] + _twins(text[-1]):
        code = head + digits + last
        if code != text and is_code(code, prefix):
            changes = [
                f"{_called(typed)} stands where {_called(meant)} belongs"
                for typed, meant in dict.fromkeys(zip(text, code, strict=True))
                if typed != meant
            ]
            return Reading(code, "look-alike", " and ".join(changes))
    return None


def _swapped(text: str, prefix: str) -> Iterator[Reading]:
    for i, (left, right) in enumerate(pairwise(text)):
        if left != right:
            code = text[:i] + right + left + text[i + 2 :]
            yield Reading(code, "swapped", f"the neighbours {left} and {right} are swapped")


def _one_wrong(text: str, prefix: str) -> Iterator[Reading]:
    for i, typed in enumerate(text):
        for meant in ALPHABET:
            if meant != typed:
                words = f"one character is wrong: {_called(typed)} should be {_called(meant)}"
                yield Reading(text[:i] + meant + text[i + 1 :], "one-wrong", words)


def _one_extra(text: str, prefix: str) -> Iterator[Reading]:
    if len(text) >= 2 and len(text) % 2 == 0 and text[: len(text) // 2] == text[len(text) // 2 :]:
        yield Reading(text[: len(text) // 2], "too-long", "the code is there twice")
    for i, typed in enumerate(text):
        yield Reading(text[:i] + text[i + 1 :], "too-long", f"one {typed} too many")


def _missing(text: str, prefix: str) -> Iterator[Reading]:
    """The prefix, the check character, both, or one character in between left out."""
    if text.isdigit() and len(text) <= MOST_DIGITS:
        body = prefix + text.lstrip("0").zfill(FEWEST_DIGITS)
        words = f"the letters {prefix} and the check character are missing"
        yield Reading(body + check_character(body), "too-short", words)
    yield Reading(prefix + text, "too-short", f"the letters {prefix} in front are missing")
    yield Reading(text + check_character(text), "too-short", "the check character at the end is missing")
    if len(text) < len(prefix) + FEWEST_DIGITS + 1:
        for i in range(len(text)):
            for meant in ALPHABET:
                words = f"one character is missing: {_called(meant)}"
                yield Reading(text[:i] + meant + text[i:], "too-short", words)


def _called(character: str) -> str:
    return f"the digit {character}" if character.isdigit() else f"the letter {character}"
