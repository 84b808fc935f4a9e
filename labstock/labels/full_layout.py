"""Where things stand on a full label, for pictures of a given size; nothing is cut, or there is no label."""

from math import ceil, sqrt

from labstock.labels.clp_sizes import Relief
from labstock.labels.code_marks import code_width, draw_code, draw_code_words
from labstock.labels.content import LabelContent
from labstock.labels.fitting import fit
from labstock.labels.fonts import width_em
from labstock.labels.hazard_area import NOT_FOR_SUPPLY
from labstock.labels.marks import Drawing, Picture
from labstock.labels.measures import LabelSize
from labstock.labels.pictograms import PICTOGRAMS

EDGE_MM, GAP_MM, WORD_MM = 1.5, 0.6, 1.7
LOW_MM = 45.0  # on lower labels the words may stand beside the pictures
LEAST_CODE_MM, LARGEST_CODE_MM = 5.0, 22.0

Area = tuple[float, float, float, float]  # left, top, width, height [mm]


def lay_out(
    content: LabelContent, size: LabelSize, picture_mm: float, relief: Relief | None, is_coloured: bool
) -> Drawing | None:
    """Draw the label with pictures of this edge, or return None where something has no room."""
    drawing = Drawing(size.width, size.height, relief=relief.words if relief else "")
    width = size.width - 2 * EDGE_MM
    room = min(8.0, max(size.height * 0.15, 3.0))
    name = fit(content.name, "serif-bold", width, room, room / 1.2, 2.0)
    y = drawing.block(EDGE_MM, EDGE_MM - 0.5, name, "serif-bold", "name") + 0.5
    rows = _draw_pictures(drawing, content, y, picture_mm * sqrt(2), is_coloured)
    if rows is None:
        return None
    right, below, number_of_rows = rows
    beside = size.width - EDGE_MM - right
    least = 24.0 if content.hazard_words else LEAST_CODE_MM + 0.5
    if size.height < LOW_MM and number_of_rows <= 1 and beside >= least:
        area = (right, y, beside, size.height - EDGE_MM - y)
    else:
        area = (EDGE_MM, below, width, size.height - EDGE_MM - below)
    _draw_rest(drawing, content, relief, area)
    return None if drawing.cut else drawing


def _draw_pictures(
    drawing: Drawing, content: LabelContent, top: float, frame: float, is_coloured: bool
) -> tuple[float, float, int] | None:
    """Draw the pictures in rows; give back where they end to the right and below, and how many rows there are."""
    number = len(content.pictograms)
    if not number:
        return EDGE_MM, top, 0
    per_row = int((drawing.width - 2 * EDGE_MM + GAP_MM) / (frame + GAP_MM))
    # a package that may leave the statements out has no room for a word under each picture either
    words = WORD_MM + 1 if content.hazard_words else 0.0
    if per_row < 1 or top + ceil(number / per_row) * (frame + words) > drawing.height - 0.5:
        return None
    for i, code in enumerate(content.pictograms):
        down, along = divmod(i, per_row)
        left, y = EDGE_MM + along * (frame + GAP_MM), top + down * (frame + words)
        drawing.marks.append(Picture(code, left, y, frame, is_coloured))
        if words:
            word = PICTOGRAMS[code].word
            letters = min(WORD_MM, frame / width_em(word, "sans"))
            drawing.centred(left + frame / 2, y + frame + WORD_MM, word, "sans", letters)
    rows = ceil(number / per_row)
    return EDGE_MM + min(number, per_row) * (frame + GAP_MM), top + rows * (frame + words), rows


def _draw_rest(drawing: Drawing, content: LabelContent, relief: Relief | None, area: Area) -> None:
    """The code in the upper right corner, the words beside it, the relief and the purpose at the foot."""
    x, y, width, height = area
    words = f"{NOT_FOR_SUPPLY}; reduced by {relief.source}" if relief else NOT_FOR_SUPPLY
    foot = fit(words, "sans", width, max(height * 0.35, 1.8), 1.7, 1.2)
    height -= foot.height_mm
    side = min(LARGEST_CODE_MM, height - 2.4, width if not content.hazard_words else width * 0.45)
    if side < LEAST_CODE_MM:
        drawing.cut.append("code")
        return
    drawing.block(x, y + height, foot, "sans", "foot")
    letters = min(2.6, side / code_width(content, 1))
    draw_code(drawing, content, x + width - side, y, side)
    left = x + width - (side + code_width(content, letters)) / 2
    draw_code_words(drawing, content, left, y + side + 0.85 * letters, letters)
    _draw_statements(drawing, content, (x, y, width - side - 1, height))


def _draw_statements(drawing: Drawing, content: LabelContent, area: Area) -> None:
    x, y, width, height = area
    end = y + height
    if content.signal_word:
        signal = fit(content.signal_word, "sans-bold", width, 5, 3.6, 2.4)
        y = drawing.block(x, y, signal, "sans-bold", "signal word")
    for text, what in ((content.hazard_text, "hazards"), ("\n".join(content.small_print), "small print")):
        if not text:
            continue
        fitted = fit(text, "sans", width, end - y, 2.4, 1.7)
        if fitted.height_mm > end - y + 0.01:
            drawing.cut.append(what)
            return
        y = drawing.block(x, y, fitted, "sans", what) + 0.4
