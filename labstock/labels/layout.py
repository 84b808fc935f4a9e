"""Where things stand on a label: one function for each template, all sizes in millimetres."""

from collections.abc import Callable
from dataclasses import dataclass

from labstock.chemistry.errors import LabError
from labstock.labels.content import LabelContent, show_date
from labstock.labels.fitting import fit
from labstock.labels.fonts import uncovered, width_em
from labstock.labels.hazard_area import NOT_FOR_SUPPLY, draw_hazards
from labstock.labels.marks import Code, Drawing, Shape
from labstock.labels.qr import QUIET_MODULES, qr_matrix
from labstock.stock.codes import show_code

NOT_OVER_OLD_WRITING = "not over old writing"
SMALLEST_DOT_MM = 0.25  # three dots of a 300 dpi printer; common practice, no source


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


def draw_label(content: LabelContent, template: str = "", is_coloured: bool = False) -> Drawing:
    """Lay a label out in the template of its kind, or in the one asked for."""
    drawing = TEMPLATES[template or content.kind](content, is_coloured)
    texts = (content.name, content.quoted, *content.small_print, *content.hazard_words)
    drawing.unprinted = "".join(sorted({c for text in texts for c in uncovered(text)}))
    return drawing


def _vial(content: LabelContent, is_coloured: bool) -> Drawing:
    drawing = Drawing(38, 13)
    _draw_code(drawing, content, 0, 0, 13)
    x, width = 13.1, 24.4
    y = drawing.block(x, 0.6, fit(content.name, "sans-bold", width, 4.7, 2.9, 1.7), "sans-bold", "name")
    _draw_code_words(drawing, content, x, y + 2.3, 2.5)
    y += 3.1
    words = " ".join(filter(None, (content.signal_word and f"{content.signal_word}:", content.hazard_text)))
    room = 12.4 - y
    if words:
        share = room if not content.small_print else room - 2.2
        y = drawing.block(x, y, fit(words, "sans-bold", width, share, 2.0, 1.5), "sans-bold", "hazards")
    if content.small_print:
        text = ", ".join(content.small_print)
        drawing.block(x, y, fit(text, "sans", width, 12.5 - y, 1.9, 1.5), "sans", "small print")
    return drawing


def _cap(content: LabelContent, is_coloured: bool) -> Drawing:
    drawing = Drawing(20, 20)
    _draw_code(drawing, content, 3.7, 3.7, 12.6)
    name = fit(content.name, "sans-bold", 11, 2.6, 2.1, 1.5)
    drawing.centred(10, 3.7, name.lines[0], "sans-bold", name.size_mm)
    if name.is_cut:
        drawing.cut.append("name")
    _draw_code_words(drawing, content, 10 - _code_width(content, 2.05) / 2, 17.2, 2.05)
    return drawing


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
    name = fit(content.name, "serif-bold", name_width, name_room, measures.name, 2.0)
    drawing.block(left, top, name, "serif-bold", "name")
    column = top if measures.is_low else top + name_room + 0.6
    _draw_code_column(drawing, content, right - measures.code + 1, column, bottom, measures.code)
    top += min(name_room, name.height_mm) + 0.6 if measures.is_low else name_room + 0.6
    _draw_body(drawing, content, is_coloured, left, top, width, bottom - top)
    return drawing


def _draw_code_column(
    drawing: Drawing, content: LabelContent, x: float, top: float, bottom: float, size: float
) -> None:
    dot = _draw_code(drawing, content, x, top - 1.2, size)
    size_words = size / 6
    ground = top - 1.2 + size - (QUIET_MODULES - 0.8) * dot + size_words
    _draw_code_words(drawing, content, x + (size - _code_width(content, size_words)) / 2, ground, size_words)
    notes = [NOT_OVER_OLD_WRITING] if content.quoted else []
    _draw_notes(drawing, content, x, ground, size, notes)


def _draw_notes(
    drawing: Drawing, content: LabelContent, x: float, ground: float, size: float, notes: list[str]
) -> None:
    """What the label is not for, in small print under the code."""
    warns = bool(content.hazard_words or content.pictograms or content.signal_word)
    for i, words in enumerate([NOT_FOR_SUPPLY, *notes] if warns else notes):
        note = fit(words, "sans", size - 0.6, 2, 1.7, 1.2)
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
    dot = _draw_code(drawing, content, 61.5, 6, 23)
    ground = 29 - (QUIET_MODULES - 0.8) * dot + 3.7
    _draw_code_words(drawing, content, 73 - _code_width(content, 3.7) / 2, ground, 3.7)
    _draw_notes(drawing, content, 61.5, ground, 23, [])
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


def _draw_code(drawing: Drawing, content: LabelContent, x: float, y: float, size: float) -> float:
    """Draw the QR code with its quiet zone inside the square; give back the edge of one dot."""
    matrix = qr_matrix(content.url)
    dot = size / (len(matrix) + 2 * QUIET_MODULES)
    if dot < SMALLEST_DOT_MM:
        raise LabError(
            "label-dots-too-fine",
            "The address {url} makes dots of {dot:.2f} mm on a code of {size:g} mm; printers need "
            "{least} mm. Shorten the site's address or take a larger label.",
            url=content.url[:80],
            dot=dot,
            size=size,
            least=SMALLEST_DOT_MM,
        )
    drawing.marks.append(Code(x + QUIET_MODULES * dot, y + QUIET_MODULES * dot, dot, matrix))
    return dot


def _code_width(content: LabelContent, size: float) -> float:
    return width_em(_plain(content), "mono-bold") * size


def _draw_code_words(drawing: Drawing, content: LabelContent, x: float, y: float, size: float) -> None:
    """The code in letters, its check character underlined."""
    drawing.words(x, y, _plain(content), "mono-bold", size)
    end = x + _code_width(content, size)
    drawing.rule(end - 0.58 * size, y + 0.16 * size, end, y + 0.16 * size, 0.08 * size)


def _plain(content: LabelContent) -> str:
    return show_code(content.code).replace("\u00a0", " ")


TEMPLATES: dict[str, Callable[[LabelContent, bool], Drawing]] = {
    "vial": _vial,
    "cap": _cap,
    "bottle": _bottle,
    "tag": _tag,
    "cell": _cell,
}
