"""The same drawing as the PDF's, as SVG in millimetres for the browser."""

from html import escape

from labstock.labels.content import Printable
from labstock.labels.fonts import FACES
from labstock.labels.layout import draw_label
from labstock.labels.marks import Code, Drawing, Mark, Picture, Shape, Words
from labstock.labels.measures import LabelSize
from labstock.labels.pictograms import draw_pictogram
from labstock.labels.qr import dark_runs

INKS = {"black": "#000", "white": "#fff", "red": "#d6121a", None: "none"}


def label_svg(
    content: Printable, template: str = "", is_coloured: bool = False, size: LabelSize | None = None
) -> str:
    """Draw a label to scale, without style attributes; its words are real text."""
    drawing = draw_label(content, template, is_coloured, size)
    title = escape(f"Label of {content.shown_code}, {content.name}")
    marks = "".join(_mark(mark) for mark in drawing.marks)
    return (
        f'<svg class="label-preview" width="{drawing.width:g}mm" height="{drawing.height:g}mm" '
        f'viewBox="0 0 {drawing.width:g} {drawing.height:g}" role="img" aria-label="{title}">'
        f"{_paper(drawing, template or ('' if size else content.kind))}{marks}</svg>"
    )


def _paper(drawing: Drawing, template: str) -> str:
    """White paper with its edge, whatever the page behind it looks like; a tag draws its own."""
    look = 'fill="#fff" stroke="#000" stroke-width="0.2"'
    width, height = drawing.width, drawing.height
    if template == "tag":
        return ""
    if template == "cap":
        return f'<circle {look} cx="{width / 2:g}" cy="{height / 2:g}" r="{width / 2 - 0.1:g}"/>'
    return f'<rect {look} x="0.1" y="0.1" width="{width - 0.2:g}" height="{height - 0.2:g}"/>'


def _mark(mark: Mark) -> str:
    if isinstance(mark, Words):
        return _words(mark)
    if isinstance(mark, Code):
        return _code(mark)
    if isinstance(mark, Picture):
        shapes = draw_pictogram(mark.code, mark.x, mark.y, mark.size, mark.is_coloured)
        return "".join(_shape(shape) for shape in shapes)
    return _shape(mark)


def _shape(mark: Shape) -> str:
    path = "".join(letter + " ".join(f"{n:.3f}" for n in numbers) for letter, numbers in mark.steps)
    line = f' stroke-width="{mark.line:.3f}"' if mark.stroke else ""
    return f'<path fill="{INKS[mark.fill]}" stroke="{INKS[mark.stroke]}"{line} d="{path}"/>'


def _words(mark: Words) -> str:
    """The length is given, so that a browser without our fonts keeps the layout."""
    face = FACES[mark.face]
    weight = ' font-weight="700"' if face.thickening_em or mark.face == "mono-bold" else ""
    slant = ' font-style="italic"' if face.is_italic else ""
    return (
        f'<text x="{mark.x:.3f}" y="{mark.y:.3f}" font-family="{face.family}" font-size="{mark.size:.3f}"'
        f'{weight}{slant} textLength="{mark.width:.3f}" lengthAdjust="spacingAndGlyphs" fill="#000">'
        f"{escape(mark.text)}</text>"
    )


def _code(mark: Code) -> str:
    path = "".join(f"M{x} {y}h{length}v1h-{length}z" for x, y, length in dark_runs(mark.matrix))
    return (
        f'<path transform="translate({mark.x:.3f} {mark.y:.3f}) scale({mark.dot:.4f})" '
        f'shape-rendering="crispEdges" fill="#000" d="{path}"/>'
    )
