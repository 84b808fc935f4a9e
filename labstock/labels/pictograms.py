"""Hazard pictures, drawn here from the publicly described shapes of the GHS: red diamond, black symbol.

Each symbol is a list of (ink, path) on a field of 100 by 100 whose diamond has its points at the middle of
the edges. Paths hold absolute M, L, C, Z steps and O for a circle (centre x, centre y, radius).
"""

import re
from dataclasses import dataclass
from functools import cache

from labstock.labels.marks import Ink, Shape, Step

FRAME = 5.0  # thickness of the frame on the field of 100
ROUND = 0.5523  # control point of a quarter circle


@dataclass(frozen=True)
class Pictogram:
    """A GHS picture: the word that stands beside it, and its symbol."""

    word: str
    symbol: tuple[tuple[Ink, str], ...]


FLAME = (
    "M50 20 C56 30 66 36 66 51 C66 61 59 67 50 67 C40 67 34 60 34 51 C34 43 39 40 41 33 "
    "C44 36 45 39 45 43 C50 37 52 29 50 20 Z"
)
FLAME_HEART = "M51 44 C53 50 58 52 57 58 C56 62 53 64 50 64 C46 64 43 61 44 57 C45 53 50 51 51 44 Z"

PICTOGRAMS = {
    "GHS01": Pictogram(
        "explosive",
        (
            ("black", "O49 61 12"),
            ("white", "M41 56 C43 52 47 51 50 52 L50 54 C46 54 44 55 43 58 Z"),
            ("black", "M56 52 L60 46 L63 48 L60 54 Z"),
            ("black", "M61 44 L58 33 L65 41 L70 30 L70 42 L79 39 L72 47 L80 52 L70 51 L69 60 L64 51 Z"),
            ("black", "M36 44 L26 38 L31 36 Z M38 36 L33 27 L40 30 Z M47 40 L45 25 L51 30 Z"),
            ("black", "M34 54 L22 55 L25 50 Z M36 66 L29 71 L27 66 Z M64 66 L73 68 L68 72 Z"),
        ),
    ),
    "GHS02": Pictogram(
        "flammable", (("black", FLAME), ("white", FLAME_HEART), ("black", "M30 70 L70 70 L70 74 L30 74 Z"))
    ),
    "GHS03": Pictogram(
        "oxidising",
        (
            (
                "black",
                "M50 14 C55 22 62 27 62 38 C62 46 57 50 50 50 C42 50 38 45 38 38 C38 32 42 30 43 24 C46 27 47 29 47 32 C51 27 52 21 50 14 Z",
            ),
            ("white", "M51 31 C53 36 56 38 55 43 C54 47 46 47 46 42 C47 39 50 37 51 31 Z"),
            ("black", "O50 60 15"),
            ("white", "O50 60 10"),
            ("black", "M33 78 L67 78 L67 82 L33 82 Z"),
        ),
    ),
    "GHS04": Pictogram(
        "gas under pressure",
        (
            (
                "black",
                "M21 70 C18 64 19 58 25 55 L63 36 C67 34 71 34 74 36 L79 33 L83 41 L78 44 C78 48 77 51 72 53 L34 72 C29 75 24 75 21 70 Z",
            ),
            ("white", "M28 60 L64 42 L66 45 L30 63 Z"),
        ),
    ),
    "GHS05": Pictogram(
        "corrosive",
        (
            (
                "black",
                "M19 44 L42 25 L49 34 L24 51 C19 53 16 48 19 44 Z M81 44 L58 25 L51 34 L76 51 C81 53 84 48 81 44 Z",
            ),
            ("white", "M24 45 L39 32 L42 35 L27 47 Z M76 45 L61 32 L58 35 L73 47 Z"),
            (
                "black",
                "M43 40 C46 46 46 49 43 50 C40 49 40 46 43 40 Z M57 40 C60 46 60 49 57 50 C54 49 54 46 57 40 Z",
            ),
            ("black", "M18 61 L33 61 C35 69 45 70 47 61 L53 61 C55 70 65 69 67 61 L82 61 L70 76 L30 76 Z"),
        ),
    ),
    "GHS06": Pictogram(
        "acutely toxic",
        (
            ("black", "M29 58 L32 53 L71 70 L68 75 Z M71 58 L68 53 L29 70 L32 75 Z"),
            ("black", "O28 54 4 O32 51 4 O72 54 4 O68 51 4 O28 72 4 O32 76 4 O72 72 4 O68 76 4"),
            ("white", "M38 50 L62 50 L60 62 L40 62 Z"),
            (
                "black",
                "M50 15 C61 15 69 22 69 33 C69 39 66 44 61 46 L60 55 C55 58 45 58 40 55 L39 46 C34 44 31 39 31 33 C31 22 39 15 50 15 Z",
            ),
            (
                "white",
                "O42.500 35 5.500 O57.500 35 5.500 M50 41 L53 46 L47 46 Z M44.800 50 L46.400 50 L46.400 56 L44.800 56 Z M53.600 50 L55.200 50 L55.200 56 L53.600 56 Z M49.200 50 L50.800 50 L50.800 57 L49.200 57 Z",
            ),
        ),
    ),
    "GHS07": Pictogram(
        "harmful, irritant",
        (
            ("black", "M50 16 C55 16 59 20 58 26 L54 58 L46 58 L42 26 C41 20 45 16 50 16 Z"),
            ("black", "O50 71 7"),
        ),
    ),
    "GHS08": Pictogram(
        "health hazard",
        (
            (
                "black",
                "M50 18 C55 18 58 22 58 27 C58 31 56 34 55 37 L72 45 L74 66 L50 84 L26 66 L28 45 L45 37 C44 34 42 31 42 27 C42 22 45 18 50 18 Z",
            ),
            (
                "white",
                "M50 42 L54 51 L64 48 L59 57 L66 64 L56 64 L52 75 L48 65 L37 67 L43 58 L36 51 L46 52 Z",
            ),
        ),
    ),
    "GHS09": Pictogram(
        "harms water life",
        (
            (
                "black",
                "M22 62 L34 60 L36 42 L28 34 L31 32 L37 38 L37 26 L40 26 L41 36 L48 28 L51 31 L42 42 L43 60 L56 62 L56 65 L22 65 Z",
            ),
            ("black", "M38 72 C46 60 60 60 65 68 L73 61 L71 70 L73 78 L65 73 C60 82 46 82 38 72 Z"),
            ("white", "O48 70 2"),
        ),
    ),
}


def draw_pictogram(code: str, x: float, y: float, size: float, is_coloured: bool) -> list[Shape]:
    """Draw a hazard picture.

    Parameters
    ----------
    code : str
        GHS01 to GHS09 [-].
    x, y : float
        Top left corner of the square that holds the diamond [mm].
    size : float
        From point to opposite point of the diamond [mm].
    is_coloured : bool
        True for the red frame, False for black print [-].

    Returns
    -------
    list of Shape
        Shapes in drawing order [mm].

    Notes
    -----
    Red-framed diamond by Articles 17 to 25 of Regulation (EC) No 1272/2008 (CLP).

    Examples
    --------
    >>> draw_pictogram("GHS02", 0, 0, 10, True)[0].stroke
    'red'
    """
    scale, inset = size / 100, FRAME * 0.75
    points = ((50, inset), (100 - inset, 50), (50, 100 - inset), (inset, 50))
    frame = tuple(
        ("M" if i == 0 else "L", (x + px * scale, y + py * scale)) for i, (px, py) in enumerate(points)
    )
    ink: Ink = "red" if is_coloured else "black"
    shapes = [Shape((*frame, ("Z", ())), fill="white", stroke=ink, line=FRAME * scale)]
    for fill, path in PICTOGRAMS[code].symbol:
        placed = tuple((letter, _placed(numbers, x, y, scale)) for letter, numbers in _steps(path))
        shapes.append(Shape(placed, fill=fill))
    return shapes


def _placed(numbers: tuple[float, ...], x: float, y: float, scale: float) -> tuple[float, ...]:
    """The symbol is drawn at 0.82 about the middle, clear of the frame."""
    return tuple((x if i % 2 == 0 else y) + scale * (50 + 0.82 * (n - 50)) for i, n in enumerate(numbers))


@cache
def _steps(path: str) -> tuple[Step, ...]:
    steps: list[Step] = []
    for letter, numbers in re.findall(r"([MLCZO])([^MLCZO]*)", path):
        values = tuple(float(number) for number in numbers.split())
        steps.extend(_circle(*values) if letter == "O" else [(letter, values)])
    return tuple(steps)


def _circle(x: float, y: float, r: float) -> list[Step]:
    k = ROUND * r
    return [
        ("M", (x + r, y)),
        ("C", (x + r, y + k, x + k, y + r, x, y + r)),
        ("C", (x - k, y + r, x - r, y + k, x - r, y)),
        ("C", (x - r, y - k, x - k, y - r, x, y - r)),
        ("C", (x + k, y - r, x + r, y - k, x + r, y)),
        ("Z", ()),
    ]
