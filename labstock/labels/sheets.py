"""Labels as PDF: one by one, or many on a sheet."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab.lib.colors import Color, black, white
from reportlab.pdfgen.canvas import Canvas

from labstock.chemistry.errors import LabError
from labstock.labels.content import LabelContent
from labstock.labels.fonts import FACES, runs
from labstock.labels.layout import draw_label
from labstock.labels.marks import Code, Drawing, Picture, Shape, Words
from labstock.labels.pictograms import draw_pictogram
from labstock.labels.qr import dark_runs

POINTS_PER_MM = 72 / 25.4
MOST_LABELS = 1000
INKS = {"black": black, "white": white, "red": Color(0.84, 0.07, 0.1)}


@dataclass(frozen=True)
class Sheet:
    """A page of equal labels [mm]; a sheet without die-cut labels gets marks to cut along."""

    words: str
    template: str
    width: float
    height: float
    columns: int
    rows: int
    gap: float = 0.0
    has_cut_marks: bool = False
    page: tuple[float, float] = (210.0, 297.0)

    @property
    def places(self) -> int:
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Left and top edge of a place, counted from 0, row by row."""
        row, column = divmod(place, self.columns)
        left = (self.page[0] - self.columns * self.width - (self.columns - 1) * self.gap) / 2
        top = (self.page[1] - self.rows * self.height - (self.rows - 1) * self.gap) / 2
        return (left + column * (self.width + self.gap), top + row * (self.height + self.gap))


SHEETS = {
    "24-up": Sheet("A4, 24 self-sticking labels of 70 × 37 mm", "cell", 70, 37, 3, 8),
    "vial": Sheet("A4 to cut, 60 vial labels of 38 × 13 mm", "vial", 38, 13, 4, 15, 4, True),
    "cap": Sheet("A4 to cut, 88 cap labels of 20 mm across", "cap", 20, 20, 8, 11, 4, True),
    "bottle": Sheet("A4 to cut, 10 bottle labels of 74 × 52 mm", "bottle", 74, 52, 2, 5, 4, True),
    "tag": Sheet("A4 to cut, 12 tie-on tags of 86 × 40 mm", "tag", 86, 40, 2, 6, 4, True),
}
ONE_PER_PAGE = "one-per-page"


def render_single(content: LabelContent, is_coloured: bool = False) -> bytes:
    """One label on a page of its own size, as label printers take it."""
    return render_selection([content], ONE_PER_PAGE, is_coloured=is_coloured)


def render_selection(
    contents: Sequence[LabelContent], size: str = ONE_PER_PAGE, start: int = 1, is_coloured: bool = False
) -> bytes:
    """Many labels: each on its own page in its own kind, or on the sheet asked for."""
    check_number(contents)
    if size != ONE_PER_PAGE:
        return render_sheet(contents, size, start, is_coloured)
    canvas, file = _new_canvas(contents)
    for content in contents:
        drawing = draw_label(content, is_coloured=is_coloured)
        canvas.setPageSize((drawing.width * POINTS_PER_MM, drawing.height * POINTS_PER_MM))
        _draw(canvas, drawing, 0, drawing.height)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def render_sheet(
    contents: Sequence[LabelContent], size: str = "24-up", start: int = 1, is_coloured: bool = False
) -> bytes:
    """Labels on A4 sheets, beginning at place `start` of the first sheet, counted from 1."""
    check_number(contents)
    sheet = check_start(size, start)
    canvas, file = _new_canvas(contents)
    for page, labels in _pages(contents, sheet, start):
        canvas.setPageSize((sheet.page[0] * POINTS_PER_MM, sheet.page[1] * POINTS_PER_MM))
        for place, content in labels:
            left, top = sheet.corner(place)
            _draw(canvas, draw_label(content, sheet.template, is_coloured), left, sheet.page[1] - top)
            if sheet.has_cut_marks:
                _draw_cut_marks(canvas, sheet, left, sheet.page[1] - top)
        if sheet.has_cut_marks:
            _draw_foot(canvas, sheet, page)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def _pages(
    contents: Sequence[LabelContent], sheet: Sheet, start: int
) -> Iterator[tuple[int, list[tuple[int, LabelContent]]]]:
    placed = [(start - 1 + i, content) for i, content in enumerate(contents)]
    for page in range(placed[-1][0] // sheet.places + 1):
        yield page + 1, [(i % sheet.places, c) for i, c in placed if i // sheet.places == page]


def check_number(contents: Sequence[LabelContent]) -> None:
    if not contents:
        raise LabError("no-labels", "0 labels were chosen. Choose at least one container, then print.")
    if len(contents) > MOST_LABELS:
        raise LabError(
            "too-many-labels",
            "{number} labels were chosen; at most {most} are printed at once. Choose fewer, then print the rest.",
            number=len(contents),
            most=MOST_LABELS,
        )


def check_start(size: str, start: int) -> Sheet:
    if size not in SHEETS:
        raise LabError(
            "unknown-sheet",
            "“{size}” is not a sheet of labels; there are {sheets}.",
            size=size,
            sheets=", ".join([*SHEETS, ONE_PER_PAGE]),
        )
    sheet = SHEETS[size]
    if not 1 <= start <= sheet.places:
        raise LabError(
            "start-off-sheet",
            "Place {start} is not on the sheet: its labels are counted from 1 to {places}, row by row.",
            start=start,
            places=sheet.places,
        )
    return sheet


def _new_canvas(contents: Sequence[LabelContent]) -> tuple[Canvas, BytesIO]:
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
