"""From bytes and a column layout to columns: quickly where every row is sound, else line by line with reasons."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from packs.traces.columns import WORDS, Column, ColumnLayout, Role
from packs.traces.dialect import SAMPLE_LINES, fields_of
from packs.traces.mending import Mended, mend
from packs.traces.problems import Problem, Remark, TraceRefused
from packs.traces.raw import Buffer, Raw, delimiters

if TYPE_CHECKING:
    import polars as pl

SAMPLE_BYTES = 1 << 18
PLAIN = frozenset({"utf-8", "utf-8-sig", "ascii"})


@dataclass(frozen=True)
class Table:
    """Columns by role, as numbers where they could be read so at once, else as text.

    ``unread`` names the columns that are left alone, ``first_line`` is the line of the first row where every row has
    a line of its own and none was left out.
    """

    frame: pl.DataFrame
    remarks: tuple[Remark, ...] = ()
    unread: tuple[str, ...] = ()
    first_line: int | None = None


def sample_lines(content: Buffer, encoding: str) -> list[str]:
    """Return the first lines of a text, without a last one that may be cut off by the end of the sample.

    Raises
    ------
    TraceRefused
        The text is not in that encoding.
    """
    head = bytes(content[:SAMPLE_BYTES])
    cut = len(content) > SAMPLE_BYTES
    try:
        text = head.decode(encoding, errors="ignore" if cut else "strict")
    except (UnicodeDecodeError, LookupError) as error:
        raise TraceRefused(Problem.ENCODING, encoding) from error
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    return lines[: -1 if cut and len(lines) > 1 else None][:SAMPLE_LINES]


def read_table(raw: Raw, layout: ColumnLayout) -> Table:
    """Read the columns that a layout names from a text file.

    Raises
    ------
    TraceRefused
        A column of the layout is not there, or rows are damaged in a way no rule mends.
    """
    lines = sample_lines(raw.content, layout.encoding)
    names = names_of(lines, layout)
    first = layout.lines_before + layout.header_lines
    width = _width(lines[first:], layout, len(names))
    places = {column.role: place_of(column, names, width) for column in layout.columns}
    unread = _unread(names, places.values())
    sound = _quick(raw, layout, places, width)
    if sound is not None:
        return Table(sound, unread=unread, first_line=first + 1)
    mended: Mended = mend(raw, layout, places, width)
    return Table(mended.frame, mended.remarks, unread, mended.first_line)


def _unread(names: Sequence[str], places: Collection[int]) -> tuple[str, ...]:
    """Return the names of the columns that stand at none of the places, from 0."""
    return tuple(name for place, name in enumerate(names) if name and place not in places)


def names_of(lines: Sequence[str], layout: ColumnLayout) -> list[str]:
    """Return the names of the columns, with the units of a second line put behind them."""
    if layout.header_lines == 0:
        return []
    if len(lines) < layout.lines_before + layout.header_lines:
        raise TraceRefused(Problem.NO_TABLE)
    names = fields_of(lines[layout.lines_before], layout.delimiter)
    if layout.header_lines == 1:
        return names
    units = fields_of(lines[layout.lines_before + 1], layout.delimiter)
    units += [""] * (len(names) - len(units))
    return [f"{name} / {unit.strip(' []()')}" if unit else name for name, unit in zip(names, units, strict=False)]


def _width(rows: Sequence[str], layout: ColumnLayout, names: int) -> int:
    """Values per row: what most rows of the sample have."""
    counts = [len(fields_of(line, layout.delimiter)) for line in rows if line.strip()]
    if not counts:
        raise TraceRefused(Problem.HEADER_ONLY if names else Problem.NO_TABLE)
    return max(set(counts), key=lambda count: (counts.count(count), count == names))


def place_of(column: Column, names: Sequence[str], width: int) -> int:
    """Return where a column stands, from 0.

    Raises
    ------
    TraceRefused
        It is not in the file, or its name comes twice.
    """
    if isinstance(column.source, int):
        if not 1 <= column.source <= max(width, len(names)):
            raise TraceRefused(Problem.LAYOUT_COLUMN_MISSING, f"column {column.source} of {width}")
        return column.source - 1
    wanted = column.source.strip()
    found = [place for place, name in enumerate(names) if name.strip() == wanted]
    if not found:
        raise TraceRefused(Problem.LAYOUT_COLUMN_MISSING, wanted)
    if len(found) > 1:
        raise TraceRefused(Problem.COLUMN_TWICE, wanted)
    return found[0]


def _quick(raw: Raw, layout: ColumnLayout, places: dict[Role, int], width: int) -> pl.DataFrame | None:
    """Read with the fast reader; ``None`` where anything about the rows is not exactly as it should be."""
    if layout.encoding not in PLAIN or layout.delimiter == " " or layout.section is not None or layout.lines_after:
        return None
    import polars as pl

    first = layout.lines_before + layout.header_lines
    start = _offset(raw, first)
    if start >= len(raw.content) or width < 2:
        return None
    # Quotes and zero bytes are no numbers: they need looking for only where text is read or passed over.
    numbers = {place for role, place in places.items() if role not in WORDS and role is not Role.CLOCK}
    if len(numbers) < width and (raw.content.find(b'"', start) >= 0 or raw.content.find(b"\0", start) >= 0):
        return None
    try:
        frame = pl.read_csv(
            raw.path if raw.path is not None else raw.content[:],
            has_header=False,
            separator=layout.delimiter,
            quote_char=None,
            skip_lines=first,
            schema={f"c{place}": _type(place, places) for place in range(width)},
            columns=sorted(set(places.values())),
            decimal_comma=layout.decimal == ",",
        )
    except (pl.exceptions.PolarsError, ValueError, OverflowError):
        return None
    # A long row is an error to the reader, and a short one lacks its last value.
    whole = width - 1 in numbers and frame[f"c{width - 1}"].null_count() == 0
    if not whole and frame.height * (width - 1) != delimiters(raw.content, start, layout.delimiter):
        return None
    if _open_end(raw, places, width):
        return None
    frame = frame.select([pl.col(f"c{place}").alias(role.value) for role, place in places.items()])
    # In one piece, all columns at once: each would be copied whole, one after the other, when it is first looked at.
    return None if frame.height == 0 else frame.rechunk()


def _type(place: int, places: dict[Role, int]) -> pl.DataType:
    import polars as pl

    number = any(at == place and role not in WORDS and role is not Role.CLOCK for role, at in places.items())
    return pl.Float64() if number else pl.String()


def _offset(raw: Raw, lines: int) -> int:
    """Bytes before the first row."""
    place = 0
    for _ in range(lines):
        end = raw.content.find(b"\n", place)
        if end < 0:
            return len(raw.content)
        place = end + 1
    return place


def _open_end(raw: Raw, places: dict[Role, int], width: int) -> bool:
    """Tell whether the last value may have been cut off: no end of line, and the last column is read as a number."""
    return raw.content[-1:] not in (b"\n", b"\r") and width - 1 in places.values()
