"""The typefaces of labels: where they are, what they cover, how wide text runs in them."""

import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from labstock.chemistry.errors import LabError

MISSING = "□"
ELLIPSIS = "…"


@dataclass(frozen=True)
class Face:
    """A voice of the label: its font, the family a browser uses instead, and how much it is thickened."""

    package: str
    file: str
    family: str
    thickening_em: float = 0.0
    is_italic: bool = False


FACES = {
    "sans": Face("fontpkg_noto_sans", "files/NotoSans[wdth,wght].ttf", "Noto Sans, sans-serif"),
    "sans-bold": Face("fontpkg_noto_sans", "files/NotoSans[wdth,wght].ttf", "Noto Sans, sans-serif", 0.032),
    "serif-bold": Face(
        "fontpkg_noto_serif", "files/NotoSerif[wdth,wght].ttf", "Noto Serif, Georgia, serif", 0.026
    ),
    "serif-italic": Face(
        "fontpkg_noto_serif",
        "files/NotoSerif-Italic[wdth,wght].ttf",
        "Noto Serif, Georgia, serif",
        is_italic=True,
    ),
    "mono-bold": Face("fontpkg_ibm_plex_mono", "files/IBMPlexMono-Bold.ttf", "IBM Plex Mono, monospace"),
}
# Tried in turn for characters the face lacks; those not installed are passed over.
FALLBACKS = (
    ("rdkit", "Chem/Draw/FreeSans.ttf"),
    ("justmytype_intl_cjk", "fonts/ofl/notosanssc/NotoSansSC[wght].ttf"),
    ("justmytype_intl_cjk", "fonts/ofl/notosansjp/NotoSansJP[wght].ttf"),
    ("justmytype_intl_cjk", "fonts/ofl/notosanskr/NotoSansKR[wght].ttf"),
)
# Letters of these scripts change shape or order with their neighbours, which we cannot draw rightly.
JOINING_SCRIPTS = ((0x0590, 0x109F), (0x1700, 0x18AF), (0xFB1D, 0xFDFF), (0xFE70, 0xFEFF))


@lru_cache(maxsize=20_000)
def clean(text: str) -> str:
    """Bring text into the form that is printed: composed letters, single spaces, gaps made visible."""
    return " ".join("".join(c if is_covered(c) else MISSING for c in _composed(text)).split())


def uncovered(text: str) -> set[str]:
    """The characters of a text that are printed as empty boxes."""
    return {c for c in _composed(text) if not is_covered(c)}


def _composed(text: str) -> str:
    kinds = ((c, unicodedata.category(c)) for c in unicodedata.normalize("NFC", text))
    return "".join(" " if kind in {"Zs", "Zl", "Zp", "Cc"} else c for c, kind in kinds if kind != "Cf")


@lru_cache(maxsize=20_000)
def is_covered(character: str) -> bool:
    """Whether we can print a character rightly."""
    point = ord(character)
    if any(low <= point <= high for low, high in JOINING_SCRIPTS):
        return False
    return any(_has(name, point) for name in _chain("sans"))


@lru_cache(maxsize=50_000)
def width_em(text: str, face: str) -> float:
    """How wide a text runs at size 1."""
    return float(sum(pdfmetrics.getFont(name).stringWidth(part, 1) for name, part in runs(text, face)))


def runs(text: str, face: str) -> list[tuple[str, str]]:
    """Part a text into pieces of one font each, as (registered font name, piece)."""
    parts: list[tuple[str, str]] = []
    chain = _chain(face)
    for character in text:
        name = next((n for n in chain if _has(n, ord(character))), chain[0])
        if parts and parts[-1][0] == name:
            parts[-1] = (name, parts[-1][1] + character)
        else:
            parts.append((name, character))
    return parts


@cache
def _chain(face: str) -> tuple[str, ...]:
    chosen = FACES[face]
    first = _registered(chosen.package, chosen.file)
    if first is None:
        raise LabError(
            "font-missing",
            "The font package {package} is not installed, so labels cannot be drawn. "
            "Install the project's requirements again.",
            package=chosen.package,
        )
    return (first, *(name for package, file in FALLBACKS if (name := _registered(package, file))))


@cache
def _registered(package: str, file: str) -> str | None:
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        return None
    path = Path(spec.submodule_search_locations[0]) / file
    if not path.is_file():
        return None
    name = f"{package}-{path.stem}"
    pdfmetrics.registerFont(TTFont(name, str(path)))
    return name


def _has(name: str, point: int) -> bool:
    return point in pdfmetrics.getFont(name).face.charToGlyph
