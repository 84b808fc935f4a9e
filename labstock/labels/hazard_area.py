"""The part of a label that warns: pictures with a word each, signal word, hazard words."""

from dataclasses import dataclass

from labstock.labels.content import LabelContent
from labstock.labels.fitting import fit
from labstock.labels.fonts import width_em
from labstock.labels.marks import Drawing, Picture
from labstock.labels.pictograms import PICTOGRAMS

NOT_FOR_SUPPLY = "internal, not for supply"
SMALLEST_PICTURE_MM, LARGEST_PICTURE_MM = 6.0, 12.0
WORD_MM, WORD_ROOM_MM = 1.6, 2.4
GAP_MM = 0.8
BAR_MM = 2.2
SMALL_WORDS_MM = 1.9


@dataclass(frozen=True)
class Row:
    """A row of hazard pictures: their size and the width of the whole row [mm]; size 0 for none."""

    size: float = 0.0
    width: float = 0.0


def draw_hazards(
    drawing: Drawing,
    content: LabelContent,
    is_coloured: bool,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """Pictures in a row; words beside or below them, wherever they are whole and the pictures larger."""
    beside = _row(content, width / 2, height - WORD_ROOM_MM)
    signal_width = width_em(content.signal_word, "sans-bold") * 2.6 + 1.5 if content.signal_word else 0
    below = _row(content, width - signal_width, height - WORD_ROOM_MM - _words_height(content, width))
    if below.size and (below.size > beside.size or not _fits(content, width - beside.width - 0.5, height)):
        _draw_pictures(drawing, content, is_coloured, x, y, below)
        _draw_signal_beside(
            drawing, content, x + below.width + 1, y + below.size / 2, width - below.width - 1
        )
        used = below.size + WORD_ROOM_MM
        _draw_words(drawing, content, x, y + used, width, height - used, has_signal=False)
    elif beside.size:
        _draw_pictures(drawing, content, is_coloured, x, y, beside)
        _draw_words(drawing, content, x + beside.width + 0.5, y, width - beside.width - 0.5, height)
    else:
        if content.pictograms:
            drawing.cut.append("hazard pictures")
        _draw_words(drawing, content, x, y, width, height)


def _fits(content: LabelContent, width: float, height: float) -> bool:
    room = height - 3.9 if content.signal_word else height
    return not fit(content.hazard_text, "sans", width - BAR_MM, room, SMALL_WORDS_MM, SMALL_WORDS_MM).is_cut


def _words_height(content: LabelContent, width: float) -> float:
    if not content.hazard_words:
        return 0.0
    return fit(content.hazard_text, "sans", width - BAR_MM, 1000, SMALL_WORDS_MM, SMALL_WORDS_MM).height_mm


def _row(content: LabelContent, width: float, height: float) -> Row:
    """As large as the room allows, or none if they could not be told apart."""
    if not content.pictograms:
        return Row()
    number = len(content.pictograms)
    size = min(LARGEST_PICTURE_MM, width / number - GAP_MM, height)
    return Row(size, number * (size + GAP_MM)) if size >= SMALLEST_PICTURE_MM else Row()


def _draw_pictures(
    drawing: Drawing, content: LabelContent, is_coloured: bool, x: float, y: float, row: Row
) -> None:
    slot = row.width / len(content.pictograms)
    for i, code in enumerate(content.pictograms):
        left = x + i * slot
        drawing.marks.append(Picture(code, left + GAP_MM / 2, y, row.size, is_coloured))
        word = PICTOGRAMS[code].word
        size = min(WORD_MM, (slot - 0.3) / width_em(word, "sans"))
        drawing.centred(left + slot / 2, y + row.size + WORD_MM, word, "sans", size)


def _draw_signal_beside(
    drawing: Drawing, content: LabelContent, x: float, middle: float, width: float
) -> None:
    if content.signal_word:
        size = min(4.0, width / width_em(content.signal_word, "sans-bold"))
        drawing.words(x, middle + 0.36 * size, content.signal_word, "sans-bold", size)


def _draw_words(
    drawing: Drawing,
    content: LabelContent,
    x: float,
    y: float,
    width: float,
    height: float,
    has_signal: bool = True,
) -> None:
    """A heavy bar, the signal word, then the hazard words."""
    top, left, room = y, x + BAR_MM, width - BAR_MM
    if content.signal_word and has_signal and height >= 2.6:
        signal = fit(content.signal_word, "sans-bold", room, min(4.0, height), 3.3, 2.0)
        y = drawing.block(left, y, signal, "sans-bold", "signal word")
    if content.hazard_words:
        words = fit(content.hazard_text, "sans", room, top + height - y, 2.6, 1.6)
        if words.height_mm <= top + height - y + 0.01:
            y = drawing.block(left, y, words, "sans", "hazards")
        else:
            drawing.cut.append("hazards")
    if y > top:
        drawing.bar(x, top + 0.2, 1.1, y - top - 0.2)
