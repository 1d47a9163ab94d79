"""Spreadsheet workbooks (XLSX, ECMA-376) as rows of text, each cell as somebody sees it on the sheet."""

import io
import re
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from packs.errors import ParseError

MOST_ROWS = 5_000
MOST_COLUMNS = 200
LARGEST_UNPACKED = 100 * 1024 * 1024
NO_WORKBOOK = "This file cannot be read as a workbook. Save the sheet as XLSX or CSV and upload that."
_PADDED = re.compile(r'(?:"([^"]*)")?(0+)(?:"([^"]*)")?')

Rows = list[tuple[int, list[str]]]


def read(data: bytes) -> tuple[str, Rows]:
    """Return the name of the first visible sheet that holds a table, and its rows: number on the sheet and texts.

    A table has headings in two columns or more, and rows below; a sheet of remarks is passed over where there is one.

    Raises
    ------
    packs.errors.ParseError
        Not a workbook, nothing on its sheets, too large, or a formula whose value was never stored.
    """
    _require_small(data)
    values, formulas = _opened(data, values=True), _opened(data, values=False)
    first: tuple[str, Rows] | None = None
    for sheet in values.worksheets:
        if sheet.sheet_state != "visible":
            continue
        rows = list(_rows(sheet, formulas[sheet.title]))
        if _is_table(rows):
            return sheet.title, rows
        if rows and first is None:
            first = sheet.title, rows
    if first is None:
        raise ParseError("No sheet of this workbook holds a table.")
    return first


def _is_table(rows: Rows) -> bool:
    return len(rows) > 1 and sum(1 for text in rows[0][1] if text) > 1


def _require_small(data: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
    except zipfile.BadZipFile as error:
        raise ParseError(NO_WORKBOOK) from error
    if unpacked > LARGEST_UNPACKED:
        raise ParseError("This workbook is too large. Save the one sheet as CSV and upload that.")


def _opened(data: bytes, *, values: bool) -> Any:
    import openpyxl  # loaded only where a workbook comes: it takes a third of a second

    try:
        return openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=values)
    except Exception as error:  # the library lets whatever goes wrong inside a file out as it is
        raise ParseError(NO_WORKBOOK) from error


def _rows(sheet: Any, formulas: Any) -> Iterator[tuple[int, list[str]]]:
    sheet.reset_dimensions()
    formulas.reset_dimensions()
    count = 0
    for number, (cells, written) in enumerate(zip(sheet.iter_rows(), formulas.iter_rows(), strict=False), start=1):
        texts = [_text(cell, said) for cell, said in zip(cells, written, strict=False)]
        if any(texts):
            count += 1
            yield number, texts
        if count > MOST_ROWS + 1 or len(texts) > MOST_COLUMNS:
            raise ParseError(
                f"A sheet may have {MOST_ROWS} rows and {MOST_COLUMNS} columns. Split it and import the parts."
            )


def _text(cell: Any, written: Any) -> str:
    """Return a cell as it is seen: a code kept as text stays as it is, a number filled with zeros keeps them."""
    value = cell.value
    if value is None and written.value is not None:
        raise ParseError(
            f"Cell {written.coordinate} holds a formula without a stored value. Open the file, let it calculate, "
            "save it and upload it again."
        )
    if isinstance(value, bool) or value is None:
        return "" if value is None else str(value).upper()
    if isinstance(value, int | float):
        return _number(value, cell.number_format or "")
    if isinstance(value, datetime | date | time):
        return value.isoformat().removesuffix("T00:00:00")
    return str(value).strip()


def _number(value: float, number_format: str) -> str:
    whole = float(value).is_integer()
    padded = _PADDED.fullmatch(number_format)
    if whole and value >= 0 and padded and (len(padded[2]) > 1 or padded[1] or padded[3]):
        return f"{padded[1] or ''}{int(value):0{len(padded[2])}d}{padded[3] or ''}"
    # fifteen digits are what such a sheet keeps; more show the binary fraction instead of the number that was typed
    return str(int(value)) if whole else f"{Decimal(f'{value:.15g}'):f}"
