from datetime import date, datetime
from io import BytesIO

import pytest
from openpyxl import load_workbook

from labstock.stock.workbooks import write_table


def read(book):
    sheet = load_workbook(BytesIO(book)).active
    return [list(row) for row in sheet.iter_rows()]


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", '=HYPERLINK("x")', "=cmd|' /C calc'!A0"]
)
def test_no_text_becomes_a_formula(text):
    cell = read(write_table([[text]], ["note"]))[1][0]
    assert (cell.value, cell.data_type) == (text, "s")
    assert cell.quotePrefix


def test_a_heading_is_no_formula_either():
    assert read(write_table([], ["=1+1"]))[0][0].data_type == "s"


def test_numbers_stay_numbers_and_days_stay_days():
    row = read(write_table([[1.5, -3, date(2026, 11, 25), None]], ["a", "b", "c", "d"]))[1]
    assert [cell.value for cell in row] == [1.5, -3, datetime(2026, 11, 25), None]
    assert [cell.data_type for cell in row[:3]] == ["n", "n", "d"]


def test_an_ordinary_text_is_stored_as_it_is():
    cell = read(write_table([["acetic anhydride, ≥ 99 %"]], ["name"]))[1][0]
    assert cell.value == "acetic anhydride, ≥ 99 %"
    assert not cell.quotePrefix


def test_characters_that_a_workbook_cannot_hold_become_spaces():
    assert read(write_table([["a\x00b\x1fc\ud800"]], ["name"]))[1][0].value == "a b c "


def test_a_title_with_forbidden_characters_is_cleaned():
    book = load_workbook(BytesIO(write_table([["x"]], ["name"], title="stock: 2026/11 [all]")))
    assert book.sheetnames == ["stock  2026 11  all "]
