"""Labels as PDF: one by one, or many on a sheet."""

from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas

from labstock.chemistry.errors import LabError
from labstock.labels.content import Printable
from labstock.labels.fonts import FACES, runs
from labstock.labels.layout import draw_label
from labstock.labels.marks import Code, Drawing, Picture, Shape, Words
from labstock.labels.papers import ONE_PER_PAGE, Sheet, check_start, is_sheet, own_size, sheet_named
from labstock.labels.pictograms import draw_pictogram
from labstock.labels.qr import dark_runs

POINTS_PER_MM = 72 / 25.4
MOST_LABELS = 1000
Progress = Callable[[int, int], None]  # labels drawn so far, and of how many
INKS = {"black": black, "white": white, "red": Color(0.84, 0.07, 0.1)}


@dataclass(frozen=True)
class Drawn:
    """How far the drawing is: this page of so many, and the labels on them so far."""

    page: int
    pages: int
    labels: int


def render_single(content: Printable, is_coloured: bool = False) -> bytes:
    """One label on a page of its own size, as label printers take it."""
    return render_selection([content], ONE_PER_PAGE, is_coloured=is_coloured)


def render_selection(
    contents: Sequence[Printable],
    size: str = ONE_PER_PAGE,
    start: int = 1,
    is_coloured: bool = False,
    progress: Progress | None = None,
) -> bytes:
    """Many labels: each on its own page in its own kind or in the size given ("57x32"), or on a sheet."""
    drawing = draw_pages(contents, size, start, is_coloured)
    while True:
        try:
            page = next(drawing)
        except StopIteration as end:
            return bytes(end.value)
        if progress:
            progress(page.labels, len(contents))


def render_sheet(
    contents: Sequence[Printable],
    size: str = "24-up",
    start: int = 1,
    is_coloured: bool = False,
) -> bytes:
    """Labels on A4 sheets, beginning at place `start` of the first sheet, counted from 1."""
    sheet_named(size)
    return render_selection(contents, size, start, is_coloured)


def draw_pages(
    contents: Sequence[Printable], size: str = ONE_PER_PAGE, start: int = 1, is_coloured: bool = False
) -> Generator[Drawn, None, bytes]:
    """Draw page after page, telling each as it is done; the file comes last."""
    check_number(contents)
    if is_sheet(size):
        return (yield from _draw_sheets(contents, check_start(size, start), start, is_coloured))
    label = own_size(size)
    canvas, file = _new_canvas(contents)
    for number, content in enumerate(contents, start=1):
        drawing = draw_label(content, is_coloured=is_coloured, size=label)
        canvas.setPageSize((drawing.width * POINTS_PER_MM, drawing.height * POINTS_PER_MM))
        _draw(canvas, drawing, 0, drawing.height)
        canvas.showPage()
        yield Drawn(number, len(contents), number)
    canvas.save()
    return file.getvalue()


def _draw_sheets(
    contents: Sequence[Printable], sheet: Sheet, start: int, is_coloured: bool
) -> Generator[Drawn, None, bytes]:
    canvas, file = _new_canvas(contents)
    pages, done = sheet.pages(len(contents), start), 0
    for page, labels in _pages(contents, sheet, start):
        canvas.setPageSize((sheet.page[0] * POINTS_PER_MM, sheet.page[1] * POINTS_PER_MM))
        for place, content in labels:
            left, top = sheet.corner(place)
            drawing = draw_label(content, sheet.template, is_coloured, sheet.label)
            _draw(canvas, drawing, left, sheet.page[1] - top)
            if sheet.has_cut_marks:
                _draw_cut_marks(canvas, sheet, left, sheet.page[1] - top)
        if sheet.has_cut_marks:
            _draw_foot(canvas, sheet, page)
        canvas.showPage()
        done += len(labels)
        yield Drawn(page, pages, done)
    canvas.save()
    return file.getvalue()


def _pages(
    contents: Sequence[Printable], sheet: Sheet, start: int
) -> Iterator[tuple[int, list[tuple[int, Printable]]]]:
    placed = [(start - 1 + i, content) for i, content in enumerate(contents)]
    for page in range(sheet.pages(len(contents), start)):
        yield page + 1, [(i % sheet.places, c) for i, c in placed if i // sheet.places == page]


def check_number(contents: Sequence[Printable]) -> None:
    if not contents:
        raise LabError("no-labels", "0 labels were chosen. Choose at least one container, then print.")
    if len(contents) > MOST_LABELS:
        raise LabError(
            "too-many-labels",
            "{number} labels were chosen; at most {most} are printed at once. Choose fewer, then print the rest.",
            number=len(contents),
            most=MOST_LABELS,
        )


def _new_canvas(contents: Sequence[Printable]) -> tuple[Canvas, BytesIO]:
    file = BytesIO()
    canvas = Canvas(file, pageCompression=1, invariant=1)
    canvas.setTitle(f"Labels: {len(contents)}")
    canvas.setLineJoin(0)
    return canvas, file


def _draw(canvas: Canvas, drawing: Drawing, left: float, top: float) -> None:
    """Draw a label whose top left corner lies at (left, top), counted in mm from the page's bottom left."""
    canvas.saveState()
    canvas.translate(left * POINTS_PER_MM, top * POINTS_PER_MM)
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    for mark in drawing.marks:
        if isinstance(mark, Words):
            _draw_words(canvas, mark)
        elif isinstance(mark, Code):
            _draw_code(canvas, mark)
        elif isinstance(mark, Picture):
            _draw_picture(canvas, mark)
        else:
            _draw_shape(canvas, mark)
    canvas.restoreState()


def _draw_words(canvas: Canvas, mark: Words) -> None:
    thickening = FACES[mark.face].thickening_em * mark.size
    text = canvas.beginText(mark.x, -mark.y)
    if thickening:
        canvas.setLineWidth(thickening)
        canvas.setStrokeColor(black)
    text.setTextRenderMode(2 if thickening else 0)
    for font, piece in runs(mark.text, mark.face):
        text.setFont(font, mark.size)
        text.textOut(piece)
    text.setTextRenderMode(0)
    canvas.drawText(text)


def _draw_code(canvas: Canvas, mark: Code) -> None:
    canvas.saveState()
    canvas.translate(mark.x, -mark.y)
    canvas.scale(mark.dot, mark.dot)
    path = canvas.beginPath()
    for x, y, length in dark_runs(mark.matrix):
        path.rect(x, -y - 1, length, 1)
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.restoreState()


def _draw_picture(canvas: Canvas, mark: Picture) -> None:
    """Each picture is kept once in the file, on a field of 100, and used wherever it is needed."""
    name = f"{mark.code}-{'red' if mark.is_coloured else 'black'}"
    if not canvas.hasForm(name):
        canvas.beginForm(name, 0, -100, 100, 0)
        for shape in draw_pictogram(mark.code, 0, 0, 100, mark.is_coloured):
            _draw_shape(canvas, shape)
        canvas.endForm()
    canvas.saveState()
    canvas.translate(mark.x, -mark.y)
    canvas.scale(mark.size / 100, mark.size / 100)
    canvas.doForm(name)
    canvas.restoreState()


def _draw_shape(canvas: Canvas, mark: Shape) -> None:
    path = canvas.beginPath()
    for letter, numbers in mark.steps:
        points = [-n if i % 2 else n for i, n in enumerate(numbers)]
        if letter == "M":
            path.moveTo(*points)
        elif letter == "L":
            path.lineTo(*points)
        elif letter == "C":
            path.curveTo(*points)
        else:
            path.close()
    if mark.fill:
        canvas.setFillColor(INKS[mark.fill])
    if mark.stroke:
        canvas.setStrokeColor(INKS[mark.stroke])
        canvas.setLineWidth(mark.line)
    canvas.drawPath(path, stroke=int(bool(mark.stroke)), fill=int(bool(mark.fill)))
    canvas.setFillColor(black)


def _draw_cut_marks(canvas: Canvas, sheet: Sheet, left: float, top: float) -> None:
    """Short strokes outside the corners, so that none is left on the label."""
    canvas.setLineWidth(0.3)
    canvas.setStrokeColor(black)
    if sheet.template == "cap":
        middle = (left + sheet.width / 2, top - sheet.height / 2, sheet.width / 2)
        canvas.circle(*(n * POINTS_PER_MM for n in middle))
        return
    right, bottom = left + sheet.width, top - sheet.height
    for x, dx in ((left, -1), (right, 1)):
        for y, dy in ((top, 1), (bottom, -1)):
            for x2, y2, x1, y1 in ((x + 1.6 * dx, y, x + 0.5 * dx, y), (x, y + 1.6 * dy, x, y + 0.5 * dy)):
                canvas.line(*(n * POINTS_PER_MM for n in (x1, y1, x2, y2)))


def _draw_foot(canvas: Canvas, sheet: Sheet, page: int) -> None:
    font = runs("A", "sans")[0][0]
    canvas.setFont(font, 7)
    words = f"{sheet.words} · print at 100 % · for use inside the laboratory, not for supply · page {page}"
    canvas.drawCentredString(sheet.page[0] / 2 * POINTS_PER_MM, 5 * POINTS_PER_MM, words)
