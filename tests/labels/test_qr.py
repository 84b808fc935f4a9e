"""The square code: its set of characters, its size, and that a decoder reads it."""

import re

import pytest
import zxingcpp
from PIL import Image

from labstock.chemistry.errors import LabError
from labstock.labels.qr import dark_runs, is_alphanumeric, qr_matrix, qr_svg

ADDRESS = "HTTPS://STOCK.EXAMPLE/C/TQ4817K"


def test_alphanumeric_set_has_45_characters():
    # ISO/IEC 18004, alphanumeric mode: 0-9 A-Z space $ % * + - . / :
    assert sum(is_alphanumeric(chr(n)) for n in range(0x110000)) == 45


@pytest.mark.parametrize(
    ("level", "version", "capacity"),
    # ISO/IEC 18004 Table 7, alphanumeric capacities of versions 1 to 3; size = 4 version + 17
    [("L", 1, 25), ("M", 1, 20), ("Q", 1, 16), ("H", 1, 10), ("L", 2, 47), ("M", 2, 38), ("M", 3, 61)],
)
def test_text_fills_a_version_to_its_published_capacity(level: str, version: int, capacity: int):
    assert len(qr_matrix("A" * capacity, level)) == 4 * version + 17
    assert len(qr_matrix("A" * (capacity + 1), level)) == 4 * (version + 1) + 17


def test_lower_case_is_refused_with_the_set():
    with pytest.raises(LabError, match="Use capital letters, digits"):
        qr_matrix(ADDRESS.lower())


def test_endless_text_is_refused():
    # ISO/IEC 18004 Table 7: version 40-M holds 3391 characters
    with pytest.raises(LabError, match="has 3392 characters"):
        qr_matrix("A" * 3392)


def test_decoder_reads_the_matrix():
    matrix = qr_matrix(ADDRESS)
    edge = len(matrix) + 8
    image = Image.new("L", (edge, edge), 255)
    for y, row in enumerate(matrix):
        for x, dark in enumerate(row):
            image.putpixel((x + 4, y + 4), 0 if dark else 255)
    (found,) = zxingcpp.read_barcodes(image.resize((edge * 4, edge * 4), Image.Resampling.NEAREST))
    assert found.text == ADDRESS


def test_merged_runs_cover_exactly_the_dark_modules():
    matrix = qr_matrix(ADDRESS)
    covered = {(x + i, y) for x, y, length in dark_runs(matrix) for i in range(length)}
    assert covered == {(x, y) for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark}


def test_svg_has_its_size_in_mm_and_no_style():
    svg = qr_svg(ADDRESS, 22)
    assert 'width="22mm"' in svg
    assert 'viewBox="0 0 33 33"' in svg
    assert not re.search(r"style|script|href", svg)
