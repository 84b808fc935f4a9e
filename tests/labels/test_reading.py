"""From the bytes of a photograph to the codes in it, and every way a file can be none."""

import struct
import zlib
from io import BytesIO

import numpy
import pytest
import zxingcpp
from PIL import Image

from labstock.labels.reading import read_photo
from tests.builders import refused
from tests.labels.photos import PHONE, photo, scene, square

ADDRESS = "HTTPS://STOCK.EXAMPLE/C/TQ4817K"


def texts(data: bytes) -> list[str]:
    return [code.text for code in read_photo(data)]


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_reads_what_cameras_make(kind):
    assert texts(photo([ADDRESS], kind)) == [ADDRESS]


def test_reads_the_data_matrix_of_a_tiny_vial():
    assert texts(photo(["TQ4817K"], picture=scene(["TQ4817K"], kind=zxingcpp.BarcodeFormat.DataMatrix))) == [
        "TQ4817K"
    ]


@pytest.mark.parametrize("turned", [90, 180, 270, 33])
def test_reads_it_however_the_phone_was_held(turned):
    assert texts(photo([], picture=scene([ADDRESS]).rotate(turned, expand=True, fillcolor=150))) == [ADDRESS]


def test_reads_forty_codes_of_a_shelf_in_the_order_one_reads_them():
    shelf = [f"HTTPS://STOCK.EXAMPLE/C/TQ{number}X" for number in range(1000, 1040)]
    assert texts(photo(shelf, size=PHONE, module_px=5)) == shelf


def test_reads_a_picture_of_nearly_fifty_megapixels():
    assert texts(photo([ADDRESS], size=(8000, 6000), module_px=12)) == [ADDRESS]


def test_the_same_code_twice_is_one():
    assert texts(photo([ADDRESS, ADDRESS])) == [ADDRESS]


def test_says_where_a_code_is():
    (code,) = read_photo(photo([ADDRESS], size=(1000, 1000)))
    # drawn by the test: the square of 25 + 8 modules at 8 pixels starts at 10, so its middle is at 142 of 1000
    assert (code.across, code.down) == (pytest.approx(0.142, abs=0.01), pytest.approx(0.142, abs=0.01))


def test_a_picture_held_sideways_by_its_exif_is_read_upright():
    upright, out = scene(["TQ1", "TQ2", "TQ3"], size=(1200, 500)), BytesIO()
    exif = Image.Exif()
    exif[0x0112] = 6  # Exif 2.3, tag Orientation: 6 = turn by 90° to the right to see it upright
    upright.rotate(90, expand=True).save(out, "JPEG", exif=exif)
    assert texts(out.getvalue()) == ["TQ1", "TQ2", "TQ3"]


def test_a_photo_without_code_says_how_to_take_a_better_one():
    with refused("No code was found in the photo. Go closer"):
        read_photo(photo([]))


@pytest.mark.parametrize(
    "data", [b"", b"%PDF-1.7", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a\1\0\1\0\0\0\0;"]
)
def test_what_is_no_photo_is_called_so(data):
    with refused("no photo that can be read here: it must be JPEG, PNG or WebP"):
        read_photo(data)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_half_a_photo_is_called_damaged(kind):
    whole = photo([ADDRESS], kind)
    with refused("damaged or did not arrive whole|no photo that can be read"):
        read_photo(whole[: len(whole) // 2])


def test_a_file_over_the_limit_is_refused_with_both_sizes():
    with refused(r"The photo has 13.0 MB; at most 12 MB are read"):
        read_photo(b"\xff\xd8" + bytes(12_999_998))


@pytest.mark.parametrize(("width", "height"), [(7500, 7000), (12_000, 12_000), (60_000, 60_000)])
def test_a_bomb_is_refused_by_its_header_before_it_is_decoded(width, height):
    with refused("at most 50 megapixels are decoded"):
        read_photo(png_header(width, height))


def png_header(width: int, height: int) -> bytes:
    """Return a PNG of a few bytes that claims to be as large as said (PNG specification, 11.2.2 IHDR)."""
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    data = b"IDAT" + zlib.compress(b"")
    chunks = [
        struct.pack(">I", len(each) - 4) + each + struct.pack(">I", zlib.crc32(each)) for each in (body, data)
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def aimed_at(text: str, module_px: int, middle: tuple[int, int]) -> Image.Image:
    """Return a photo of 12 megapixels with one tiny Data Matrix at a place."""
    picture = scene([], size=PHONE)
    code = Image.fromarray(square(text, module_px, zxingcpp.BarcodeFormat.DataMatrix))
    picture.paste(code, (middle[0] - code.width // 2, middle[1] - code.height // 2))
    return picture


def test_reads_twenty_of_twenty_on_a_shelf_of_labels_too_small_for_half_the_size():
    shelf = [f"HTTPS://STOCK.EXAMPLE/C/TQ{number}X" for number in range(2000, 2020)]
    assert texts(photo(shelf, size=PHONE, module_px=3)) == shelf


def test_reads_the_data_matrix_of_a_tiny_vial_in_the_middle_of_a_phones_picture():
    (code,) = read_photo(photo([], picture=aimed_at("TQ4817K", 3, (2100, 1400))))
    assert code.text == "TQ4817K"
    # the test put its middle at 2100 of 4032 and 1400 of 3024
    assert (code.across, code.down) == (pytest.approx(0.521, abs=0.01), pytest.approx(0.463, abs=0.01))


def test_reads_a_small_code_through_grain():
    grain = numpy.random.default_rng(5).normal(0, 25, (PHONE[1], PHONE[0]))
    picture = (numpy.asarray(scene([ADDRESS], size=PHONE, module_px=4)) + grain).clip(0, 255)
    assert texts(photo([], picture=Image.fromarray(picture.astype("uint8")))) == [ADDRESS]


@pytest.mark.parametrize("sigma", [8, 40])
def test_a_grainy_photo_without_code_takes_no_search_of_the_whole_for_a_data_matrix(sigma, monkeypatch):
    searched, read = [], zxingcpp.read_barcodes

    def counted(grey, formats, **options):
        searched.append((grey.width * grey.height, zxingcpp.BarcodeFormat.DataMatrix in list(formats)))
        return read(grey, formats=formats, **options)

    monkeypatch.setattr(zxingcpp, "read_barcodes", counted)
    grain = numpy.random.default_rng(7).normal(150, sigma, (PHONE[1], PHONE[0])).clip(0, 255)
    with refused("No code was found in the photo"):
        read_photo(photo([], picture=Image.fromarray(grain.astype("uint8"))))
    # timings drift with the machine; the pixels searched for the slow kind of code do not: a quarter and a ninth
    assert 0 < sum(pixels for pixels, is_matrix in searched if is_matrix) < 0.4 * PHONE[0] * PHONE[1]
