"""Labels too small for columns: a strip along a vial, a cap."""

from labstock.labels.code_marks import code_width, draw_code, draw_code_words, is_qr
from labstock.labels.content import LabelContent
from labstock.labels.fitting import fit
from labstock.labels.marks import Drawing

NOT_OVER_OLD_WRITING = "not over old writing"


def draw_strip(content: LabelContent, width: float, height: float) -> Drawing:
    """Code on the left, words beside it: along a thin vessel."""
    drawing = Drawing(width, height)
    side = min(height, width * 0.36)
    draw_code(drawing, content, 0, (height - side) / 2, side)
    x, room = side + 0.1, width - side - 0.6
    name = fit(content.name_with_banner, "sans-bold", room, height * 0.36, height * 0.223, 1.3)
    y = drawing.block(x, 0.6, name, "sans-bold", "name")
    size = min(2.5, height * 0.2, room / code_width(content, 1))
    draw_code_words(drawing, content, x, y + 0.92 * size, size)
    y += 1.24 * size
    words = " ".join(filter(None, (content.signal_word and f"{content.signal_word}:", content.hazard_text)))
    if words:
        share = height - 0.6 - y - (2.2 if content.small_print or content.quoted else 0)
        y = _block_if_room(drawing, x, y, words, "sans-bold", (room, share), 2.0, "hazards")
    small_print = (NOT_OVER_OLD_WRITING, *content.small_print) if content.quoted else content.small_print
    if small_print:
        text = ", ".join(small_print)
        _block_if_room(drawing, x, y, text, "sans", (room, height - 0.5 - y), 1.9, "small print")
    return drawing


def _block_if_room(
    drawing: Drawing,
    x: float,
    y: float,
    text: str,
    face: str,
    room: tuple[float, float],
    largest: float,
    what: str,
) -> float:
    """Set a text if even one line of it has room; otherwise note that it is left out."""
    fitted = fit(text, face, *room, largest, 1.5)
    if fitted.height_mm > room[1] + 0.01:
        drawing.cut.append(what)
        return y
    return drawing.block(x, y, fitted, face, what)


def draw_round(content: LabelContent, width: float, height: float) -> Drawing:
    """Name above, code in the middle, its letters below: on a cap, everything within the circle."""
    drawing = Drawing(width, height)
    k = min(width, height) / 20
    middle, top = width / 2, height / 2 - 10 * k
    # a QR code brings its own margin; a Data Matrix has hardly any and is set smaller
    side, code_top = (12.6 * k, 3.7 * k) if is_qr(content, 12.6 * k) else (10.4 * k, 4.5 * k)
    ground = draw_code(drawing, content, middle - side / 2, top + code_top, side)
    # at this height the circle is 12.4 wide
    name = fit(content.name_with_banner, "sans-bold", 12.4 * k, 2.6 * k, 2.1 * k, min(1.25 * k, 2.0))
    drawing.centred(middle, top + 3.7 * k, name.lines[0], "sans-bold", name.size_mm)
    if name.is_cut:
        drawing.cut.append("name")
    size = min(2.05 * k, 12.6 * k / code_width(content, 1))
    line = max(top + 17.2 * k, ground + 0.85 * size)
    draw_code_words(drawing, content, middle - code_width(content, size) / 2, line, size)
    return drawing
