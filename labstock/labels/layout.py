"""Where things stand on a label: one function for each template, all sizes in millimetres."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

from labstock.labels.code_marks import code_width, draw_code, draw_code_words
from labstock.labels.content import LabelContent, Plate, Printable, show_date
from labstock.labels.fitting import fit
from labstock.labels.fonts import uncovered, width_em
from labstock.labels.full_labels import draw_full, full_size
from labstock.labels.hazard_area import NOT_FOR_SUPPLY, draw_hazards
from labstock.labels.marks import Drawing, Shape
from labstock.labels.measures import LabelSize
from labstock.labels.plates import draw_plate, plate_size
from labstock.labels.small_layout import NOT_OVER_OLD_WRITING, draw_round, draw_strip

HIGH_MM = 58.0  # from here a label that stands has room for two rows of dates
LEAST_DATE_MM = 12.0  # the narrowest box that a day is written into by hand; common practice, no source


@dataclass(frozen=True)
class Stock:
    """Measures of the rectangular label for bottles [mm]; on low labels the code stands beside the name."""

    width: float
    height: float
    edge: float
    code: float
    name: float
    dates: float
    is_low: bool = False


BOTTLE = Stock(width=74, height=52, edge=2.5, code=22, name=7, dates=8)
CELL = Stock(width=70, height=37, edge=4, code=18, name=5, dates=6.4, is_low=True)


def draw_label(
    content: Printable, template: str = "", is_coloured: bool = False, size: LabelSize | None = None
) -> Drawing:
    """Lay a label out in the template of its kind, in the one asked for, or in a size freely given."""
    if isinstance(content, Plate):
        drawing = draw_plate(content, size or plate_size(content))
        texts: tuple[str, ...] = (content.name, *content.lines)
    else:
        drawing = _draw_content(content, template, is_coloured, size)
        texts = (content.name, content.quoted, *content.small_print, *content.hazard_words)
    drawing.unprinted = "".join(sorted({c for text in texts for c in uncovered(text)}))
    return drawing


def _draw_content(content: LabelContent, template: str, is_coloured: bool, size: LabelSize | None) -> Drawing:
    if content.is_full:
        return draw_full(content, size or full_size(content), is_coloured)
    if size is not None and template not in TEMPLATES:
        return draw_freely(content, size, is_coloured)
    return TEMPLATES[template or content.kind](content, is_coloured)


def draw_freely(content: LabelContent, size: LabelSize, is_coloured: bool) -> Drawing:
    """Lay a label out in a size freely given: like a bottle's, a vial's or a cap's, whichever it resembles."""
    width, height = size.width, size.height
    if width >= 48 and height >= 27:
        low = height < 45
        edge = min(2.5, height / 14)
        code = min(22.0 if not low else 18.0, height * 0.46, width * 0.3)
        name = min(7.0 if not low else 5.0, height / 7)
        stock = Stock(width, height, edge, code, name, min(8.0, max(height / 6, 6.4)), low)
        return _stock(content, is_coloured, stock)
    if width >= 1.7 * height:
        return draw_strip(content, width, height)
    if width >= 24 and height >= 45:
        return _tall(content, is_coloured, width, height)
    return draw_round(content, width, height)


def _vial(content: LabelContent, is_coloured: bool) -> Drawing:
    return draw_strip(content, 38, 13)


def _cap(content: LabelContent, is_coloured: bool) -> Drawing:
    return draw_round(content, 20, 20)


def _bottle(content: LabelContent, is_coloured: bool) -> Drawing:
    return _stock(content, is_coloured, BOTTLE)


def _cell(content: LabelContent, is_coloured: bool) -> Drawing:
    return _stock(content, is_coloured, CELL)


def _stock(content: LabelContent, is_coloured: bool, measures: Stock) -> Drawing:
    drawing = Drawing(measures.width, measures.height)
    left, right, bottom = measures.edge, measures.width - measures.edge, measures.height - measures.edge
    if content.dates:
        bottom -= measures.dates
        _draw_dates(drawing, content, left, bottom, right - left, measures.dates)
        bottom -= 1
    name_room = measures.name * 1.2
    top = measures.edge - 0.5
    width = right - left - measures.code - 1
    name_width = width if measures.is_low else right - left
    if content.banner:
        banner = fit(content.banner, "sans-bold", name_width, 4.2, 3.4, 2.0)
        top = drawing.block(left, top, banner, "sans-bold", "banner")
    name = fit(content.name, "serif-bold", name_width, name_room, measures.name, 2.0)
    drawing.block(left, top, name, "serif-bold", "name")
    column = top if measures.is_low else top + name_room + 0.6
    _draw_code_column(drawing, content, right - measures.code + 1, column, bottom, measures.code)
    top += min(name_room, name.height_mm) + 0.6 if measures.is_low else name_room + 0.6
    _draw_body(drawing, content, is_coloured, left, top, width, bottom - top)
    return drawing


def _tall(content: LabelContent, is_coloured: bool, width: float, height: float) -> Drawing:
    """A label that stands: name, what is in it, hazards, then the code; dates at the foot."""
    drawing = Drawing(width, height)
    edge, room = 1.5, width - 3
    bottom = height - edge
    for dates in _rows_of_dates(content, room, height):
        bottom -= 6.6
        _draw_dates(drawing, replace(content, dates=dates), edge, bottom, room, 6.6)
    if content.dates:
        bottom -= 0.8
    y = edge - 0.5
    for text, face, largest, share in (
        (content.banner, "sans-bold", 3.4, 0.08),
        (content.name, "serif-bold", 6.0, 0.16),
    ):
        if text:
            fitted = fit(text, face, room, height * share, min(largest, height * share / 1.2), 1.8)
            y = drawing.block(edge, y, fitted, face, "name") + 0.5
    side = min(20.0, width * 0.5)
    letters = min(2.8, room / code_width(content, 1))
    top = bottom - side - 1.2 * letters
    ground = draw_code(drawing, content, (width - side) / 2, top, side)
    draw_code_words(
        drawing, content, (width - code_width(content, letters)) / 2, ground + 0.85 * letters, letters
    )
    _draw_body(drawing, content, is_coloured, edge, y, room, top - y)
    return drawing


def _rows_of_dates(
    content: LabelContent, width: float, height: float
) -> list[tuple[tuple[str, date | None], ...]]:
    """Part the dates into two rows where one has no room to write in and the label is high; the last row first."""
    number = len(content.dates)
    is_narrow = height >= HIGH_MM and width / max(number, 1) < LEAST_DATE_MM
    per_row = max((number + 1) // 2 if is_narrow else number, 1)
    return [content.dates[i : i + per_row] for i in range(0, number, per_row)][::-1]


def _draw_code_column(
    drawing: Drawing, content: LabelContent, x: float, top: float, bottom: float, size: float
) -> None:
    ground = draw_code(drawing, content, x, top - 1.2, size)
    size_words = size / 6
    ground += size_words
    draw_code_words(drawing, content, x + (size - code_width(content, size_words)) / 2, ground, size_words)
    notes = [NOT_OVER_OLD_WRITING] if content.quoted else []
    _draw_notes(drawing, content, (x, ground, size), notes, bottom)


def _draw_notes(
    drawing: Drawing,
    content: LabelContent,
    under: tuple[float, float, float],
    notes: list[str],
    bottom: float,
) -> None:
    """What the label is not for, in small print under the code; what has no room above the bottom is told."""
    x, ground, size = under
    warns = bool(content.hazard_words or content.pictograms or content.signal_word)
    for i, words in enumerate([NOT_FOR_SUPPLY, *notes] if warns else notes):
        note = fit(words, "sans", size - 0.6, 2, 1.7, 1.2)
        if ground + 2.7 + 1.9 * i + 0.25 * note.size_mm > bottom + 0.5:
            drawing.cut.append(words)
            continue
        drawing.centred(x + size / 2, ground + 2.7 + 1.9 * i, note.lines[0], "sans", note.size_mm)


def _draw_body(
    drawing: Drawing,
    content: LabelContent,
    is_coloured: bool,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """Quoted old label, then small print, then hazards with what room is left."""
    end = y + height
    has_hazards = bool(content.hazard_words or content.signal_word or content.pictograms)
    if content.quoted:
        room = height * (0.3 if has_hazards else 0.5)
        quoted = fit(f"“{content.quoted}”", "serif-italic", width, room, 2.9, 1.8)
        y = drawing.block(x, y, quoted, "serif-italic", "old label") + 0.7
    if content.small_print:
        room = (end - y) * (0.36 if has_hazards else 1)
        small = fit("\n".join(content.small_print), "sans", width, room, 2.4, 1.7)
        y = drawing.block(x, y, small, "sans", "small print") + 1
    if has_hazards:
        draw_hazards(drawing, content, is_coloured, x, y, width, end - y)


def _draw_dates(
    drawing: Drawing, content: LabelContent, x: float, y: float, width: float, height: float
) -> None:
    drawing.box(x, y, width, height, 0.25)
    pitch = width / len(content.dates)
    for i, (word, day) in enumerate(content.dates):
        left = x + i * pitch
        if i:
            drawing.rule(left, y, left, y + height, 0.25)
        head = fit(word, "sans", pitch - 1.6, height * 0.4, 2.0, 1.4)
        drawing.words(left + 0.8, y + 2.1, head.lines[0], "sans", head.size_mm)
        if day is not None:
            size = min(3.0, (pitch - 1.6) / width_em(show_date(day), "sans-bold"))
            drawing.words(left + 0.8, y + height - 1.3, show_date(day), "sans-bold", size)


def _tag(content: LabelContent, is_coloured: bool) -> Drawing:
    drawing = Drawing(86, 40)
    outline = ((8, 0.15), (85.85, 0.15), (85.85, 39.85), (8, 39.85), (0.15, 31), (0.15, 9))
    steps = tuple(("M" if i == 0 else "L", (float(px), float(py))) for i, (px, py) in enumerate(outline))
    drawing.marks.append(Shape((*steps, ("Z", ())), fill="white", stroke="black", line=0.3))
    drawing.marks.append(Shape(circle(7, 20, 2.5), stroke="black", line=0.3))
    drawing.marks.append(Shape(circle(7, 20, 4), stroke="black", line=0.3))
    name = fit(content.name, "serif-bold", 46, 9, 7, 2.0)
    y = drawing.block(14, 2, name, "serif-bold", "name") + 0.8
    ground = draw_code(drawing, content, 61.5, 6, 23) + 3.7
    draw_code_words(drawing, content, 73 - code_width(content, 3.7) / 2, ground, 3.7)
    _draw_notes(drawing, content, (61.5, ground, 23), [], 39.5)
    if content.dates:
        _draw_dates(drawing, content, 14, 30.8, 46, 6.6)
    _draw_body(drawing, content, is_coloured, 14, y, 46, (29.8 if content.dates else 37.4) - y)
    return drawing


def circle(x: float, y: float, r: float) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """Four curves that make a circle."""
    k = 0.5523 * r
    return (
        ("M", (x + r, y)),
        ("C", (x + r, y + k, x + k, y + r, x, y + r)),
        ("C", (x - k, y + r, x - r, y + k, x - r, y)),
        ("C", (x - r, y - k, x - k, y - r, x, y - r)),
        ("C", (x + k, y - r, x + r, y - k, x + r, y)),
        ("Z", ()),
    )


TEMPLATES: dict[str, Callable[[LabelContent, bool], Drawing]] = {
    "vial": _vial,
    "cap": _cap,
    "bottle": _bottle,
    "tag": _tag,
    "cell": _cell,
    "decanted": _bottle,
    "solution": _bottle,
    "waste": _bottle,
}
