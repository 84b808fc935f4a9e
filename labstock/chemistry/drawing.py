"""Structures drawn as SVG that a strict Content-Security-Policy and both colour schemes accept.

No style attributes: strokes are class ``m-bond``, letters and wedges class ``m-atom``; where no style sheet
reaches, presentation attributes with ``currentColor`` stand in.
"""

import re
from functools import lru_cache
from html import escape
from typing import Any

from rdkit.Chem.Draw import rdMolDraw2D

from labstock.chemistry.errors import LabError
from labstock.chemistry.smiles import molecule_of

SMALLEST, LARGEST = 24, 2000
BOND_LENGTH = 20  # pixels, as in the other drawings of the site
LETTER_SIZE = 14

_PATH = re.compile(r"<path\s+class='([^']*)'\s+d='([^']*)'\s*(?:style='([^']*)')?[^>]*>")


@lru_cache(maxsize=1024)
def draw(smiles: str, width: int = 120, height: int = 90, name: str = "") -> str:
    """Draw a structure.

    Parameters
    ----------
    smiles : str
        The structure [-].
    width, height : int
        Size of the picture, 24 to 2000 [px].
    name : str, optional
        What the picture shows, for people who do not see it; the SMILES when left out [-].

    Returns
    -------
    str
        An SVG element with a transparent background and no style attribute [-].

    Notes
    -----
    Source: coordinates and letters by RDKit; the mark-up is ours.

    Examples
    --------
    >>> svg = draw("CCO", 100, 60, "ethanol")
    >>> "Structure of ethanol" in svg and "style=" not in svg
    True
    """
    for size, what in ((width, "width"), (height, "height")):
        if not SMALLEST <= size <= LARGEST:
            raise LabError(
                "drawing-size",
                "A drawing with a {what} of {size} px cannot be made: choose {smallest} to {largest} px.",
                what=what,
                size=size,
                smallest=SMALLEST,
                largest=LARGEST,
            )
    bonds, letters = _paths(_raw(smiles, width, height))
    said = escape(f"Structure of {name or smiles}", quote=True)
    return (
        f'<svg class="mol" width="{width}" height="{height}" viewBox="0 0 {width} {height}" role="img" aria-label="{said}">'
        + (f'<path class="m-bond" fill="none" stroke="currentColor" d="{bonds}"/>' if bonds else "")
        + (f'<path class="m-atom" fill="currentColor" d="{letters}"/>' if letters else "")
        + "</svg>"
    )


def _raw(smiles: str, width: int, height: int) -> str:
    drawer = rdMolDraw2D.MolDraw2DSVG(width, height)
    options: Any = drawer.drawOptions()  # the package's type stubs refuse its own options
    options.clearBackground = False
    options.useBWAtomPalette()
    options.fixedBondLength = BOND_LENGTH
    options.fixedFontSize = LETTER_SIZE
    options.padding = 0.03
    rdMolDraw2D.PrepareAndDrawMolecule(drawer, molecule_of(smiles))
    drawer.FinishDrawing()
    return str(drawer.GetDrawingText())


def _paths(svg: str) -> tuple[str, str]:
    """Join RDKit's paths: outlines first, filled shapes second."""
    bonds: list[str] = []
    letters: list[str] = []
    for _, path, style in _PATH.findall(svg):
        is_outline = "fill:none" in style
        (bonds if is_outline else letters).append(_compact(path))
    return "".join(bonds), "".join(letters)


def _compact(path: str) -> str:
    return re.sub(r"\s*([A-Za-z])\s*", r"\1", " ".join(path.split()))
