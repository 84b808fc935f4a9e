"""QR where its dots are large enough, Data Matrix on tiny vials; both read back by a decoder."""

import pytest
import zxingcpp
from PIL import Image

from labstock.chemistry.errors import LabError
from labstock.labels.data_matrix import data_matrix
from labstock.labels.symbols import Symbol, choose_symbol

ADDRESS, CODE = "HTTPS://STOCK.EXAMPLE/C/TQ4817K", "TQ4817K"


def read_at(symbol: Symbol, dpi: int) -> list[str]:
    """Print a symbol at a resolution and read it back."""
    edge = len(symbol.matrix) + 2 * symbol.quiet
    image = Image.new("L", (edge, edge), 255)
    for y, row in enumerate(symbol.matrix):
        for x, is_dark in enumerate(row):
            image.putpixel((x + symbol.quiet, y + symbol.quiet), 0 if is_dark else 255)
    side = round(edge * symbol.dot * dpi / 25.4)
    large = image.resize((edge * 20, edge * 20), Image.Resampling.NEAREST)
    paper = Image.new("L", (side + 40, side + 40), 255)
    paper.paste(large.resize((side, side), Image.Resampling.BOX), (20, 20))
    return [found.text for found in zxingcpp.read_barcodes(paper)]


@pytest.mark.parametrize(
    ("text", "edge"),
    # ISO/IEC 16022 Table 7, square symbols: digits and letters that 12x12, 14x14 and 22x22 hold (ASCII code words
    # 5, 8 and 30); from memory. TQ4817K needs T, Q, 48, 17, K: five code words.
    [("TQ4817K", 12), ("TQ481723K", 14), (ADDRESS, 22)],
)
def test_data_matrix_is_square_and_of_the_published_size(text, edge):
    matrix = data_matrix(text)
    assert (len(matrix), {len(row) for row in matrix}) == (edge, {edge})


def test_data_matrix_has_its_solid_edges_left_and_below():
    # ISO/IEC 16022: the finder is a solid L of dark modules on the left and the lower edge
    matrix = data_matrix(CODE)
    assert all(row[0] for row in matrix)
    assert all(matrix[-1])
    assert [row[-1] for row in matrix] == [False, True] * 6


@pytest.mark.parametrize("text", ["", "x" * 201, "Säure"])
def test_data_matrix_refuses_what_it_cannot_carry(text):
    with pytest.raises(LabError, match="give 1 to 200 plain characters"):
        data_matrix(text)


@pytest.mark.parametrize(
    ("size_mm", "name", "text"),
    [
        (22, "QR", ADDRESS),
        (11.6, "QR", ADDRESS),  # 25 modules and two quiet zones of 4: 33 dots of 0.3515 mm
        (11.5, "Data Matrix", ADDRESS),  # 0.3485 mm would be too fine
        (8.4, "Data Matrix", ADDRESS),  # 22 modules and 2: 24 dots of 0.35 mm
        (8.3, "Data Matrix", CODE),
        (3.5, "Data Matrix", CODE),  # 12 modules and 2: 14 dots of 0.25 mm
    ],
)
def test_the_code_is_chosen_by_the_size_of_its_dots(size_mm, name, text):
    symbol = choose_symbol(ADDRESS, CODE, size_mm)
    assert (symbol.name, symbol.text) == (name, text)
    assert read_at(symbol, 300) == [text]


def test_a_square_too_small_for_any_code_is_refused_with_both_measures():
    with pytest.raises(LabError, match=r"dots of 0\.24 mm on a square of 3\.4 mm; printers need 0\.25 mm"):
        choose_symbol(ADDRESS, CODE, 3.4)
