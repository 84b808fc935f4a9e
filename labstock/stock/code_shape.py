"""Container codes as given out: two letters, a running number, one check character."""

import re

from labstock.chemistry.errors import LabError

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
NEVER_PRINTED = "IO"  # read as 1 and 0 by people, so no code of ours carries them
FEWEST_DIGITS, MOST_DIGITS = 4, 8
LARGEST_NUMBER = 10**MOST_DIGITS - 1


def check_character(text: str) -> str:
    """Work out the check character that follows a text.

    Parameters
    ----------
    text : str
        Digits and capital letters without the check character [-].

    Returns
    -------
    str
        One digit or capital letter [-].

    Notes
    -----
    ISO 7064, hybrid system MOD 37,36: it sees every single wrong character and all but a few swaps
    of neighbours.

    Examples
    --------
    >>> check_character("A12425GABC1234002")
    'M'
    """
    product = 36
    for character in text:
        total = (product + ALPHABET.index(character)) % 36 or 36
        product = 2 * total % 37
    return ALPHABET[(1 - product) % 36]


def is_code(text: str, prefix: str) -> bool:
    """Tell whether a text is a code as this lab prints it, without spaces.

    Parameters
    ----------
    text : str
        The text to judge [-].
    prefix : str
        The lab's two letters [-].

    Returns
    -------
    bool
        True when shape and check character are right [-].

    Notes
    -----
    The number has at least four digits and no zeros in front beyond that, so each container has
    one spelling.

    Examples
    --------
    >>> is_code("TQ4817" + check_character("TQ4817"), "TQ"), is_code("TQ4817-", "TQ")
    (True, False)
    """
    shape = (
        rf"{prefix}(?:[0-9]{{{FEWEST_DIGITS}}}|[1-9][0-9]{{{FEWEST_DIGITS},{MOST_DIGITS - 1}}})[0-9A-HJ-NP-Z]"
    )
    return bool(re.fullmatch(shape, text)) and check_character(text[:-1]) == text[-1]


def check_prefix(prefix: str) -> str:
    """Refuse lab letters that people would misread.

    Parameters
    ----------
    prefix : str
        The lab's two letters [-].

    Returns
    -------
    str
        The same letters [-].

    Notes
    -----
    I and O are left out because they are read as 1 and 0; common practice, no source.

    Examples
    --------
    >>> check_prefix("TQ")
    'TQ'
    """
    if not re.fullmatch(r"[A-Z]{2}", prefix):
        raise LabError(
            "prefix-shape",
            "The lab's letters are {prefix!r}; they must be two capital letters from A to Z, such as TQ. "
            "Change the prefix in the settings.",
            prefix=prefix,
        )
    if unclear := [letter for letter in prefix if letter in NEVER_PRINTED]:
        raise LabError(
            "prefix-look-alike",
            "The lab's letters {prefix} contain {letter}, which people read as a digit. "
            "Choose two letters without I and O.",
            prefix=prefix,
            letter=unclear[0],
        )
    return prefix


def next_number(prefix: str, after: int = 0) -> int:
    """Find the next running number that may be given out.

    Parameters
    ----------
    prefix : str
        The lab's two letters [-].
    after : int
        The last number given out, 0 if none [-].

    Returns
    -------
    int
        A number whose check character is neither I nor O [-].

    Notes
    -----
    Skipping those numbers is a rule of this project; common practice, no source.

    Examples
    --------
    >>> next_number("TQ", 0)
    1
    """
    number = after + 1
    while check_character(_body(prefix, number)) in NEVER_PRINTED:
        number += 1
    return number


def make_code(prefix: str, number: int) -> str:
    """Put letters, number and check character together.

    Parameters
    ----------
    prefix : str
        The lab's two letters [-].
    number : int
        The running number [-].

    Returns
    -------
    str
        The code as it is stored and encoded, without spaces [-].

    Notes
    -----
    Check character by ISO 7064 MOD 37,36.

    Examples
    --------
    >>> make_code("TQ", 4817)
    'TQ4817K'
    """
    body = _body(prefix, number)
    check = check_character(body)
    if check in NEVER_PRINTED:
        raise LabError(
            "number-never-given",
            "Number {number} would end in the letter {check}, which people read as a digit. "
            "Take the next number, {better}.",
            number=number,
            check=check,
            better=next_number(prefix, number),
        )
    return body + check


def show_code(code: str) -> str:
    """Write a code the way people read it, in three groups.

    Parameters
    ----------
    code : str
        A stored code [-].

    Returns
    -------
    str
        Letters, number and check character, parted by no-break spaces [-].

    Notes
    -----
    No-break spaces keep a code on one line; `read_code` takes them back. Rule of this project.

    Examples
    --------
    >>> show_code("TQ4817K").split()
    ['TQ', '4817', 'K']
    """
    return f"{code[:2]}\u00a0{code[2:-1]}\u00a0{code[-1]}"


def split_code(code: str) -> tuple[str, int]:
    """Take the lab's letters and the running number out of a code.

    Parameters
    ----------
    code : str
        A stored code [-].

    Returns
    -------
    tuple of str and int
        Letters and running number [-].

    Notes
    -----
    The shape of codes is a rule of this project.

    Examples
    --------
    >>> split_code("TQ0326B")
    ('TQ', 326)
    """
    return code[:2], int(code[2:-1])


def _body(prefix: str, number: int) -> str:
    check_prefix(prefix)
    if not 1 <= number <= LARGEST_NUMBER:
        raise LabError(
            "number-out-of-range",
            "The running number is {number}; it must be from 1 to {largest}. Give the next free number.",
            number=number,
            largest=LARGEST_NUMBER,
        )
    return f"{prefix}{number:0{FEWEST_DIGITS}d}"
