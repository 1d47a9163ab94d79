"""Reading line by line what is not sound: blank lines, repeated names, remarks, a footer, a cut-off end."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from packs.traces.columns import REQUIRED, ColumnLayout, Role
from packs.traces.dialect import NUMBER, fields_of
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.raw import Raw

if TYPE_CHECKING:
    import polars as pl

MOST_FOOTER_LINES = 50


@dataclass(frozen=True)
class Mended:
    """Columns by role as text, and what was left out to get them; the line of the first row where none was."""

    frame: pl.DataFrame
    remarks: tuple[Remark, ...]
    first_line: int | None


@dataclass
class _Rows:
    """Rows of one table as they are collected, with the numbers of their lines."""

    header: tuple[str, ...]
    rows: list[list[str]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    repeated: int = 0
    comments: list[int] = field(default_factory=list)


def mend(raw: Raw, layout: ColumnLayout, places: dict[Role, int], width: int) -> Mended:
    """Read every line apart and leave out what is no row by a stated rule.

    Raises
    ------
    TraceRefused
        A row has the wrong number of values, or the text is not in its encoding.
    """
    import polars as pl

    remarks: list[Remark] = []
    lines = _lines(raw, layout, remarks)
    rows = _rows(lines, layout, width, remarks)
    _cut_end(rows, lines, places, width, remarks)
    _whole(rows, width, places)
    if not rows.rows:
        raise TraceRefused(Problem.HEADER_ONLY if layout.header_lines else Problem.NO_TABLE)
    data = {role.value: [_value(row, place) for row in rows.rows] for role, place in places.items()}
    frame = pl.DataFrame(data, schema={role.value: pl.String for role in places})
    _numbers_stand(frame, rows.lines, layout.decimal)
    whole = len(rows.lines) == rows.lines[-1] - rows.lines[0] + 1
    return Mended(frame, tuple(remarks), rows.lines[0] if whole else None)


def _value(row: list[str], place: int) -> str:
    return row[place] if place < len(row) else ""


def _lines(raw: Raw, layout: ColumnLayout, remarks: list[Remark]) -> list[str]:
    content = bytes(raw.content[:])
    if layout.encoding in ("utf-8", "utf-8-sig", "cp1252", "ascii", "latin-1"):
        content, padding = _without_padding(content)
        if padding:
            remarks.append(Remark(Problem.NUL_PADDING, Verdict.REPAIRED, f"{padding} were left out", count=padding))
    try:
        text = content.decode(layout.encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise TraceRefused(Problem.ENCODING, f"{layout.encoding}: {error}") from error
    if "\x00" in text:
        raise TraceRefused(Problem.NOT_TEXT, "zero bytes stand between the rows")
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _without_padding(content: bytes) -> tuple[bytes, int]:
    kept = content.rstrip(b"\x00")
    return kept, len(content) - len(kept)


def _rows(lines: Sequence[str], layout: ColumnLayout, width: int, remarks: list[Remark]) -> _Rows:
    """Collect the rows of the table the layout asks for."""
    first = layout.lines_before + layout.header_lines
    header = tuple(fields_of(lines[layout.lines_before], layout.delimiter)) if layout.header_lines else ()
    found = _Rows(header)
    last = len(lines) - layout.lines_after
    if any(lines[last:]):
        kept = sum(1 for line in lines[last:] if line.strip())
        remarks.append(Remark(Problem.FOOTER, Verdict.REPAIRED, f"{kept} lines, as the layout says", count=kept))
    for number, fields in _split(lines, first, last, layout.delimiter):
        _sort(found, number, fields)
    _footer(found, width, remarks)
    _say_left_out(found, remarks)
    return found


def _split(lines: Sequence[str], first: int, last: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    for number in range(first, last):
        line = lines[number]
        if line.strip():
            try:
                yield number + 1, fields_of(line, delimiter)
            except csv.Error as error:
                raise TraceRefused(Problem.COLUMN_COUNT, f"line {number + 1}: {error}") from error


def _sort(found: _Rows, number: int, fields: list[str]) -> None:
    if tuple(fields) == found.header:
        found.repeated += 1
    elif fields[0].startswith(("#", "%", "//")):
        found.comments.append(number)
    else:
        found.rows.append(fields)
        found.lines.append(number)


def _footer(found: _Rows, width: int, remarks: list[Remark]) -> None:
    """Leave out lines at the end that are no rows: fewer than two numbers where the table has more."""
    left = 0
    while found.rows and left < MOST_FOOTER_LINES and _numbers(found.rows[-1]) < 2 and len(found.rows[-1]) != width:
        found.rows.pop()
        found.lines.pop()
        left += 1
    if left and found.rows:
        remarks.append(Remark(Problem.FOOTER, Verdict.REPAIRED, f"{left} lines", count=left))


def _numbers(fields: list[str]) -> int:
    return sum(1 for each in fields if NUMBER.match(each))


def _say_left_out(found: _Rows, remarks: list[Remark]) -> None:
    if found.repeated:
        detail = f"{found.repeated} times; the tables were joined"
        remarks.append(Remark(Problem.HEADER_REPEATED, Verdict.REPAIRED, detail, count=found.repeated))
    if found.comments:
        detail = f"{len(found.comments)} lines, the first at line {found.comments[0]}"
        remarks.append(Remark(Problem.COMMENT_LINES, Verdict.REPAIRED, detail, count=len(found.comments)))


def _cut_end(
    found: _Rows,
    lines: Sequence[str],
    places: dict[Role, int],
    width: int,
    remarks: list[Remark],
) -> None:
    """Leave out a last row that ends without an end of line, or too early."""
    if not found.rows:
        return
    row = found.rows[-1]
    short = len(row) < width and not _only_blanks_missing(row, width, places)
    no_end = found.lines[-1] == len(lines) and width - 1 in places.values() and len(row) == width
    shortened = no_end and len(found.rows) > 1 and len(row[-1]) < len(found.rows[-2][-1])
    if short or shortened:
        found.rows.pop()
        found.lines.pop()
        detail = f"line {len(lines) if shortened else 'at the end'}, {len(row)} of {width} values, was left out"
        remarks.append(Remark(Problem.TRUNCATED, Verdict.REPAIRED, detail, count=1))


def _only_blanks_missing(row: list[str], width: int, places: dict[Role, int]) -> bool:
    """Tell whether a short row still has every column that is read: trailing marks differ between programs."""
    return len(row) == width - 1 and max(places.values()) < len(row)


def _whole(found: _Rows, width: int, places: dict[Role, int]) -> None:
    """Refuse a row with too few or too many values: which one is missing cannot be known."""
    for number, row in zip(found.lines, found.rows, strict=True):
        extra_blank = len(row) == width + 1 and not row[-1]
        if len(row) != width and not extra_blank and not _trailing_blank(row, found, width, places):
            if any(NUMBER.match(each) is None and each for each in row[:3]) and _numbers(row) < 2:
                raise TraceRefused(Problem.SECTIONS_DIFFER, f"another table begins at line {number}")
            raise TraceRefused(Problem.COLUMN_COUNT, f"line {number} has {len(row)} values, the others {width}")


def _trailing_blank(row: list[str], found: _Rows, width: int, places: dict[Role, int]) -> bool:
    """Tell whether what is missing is a last value that stands blank in every whole row."""
    if not _only_blanks_missing(row, width, places):
        return False
    return all(not other[-1] for other in found.rows if len(other) == width)


def _numbers_stand(frame: pl.DataFrame, lines: Sequence[int], decimal: str) -> None:
    """Refuse text where a number must stand, with its line."""
    for role in REQUIRED:
        if role.value in frame.columns and role is not Role.TIME:
            for number, value in zip(lines, frame[role.value].to_list(), strict=True):
                if value and NUMBER.match(value) is None and value.lower().lstrip("+-") not in _NO_NUMBER:
                    raise TraceRefused(Problem.NOT_A_NUMBER, f"“{value[:40]}” at line {number}, {role.label}")
                _same_mark(value, decimal, number)


_NO_NUMBER = frozenset({"nan", "inf", "infinity", "null", "none", "n/a", "na", "-"})


def _same_mark(value: str, decimal: str, number: int) -> None:
    other = "," if decimal == "." else "."
    if other in value:
        raise TraceRefused(Problem.DECIMAL_MIXED, f"{value[:40]} at line {number}")
