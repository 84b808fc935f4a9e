"""Labels without hazards: places, badges, fields of an amount card, blanks to be claimed later."""

from labstock.labels.code_marks import code_width, draw_code, draw_code_words
from labstock.labels.content import Plate
from labstock.labels.fitting import fit
from labstock.labels.fonts import width_em
from labstock.labels.marks import Drawing
from labstock.labels.measures import LabelSize

SIZE_OF = {
    "location": LabelSize(70, 37),
    "person": LabelSize(86, 54),
    "amount": LabelSize(90, 60),
    "act": LabelSize(90, 60),
    "blank": LabelSize(38, 13),
}
LARGEST_CODE_MM = 44.0


def plate_size(plate: Plate) -> LabelSize:
    """Return the size that this kind has of itself [mm]."""
    return SIZE_OF[plate.kind]


def draw_plate(plate: Plate, size: LabelSize) -> Drawing:
    """Code on the left and words beside it; on narrow labels the words stand below."""
    drawing = Drawing(size.width, size.height)
    edge = 0.0 if min(size.width, size.height) < 20 else min(4.0, min(size.width, size.height) / 10)
    if size.width < 1.4 * size.height:
        _below(drawing, plate, size, edge)
    else:
        _beside(drawing, plate, size, edge)
    return drawing


def _beside(drawing: Drawing, plate: Plate, size: LabelSize, edge: float) -> None:
    side = min(size.height - 2 * edge, size.width * 0.42, LARGEST_CODE_MM)
    draw_code(drawing, plate, edge, (size.height - side) / 2, side)
    x = edge + side + 0.3
    _words(
        drawing, plate, x, max(edge, 0.6), size.width - x - max(edge, 0.6), size.height - 2 * max(edge, 0.6)
    )


def _below(drawing: Drawing, plate: Plate, size: LabelSize, edge: float) -> None:
    side = min(size.width - 2 * edge, size.height * 0.6, LARGEST_CODE_MM)
    draw_code(drawing, plate, (size.width - side) / 2, edge, side)
    top = edge + side
    _words(
        drawing, plate, max(edge, 1), top, size.width - 2 * max(edge, 1), size.height - top - max(edge, 0.6)
    )


def _words(drawing: Drawing, plate: Plate, x: float, y: float, width: float, height: float) -> None:
    """Code in letters at the foot, the name as large as the rest allows, small print between them."""
    end = y + height
    if plate.shown:
        letters = min(height * 0.22, 5.0, width / code_width(plate, 1))
        draw_code_words(drawing, plate, x, end - 0.25 * letters, letters)
        end -= 1.3 * letters
    if not plate.name:
        drawing.rule(x, end - 0.6, x + width, end - 0.6, 0.15)
        return
    room = end - y
    small = room * 0.3 if plate.lines else 0.0
    largest = min(room * 0.5, 16.0)
    on_one_line = width / width_em(plate.name, "sans-bold")
    if on_one_line >= largest * 0.45:  # one line, even if smaller, reads faster than two
        largest = min(largest, on_one_line)
    name = fit(plate.name, "sans-bold", width, room - small, largest, 1.3)
    y += 0.0 if plate.lines or plate.shown else (room - name.height_mm) / 2
    y = drawing.block(x, y, name, "sans-bold", "name")
    if plate.lines:
        lines = fit("\n".join(plate.lines), "sans", width, end - y, 3.2, 1.3)
        if lines.height_mm <= end - y + 0.01:
            drawing.block(x, y, lines, "sans", "small print")
        else:
            drawing.cut.append("small print")
