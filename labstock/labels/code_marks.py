"""The square code and the code in letters, as marks on a drawing."""

from labstock.labels.content import LabelContent, Plate, Printable
from labstock.labels.fonts import width_em
from labstock.labels.marks import Code, Drawing
from labstock.labels.symbols import Symbol, choose_symbol

AIR_MODULES = 0.8  # between a code's lowest dots and the letters below it


def draw_code(drawing: Drawing, content: Printable, x: float, y: float, size: float) -> float:
    """Draw the code with its quiet zone inside the square; give back from where letters may stand below it."""
    symbol = _symbol(content, size)
    margin = symbol.quiet * symbol.dot
    drawing.marks.append(Code(x + margin, y + margin, symbol.dot, symbol.matrix))
    return y + size - max(symbol.quiet - AIR_MODULES, 0) * symbol.dot


def is_qr(content: Printable, size: float) -> bool:
    """Say whether a square of this size holds a QR code [mm]."""
    return _symbol(content, size).name == "QR"


def _symbol(content: Printable, size: float) -> Symbol:
    return choose_symbol(content.text if isinstance(content, Plate) else content.url, content.code, size)


def code_width(content: Printable, size: float) -> float:
    """Return how wide the code in letters runs [mm]."""
    return width_em(plain(content), "mono-bold") * size


def draw_code_words(drawing: Drawing, content: Printable, x: float, y: float, size: float) -> None:
    """The code in letters, its check character underlined."""
    drawing.words(x, y, plain(content), "mono-bold", size)
    end = x + code_width(content, size)
    drawing.rule(end - 0.58 * size, y + 0.16 * size, end, y + 0.16 * size, 0.08 * size)


def plain(content: LabelContent | Plate) -> str:
    """Return the code as people read it, with plain spaces."""
    return content.shown_code.replace("\u00a0", " ")
