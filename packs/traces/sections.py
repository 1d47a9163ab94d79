"""A file that holds several tables one below the other: find the one with time, current and voltage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from packs.traces.columns import ColumnLayout
from packs.traces.dialect import DELIMITERS, NUMBER, fields_of
from packs.traces.headings import heading
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.propose import propose_columns
from packs.traces.raw import Raw


def one_section(raw: Raw, layout: ColumnLayout) -> tuple[Raw, int, tuple[Remark, ...]]:
    """Cut one table out of a text, by its number or by its columns; return it as UTF-8, with its number from 1.

    Raises
    ------
    TraceRefused
        There is no such table, or more than one fits.
    """
    try:
        text = bytes(raw.content[:]).decode(layout.encoding)
    except (UnicodeDecodeError, LookupError) as error:
        raise TraceRefused(Problem.ENCODING, layout.encoding) from error
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    starts = section_starts(lines)
    place = _wanted(lines, starts, layout.section)
    ends = [*starts[1:], len(lines)]
    part = "\n".join(lines[starts[place] : ends[place]]) + "\n"
    detail = f"table {place + 1} of {len(starts)} was read"
    remark = Remark(Problem.OTHER_SECTION, Verdict.REPAIRED, detail, None, len(starts) - 1)
    cut = replace(raw, content=part.encode("utf-8"), path=None)
    return cut, place + 1, (remark,) if len(starts) > 1 else ()


def section_starts(lines: Sequence[str]) -> list[int]:
    """Return the lines, from 0, at which a table begins: names that are followed by a row of numbers."""
    return [place for place in range(len(lines) - 1) if any(_begins(lines, place, each) for each in DELIMITERS[:4])]


def _begins(lines: Sequence[str], place: int, delimiter: str) -> bool:
    names = fields_of(lines[place], delimiter)
    if len(names) < 2 or any(NUMBER.match(name) for name in names):
        return False
    row = fields_of(lines[place + 1], delimiter)
    return abs(len(row) - len(names)) <= 1 and any(NUMBER.match(each) for each in row)


def _wanted(lines: Sequence[str], starts: Sequence[int], section: int | None) -> int:
    if section is not None:
        if not 1 <= section <= len(starts):
            raise TraceRefused(Problem.NO_TABLE, f"table {section} of {len(starts)}")
        return section - 1
    fitting = [place for place, start in enumerate(starts) if _fits(lines[start])]
    if not fitting:
        raise TraceRefused(Problem.NO_TABLE)
    if len(fitting) > 1:
        raise TraceRefused(Problem.SECTIONS_DIFFER, f"tables {', '.join(str(place + 1) for place in fitting)} fit")
    return fitting[0]


def _fits(line: str) -> bool:
    for delimiter in DELIMITERS[:4]:
        names = fields_of(line, delimiter)
        if sum(1 for name in names if heading(name).role is not None) >= 3:
            try:
                propose_columns(names)
            except TraceRefused:
                continue
            return True
    return False
