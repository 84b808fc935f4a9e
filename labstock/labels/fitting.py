"""Text into a given room: shrink within limits, then wrap, then cut with a visible ellipsis."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from labstock.labels.fonts import ELLIPSIS, clean, width_em

STEP = 0.95
LEADING = 1.18


@dataclass(frozen=True)
class Fitted:
    """Lines that fit, the size they are set in [mm], and whether something had to be left out."""

    lines: tuple[str, ...]
    size_mm: float
    is_cut: bool

    @property
    def height_mm(self) -> float:
        return len(self.lines) * self.size_mm * LEADING


def fit(
    text: str, face: str, width_mm: float, height_mm: float, largest_mm: float, smallest_mm: float
) -> Fitted:
    """Set a text as large as the room allows; line breaks in it are kept."""
    paragraphs = [line for line in (clean(part) for part in text.split("\n")) if line]
    size = largest_mm
    while True:
        lines = [line for part in paragraphs for line in wrap(part, face, width_mm / size)]
        if len(lines) * size * LEADING <= height_mm + 1e-9 and not _breaks_a_word(
            paragraphs, lines, size, smallest_mm
        ):
            return Fitted(tuple(lines), size, False)
        if size <= smallest_mm:
            return _cut(lines, face, width_mm, height_mm, smallest_mm)
        size = max(size * STEP, smallest_mm)


def wrap(text: str, face: str, room_em: float) -> list[str]:
    """Part a text into lines at spaces, inside words only where a word is longer than a line."""
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if width_em(joined, face) <= room_em:
            lines[-1] = joined
        elif width_em(word, face) <= room_em:
            lines.append(word)
        else:
            _add_in_pieces(lines, word, face, room_em)
    return lines


def shorten(text: str, face: str, room_em: float) -> str:
    """Cut a text so that it and an ellipsis fit."""
    while text and width_em(text + ELLIPSIS, face) > room_em:
        text = text[:-1].rstrip()
    return text + ELLIPSIS


def _breaks_a_word(paragraphs: list[str], lines: list[str], size: float, smallest_mm: float) -> bool:
    """A word is broken only once the text could not shrink further to keep it whole (down to 0.7)."""
    whole = {word for part in paragraphs for word in part.split(" ")}
    return size * 0.75 > smallest_mm and any(word not in whole for line in lines for word in line.split(" "))


def _cut(lines: list[str], face: str, width_mm: float, height_mm: float, size: float) -> Fitted:
    kept = max(int((height_mm + 1e-9) / (size * LEADING)), 1)
    if len(lines) <= kept:
        return Fitted(tuple(lines), size, False)
    last = shorten(lines[kept - 1], face, width_mm / size)
    return Fitted((*lines[: kept - 1], last), size, True)


def _add_in_pieces(lines: list[str], word: str, face: str, room_em: float) -> None:
    """Break a long name after its hyphens and brackets; no sign is added, it would change the name."""
    lead = " " if lines[-1] else ""
    for piece in _pieces(word, face, room_em):
        if width_em(lines[-1] + lead + piece, face) <= room_em:
            lines[-1] += lead + piece
        else:
            lines.append(piece)
        lead = ""


def _pieces(word: str, face: str, room_em: float) -> Iterator[str]:
    for piece in re.findall(r"[^-)\]}/]+[-)\]}/]*|[-)\]}/]+", word):
        if width_em(piece, face) <= room_em:
            yield piece
        else:
            yield from piece
