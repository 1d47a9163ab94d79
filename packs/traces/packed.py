"""Tables that are not text: Parquet and workbooks."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from packs.traces.problems import Problem, TraceRefused
from packs.traces.raw import Raw

if TYPE_CHECKING:
    import fastexcel
    import polars as pl


def from_parquet(raw: Raw) -> pl.DataFrame:
    """Read a Parquet file.

    Raises
    ------
    TraceRefused
        It is damaged.
    """
    import polars as pl

    try:
        return pl.read_parquet(BytesIO(raw.content[:]))
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException, OSError, ValueError) as error:
        raise TraceRefused(Problem.PARQUET_BROKEN, str(error).split("\n")[0][:120]) from error


def _open(raw: Raw) -> fastexcel.ExcelReader:
    import fastexcel

    try:
        return fastexcel.read_excel(raw.content[:])
    except (fastexcel.FastExcelError, ValueError, OSError) as error:
        raise TraceRefused(Problem.WORKBOOK_BROKEN, str(error).split("\n")[0][:120]) from error


def sheet_names(raw: Raw) -> list[str]:
    """Return the names of the sheets of a workbook."""
    return list(_open(raw).sheet_names)


def from_workbook(raw: Raw, sheet: str) -> bytes:
    """Return one sheet as text with tabs between the values, numbers in full.

    Raises
    ------
    TraceRefused
        There is no such sheet, or it cannot be read.
    """
    import fastexcel

    book = _open(raw)
    if sheet not in book.sheet_names:
        raise TraceRefused(Problem.SHEET_MISSING, sheet)
    try:
        frame = book.load_sheet(sheet, header_row=None, dtypes="string").to_polars()
    except (fastexcel.FastExcelError, ValueError) as error:
        raise TraceRefused(Problem.WORKBOOK_BROKEN, str(error).split("\n")[0][:120]) from error
    if frame.height == 0:
        raise TraceRefused(Problem.NO_TABLE, sheet)
    return frame.write_csv(include_header=False, separator="\t", quote_style="necessary").encode("utf-8")
