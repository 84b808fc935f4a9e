"""The few marks a label is made of, in millimetres from its top left corner."""

from dataclasses import dataclass, field
from typing import Literal

from labstock.labels.fitting import Fitted
from labstock.labels.fonts import width_em
from labstock.labels.qr import Matrix

Ink = Literal["black", "white", "red"]
Step = tuple[str, tuple[float, ...]]
ASCENT, DESCENT = 0.80, 0.22  # of the size: how far letters reach above and below the line


@dataclass(frozen=True)
class Words:
    """One line of text; x is its left end, y the line the letters stand on."""

    x: float
    y: float
    text: str
    face: str
    size: float

    @property
    def width(self) -> float:
        return width_em(self.text, self.face) * self.size

    @property
    def box(self) -> tuple[float, float, float, float]:
        return (self.x, self.y - ASCENT * self.size, self.x + self.width, self.y + DESCENT * self.size)


@dataclass(frozen=True)
class Shape:
    """A closed or open path of M, L, C and Z steps."""

    steps: tuple[Step, ...]
    fill: Ink | None = None
    stroke: Ink | None = None
    line: float = 0.0


@dataclass(frozen=True)
class Code:
    """A QR code without its quiet zone."""

    x: float
    y: float
    dot: float
    matrix: Matrix

    @property
    def box(self) -> tuple[float, float, float, float]:
        edge = self.dot * len(self.matrix)
        return (self.x, self.y, self.x + edge, self.y + edge)


@dataclass(frozen=True)
class Picture:
    """A hazard picture: its GHS code and the square around its diamond."""

    code: str
    x: float
    y: float
    size: float
    is_coloured: bool

    @property
    def box(self) -> tuple[float, float, float, float]:
        return (self.x, self.y, self.x + self.size, self.y + self.size)


Mark = Words | Shape | Code | Picture


@dataclass
class Drawing:
    """A label being drawn: its size [mm], its marks, the fields that had to be cut or left out, and the
    characters that no font here has (printed as empty boxes), and the relief that let it say less."""

    width: float
    height: float
    marks: list[Mark] = field(default_factory=list)
    cut: list[str] = field(default_factory=list)
    unprinted: str = ""
    relief: str = ""

    def words(self, x: float, y: float, text: str, face: str, size: float) -> None:
        self.marks.append(Words(x, y, text, face, size))

    def centred(self, x: float, y: float, text: str, face: str, size: float) -> None:
        self.words(x - width_em(text, face) * size / 2, y, text, face, size)

    def block(self, x: float, y: float, fitted: Fitted, face: str, what: str) -> float:
        """Set fitted lines below y; give back where they end."""
        pitch = fitted.height_mm / max(len(fitted.lines), 1)
        for i, line in enumerate(fitted.lines):
            self.words(x, y + i * pitch + 0.9 * fitted.size_mm, line, face, fitted.size_mm)
        if fitted.is_cut:
            self.cut.append(what)
        return y + fitted.height_mm

    def rule(self, x1: float, y1: float, x2: float, y2: float, line: float) -> None:
        self.marks.append(Shape((("M", (x1, y1)), ("L", (x2, y2))), stroke="black", line=line))

    def box(self, x: float, y: float, width: float, height: float, line: float) -> None:
        self.marks.append(Shape(_corners(x, y, width, height), stroke="black", line=line))

    def bar(self, x: float, y: float, width: float, height: float) -> None:
        self.marks.append(Shape(_corners(x, y, width, height), fill="black"))


def _corners(x: float, y: float, width: float, height: float) -> tuple[Step, ...]:
    right, bottom = x + width, y + height
    return (("M", (x, y)), ("L", (right, y)), ("L", (right, bottom)), ("L", (x, bottom)), ("Z", ()))
