"""Read a tester file: bytes, columns, numbers, a time that runs forward, a current with charge positive."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from packs.traces.columns import ColumnLayout
from packs.traces.counters import check_clocks, check_counts
from packs.traces.numbers import to_numbers
from packs.traces.packed import from_parquet, from_workbook, sheet_names
from packs.traces.problems import Problem, Remark, TraceRefused
from packs.traces.propose import Proposal, name_for, propose_columns, propose_text, require, sign_for
from packs.traces.raw import LARGEST_UNPACKED, FileKind, Raw, Source, encoding_of, open_raw
from packs.traces.sections import one_section
from packs.traces.series import Trace
from packs.traces.sign import settle_sign
from packs.traces.table import Table, place_of, read_table, sample_lines
from packs.traces.time_base import settle_time
from packs.traces.values import (
    check_current,
    leave_out_blanks,
    leave_out_leaps,
    one_cell,
    settle_temperature,
    settle_voltage,
)

if TYPE_CHECKING:
    import polars as pl


def propose(source: Source, *, largest: int = LARGEST_UNPACKED) -> Proposal:
    """Propose how a file is to be read; nothing is integrated yet.

    Series to come: time [s], current [A], voltage [V].

    Parameters
    ----------
    source : Path, bytes or binary file object
        Text, gzip of it, Parquet or a workbook.
    largest : int
        Most bytes a compressed file may unpack to.

    Raises
    ------
    TraceRefused
        The file is damaged, or its columns cannot be told; a layout must then be stated.

    References
    ----------
    Battery Data Format, names and units; other names are common practice, no source.
    """
    return _proposed(open_raw(source, largest=largest))[1]


def read(source: Source, layout: ColumnLayout | None = None, *, largest: int = LARGEST_UNPACKED) -> Trace:
    """Read a tester file and check it.

    Parameters
    ----------
    source : Path, bytes or binary file object
        As ``propose``.
    layout : ColumnLayout or None
        How its tester writes; ``None`` proposes it from the file.
    largest : int
        Most bytes a compressed file may unpack to.

    Returns
    -------
    Trace
        The series in fixed units, with what was found and repaired.

    Raises
    ------
    TraceRefused
        With the code of what cannot be trusted. Nothing else is raised for any content.

    References
    ----------
    Battery Data Format; the other rules are derived here.
    """
    raw = open_raw(source, largest=largest)
    remarks: tuple[Remark, ...] = ()
    if layout is None:
        raw, proposal = _proposed(raw)
        layout, remarks = proposal.layout, proposal.remarks
    else:
        require([column.role for column in layout.columns])
        if raw.kind is FileKind.TEXT and layout.section is not None:
            raw, _, remarks = one_section(raw, layout)
    table = _table(raw, _within(layout))
    frame, made = to_numbers(table.frame, layout)
    # Within a section lines are counted from its own start, and of a workbook they are no lines.
    line = table.first_line if raw.kind is FileKind.TEXT and layout.section is None else None
    settled = settle(Trace(frame, layout, "", (*remarks, *table.remarks, *made), table.unread, line))
    # Asked for last: the file is hashed beside all that was done until now.
    return settled.of_file(raw.sha256)


def settle(trace: Trace) -> Trace:
    """Apply the rules of trust in their order; each says what it changed.

    Raises
    ------
    TraceRefused
        A rule finds what it cannot repair.

    References
    ----------
    Derived here: the order of the rules; each names its own source.
    """
    one_cell(trace)
    for rule in _RULES:
        trace = rule(trace)
    return trace.noting((*check_current(trace), *check_counts(trace), *check_clocks(trace)))


_RULES: Sequence[Callable[[Trace], Trace]] = (
    leave_out_blanks,
    settle_time,
    settle_voltage,
    settle_temperature,
    leave_out_leaps,
    settle_sign,
)


def _proposed(raw: Raw) -> tuple[Raw, Proposal]:
    if raw.kind is FileKind.TEXT:
        return _proposed_text(raw)
    names = from_parquet(raw).columns if raw.kind is FileKind.PARQUET else None
    if names is None:
        return raw, _proposed_workbook(raw)
    columns, remarks = propose_columns(names)
    return raw, Proposal(ColumnLayout(name_for(names), columns, sign=sign_for(names)), remarks, tuple(names))


def _proposed_text(raw: Raw) -> tuple[Raw, Proposal]:
    encoding = encoding_of(raw.content)
    lines = sample_lines(raw.content, encoding)
    try:
        return raw, propose_text(lines, encoding)
    except TraceRefused as refused:
        if refused.problem not in _ANOTHER_SECTION:
            raise
        try:
            part, number, remarks = one_section(raw, ColumnLayout("", (), encoding=encoding))
            # Sections are cut out as UTF-8.
            proposal = propose_text(sample_lines(part.content, "utf-8"), "utf-8")
        except TraceRefused:
            raise refused from None
        layout = replace(proposal.layout, section=number, encoding=encoding)
        return part, replace(proposal, layout=layout, remarks=(*remarks, *proposal.remarks))


def _within(layout: ColumnLayout) -> ColumnLayout:
    """The layout as it holds within its section, once that is cut out."""
    return layout if layout.section is None else replace(layout, section=None, encoding="utf-8")


_ANOTHER_SECTION = frozenset(
    {Problem.TIME_MISSING, Problem.CURRENT_MISSING, Problem.VOLTAGE_MISSING, Problem.HEADER_MISSING}
)


def _proposed_workbook(raw: Raw) -> Proposal:
    """Take the first sheet whose columns can be told."""
    first: TraceRefused | None = None
    for sheet in sheet_names(raw):
        try:
            text = from_workbook(raw, sheet)
            proposal = propose_text(sample_lines(text, "utf-8"), "utf-8")
        except TraceRefused as refused:
            first = first or refused
        else:
            return replace(proposal, layout=replace(proposal.layout, sheet=sheet))
    raise first or TraceRefused(Problem.NO_TABLE)


def _table(raw: Raw, layout: ColumnLayout) -> Table:
    if raw.kind is FileKind.PARQUET:
        frame = from_parquet(raw)
        taken = [place_of(column, frame.columns, frame.width) for column in layout.columns]
        unread = (name for place, name in enumerate(frame.columns) if place not in taken)
        return Table(_chosen(frame, layout), unread=tuple(unread))
    if raw.kind is FileKind.WORKBOOK:
        text = from_workbook(raw, layout.sheet or sheet_names(raw)[0])
        plain = replace(layout, delimiter="\t", decimal=layout.decimal, encoding="utf-8")
        return read_table(replace(raw, content=text, path=None, kind=FileKind.TEXT), plain)
    return read_table(raw, layout)


def _chosen(frame: pl.DataFrame, layout: ColumnLayout) -> pl.DataFrame:
    import polars as pl

    chosen = []
    for column in layout.columns:
        name = frame.columns[column.source - 1] if isinstance(column.source, int) else column.source
        if name not in frame.columns:
            raise TraceRefused(Problem.LAYOUT_COLUMN_MISSING, str(name))
        chosen.append(pl.col(name).alias(column.role.value))
    if frame.height == 0:
        raise TraceRefused(Problem.HEADER_ONLY)
    return frame.select(chosen)
