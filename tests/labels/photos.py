"""Photographs of labels, drawn: codes on a grey, grainy ground as a phone would send them."""

from io import BytesIO
from typing import Any

import numpy
import zxingcpp
from PIL import Image

PHONE = (4032, 3024)  # 12 megapixels


def square(text: str, module_px: int = 8, kind: Any = zxingcpp.BarcodeFormat.QRCode) -> numpy.ndarray:
    """Return a code as grey values, quiet zone included."""
    drawn = zxingcpp.write_barcode_to_image(
        zxingcpp.create_barcode(text, kind), scale=1, add_quiet_zones=False
    )
    dark = numpy.pad(numpy.array(drawn) == 0, 4)
    return numpy.kron(numpy.where(dark, 20, 235).astype("uint8"), numpy.ones((module_px, module_px), "uint8"))


def scene(
    texts: list[str], size: tuple[int, int] = (1280, 960), module_px: int = 8, **options: Any
) -> Image.Image:
    """Return a picture with the codes in rows, left to right."""
    width, height = size
    picture = numpy.random.default_rng(7).normal(150, 3, (height, width)).clip(0, 255).astype("uint8")
    squares = [square(text, module_px, **options) for text in texts]
    step = max((len(each) for each in squares), default=1) + 20
    in_row = max(width // step, 1)
    for number, each in enumerate(squares):
        down, across = divmod(number, in_row)
        picture[down * step + 10 :, across * step + 10 :][: each.shape[0], : each.shape[1]] = each
    return Image.fromarray(picture)


def photo(texts: list[str], kind: str = "JPEG", picture: Image.Image | None = None, **options: Any) -> bytes:
    """Return the file a phone would send."""
    out = BytesIO()
    (picture or scene(texts, **options)).convert("RGB").save(out, kind)
    return out.getvalue()
