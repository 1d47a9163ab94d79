"""Columns as they were read become numbers in the units of the series."""

from __future__ import annotations

from typing import TYPE_CHECKING

from packs.traces.clock import clock_seconds, duration_seconds
from packs.traces.columns import REQUIRED, WORDS, Column, ColumnLayout, Role
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.scales import KINDS, scale_of

if TYPE_CHECKING:
    import polars as pl


def to_numbers(frame: pl.DataFrame, layout: ColumnLayout) -> tuple[pl.DataFrame, tuple[Remark, ...]]:
    """Turn every column into 64-bit numbers in s, A, V, W, °C, Ah, Wh, Ω; words stay words.

    Raises
    ------
    TraceRefused
        Text stands where a number must, or a unit does not belong to its column.

    References
    ----------
    Arithmetic: prefixes and units of the international system.
    """
    import polars as pl

    remarks: list[Remark] = []
    done: list[pl.Series] = []
    for column in layout.columns:
        series = frame[column.role.value]
        if column.role in WORDS:
            done.append(series.cast(pl.String).str.strip_chars())
        elif column.role is Role.CLOCK:
            clock = _clock(series, column, layout, remarks)
            done.extend([] if clock is None else [clock.alias(column.role.value)])
        else:
            done.append(_scaled(_floats(series, column.role, layout.decimal, remarks), column).alias(column.role.value))
    return pl.DataFrame(done), tuple(remarks)


def _clock(series: pl.Series, column: Column, layout: ColumnLayout, remarks: list[Remark]) -> pl.Series | None:
    needed = layout.column(Role.TIME) is None and layout.column(Role.STEP_TIME) is None
    try:
        seconds = clock_seconds(series, layout.date_format)
    except TraceRefused as refused:
        if needed:
            raise
        remarks.append(Remark(refused.problem, Verdict.WARNED, "it was left out; elapsed time is there"))
        return None
    scale = scale_of(column.unit) if column.unit else None
    return seconds * scale.factor if scale else seconds


def _floats(series: pl.Series, role: Role, decimal: str, remarks: list[Remark]) -> pl.Series:
    import polars as pl

    if series.dtype.is_numeric():
        return series.cast(pl.Float64)
    if series.dtype == pl.Duration:
        return series.dt.total_nanoseconds() / 1e9
    if series.dtype != pl.String:
        raise TraceRefused(Problem.NOT_A_NUMBER, f"{series.dtype} in the column of {role.label}")
    text = series.str.strip_chars()
    plain = text.str.replace(",", ".", literal=True) if decimal == "," else text
    numbers = plain.cast(pl.Float64, strict=False)
    failed = numbers.is_null() & text.is_not_null() & ~text.str.to_lowercase().is_in(_BLANK)
    if not failed.any():
        return numbers
    if role in (Role.TIME, Role.STEP_TIME):
        return duration_seconds(text, remarks)
    return _or_left_out(series, numbers, failed, role, remarks)


_BLANK = ["", "nan", "null", "none", "n/a", "na", "-"]


def _or_left_out(
    series: pl.Series, numbers: pl.Series, failed: pl.Series, role: Role, remarks: list[Remark]
) -> pl.Series:
    row = failed.arg_true()[0]
    detail = f"“{str(series[row])[:40]}” in row {row + 1}, {role.label}"
    if role in REQUIRED:
        raise TraceRefused(Problem.NOT_A_NUMBER, detail)
    remarks.append(Remark(Problem.NOT_A_NUMBER, Verdict.WARNED, f"{detail}; it was left out", (row + 1, row + 1)))
    return numbers


def _scaled(series: pl.Series, column: Column) -> pl.Series:
    kind = KINDS.get(column.role)
    if kind is None or not column.unit:
        return series
    scale = scale_of(column.unit)
    if scale is None:
        raise TraceRefused(Problem.UNIT_UNKNOWN, f"{column.unit} for {column.role.label}")
    if scale.kind != kind:
        raise TraceRefused(Problem.UNIT_OF_ANOTHER_KIND, f"{column.unit} for {column.role.label}")
    if scale.factor == 1.0 and scale.offset == 0.0:
        return series
    return series * scale.factor + scale.offset
