"""A Chromium whose camera is a film made by the tests: one picture, over and over (yuv4mpeg, raw)."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy
from PIL import Image
from playwright.sync_api import Browser, BrowserType

from tests.browser.chromium import arguments, find_chromium


def film(path: Path, picture: Image.Image) -> None:
    """Write a film of four equal frames, grey: luminance as drawn, both colours in the middle."""
    width, height = picture.size
    grey = numpy.array(picture.convert("L"), dtype=numpy.uint8)
    colour = numpy.full((height // 2) * (width // 2) * 2, 128, dtype=numpy.uint8)
    frame = b"FRAME\n" + grey.tobytes() + colour.tobytes()
    path.write_bytes(f"YUV4MPEG2 W{width} H{height} F10:1 Ip A1:1 C420jpeg\n".encode() + frame * 4)


@contextmanager
def browser_with_camera(kind: BrowserType, film_path: Path) -> Iterator[Browser]:
    """Start a Chromium that takes the film for its camera and asks nobody for leave."""
    flags = [
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={film_path}",
    ]
    browser = kind.launch(executable_path=find_chromium(), args=[*arguments(), *flags])
    yield browser
    browser.close()
