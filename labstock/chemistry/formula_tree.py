"""Counting the atoms of a normalised formula; naming the first thing that is no element."""

import re
from collections.abc import Mapping
from fractions import Fraction

from labstock.chemistry.atomic_weights import ELEMENTS
from labstock.chemistry.errors import LabError

DEEPEST = 20
MOST_ATOMS = 10**12  # a chromosome has about 10**10

_COUNT = re.compile(r"\((\d{1,15}/\d{1,15})\)|(\d{1,15}/\d{1,15})|(\d{1,15}(?:,\d{1,9})?)")
_MULTIPLIER = re.compile(r"(\d{1,15}/\d{1,15})|(\d{1,15}(?:,\d{1,9})?)")
_ISOTOPE = re.compile(r"\[(\d{1,3})([A-Z][a-z]?)(\d{0,9})\]")
_SYMBOL = re.compile(r"[A-Z][a-z]?")
_CLOSING = {"(": ")", "[": "]", "{": "}"}

_SHORT_FOR = {
    "Me": "CH3", "Et": "C2H5", "Bu": "C4H9", "Ph": "C6H5", "Bn": "C7H7 (benzyl)", "Bz": "C7H5O (benzoyl)",
    "Tf": "CF3SO2", "Ms": "CH3SO2", "Bo": "C5H9O2 (Boc)", "Cy": "C6H11",
}  # fmt: skip

# Everyday abbreviations that would pass as a string of element symbols.
_ABBREVIATIONS = {
    "THF": "tetrahydrofuran, C4H8O", "NBS": "N-bromosuccinimide, C4H4BrNO2", "NIS": "N-iodosuccinimide, C4H4INO2",
    "DCC": "dicyclohexylcarbodiimide, C13H22N2", "DBU": "diazabicycloundecene, C9H16N2",
    "PCC": "pyridinium chlorochromate, C5H6ClCrNO3", "KHP": "potassium hydrogen phthalate, C8H5KO4",
    "TNT": "trinitrotoluene, C7H5N3O6", "DNP": "dinitrophenol, C6H4N2O5", "DBN": "diazabicyclononene, C7H12N2",
}  # fmt: skip

_COMMON = "H C N O F Na Mg Al Si P S Cl K Ca Ti V Cr Mn Fe Co Ni Cu Zn As Se Br Sr Zr Pd Ag Sn I Cs Ba Pt Au Hg Pb Xe"


def count_atoms(body: str, typed: str) -> dict[str, Fraction]:
    """Count the atoms of a formula whose spelling has been normalised.

    Parameters
    ----------
    body : str
        Formula from `formula_text.normalised` [-].
    typed : str
        What the person wrote, for the messages [-].

    Returns
    -------
    dict
        Number of atoms by element [-].

    Notes
    -----
    Source: ours; a multiplier after '·' counts for everything up to the next '·'.

    Examples
    --------
    >>> {element: int(number) for element, number in count_atoms("CuSO4·5H2O", "CuSO4.5H2O").items()}
    {'Cu': 1, 'S': 1, 'O': 9, 'H': 10}
    """
    if body in _ABBREVIATIONS:
        raise LabError(
            "abbreviation",
            "'{typed}' is read as an abbreviation ({meaning}), not as element symbols: write the formula.",
            typed=typed,
            meaning=_ABBREVIATIONS[body],
        )
    total: dict[str, Fraction] = {}
    for number, part in enumerate(body.split("·")):
        multiplier, rest = _multiplier(part, typed, is_first=number == 0)
        _add(total, _Reader(rest, typed).group(None, 0), multiplier)
    if sum(total.values()) > MOST_ATOMS:
        raise LabError(
            "too-many-atoms",
            "'{typed}' counts more than {most} atoms: look for a digit too many.",
            typed=typed,
            most=f"{MOST_ATOMS:.0e}",
        )
    return total


def _add(total: dict[str, Fraction], more: Mapping[str, Fraction], times: Fraction) -> None:
    for element, number in more.items():
        total[element] = total.get(element, Fraction(0)) + times * number


def _multiplier(part: str, typed: str, *, is_first: bool) -> tuple[Fraction, str]:
    match = _MULTIPLIER.match(part)
    if not match:
        return Fraction(1), part
    if is_first:
        raise LabError(
            "leading-number",
            "'{typed}' starts with the number {number}: a formula starts with an element. Put the coefficient in the "
            "equation, or brackets round what is counted, such as (CdSO4)3.",
            typed=typed,
            number=match[0].replace(",", "."),
        )
    return _value(match[0], typed), part[match.end() :]


def _value(text: str, typed: str) -> Fraction:
    above, _, below = text.replace(",", ".").partition("/")
    if (below and not int(below)) or not Fraction(above):
        raise LabError(
            "zero-count",
            "'{typed}' counts something {number} times: leave it out, or write the number that is meant.",
            typed=typed,
            number=text.replace(",", "."),
        )
    return Fraction(above) / int(below or 1)


class _Reader:
    """Reads one molecule from left to right."""

    def __init__(self, text: str, typed: str) -> None:
        self.text = text
        self.typed = typed
        self.at = 0

    def group(self, opening: str | None, depth: int) -> dict[str, Fraction]:
        if depth > DEEPEST:
            raise LabError(
                "too-deep",
                "'{typed}' nests more than {deepest} brackets: write it flat.",
                typed=self.typed,
                deepest=DEEPEST,
            )
        total: dict[str, Fraction] = {}
        while self.at < len(self.text) and self.text[self.at] not in ")]}":
            _add(total, self._item(depth), Fraction(1))
        self._close(opening)
        if not total:
            raise self._refuse(
                "empty-group", "'{typed}' has brackets or a dot with nothing in between: fill or drop it."
            )
        return total

    def _item(self, depth: int) -> dict[str, Fraction]:
        if isotope := _ISOTOPE.match(self.text, self.at):
            return self._isotope(isotope)
        character = self.text[self.at]
        if character in _CLOSING:
            self.at += 1
            inner = self.group(character, depth + 1)
            times = self._count()
            return {element: number * times for element, number in inner.items()}
        symbol = self._symbol()
        return {symbol: self._count()}

    def _isotope(self, match: re.Match[str]) -> dict[str, Fraction]:
        mass, symbol, inside = match.groups()
        if symbol not in ELEMENTS:
            raise self._unknown(symbol)
        self.at = match.end()
        name = {"2H": "D", "3H": "T"}.get(mass + symbol, mass + symbol)
        times = self._count() * (_value(inside, self.typed) if inside else 1)
        return {name: times}

    def _count(self) -> Fraction:
        match = _COUNT.match(self.text, self.at)
        if not match:
            return Fraction(1)
        self.at = match.end()
        return _value(match[1] or match[0], self.typed)

    def _symbol(self) -> str:
        match = _SYMBOL.match(self.text, self.at)
        if not match:
            raise self._strange()
        if match[0] not in ELEMENTS and match[0] not in {"D", "T"}:
            raise self._unknown(match[0])
        self.at = match.end()
        return match[0]

    def _close(self, opening: str | None) -> None:
        found = self.text[self.at] if self.at < len(self.text) else None
        wanted = _CLOSING[opening] if opening else None
        if found == wanted:
            self.at += 1
        elif wanted:
            raise self._refuse(
                "bracket-open", f"'{{typed}}': the bracket '{opening}' is not closed: add '{wanted}'."
            )
        else:
            raise self._refuse(
                "bracket-extra", f"'{{typed}}' closes a bracket '{found}' that was never opened: drop it."
            )

    def _refuse(self, code: str, message: str) -> LabError:
        return LabError(code, message.replace("'{'", "'{{'").replace("'}'", "'}}'"), typed=self.typed)

    def _strange(self) -> LabError:
        character = self.text[self.at]
        if self.at == 0 and re.match(r"[xyn][A-Z(]", self.text):
            return self._refuse(
                "unknown-water",
                f"'{{typed}}': '{character}' is no number. Enter the count from the label or a certificate, or leave the "
                "water out and put it in the purity.",
            )
        if character.isalpha():
            pair = self.text[self.at : self.at + 2]
            return self._unknown(pair if pair.capitalize() in ELEMENTS and pair.isalpha() else character)
        place = self.typed.find(character) + 1
        where = f" (character {place})" if place else ""
        return LabError(
            "strange-character",
            "'{character}' cannot stand in a formula{where}: '{typed}' may hold elements, numbers, brackets, '·' and a "
            "charge.",
            character=character,
            where=where,
            typed=self.typed,
        )

    def _unknown(self, symbol: str) -> LabError:
        found = re.search(re.escape(symbol) + ("(?![a-z])" if len(symbol) == 1 else ""), self.typed)
        place = found.start() + 1 if found else self.at + 1
        return LabError(
            "unknown-element",
            "'{symbol}' is no element (character {place} of '{typed}'){hint}",
            symbol=symbol,
            place=place,
            typed=self.typed,
            hint=self._hint(symbol),
        )

    def _hint(self, symbol: str) -> str:
        if symbol in _SHORT_FOR:
            return f": {symbol} is short for {_SHORT_FOR[symbol]}, write that."
        nearest = self._nearest(symbol)
        return f": did you mean {nearest}?" if nearest else ": check the spelling."

    def _nearest(self, symbol: str) -> str | None:
        before, after = self.text[max(self.at - 1, 0) : self.at], self.text[self.at + 1 : self.at + 2]
        guesses = [
            symbol.capitalize(),
            before + symbol.lower(),
            symbol + after.lower(),
            symbol[::-1].capitalize(),
        ]
        close = [element for element in _COMMON.split() + sorted(ELEMENTS) if element[0] == symbol[0].upper()]
        return next((guess for guess in guesses + close if guess in ELEMENTS and guess != symbol), None)
