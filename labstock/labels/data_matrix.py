"""The square code for tiny vials: smaller than a QR code of the same text, and content with one dot of margin."""

from typing import Any

import zxingcpp

from labstock.chemistry.errors import LabError
from labstock.labels.qr import Matrix

DATA_MATRIX_QUIET_MODULES = 1
MOST_CHARACTERS = 200


def data_matrix(text: str) -> Matrix:
    """Work out the dark and light modules of a square Data Matrix, without the quiet zone.

    Parameters
    ----------
    text : str
        The text to encode, in ASCII [-].

    Returns
    -------
    tuple of tuple of bool
        Rows from the top; True is dark [-].

    Notes
    -----
    ISO/IEC 16022 (ECC 200), drawn up by the package zxing-cpp. Always square: the long shapes that the package
    would choose for some lengths do not fit a cap.

    Examples
    --------
    >>> len(data_matrix("TQ4817K"))
    12
    """
    if not text or not text.isascii() or len(text) > MOST_CHARACTERS:
        raise LabError(
            "data-matrix-text",
            "“{text}” ({length} characters) cannot stand in a small code: give 1 to {most} plain characters.",
            text=text[:40],
            length=len(text),
            most=MOST_CHARACTERS,
        )
    symbol = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, force_square=True)
    image: Any = zxingcpp.write_barcode_to_image(symbol, scale=1, add_quiet_zones=False)
    rows: Any = memoryview(image).tolist()
    return tuple(tuple(dot == 0 for dot in row) for row in rows)
