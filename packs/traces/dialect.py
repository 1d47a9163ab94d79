"""How a text table is written: delimiter, decimal mark, where the names stand, where the rows begin."""

import csv
import re
from dataclasses import dataclass

from packs.traces.headings import heading, is_unit
from packs.traces.problems import Problem, TraceRefused

SAMPLE_LINES = 400
DELIMITERS = (",", ";", "\t", "|", " ")
NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")
_POINT = re.compile(r"\d\.\d")
_COMMA = re.compile(r"\d,\d")
_GROUPED = re.compile(r"^[+-]?\d{1,3}((,\d{3})+\.\d+|(\.\d{3})+,\d+|(,\d{3}){2,}|(\.\d{3}){2,})$")


@dataclass(frozen=True)
class Dialect:
    """How the table is written, as far as its first lines show.

    Attributes
    ----------
    names : tuple of str
        Names of the columns with their units; empty where the file has none.
    lines_before, header_lines : int
        As in ``ColumnLayout``.
    width : int
        Values per row.
    """

    delimiter: str
    decimal: str
    names: tuple[str, ...]
    lines_before: int
    header_lines: int
    width: int


def fields_of(line: str, delimiter: str) -> list[str]:
    """Split one line into its values, quotes and surrounding blanks taken away."""
    if delimiter == " ":
        return line.split()
    if '"' not in line:
        return [field.strip() for field in line.split(delimiter)]
    return [field.strip() for field in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True), [])]


def dialect_of(lines: list[str]) -> Dialect:
    """Find how a table is written.

    Raises
    ------
    TraceRefused
        No table, numbers grouped in thousands, or decimal marks mixed.
    """
    found = max((_scored(lines, delimiter) for delimiter in DELIMITERS), key=lambda scored: scored[0])
    (numbers, _), delimiter, width = found
    if numbers < 2:
        raise TraceRefused(Problem.HEADER_ONLY if _names_alone(lines) else Problem.NO_TABLE)
    rows = [fields_of(line, delimiter) for line in lines]
    first = _first_row(rows, width)
    if first is None:
        raise TraceRefused(Problem.NO_TABLE)
    decimal = _decimal([field for row in rows[first:] for field in row], delimiter)
    names, count = _names(rows, first, width)
    return Dialect(delimiter, decimal, names, first - count, count, width)


def _scored(lines: list[str], delimiter: str) -> tuple[tuple[int, int], str, int]:
    """Most numbers in the width most lines have; the rarer mark wins where two do as well."""
    widths: dict[int, list[int]] = {}
    for line in lines:
        fields = fields_of(line, delimiter)
        numbers = sum(1 for field in fields if NUMBER.match(field))
        if numbers >= 2:
            widths.setdefault(len(fields), []).append(numbers)
    if not widths:
        return (0, 0), delimiter, 0
    width = max(widths, key=lambda each: (len(widths[each]), each))
    counts = sorted(widths[width])
    return (counts[len(counts) // 2] * len(counts), -DELIMITERS.index(delimiter)), delimiter, width


def _is_row(fields: list[str], width: int) -> bool:
    numbers = sum(1 for field in fields if NUMBER.match(field))
    return abs(len(fields) - width) <= 1 and numbers >= 2 and heading(fields[0]).role is None


def _first_row(rows: list[list[str]], width: int) -> int | None:
    return next((place for place, row in enumerate(rows) if _is_row(row, width)), None)


def _names_alone(lines: list[str]) -> bool:
    """Tell whether some line names time, current and voltage or the like, though no row follows."""
    rows = (fields_of(line, delimiter) for line in lines for delimiter in DELIMITERS[:4])
    return any(sum(1 for field in row if heading(field).role is not None) >= 3 for row in rows)


def _names(rows: list[list[str]], first: int, width: int) -> tuple[tuple[str, ...], int]:
    """The line of names above the first row, joined with a line of units below it."""
    above = rows[first - 1] if first else []
    if not _names_line(above, width):
        return (), 0
    given = [field for field in above if field]
    if first > 1 and given and all(is_unit(field) or field in "-1#" for field in given):
        named = rows[first - 2]
        if _names_line(named, width):
            pairs = zip(named, [*above, *[""] * len(named)], strict=False)
            return tuple(f"{name} / {unit.strip(' []()')}" if unit else name for name, unit in pairs), 2
    return tuple(above), 1


def _names_line(fields: list[str], width: int) -> bool:
    return abs(len(fields) - width) <= 1 and any(fields) and not any(NUMBER.match(field) for field in fields)


def _decimal(fields: list[str], delimiter: str) -> str:
    points = commas = 0
    for field in fields:
        if _GROUPED.match(field):
            raise TraceRefused(Problem.GROUPED_NUMBERS, f"such as {field}")
        if NUMBER.match(field):
            points += bool(_POINT.search(field))
            commas += bool(_COMMA.search(field))
    if points and commas:
        raise TraceRefused(Problem.DECIMAL_MIXED)
    return "," if commas and delimiter != "," else "."
