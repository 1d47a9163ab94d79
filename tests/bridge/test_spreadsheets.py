"""Workbooks become the same tables of text as delimited files, each cell as it is seen on its sheet."""

import io
import zipfile
from datetime import date, datetime
from typing import Any

import openpyxl
import pytest

from packs.errors import ParseError
from shop.bridge import spreadsheets
from shop.bridge.tables import Table, read

HEAD = ["code", "Q [mAh]"]


def workbook(*rows: list[Any], formats: dict[str, str] | None = None) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in (HEAD, *rows):
        sheet.append(row)
    for cell, number_format in (formats or {}).items():
        sheet[cell].number_format = number_format
    return saved(book)


def saved(book: openpyxl.Workbook) -> bytes:
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def first_row(value: Any, number_format: str = "General") -> str:
    return read(workbook([value, 1], formats={"A2": number_format})).rows[0].fields[0]


@pytest.mark.parametrize(
    ("value", "number_format", "seen"),
    [
        ("0012", "General", "0012"),
        ("1E5", "General", "1E5"),
        (" B-7 ", "General", "B-7"),
        (12, "0000", "0012"),
        (12, '"C"000', "C012"),
        (12, "General", "12"),
        (12, "0", "12"),
        (123456, "0000", "123456"),
        (2571.5, "0", "2571.5"),
        (0.1 + 0.2, "General", "0.3"),
        (2.571, "General", "2.571"),
        (1e16, "General", "10000000000000000"),
        (True, "General", "TRUE"),
        (datetime(2026, 11, 2), "yyyy-mm-dd", "2026-11-02"),  # noqa: DTZ001 - a sheet knows no time zone
        (date(2026, 11, 2), "dd/mm/yyyy", "2026-11-02"),
        (datetime(2026, 11, 2, 9, 30), "yyyy-mm-dd hh:mm", "2026-11-02T09:30:00"),  # noqa: DTZ001 - as above
    ],
)
def test_a_cell_is_read_as_it_is_seen(value: Any, number_format: str, seen: str) -> None:
    """A cell shows its number through its number format: ECMA-376-1:2016, 18.8.31; the values are our own."""
    assert first_row(value, number_format) == seen


def test_a_workbook_written_by_hand_with_a_date_as_a_serial_number() -> None:
    """Serial 45292 in the 1900 date system is 1 January 2024: ECMA-376-1:2016, 18.17.4.1, counted from 1899-12-30."""
    assert (date(2024, 1, 1) - date(1899, 12, 30)).days == 45292
    table = read(by_hand())
    assert table.headings == ("code", "tested on")
    assert table.rows[0].fields == ("A1", "2024-01-01")
    assert table.sheet == "Cells"


def by_hand() -> bytes:
    main = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    sheets = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    text = '<c r="{}" t="inlineStr"><is><t>{}</t></is></c>'
    parts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{sheets}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{sheets}.styles+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{sheets}.worksheet+xml"/></Types>',
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{rel}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="r2" Type="{rel}/styles" Target="styles.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook {main} xmlns:r="{rel}"><sheets><sheet name="Cells" sheetId="1" r:id="r1"/>'
        "</sheets></workbook>",
        "xl/styles.xml": f"<styleSheet {main}><fonts><font/></fonts><fills><fill><patternFill/></fill></fills><borders><border/></borders>"
        '<cellStyleXfs><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        '<cellXfs><xf xfId="0"/><xf xfId="0" numFmtId="14" applyNumberFormat="1"/></cellXfs></styleSheet>',
        "xl/worksheets/sheet1.xml": f"<worksheet {main}><sheetData>"
        f'<row r="1">{text.format("A1", "code")}{text.format("B1", "tested on")}</row>'
        f'<row r="3">{text.format("A3", "A1")}<c r="B3" s="1"><v>45292</v></c></row></sheetData></worksheet>',
    }
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as package_file:
        for name, content in parts.items():
            package_file.writestr(name, content)
    return file.getvalue()


def test_lines_are_those_of_the_sheet() -> None:
    """An empty row between is no row of the table, and the next keeps its number."""
    assert [row.line for row in read(workbook(["A", 1], [None, None], ["B", 2])).rows] == [2, 4]
    assert read(by_hand()).rows[0].line == 3


def misfits(table: Table) -> list[str]:
    return [table.misfit(row) for row in table.rows]


def test_a_short_row_fits_and_a_long_one_does_not() -> None:
    table = read(workbook(["A"], ["B", 2, None], ["C", 3, "?"]))
    assert misfits(table) == ["", "", "something stands beyond the last heading"]


def test_the_first_visible_sheet_that_holds_something_counts() -> None:
    book = openpyxl.Workbook()
    book.active.title = "empty"
    hidden = book.create_sheet("hidden")
    hidden.append(["x", "y"])
    hidden.append([1, 2])
    hidden.sheet_state = "hidden"
    cells = book.create_sheet("cells")
    cells.append(HEAD)
    cells.append(["A", 1])
    table = read(saved(book))
    assert (table.sheet, table.headings) == ("cells", tuple(HEAD))


def test_a_sheet_of_remarks_before_the_table_is_passed_over() -> None:
    book = openpyxl.Workbook()
    book.active.append(["Tested in the cold room, see the notes"])
    cells = book.create_sheet("Cells")
    for row in (HEAD, ["A1", 2600]):
        cells.append(row)
    assert (read(saved(book)).sheet, read(saved(book)).rows[0].fields) == ("Cells", ("A1", "2600"))


def test_a_formula_that_was_never_calculated_is_named() -> None:
    with pytest.raises(ParseError, match="Cell B2 holds a formula"):
        read(workbook(["A", "=1+1"]))


def broken() -> bytes:
    data = bytearray(workbook(["A", 1]))
    data[len(data) // 2] ^= 0xFF
    return bytes(data[: len(data) // 2 + 10])


def another_archive() -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("notes.txt", "no workbook")
    return file.getvalue()


@pytest.mark.parametrize(
    "data",
    [b"PK\x03\x04", broken(), another_archive(), saved(openpyxl.Workbook()), workbook()],
    ids=["four bytes", "cut off", "another archive", "nothing on it", "headings alone"],
)
def test_what_is_no_table(data: bytes) -> None:
    with pytest.raises(ParseError):
        read(data)


def test_a_workbook_that_unpacks_to_too_much_is_not_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreadsheets, "LARGEST_UNPACKED", 100)
    with pytest.raises(ParseError, match="too large"):
        read(workbook(["A", 1]))


def test_a_sheet_is_not_endless(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spreadsheets, "MOST_ROWS", 3)
    assert len(read(workbook(*([f"A{n}", 1] for n in range(3)))).rows) == 3
    with pytest.raises(ParseError, match="Split it"):
        read(workbook(*([f"A{n}", 1] for n in range(4))))
