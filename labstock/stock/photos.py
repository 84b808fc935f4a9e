"""Photos that people send: looked at before they are believed, made anew without what the camera added."""

import hashlib
import io
import uuid
import warnings
from pathlib import Path
from typing import IO

from django.conf import settings
from PIL import Image, ImageOps, UnidentifiedImageError

from labstock.chemistry.errors import LabError

MOST_BYTES = 8_000_000
MOST_PIXELS = 12_600_000  # "12 megapixels" of a phone are up to 4096 x 3072
LONGEST_SIDE = 1600
FOLDER = "unknown"
READ = ("JPEG", "PNG", "WEBP")


def keep_photo(stored: bytes) -> tuple[str, str]:
    """Store a photo under the photos folder; return its name and the SHA-256 of what was stored."""
    name = f"{uuid.uuid4().hex}.jpg"
    folder = Path(settings.MEDIA_ROOT) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(stored)
    return name, hashlib.sha256(stored).hexdigest()


def path_of(name: str) -> Path:
    """Return where a stored photo lies; the name is ours and has no folder in it."""
    return Path(settings.MEDIA_ROOT) / FOLDER / Path(name).name


def drawn_anew(file: IO[bytes], size: int) -> bytes:
    """Return a photo as a JPEG made of its pixels alone: no position, camera or thumbnail of the sent file survives."""
    if size > MOST_BYTES:
        raise LabError(
            "photo-too-large",
            "The photo has {size:.1f} MB and may have 8 MB: take it again at a lower resolution, or leave it out.",
            size=size / 1e6,
        )
    try:
        with warnings.catch_warnings():
            # more pixels than we take are refused below with words; Pillow's warning would only be noise
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(file, formats=READ) as picture:
                _check_pixels(*picture.size)
                picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        stored = io.BytesIO()
        # a new picture from the pixels alone: comments, profile and EXIF stay behind
        Image.frombytes("RGB", upright.size, upright.tobytes()).save(
            stored, "JPEG", quality=82, optimize=True
        )
        return stored.getvalue()
    except Image.DecompressionBombError as error:
        raise _too_many_pixels("far more than that") from error
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as error:
        raise LabError(
            "not-a-photo",
            "This file is no photo that can be read: send a JPEG, PNG or WebP, or leave it out.",
        ) from error


def _check_pixels(width: int, height: int) -> None:
    if width * height > MOST_PIXELS:
        raise _too_many_pixels(f"{width * height / 1e6:.0f} megapixels")


def _too_many_pixels(much: str) -> LabError:
    return LabError(
        "too-many-pixels",
        "The photo has {much} and may have 12 megapixels: take it again at a lower resolution, or leave it out.",
        much=much,
    )
