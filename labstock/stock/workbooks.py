"""Tables written as .xlsx: numbers stay numbers, days stay days, and no text becomes a formula."""

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font

MEDIA_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
LONGEST_TEXT = 32_000
WIDTH = 18
# What XML 1.0 cannot carry.
_UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def write_table(
    rows: Iterable[Sequence[object]],
    headings: Sequence[str],
    title: str = "Table",
    proof: Iterable[Sequence[object]] = (),
) -> bytes:
    """Return a workbook: headings on top, then the rows; what proves them, if given, on a second sheet."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(re.sub(r"[\\/*?:\[\]]", " ", title)[:31])
    sheet.freeze_panes = "A2"
    for place in range(len(headings)):
        sheet.column_dimensions[chr(ord("A") + place)].width = WIDTH
    sheet.append([_heading(sheet, word) for word in headings])
    for row in rows:
        sheet.append([_cell(sheet, value) for value in row])
    if proof:
        apart = book.create_sheet("Proof")
        apart.column_dimensions["A"].width, apart.column_dimensions["B"].width = 2 * WIDTH, 5 * WIDTH
        for row in proof:
            apart.append([_cell(apart, value) for value in row])
    file = BytesIO()
    book.save(file)
    return file.getvalue()


def _heading(sheet: Any, word: str) -> Any:
    cell = _cell(sheet, word)
    cell.font = Font(bold=True)
    return cell


def _cell(sheet: Any, value: object) -> Any:
    if value is None or isinstance(value, bool | int | float | Decimal):
        return WriteOnlyCell(sheet, value=value)
    if isinstance(value, date) and not isinstance(value, datetime):
        cell = WriteOnlyCell(sheet, value=value)
        cell.number_format = "yyyy-mm-dd"
        return cell
    text = value.isoformat(" ", "minutes") if isinstance(value, datetime) else str(value)
    cell = WriteOnlyCell(sheet, value=_UNWRITABLE.sub(" ", text)[:LONGEST_TEXT])
    # "=1+1" is what somebody wrote, not a sum: as a text it stays one, also when the cell is edited later
    cell.data_type = "s"
    cell.quotePrefix = text.startswith(("=", "+", "-", "@", "\t", "\r"))
    return cell
