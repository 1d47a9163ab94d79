"""A first look at a file whose layout a person is about to state: how its lines split, nothing checked yet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from packs.traces.columns import Column, ColumnLayout, Role
from packs.traces.dialect import dialect_of, fields_of
from packs.traces.headings import DEFAULT_UNITS, heading
from packs.traces.packed import from_parquet, from_workbook, sheet_names
from packs.traces.problems import TraceRefused
from packs.traces.raw import LARGEST_UNPACKED, FileKind, Raw, Source, encoding_of, open_raw
from packs.traces.scales import KINDS, scale_of
from packs.traces.sections import one_section
from packs.traces.table import names_of, sample_lines

ROWS = 6
LINES = 12
TAB = "\t"


@dataclass(frozen=True)
class Glance:
    """The first lines of a file as one way of reading it splits them.

    Attributes
    ----------
    kind : FileKind
        How the table is packed.
    lines : tuple of str
        The first lines as they stand there; none of a Parquet file.
    names : tuple of str
        Headings, as many as there are columns; empty texts where there are none.
    rows : tuple of tuple of str
        The first rows.
    sheets : tuple of str
        Sheets of a workbook.
    """

    kind: FileKind
    lines: tuple[str, ...]
    names: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sheets: tuple[str, ...] = ()


def first_guess(source: Source, *, largest: int = LARGEST_UNPACKED) -> ColumnLayout:
    """Return how the lines seem to be written, without columns; where nothing shows it, the usual way.

    Raises
    ------
    TraceRefused
        The file cannot be opened at all.
    """
    raw = open_raw(source, largest=largest)
    if raw.kind is FileKind.PARQUET:
        return ColumnLayout("", ())
    encoding = "utf-8" if raw.kind is FileKind.WORKBOOK else encoding_of(raw.content)
    plain = ColumnLayout("", (), encoding=encoding)
    try:
        content = from_workbook(raw, sheet_names(raw)[0]) if raw.kind is FileKind.WORKBOOK else raw.content
        found = dialect_of(sample_lines(content, encoding))
    except TraceRefused:
        return plain
    return replace(
        plain,
        delimiter=found.delimiter,
        decimal=found.decimal,
        lines_before=found.lines_before,
        header_lines=found.header_lines,
    )


def glance(source: Source, layout: ColumnLayout, *, largest: int = LARGEST_UNPACKED) -> Glance:
    """Split the first lines of a file the way a layout says.

    Raises
    ------
    TraceRefused
        The file cannot be opened, or the stated way leads nowhere.
    """
    raw = open_raw(source, largest=largest)
    if raw.kind is FileKind.PARQUET:
        head = from_parquet(raw).head(ROWS)
        return Glance(raw.kind, (), tuple(head.columns), tuple(_texts(row) for row in head.rows()))
    sheets = tuple(sheet_names(raw)) if raw.kind is FileKind.WORKBOOK else ()
    lines, plain = _lines(raw, layout, sheets)
    names, rows = _split(lines, plain)
    return Glance(raw.kind, tuple(lines[:LINES]), names, rows, sheets)


def recognised(
    source: Source, layouts: Sequence[ColumnLayout], *, largest: int = LARGEST_UNPACKED
) -> tuple[int, ColumnLayout] | None:
    """Return which layout was stated over a file with these very headings, and that layout as it fits this file.

    The headings may stand further down or up than they did: testers write a program of any length above them. A
    layout over a file without headings is never recognised. Series to come: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: the same headings in the same order are of the same tester.
    """
    try:
        raw = open_raw(source, largest=largest)
    except TraceRefused:
        return None
    for place, layout in enumerate(layouts):
        try:
            fitting = _fitting(raw, layout) if layout.headings else None
        except TraceRefused:
            continue
        if fitting is not None:
            return place, fitting
    return None


def _fitting(raw: Raw, layout: ColumnLayout) -> ColumnLayout | None:
    if raw.kind is FileKind.PARQUET:
        return layout if tuple(from_parquet(raw).columns) == layout.headings else None
    lines, plain = _lines(raw, layout, tuple(sheet_names(raw)) if raw.kind is FileKind.WORKBOOK else ())
    nearest = sorted(range(len(lines)), key=lambda line: abs(line - layout.lines_before))
    for line in nearest if layout.header_lines else ():
        try:
            names = names_of(lines, replace(plain, lines_before=line))
        except TraceRefused:
            continue
        if tuple(names) == layout.headings[: len(names)] and not any(layout.headings[len(names) :]):
            return replace(layout, lines_before=line)
    return None


def guessed_columns(names: Sequence[str]) -> tuple[Column, ...]:
    """Return what the headings say by themselves: the first of each role, by its number from 1."""
    found: dict[Role, Column] = {}
    for number, name in enumerate(names, start=1):
        said = heading(name)
        if said.role is not None and said.role not in found:
            fits = (scale := scale_of(said.unit or "")) and scale.kind == KINDS.get(said.role)
            found[said.role] = Column(
                said.role, number, (said.unit or "") if fits else DEFAULT_UNITS.get(said.role, "")
            )
    return tuple(found.values())


def _lines(raw: Raw, layout: ColumnLayout, sheets: Sequence[str]) -> tuple[list[str], ColumnLayout]:
    """The first lines of a text or of a sheet, and how they are written."""
    if sheets:
        plain = replace(layout, delimiter=TAB, encoding="utf-8", section=None)
        return sample_lines(from_workbook(raw, layout.sheet or sheets[0]), "utf-8"), plain
    if layout.section is None:
        return sample_lines(raw.content, layout.encoding), layout
    return sample_lines(one_section(raw, layout)[0].content, "utf-8"), layout


def _split(lines: Sequence[str], layout: ColumnLayout) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    names = names_of(lines, layout)
    first = layout.lines_before + layout.header_lines
    rows = [tuple(fields_of(line, layout.delimiter)) for line in lines[first:] if line.strip()][:ROWS]
    width = max([len(names), *map(len, rows)], default=0)
    return (*names, *[""] * (width - len(names))), tuple(rows)


def _texts(row: Sequence[object]) -> tuple[str, ...]:
    return tuple("" if value is None else str(value) for value in row)
