"""What a scanned text stands for: a container, a sample, a batch, a place, a person, or a card of amounts.

The code alone decides. A container's code is the lab's two letters, a number and a check character; a place's
begins with L, a person's with P, a batch's with B. A retained sample is a container: its tag carries an address
with /S/. Cards carry words: AMOUNT/5ML, ACT/EMPTY.
"""

import re
import unicodedata
from dataclasses import dataclass
from typing import Literal

from labstock.chemistry.errors import LabError
from labstock.stock.codes import check_character, read_code

ReadKind = Literal["container", "sample", "batch", "location", "person", "amount", "act"]
LETTER_OF: dict[str, ReadKind] = {"L": "location", "P": "person", "B": "batch"}
FEWEST_DIGITS = 3
LONGEST_TEXT = 300

# The amounts and acts on a card [text in the code -> words on the card].
AMOUNTS = {
    "0.1ML": "0.1 mL",
    "0.5ML": "0.5 mL",
    "1ML": "1 mL",
    "2ML": "2 mL",
    "5ML": "5 mL",
    "10ML": "10 mL",
    "50ML": "50 mL",
    "0.1G": "0.1 g",
    "0.5G": "0.5 g",
    "1G": "1 g",
    "2G": "2 g",
    "5G": "5 g",
    "10G": "10 g",
    "ALL": "all of it",
}
ACTS = {
    "DONE": "done",
    "UNDO": "undo",
    "USE": "used",
    "WEIGH": "weigh back",
    "SPILT": "spilt",
    "WASTED": "to waste",
    "PURGED": "purged",
    "EVAPORATED": "evaporated",
    "FOUND": "found more",
    "EMPTY": "empty",
}


@dataclass(frozen=True)
class Read:
    """What a text stands for. `value`: a container's code, a batch's number, the row number of a place or a
    person, an amount as people type it ("5 mL", "all"), the name of an act ("undo")."""

    kind: ReadKind
    value: str

    @property
    def number(self) -> int:
        """Return the row number of a place or a person [-]."""
        return int(self.value)


def location_code(number: int) -> str:
    """Make the code of a place.

    Parameters
    ----------
    number : int
        Its row number [-].

    Returns
    -------
    str
        L, three digits or more, a check character [-].

    Notes
    -----
    Check character by ISO 7064 MOD 37,36.

    Examples
    --------
    >>> what_is(location_code(12), "TQ")
    Read(kind='location', value='12')
    """
    return _checked(f"L{number:0{FEWEST_DIGITS}d}")


def person_code(number: int) -> str:
    """Make the code on a person's badge.

    Parameters
    ----------
    number : int
        Their row number [-].

    Returns
    -------
    str
        P, three digits or more, a check character [-].

    Notes
    -----
    Check character by ISO 7064 MOD 37,36. It names a person and proves nothing: whoever acts logs in.

    Examples
    --------
    >>> what_is(person_code(7), "TQ")
    Read(kind='person', value='7')
    """
    return _checked(f"P{number:0{FEWEST_DIGITS}d}")


def batch_code(number: str) -> str:
    """Make the code of a batch record.

    Parameters
    ----------
    number : str
        The batch's number, year and running number, such as 26-014 [-].

    Returns
    -------
    str
        B, the digits, a check character [-].

    Notes
    -----
    Check character by ISO 7064 MOD 37,36.

    Examples
    --------
    >>> what_is(batch_code("26-014"), "TQ")
    Read(kind='batch', value='26-014')
    """
    digits = number.replace("-", "")
    if not re.fullmatch(r"[0-9]{2}-[0-9]{3,}", number):
        raise LabError(
            "batch-number",
            "“{number}” is not a batch number: they look like 26-014. Take it from the batch record.",
            number=number[:20],
        )
    return _checked(f"B{digits}")


def what_is(text: str, prefix: str) -> Read:
    """Tell what a scanned or typed text stands for, by the text alone.

    Parameters
    ----------
    text : str
        What came in: a bare code, spaced as on the label or not, or the address around it [-].
    prefix : str
        The lab's two letters [-].

    Returns
    -------
    Read
        Kind and value [-].

    Raises
    ------
    LabError
        With the kind of mistake; for a container's code with what `read_code` says [-].

    Notes
    -----
    Check characters by ISO 7064 MOD 37,36; the words on cards are a rule of this project.

    Examples
    --------
    >>> what_is("HTTPS://STOCK.EXAMPLE/C/TQ4817K", "TQ"), what_is("AMOUNT/5ML", "TQ")
    (Read(kind='container', value='TQ4817K'), Read(kind='amount', value='5 mL'))
    """
    clean = unicodedata.normalize("NFKC", text.strip()[:LONGEST_TEXT]).upper()
    if card := re.fullmatch(r"(AMOUNT|ACT)[^A-Z0-9](.*)", clean):
        return _on_a_card(card[1], card[2], text)
    address = re.match(r"HTTPS?[^A-Z0-9].*[^A-Z0-9]([SLPB])[^A-Z0-9](?P<code>[0-9A-Z]+)[^A-Z0-9]?$", clean)
    if address and address[1] == "S":
        return Read("sample", read_code(address["code"], prefix))
    bare = address["code"] if address else re.sub(r"[\s\u00ad\u2010-\u2015\u2212_.·-]|%20", "", clean)
    if re.fullmatch(r"[LPB][0-9]+[0-9A-Z]", bare):
        return _numbered(bare, text)
    return Read("container", read_code(text, prefix))


def show_short_code(code: str) -> str:
    """Write the code of a place, a person or a batch the way people read it.

    Parameters
    ----------
    code : str
        A code with one letter in front [-].

    Returns
    -------
    str
        Letter, number and check character, parted by no-break spaces [-].

    Notes
    -----
    The same grouping as on containers; rule of this project.

    Examples
    --------
    >>> show_short_code(location_code(12)).split()[:2]
    ['L', '012']
    """
    return f"{code[0]}\u00a0{code[1:-1]}\u00a0{code[-1]}"


def _checked(body: str) -> str:
    return body + check_character(body)


def _numbered(bare: str, typed: str) -> Read:
    kind = LETTER_OF[bare[0]]
    digits = bare[1:-1]
    if len(digits) < FEWEST_DIGITS or check_character(bare[:-1]) != bare[-1] or len(digits) > 15:
        raise LabError(
            "code-check",
            "“{typed}” begins like the code of a {kind}, but a character in it is wrong: the check character at "
            "the end does not fit. Scan it again, or type it as on the label.",
            typed=typed.strip()[:40],
            kind="place" if kind == "location" else kind,
        )
    return Read(kind, f"{digits[:2]}-{digits[2:]}" if kind == "batch" else str(int(digits)))


def _on_a_card(what: str, word: str, typed: str) -> Read:
    words = AMOUNTS if what == "AMOUNT" else ACTS
    if word not in words:
        raise LabError(
            "card-unknown",
            "“{typed}” is on no card of ours; the cards say {known}. Print the card anew.",
            typed=typed.strip()[:40],
            known=", ".join(words.values()),
        )
    if what == "ACT":
        return Read("act", word.lower())
    return Read("amount", "all" if word == "ALL" else words[word])
