"""Which square code stands on a label: QR where its dots are large enough, Data Matrix on tiny vials."""

from dataclasses import dataclass
from functools import lru_cache

from labstock.chemistry.errors import LabError
from labstock.labels.data_matrix import DATA_MATRIX_QUIET_MODULES, data_matrix
from labstock.labels.qr import QUIET_MODULES, Matrix, qr_matrix

SMALLEST_QR_DOT_MM = 0.35  # below it phones lose the code at arm's length; measured on synthetic photos
SMALLEST_DOT_MM = 0.25  # three dots of a 300 dpi printer; common practice, no source


@dataclass(frozen=True)
class Symbol:
    """A code as it will be printed: its modules, the edge of one [mm] and the quiet zone around it [modules]."""

    name: str
    text: str
    matrix: Matrix
    dot: float
    quiet: int


def choose_symbol(address: str, code: str, size_mm: float) -> Symbol:
    """Choose the code for a square of a given size.

    Parameters
    ----------
    address : str
        The full address, which a phone's own camera opens [-].
    code : str
        The bare code, which our own pages and scanners read [-].
    size_mm : float
        Edge of the square, quiet zone included [mm].

    Returns
    -------
    Symbol
        A QR code of the address; a Data Matrix of it where the dots of the QR code would be finer than
        0.35 mm; a Data Matrix of the bare code where even those would be [-].

    Notes
    -----
    Quiet zones of 4 modules (ISO/IEC 18004) and 1 module (ISO/IEC 16022).

    Examples
    --------
    >>> [choose_symbol("HTTPS://STOCK.EXAMPLE/C/TQ4817K", "TQ4817K", size).name for size in (13, 9, 5)]
    ['QR', 'Data Matrix', 'Data Matrix']
    """
    symbol = _drawn("QR", address, size_mm)
    if symbol is not None and symbol.dot >= SMALLEST_QR_DOT_MM:
        return symbol
    symbol = _drawn("Data Matrix", address, size_mm)
    if symbol is not None and symbol.dot >= SMALLEST_QR_DOT_MM:
        return symbol
    symbol = _drawn("Data Matrix", code, size_mm)
    if symbol is None or symbol.dot < SMALLEST_DOT_MM:
        raise LabError(
            "label-dots-too-fine",
            "The code {code} makes dots of {dot:.2f} mm on a square of {size:g} mm; printers need {least} mm. "
            "Take a larger label.",
            code=code[:40],
            dot=symbol.dot if symbol else 0.0,
            size=size_mm,
            least=SMALLEST_DOT_MM,
        )
    return symbol


@lru_cache(maxsize=4096)
def _matrix(name: str, text: str) -> Matrix:
    return qr_matrix(text) if name == "QR" else data_matrix(text)


def _drawn(name: str, text: str, size_mm: float) -> Symbol | None:
    """Return the symbol of a text in a square, or None where the text is too long for it."""
    quiet = QUIET_MODULES if name == "QR" else DATA_MATRIX_QUIET_MODULES
    try:
        matrix = _matrix(name, text)
    except LabError as error:
        if error.code in ("qr-too-long", "data-matrix-text"):
            return None
        raise
    return Symbol(name, text, matrix, size_mm / (len(matrix) + 2 * quiet), quiet)
