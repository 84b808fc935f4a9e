"""From a photograph to the codes in it: any number of them, with where they are. Nothing is kept."""

from dataclasses import dataclass
from io import BytesIO

import zxingcpp
from PIL import Image, ImageOps

from labstock.chemistry.errors import LabError

MEGABYTE = 1_000_000
MOST_BYTES = 12 * MEGABYTE
MOST_PIXELS = 50_000_000
# What phones and cameras make. Every other kind that the library opens is a way in for files made to harm.
KINDS = ("JPEG", "PNG", "WEBP")
BOTH = zxingcpp.barcode_formats_from_str("QRCode,DataMatrix")
QR_ONLY = zxingcpp.barcode_formats_from_str("QRCode")
# A JPEG can be decoded at half or a quarter of its size; codes are still found at about this one, in a quarter of the time.
SMALLER = (2000, 1500)
# Above this a picture is halved before it is searched: no phone resolves more, and the time stays bounded.
SEARCHED_PIXELS = 16_000_000
ROWS = 12


@dataclass(frozen=True)
class FoundCode:
    """One code in a photograph: its text, and where its middle is, as parts of the width and the height."""

    text: str
    across: float
    down: float


def read_photo(data: bytes, most_bytes: int = MOST_BYTES, most_pixels: int = MOST_PIXELS) -> list[FoundCode]:
    """Read every QR code and Data Matrix in a photograph.

    Parameters
    ----------
    data : bytes
        The file as it came, JPEG, PNG or WebP [-].
    most_bytes : int
        The largest file that is read [bytes].
    most_pixels : int
        The largest picture that is decoded, by its header [pixels].

    Returns
    -------
    list of FoundCode
        Each text once, in the order one reads a shelf: top to bottom, left to right [-].

    Raises
    ------
    LabError
        `photo-too-large`, `photo-too-many-pixels`, `photo-not-an-image`, `photo-damaged`, `photo-without-code`,
        each with what to do [-].

    Notes
    -----
    ISO/IEC 18004 (QR code) and ISO/IEC 16022 (Data Matrix), read by zxing-cpp. A JPEG is decoded smaller first. With
    no code in it, it is read again at full size; with several, a shelf, the full size is searched for small QR codes.

    Examples
    --------
    >>> try:
    ...     read_photo(b"a letter, not a picture")
    ... except LabError as error:
    ...     error.code
    'photo-not-an-image'
    """
    if len(data) > most_bytes:
        raise too_large(most_bytes, len(data))
    with _open(data, most_pixels) as image:
        full_size = image.size
        image.draft("L", SMALLER)
        is_smaller = image.size != full_size
        found = _codes_in(image, BOTH)
    if is_smaller and len(found) != 1:
        with _open(data, most_pixels) as image:
            found |= _codes_in(image, QR_ONLY if found else BOTH)
    if not found:
        raise _without_code()
    return sorted(found.values(), key=lambda code: (int(code.down * ROWS), code.across))


def too_large(most_bytes: int, given_bytes: int | None = None) -> LabError:
    """Make the refusal of a file that is too large.

    Parameters
    ----------
    most_bytes : int
        The largest file that is read [bytes].
    given_bytes : int, optional
        The size of the file; None where it was not read to its end [bytes].

    Returns
    -------
    LabError
        `photo-too-large` with both sizes [-].

    Notes
    -----
    The limit is a rule of this project: a phone's photograph of 12 megapixels has 2 to 6 MB.

    Examples
    --------
    >>> too_large(12_000_000, 14_200_000).message[:28].replace(chr(160), " ")
    'The photo has 14.2 MB; at mo'
    """
    size = f"{given_bytes / MEGABYTE:.1f}\N{NO-BREAK SPACE}MB" if given_bytes else "more"
    most = f"{most_bytes / MEGABYTE:g}\N{NO-BREAK SPACE}MB"
    return LabError(
        "photo-too-large",
        "The photo has {size}; at most {most} are read. Take it with the camera of the page, or with fewer megapixels.",
        size=size if given_bytes else f"more than {most}",
        most=most,
    )


def _open(data: bytes, most_pixels: int) -> Image.Image:
    """Read the header only, and refuse by what it says before anything is decoded."""
    try:
        image = Image.open(BytesIO(data), formats=KINDS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels(most_pixels) from error
    except (OSError, ValueError, SyntaxError) as error:
        raise LabError(
            "photo-not-an-image",
            "This file is no photo that can be read here: it must be JPEG, PNG or WebP. "
            "Take the photo with the camera, or type the code.",
        ) from error
    width, height = image.size
    if width * height > most_pixels:
        raise _too_many_pixels(most_pixels, width, height)
    return image


def _codes_in(image: Image.Image, symbols: zxingcpp.BarcodeFormats) -> dict[str, FoundCode]:
    try:
        grey = ImageOps.exif_transpose(image.convert("L"))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise LabError(
            "photo-damaged",
            "The photo is damaged or did not arrive whole: it ends in the middle. Send it again, or take another.",
        ) from error
    if grey.width * grey.height > SEARCHED_PIXELS:
        grey = grey.reduce(2)
    width, height = grey.size
    found: dict[str, FoundCode] = {}
    plain = zxingcpp.TextMode.Plain
    for symbol in zxingcpp.read_barcodes(grey, formats=symbols, try_invert=False, text_mode=plain):
        corners = symbol.position
        across = (corners.top_left.x + corners.bottom_right.x) / 2 / width
        down = (corners.top_left.y + corners.bottom_right.y) / 2 / height
        found.setdefault(symbol.text, FoundCode(symbol.text, across, down))
    return found


def _too_many_pixels(most_pixels: int, width: int = 0, height: int = 0) -> LabError:
    size = f"{width} × {height} pixels" if width else "far too many pixels"
    return LabError(
        "photo-too-many-pixels",
        "The picture has {size}; at most {most} megapixels are decoded. Take it with fewer megapixels.",
        size=size,
        most=most_pixels // 1_000_000,
    )


def _without_code() -> LabError:
    return LabError(
        "photo-without-code",
        "No code was found in the photo. Go closer until the code fills a quarter of the picture, hold still, "
        "keep the glare of the lamp off it, and take another; or type the code under it.",
    )
