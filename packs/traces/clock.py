"""Time as tester files write it: seconds, durations, times of day, clock times."""

from __future__ import annotations

from typing import TYPE_CHECKING

from packs.traces.problems import Problem, Remark, TraceRefused, Verdict

if TYPE_CHECKING:
    import polars as pl

DAY = 86400.0
HOUR = 3600.0
# Forms that cannot be read two ways. With slashes or hyphens in front of the year, day and month can.
PLAIN_FORMS = (
    "%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.f", "%Y/%m/%d %H:%M:%S%.f", "%d.%m.%Y %H:%M:%S%.f",
    "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M",
)  # fmt: skip
AMBIGUOUS_FORMS = (
    ("%d/%m/%Y %H:%M:%S%.f", "%m/%d/%Y %H:%M:%S%.f"),
    ("%d-%m-%Y %H:%M:%S%.f", "%m-%d-%Y %H:%M:%S%.f"),
    ("%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"),
)  # fmt: skip
_DURATION = r"^(?:(?P<days>\d+)[d. ]\s*)?(?P<hours>\d+):(?P<minutes>[0-5]\d):(?P<seconds>[0-5]\d(?:[.,]\d+)?)$"


def clock_seconds(series: pl.Series, date_format: str = "") -> pl.Series:
    """Return clock times as seconds from a fixed moment; numbers are taken as they are.

    Raises
    ------
    TraceRefused
        They cannot be read, or day and month cannot be told apart.
    """
    import polars as pl

    if series.dtype.is_numeric():
        return series.cast(pl.Float64)
    if series.dtype.is_temporal():
        return series.cast(pl.Datetime("us")).cast(pl.Int64) / 1e6
    text = series.cast(pl.String).str.strip_chars()
    numbers = text.cast(pl.Float64, strict=False)
    if numbers.null_count() == text.null_count():
        return numbers
    for form in (date_format,) if date_format else PLAIN_FORMS:
        read = _as(text, form)
        if read is not None:
            return read
    if date_format:
        raise TraceRefused(Problem.DATE_UNREADABLE, f"“{text[0]}” is not written {date_format}")
    return _day_or_month_first(text)


def _day_or_month_first(text: pl.Series) -> pl.Series:
    for forms in AMBIGUOUS_FORMS:
        read = [each for each in (_as(text, form) for form in forms) if each is not None]
        if len(read) == 1:
            return read[0]
        if len(read) == 2:
            raise TraceRefused(Problem.DATE_AMBIGUOUS, f"“{text[0]}”; the layout must say how dates are written")
    raise TraceRefused(Problem.DATE_UNREADABLE, f"“{str(text[0])[:40]}”")


def _as(text: pl.Series, form: str) -> pl.Series | None:
    import polars as pl

    try:
        read = text.str.to_datetime(form, strict=False, time_unit="us", ambiguous="null")
    except pl.exceptions.PolarsError:
        return None
    return None if read.null_count() > text.null_count() else read.cast(pl.Int64) / 1e6


def duration_seconds(text: pl.Series, remarks: list[Remark]) -> pl.Series:
    """Return ``1:02:03.5`` or ``2d 01:02:03`` as seconds; times of day go on counting past midnight.

    Raises
    ------
    TraceRefused
        They are no durations.
    """
    import polars as pl

    parts = text.str.extract_groups(_DURATION).struct.unnest()
    if parts["hours"].null_count() > text.null_count():
        bad = (parts["hours"].is_null() & text.is_not_null()).arg_true()[0]
        raise TraceRefused(Problem.NOT_A_NUMBER, f"“{str(text[bad])[:40]}” in row {bad + 1}, time")
    seconds = (
        parts["days"].cast(pl.Float64).fill_null(0.0) * DAY
        + parts["hours"].cast(pl.Float64) * HOUR
        + parts["minutes"].cast(pl.Float64) * 60.0
        + parts["seconds"].str.replace(",", ".", literal=True).cast(pl.Float64)
    )
    falls = (seconds.diff() < -(DAY - HOUR)).fill_null(value=False)
    passes = int(falls.sum())
    if passes and seconds.max() < DAY:  # type: ignore[operator]  # a column of floats has a float maximum
        remarks.append(
            Remark(Problem.TIME_MIDNIGHT, Verdict.REPAIRED, f"{passes} times; a day was added each time", count=passes)
        )
        seconds = seconds + falls.cum_sum().cast(pl.Float64) * DAY
    return seconds
