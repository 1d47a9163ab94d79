"""Delimited text becomes headings and rows of text, whatever program wrote it."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.errors import ParseError
from packs.terms import Measure
from shop.bridge.columns import decimal_mark, meant, unit_in_heading
from shop.bridge.tables import DELIMITERS, MOST_ROWS, read

FIELD = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp")), min_size=1, max_size=8)
ROWS = st.integers(2, 5).flatmap(
    lambda width: st.lists(st.lists(FIELD, min_size=width, max_size=width), min_size=2, max_size=6)
)


@given(ROWS)
def test_what_a_writer_of_rfc_4180_writes_is_read_back(rows: list[list[str]]) -> None:
    """RFC 4180, section 2: quotation marks around fields with delimiters, doubled inside, lines end in CRLF."""
    text = io.StringIO()
    csv.writer(text, quoting=csv.QUOTE_ALL).writerows(rows)
    table = read(text.getvalue().encode())
    assert [list(table.headings), *(list(row.fields) for row in table.rows)] == rows


@pytest.mark.parametrize("delimiter", DELIMITERS)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_ends_of_lines(delimiter: str, end: str) -> None:
    lines = ("code q", "A1 2500", "A2 2510")
    table = read(end.join(line.replace(" ", delimiter) for line in lines).encode())
    assert (table.headings, [row.fields for row in table.rows]) == (("code", "q"), [("A1", "2500"), ("A2", "2510")])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(encoding: str) -> None:
    table = read("code;R µohm;Zelle für 23 °C\nA;1;ö\n".encode(encoding))
    assert table.headings == ("code", "R µohm", "Zelle für 23 °C")
    assert table.rows[0].fields == ("A", "1", "ö")


def test_a_comma_in_a_number_does_not_make_a_table_of_commas() -> None:
    assert read(b"code;q\nA;1,5\nB;2,5\n").headings == ("code", "q")


def test_a_comma_in_every_heading_does_not_either() -> None:
    assert read(b"code;q, Ah;r, mohm\nA;1,5;2,5\nB;2,5;3,5\n").headings == ("code", "q, Ah", "r, mohm")


def test_a_delimiter_that_the_file_names_counts() -> None:
    table = read(b"sep=,\r\ncode;x,q\r\nA;1,2\r\n")
    assert (table.headings, table.rows[0].line) == (("code;x", "q"), 3)


def test_lines_are_those_of_the_file() -> None:
    table = read(b'code,note\n\nA,"two\nlines"\n , \nB,x\n')
    assert [(row.line, row.fields) for row in table.rows] == [(3, ("A", "two\nlines")), (6, ("B", "x"))]


@pytest.mark.parametrize(
    ("row", "fits"),
    [("1,2,3", True), ("1,2,", True), ("1,,", True), ("1,2,3,", True), ("1,2", False), ("1,2,3,4", False)],
)
def test_a_row_with_another_number_of_fields_is_noticed(row: str, fits: bool) -> None:
    table = read(f"a,b,c\n{row}\n".encode())
    assert (table.misfit(table.rows[0]) == "") is fits


def test_a_field_is_never_taken_for_a_number() -> None:
    assert read(b"code,x\n0012,1E5\n=1+1,007.0\n").rows[1].fields == ("=1+1", "007.0")


@pytest.mark.parametrize(
    "data",
    [b"", b"\n\n", b"code,q\n", b"%PDF-1.7", b"a\x00b\nc\x00d\n", b'a,b\n"c,d\n', b"\x81\x8d\n\x8f"],
)
def test_what_is_no_table(data: bytes) -> None:
    with pytest.raises(ParseError):
        read(data)


@pytest.mark.parametrize("too_many", [0, 1])
def test_a_table_is_not_endless(too_many: int) -> None:
    data = b"code\n" + b"A\n" * (MOST_ROWS + too_many)
    if too_many:
        with pytest.raises(ParseError, match="Split it"):
            read(data)
    else:
        assert len(read(data).rows) == MOST_ROWS


@pytest.mark.parametrize(
    ("heading", "measure", "unit"),
    [
        ("q_ah", Measure.CAPACITY, "ah"),
        ("Q [mAh]", Measure.CAPACITY, "mAh"),
        ("mAh", Measure.CAPACITY, "mAh"),
        ("r5s_mohm", Measure.DC_RESISTANCE, "mohm"),
        ("R (m\u2126)", Measure.DC_RESISTANCE, "m\u2126"),
        ("drop mV/day", Measure.SELF_DISCHARGE, "mV/day"),
        ("U / V", Measure.REST_VOLTAGE, "V"),
        ("OCV", Measure.REST_VOLTAGE, ""),
        ("bag", Measure.MASS, ""),
        ("q_ah", Measure.REST_VOLTAGE, ""),
        ("", Measure.CAPACITY, ""),
    ],
)
def test_the_unit_a_heading_ends_in(heading: str, measure: Measure, unit: str) -> None:
    assert unit_in_heading(heading, measure) == unit


@pytest.mark.parametrize(
    ("fields", "mark"),
    [
        ("1.9155;x", "."),
        ("1,9155;x", ","),
        ("20.381;x", "usual"),
        ("1.234.567;x", "usual"),
        ("-0.5;x", "."),
        ("2024.05.01;x", "usual"),
    ],
)
def test_only_a_number_that_reads_one_way_shows_the_decimal_mark(fields: str, mark: str) -> None:
    assert decimal_mark(read(f"a;b\n{fields}\n".encode()), "usual") == mark


@pytest.mark.parametrize(
    ("headings", "code", "measures"),
    [
        (["Cell", "Capacity (Ah)", "R"], 0, {Measure.CAPACITY: 1}),
        (["Zelle", "Kapazität mAh", "DCIR mOhm", "Ruhespannung V", "Datum"], 0,
         {Measure.CAPACITY: 1, Measure.DC_RESISTANCE: 2, Measure.REST_VOLTAGE: 3}),
        (["code", "OCV_V", "AC IR [mΩ]"], 0, {Measure.REST_VOLTAGE: 1, Measure.AC_RESISTANCE: 2}),
        # a word that comes twice, and a plain resistance, say nothing
        (["cell", "code", "Capacity [Ah]", "Capacity [mAh]", "Resistance [mΩ]"], None, {}),
    ],
)  # fmt: skip
def test_what_headings_say_by_themselves(headings: list[str], code: int | None, measures: dict[Measure, int]) -> None:
    """Invented tables; the words are common practice, no source."""
    said = meant(headings)
    assert (said.code, said.measures) == (code, measures)
