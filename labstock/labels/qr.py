"""The square code on a label: an address in the alphanumeric set, so that its dots stay big."""

import qrcode
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError
from qrcode.util import MODE_ALPHA_NUM, QRData

from labstock.chemistry.errors import LabError

ALPHANUMERIC = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")
LEVELS = {"L": ERROR_CORRECT_L, "M": ERROR_CORRECT_M, "Q": ERROR_CORRECT_Q, "H": ERROR_CORRECT_H}
QUIET_MODULES = 4
Matrix = tuple[tuple[bool, ...], ...]


def is_alphanumeric(text: str) -> bool:
    """Tell whether a text can be encoded in the alphanumeric mode.

    Parameters
    ----------
    text : str
        The text to encode [-].

    Returns
    -------
    bool
        True when every character is in the set of 45 [-].

    Notes
    -----
    ISO/IEC 18004, alphanumeric mode: digits, capital letters, space and $ % * + - . / :

    Examples
    --------
    >>> is_alphanumeric("HTTPS://STOCK.EXAMPLE/C/TQ4817K"), is_alphanumeric("https://stock.example")
    (True, False)
    """
    return bool(text) and ALPHANUMERIC.issuperset(text)


def qr_matrix(text: str, level: str = "M") -> Matrix:
    """Work out the dark and light modules of a QR code, without the quiet zone.

    Parameters
    ----------
    text : str
        The text to encode, in the alphanumeric set [-].
    level : str
        Error correction L, M, Q or H [-].

    Returns
    -------
    tuple of tuple of bool
        Rows from the top; True is dark [-].

    Notes
    -----
    ISO/IEC 18004; drawn up by the package qrcode.

    Examples
    --------
    >>> len(qr_matrix("HTTPS://STOCK.EXAMPLE/C/TQ4817K"))
    25
    """
    if not is_alphanumeric(text):
        raise LabError(
            "qr-characters",
            "“{text}” has characters ({strange}) that a label's code cannot carry in large dots. "
            "Use capital letters, digits and $ % * + - . / : only.",
            text=text[:60],
            strange=" ".join(sorted(set(text) - ALPHANUMERIC)) or "none at all",
        )
    symbol = qrcode.QRCode(error_correction=LEVELS[level], border=0)
    symbol.add_data(QRData(text.encode("ascii"), mode=MODE_ALPHA_NUM, check_data=False))
    try:
        symbol.make(fit=True)
    except (DataOverflowError, ValueError):
        raise LabError(
            "qr-too-long",
            "The text has {length} characters, more than a code can hold. Shorten the site's address.",
            length=len(text),
        ) from None
    return tuple(tuple(bool(dark) for dark in row) for row in symbol.modules)


def dark_runs(matrix: Matrix) -> list[tuple[int, int, int]]:
    """Merge neighbouring dark modules of each row.

    Parameters
    ----------
    matrix : tuple of tuple of bool
        Modules as from `qr_matrix` [-].

    Returns
    -------
    list of tuple of int
        Column, row and length of each dark run, in modules [-].

    Notes
    -----
    A third of the shapes and no hairlines between dots; common practice, no source.

    Examples
    --------
    >>> dark_runs(((True, True, False, True),))
    [(0, 0, 2), (3, 0, 1)]
    """
    runs = []
    for y, row in enumerate(matrix):
        start = None
        for x, dark in enumerate((*row, False)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                runs.append((start, y, x - start))
                start = None
    return runs


def qr_svg(text: str, size_mm: float, level: str = "M") -> str:
    """Draw a code as SVG, quiet zone included, without style attributes.

    Parameters
    ----------
    text : str
        The text to encode [-].
    size_mm : float
        Edge of the drawing, quiet zone included [mm].
    level : str
        Error correction L, M, Q or H [-].

    Returns
    -------
    str
        An svg element [-].

    Notes
    -----
    Quiet zone of four modules by ISO/IEC 18004.

    Examples
    --------
    >>> qr_svg("HTTPS://STOCK.EXAMPLE/C/TQ4817K", 22)[:40]
    '<svg class="qr" width="22mm" height="22m'
    """
    matrix = qr_matrix(text, level)
    edge = len(matrix) + 2 * QUIET_MODULES
    path = "".join(
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h{length}v1h-{length}z"
        for x, y, length in dark_runs(matrix)
    )
    return (
        f'<svg class="qr" width="{size_mm:g}mm" height="{size_mm:g}mm" viewBox="0 0 {edge} {edge}" role="img" '
        f'shape-rendering="crispEdges" aria-label="Code that leads to this container\'s page">'
        f'<path class="qr__ground" fill="#fff" d="M0 0h{edge}v{edge}H0z"/>'
        f'<path class="qr__ink" fill="#000" d="{path}"/></svg>'
    )
