"""Delimited text files and workbooks as tables: one heading line, then rows of text, each with its line in the file."""

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from packs.errors import ParseError

from . import spreadsheets

DELIMITERS = "\t;|,"
"""In the order in which they are believed where a file could be read by several."""

ROWS_LOOKED_AT = 20
MOST_ROWS = 20_000
NOT_TEXT = {
    b"\xd0\xcf\x11\xe0": "This is an old workbook, or one with a password. Save the sheet as XLSX or CSV, without one.",
    b"%PDF": "This is a PDF. A table has to come as CSV or XLSX.",
}
WORKBOOK = b"PK\x03\x04"
_SAID_DELIMITER = re.compile(r"\Asep=(\t|[^\w\s\"])\r?\n", re.IGNORECASE)


@dataclass(frozen=True)
class Row:
    """One row: the line of the file it starts on, and its fields as they stand there, without outer spaces.

    Empty fields at the end are left out of ``fields``; ``width`` counts them too.
    """

    line: int
    fields: tuple[str, ...]
    width: int

    def field(self, column: int) -> str:
        """Return the field in a column counted from 0; empty where the row is too short."""
        return self.fields[column] if column < len(self.fields) else ""


@dataclass(frozen=True)
class Table:
    """A table of text. Nothing in it was turned into numbers, so "0012" and "1E5" are still that.

    ``sheet`` names the sheet of a workbook; it is empty where the table is a text file.
    """

    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    delimiter: str
    encoding: str
    sheet: str = ""

    def misfit(self, row: Row) -> str:
        """Say how a row has another number of fields than the headings; nothing where it fits."""
        if len(row.fields) <= len(self.headings) <= row.width:
            return ""
        if self.sheet:
            return "something stands beyond the last heading"
        return f"{row.width} instead of {len(self.headings)} fields; is a delimiter missing or one too many?"


def read(data: bytes) -> Table:
    """Read a delimited text file or the first sheet of a workbook.

    UTF-8 with or without byte order mark, UTF-16 with one, else Windows-1252. The delimiter is the one that cuts the
    heading into several columns and the lines below into as many (RFC 4180 names the comma; semicolon, tab and bar
    are common practice, no source).

    Raises
    ------
    packs.errors.ParseError
        Not a text file, no rows, more than MOST_ROWS of them, or a quotation mark that is never closed.
    """
    if data.startswith(WORKBOOK):
        return _of_workbook(data)
    text, encoding = _decoded(data)
    said = _SAID_DELIMITER.match(text)
    delimiter = said[1] if said else _delimiter(text)
    rows = list(_rows(text, delimiter, skip=1 if said else 0))
    _require_rows(len(rows))
    headings = rows[0].fields
    return Table(headings, tuple(rows[1:]), delimiter, encoding)


def _of_workbook(data: bytes) -> Table:
    sheet, found = spreadsheets.read(data)
    _require_rows(len(found))
    headings = _trimmed(found[0][1])
    rows = [Row(line, _trimmed(texts), max(len(texts), len(headings))) for line, texts in found[1:]]
    return Table(headings, tuple(rows), "", "", sheet)


def _require_rows(count: int) -> None:
    if count < 2:
        raise ParseError("The file holds no table: a line of headings and at least one row below it are needed.")


def _decoded(data: bytes) -> tuple[str, str]:
    for mark, message in NOT_TEXT.items():
        if data.startswith(mark):
            raise ParseError(message)
    for encoding in _encodings(data):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text, encoding
    raise ParseError("This is not a text file. A table has to come as CSV, best in UTF-8, or as XLSX.")


def _encodings(data: bytes) -> tuple[str, ...]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ("utf-16",)
    return ("utf-8-sig", "cp1252")


def _delimiter(text: str) -> str:
    """Return the delimiter under which most of the first rows have as many fields as the heading."""
    return max(DELIMITERS, key=lambda delimiter: _fit(text, delimiter))


def _fit(text: str, delimiter: str) -> tuple[bool, int]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        widths = [len(fields) for fields in islice(filter(any, reader), ROWS_LOOKED_AT)]
    except csv.Error:  # quotation marks stand around fields, so they do not fit between wrong delimiters
        return False, 0
    return bool(widths) and widths[0] > 1, sum(width == widths[0] for width in widths)


def _rows(text: str, delimiter: str, *, skip: int) -> Iterator[Row]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line, count = 1, 0
    try:
        for fields in reader:
            if line > skip and any(field.strip() for field in fields):
                count += 1
                yield Row(line, _trimmed(fields), len(fields))
            if count > MOST_ROWS + 1:
                raise ParseError(f"The file has more than {MOST_ROWS} rows. Split it and import the parts.")
            line = reader.line_num + 1
    except csv.Error as error:
        raise ParseError(
            f"Line {line} cannot be read: its quotation marks do not match, or a field never ends."
        ) from error


def _trimmed(fields: list[str]) -> tuple[str, ...]:
    """Drop the spaces around each field and the empty fields that a delimiter at the end of the line makes."""
    kept = [field.strip() for field in fields]
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)
