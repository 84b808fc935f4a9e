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
MATRIX_ONLY = zxingcpp.barcode_formats_from_str("DataMatrix")
# What stands on makers' bottles: not ours, and answered as such; the kinds with a check character, so that none is imagined.
MAKERS = zxingcpp.barcode_formats_from_str("EAN13,EAN8,UPCA,UPCE,Code128")
# A code of a sensible size is still found at about this one, in a quarter of the time; the mean of four pixels is less grainy.
SMALLER_PIXELS = 3_000_000
# Above this a picture is halved before it is searched: no phone resolves more, and the time stays bounded.
SEARCHED_PIXELS = 16_000_000
ROWS = 12


@dataclass(frozen=True)
class FoundCode:
    """One code in a photograph: its text, and where its middle is, as parts of the width and the height."""

    text: str
    across: float
    down: float


def read_photo(
    data: bytes, most_bytes: int = MOST_BYTES, most_pixels: int = MOST_PIXELS, is_still: bool = True
) -> list[FoundCode]:
    """Read every QR code and Data Matrix in a photograph; with none of them in it, a maker's bar code.

    Parameters
    ----------
    data : bytes
        The file as it came, JPEG, PNG or WebP [-].
    most_bytes : int
        The largest file that is read [bytes].
    most_pixels : int
        The largest picture that is decoded, by its header [pixels].
    is_still : bool
        Whether somebody chose this picture; a frame of live video that passes over a maker's bar code says nothing [-].

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
    ISO/IEC 18004 (QR code) and ISO/IEC 16022 (Data Matrix), read by zxing-cpp. The picture is searched smaller first.
    With one code in it, that is the answer. With several, a shelf, the full size is searched for small QR codes; with
    none, for small QR codes, then the middle of it, where one aims, for the Data Matrix of a tiny vial: in a grainy
    picture the search for a Data Matrix takes five times as long as all the rest.

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
        grey = _grey(image)
    smaller = grey.reduce(2) if grey.width * grey.height >= 4 * SMALLER_PIXELS else grey
    found = _codes_in(smaller, BOTH)
    if smaller is not grey and len(found) != 1:
        found |= _codes_in(grey, QR_ONLY)
        found = found or _codes_in_the_middle(grey)
    if not found and is_still:
        found = _codes_in(smaller, MAKERS)
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


def _grey(image: Image.Image) -> Image.Image:
    """Decode the brightness alone, upright, and no larger than is searched."""
    try:
        image.draft("L", image.size)  # a JPEG keeps brightness apart: its colours are not decoded at all
        grey = image.convert("L")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise LabError(
            "photo-damaged",
            "The photo is damaged or did not arrive whole: it ends in the middle. Send it again, or take another.",
        ) from error
    if grey.width * grey.height > SEARCHED_PIXELS:
        grey = grey.reduce(2)
    return ImageOps.exif_transpose(grey)


def _codes_in(grey: Image.Image, symbols: zxingcpp.BarcodeFormats) -> dict[str, FoundCode]:
    width, height = grey.size
    found: dict[str, FoundCode] = {}
    plain = zxingcpp.TextMode.Plain
    for symbol in zxingcpp.read_barcodes(grey, formats=symbols, try_invert=False, text_mode=plain):
        corners = symbol.position
        across = (corners.top_left.x + corners.bottom_right.x) / 2 / width
        down = (corners.top_left.y + corners.bottom_right.y) / 2 / height
        found.setdefault(symbol.text, FoundCode(symbol.text, across, down))
    return found


def _codes_in_the_middle(grey: Image.Image) -> dict[str, FoundCode]:
    """Search the middle third of the width and of the height for a Data Matrix."""
    width, height = grey.size
    middle = grey.crop((width // 3, height // 3, width - width // 3, height - height // 3))
    return {
        text: FoundCode(text, (1 + code.across) / 3, (1 + code.down) / 3)
        for text, code in _codes_in(middle, MATRIX_ONLY).items()
    }


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
