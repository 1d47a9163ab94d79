"""Are the values of a cell's world: blanks, units off by a thousand, voltages no cell has, leaps of one row."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import REQUIRED, Role
from packs.traces.passes import rows_where
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Floats, Trace

if TYPE_CHECKING:
    import polars as pl

# No single cell of any chemistry in use goes above this [V]; common practice, no source.
HIGHEST_CELL = 5.0
# A voltage this many times a cell's highest is another unit, not another cell.
LEAST_IN_MILLIVOLTS = 100.0
LEAST_SOUND = 0.5
LARGEST_CURRENT = 2000.0
NEGATIVE = -0.05
# A leap of this size that comes back with the next row, the current being steady, is a fault of the recording [V].
SPIKE = 0.3
MOST_BLANK_ROWS = 0.01
MOST_BLANKS_IN_A_ROW = 3
MOST_SPIKES = 0.001
MOST_LEAPS = 20
LEAP_TIMES, LEAP_MOVES = 2.0, 0.005
COLDEST, HOTTEST = -60.0, 200.0


def leave_out_blanks(trace: Trace) -> Trace:
    """Leave out rows without time, current or voltage where they are few and apart.

    Raises
    ------
    TraceRefused
        There are many of them, or several in a row, or a value is infinite, or one row is left.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    import polars as pl

    needed = [role for role in REQUIRED if trace.has(role)]
    columns = [trace.frame[role.value] for role in needed]
    # A sum is finite only where every value is; one that overflows is looked at value by value.
    if all(series.null_count() == 0 for series in columns) and all(
        bool(np.isfinite(trace.floats(role).sum())) for role in needed
    ):
        return _two_rows(trace)
    for role, series in zip(needed, columns, strict=True):
        if series.is_infinite().any():
            raise TraceRefused(Problem.INFINITE, f"{role.label} in row {series.is_infinite().arg_true()[0] + 1}")
    whole = pl.Series([True] * len(trace)) if not columns else _all_finite(columns)
    blank = np.flatnonzero(~whole.to_numpy())
    if len(blank) > max(1, MOST_BLANK_ROWS * len(trace)) or _longest_run(blank) > MOST_BLANKS_IN_A_ROW:
        raise TraceRefused(Problem.BLANKS, f"{len(blank)} of {len(trace)}")
    detail = f"{len(blank)} rows, the first being row {int(blank[0]) + 1}"
    remark = Remark(Problem.BLANK_ROWS, Verdict.REPAIRED, detail, None, len(blank))
    return _two_rows(replace(trace, frame=trace.frame.filter(whole), first_line=None).noting((remark,)))


def _all_finite(columns: list[pl.Series]) -> pl.Series:
    whole = columns[0].is_finite().fill_null(value=False)
    for series in columns[1:]:
        whole = whole & series.is_finite().fill_null(value=False)
    return whole


def _longest_run(places: NDArray[np.intp]) -> int:
    if not len(places):
        return 0
    breaks = np.flatnonzero(np.diff(places) > 1)
    edges = np.concatenate([[-1], breaks, [len(places) - 1]])
    return int(np.diff(edges).max())


def _two_rows(trace: Trace) -> Trace:
    if len(trace) < 2:
        raise TraceRefused(Problem.TOO_FEW_ROWS)
    return trace


def one_cell(trace: Trace) -> None:
    """Refuse a file that mixes the series of several cells or channels.

    References
    ----------
    Derived here: several names in the column of cells or channels are several series.
    """
    if trace.has(Role.CHANNEL):
        names = trace.frame[Role.CHANNEL.value].drop_nulls().unique()
        if len(names) > 1:
            listed = ", ".join(sorted(str(name) for name in names)[:5])
            raise TraceRefused(Problem.SEVERAL_CELLS, listed)


def settle_voltage(trace: Trace) -> Trace:
    """Bring voltages that are wholly a thousand times off into volts; refuse what no single cell has.

    Raises
    ------
    TraceRefused
        Units change within the file, or the voltages are not those of a cell.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    volts = trace.voltage
    high, low = float(volts.max()), float(volts.min())
    if high > LEAST_IN_MILLIVOLTS:
        return _millivolts(trace)
    if low >= 0 and high <= HIGHEST_CELL / 1000 and high >= LEAST_SOUND / 1000:
        detail = f"{high:g} V at the most; they were multiplied by 1000"
        return trace.with_column(
            Role.VOLTAGE, volts * 1000, Remark(Problem.VOLTAGE_UNIT_SLIP, Verdict.REPAIRED, detail)
        )
    return trace.noting(_out_of_world(trace))


def _millivolts(trace: Trace) -> Trace:
    volts = trace.voltage
    large = volts > LEAST_IN_MILLIVOLTS
    if large.all() and volts.max() / 1000 <= HIGHEST_CELL and volts.min() / 1000 >= LEAST_SOUND:
        detail = f"{volts.max():g} V at the most; they were divided by 1000"
        remark = Remark(Problem.VOLTAGE_UNIT_SLIP, Verdict.REPAIRED, detail)
        return trace.with_column(Role.VOLTAGE, volts / 1000, remark)
    if large.sum() > max(3, MOST_SPIKES * len(volts)) and np.median(volts[large]) / 1000 <= HIGHEST_CELL:
        row = int(np.flatnonzero(np.diff(large))[0]) + 2 if not large.all() else 1
        raise TraceRefused(Problem.VOLTAGE_UNITS_MIXED, f"first at row {row}")
    return trace.noting(_out_of_world(trace))


def _out_of_world(trace: Trace) -> Iterator[Remark]:
    volts = trace.voltage
    outside = np.flatnonzero(volts > HIGHEST_CELL)
    if len(outside) > max(3, MOST_SPIKES * len(volts)):
        raise TraceRefused(Problem.VOLTAGE_IMPOSSIBLE, f"{volts.max():g} V; a pack is tested cell by cell")
    negative = np.flatnonzero(volts < NEGATIVE)
    if len(negative) > len(volts) / 2:
        raise TraceRefused(Problem.VOLTAGE_NEGATIVE, f"{volts.min():g} V")
    if len(negative):
        detail = f"{volts.min():g} V, in {len(negative)} rows"
        yield Remark(Problem.VOLTAGE_NEGATIVE, Verdict.WITHHELD, detail, _span(negative), len(negative))
    yield from _spikes(trace, outside)


def _spikes(trace: Trace, outside: NDArray[np.intp]) -> Iterator[Remark]:
    volts = trace.voltage
    leaps = rows_where(lambda each: np.abs(each[1:] - each[:-1]) > SPIKE, volts)
    move = volts[leaps + 1] - volts[leaps]
    back = leaps[:-1][(np.diff(leaps) == 1) & (move[:-1] * move[1:] < 0)] + 1
    steady = _steady(trace)
    lone = np.array([row for row in back[:1000] if steady(int(row))], dtype=np.intp)
    rows = np.union1d(lone, outside)
    for row in rows[:20]:
        detail = f"{trace.voltage[row]:g} V in row {int(row) + 1}"
        yield Remark(Problem.SPIKE, Verdict.WITHHELD, detail, (int(row) + 1, int(row) + 1), len(rows))


def _steady(trace: Trace) -> Callable[[int], bool]:
    largest = trace.largest_current

    def steady(row: int) -> bool:
        near = trace.current[row - 1 : row + 2]
        return float(np.ptp(near)) <= 0.1 * largest

    return steady


def _span(rows: NDArray[np.intp]) -> tuple[int, int]:
    return int(rows[0]) + 1, int(rows[-1]) + 1


def settle_temperature(trace: Trace) -> Trace:
    """Leave out temperatures that no sensor on a cell shows: an open or shorted sensor.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    for role in (Role.TEMPERATURE, Role.AMBIENT):
        if not trace.has(role):
            continue
        degrees = trace.floats(role)
        if np.fmin.reduce(degrees) < COLDEST or np.fmax.reduce(degrees) > HOTTEST:
            wrong = (degrees < COLDEST) | (degrees > HOTTEST)
            rows = np.flatnonzero(wrong)
            detail = f"{degrees[rows[0]]:g} °C in row {int(rows[0]) + 1}, {len(rows)} rows in all"
            remark = Remark(Problem.TEMPERATURE_IMPOSSIBLE, Verdict.REPAIRED, detail, None, len(rows))
            trace = trace.with_column(role, np.where(wrong, np.nan, degrees), remark)
    return trace


def leave_out_leaps(trace: Trace) -> Trace:
    """Leave out single currents that are the largest of all by far, while the voltage beside them stays.

    Every share of the largest current is taken from what is left; one such value would hide all the others.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    import polars as pl

    current = trace.current
    if not any(_leaps_alone(trace, current, int(row)) for row in (current.argmax(), current.argmin())):
        return trace
    size, left = np.abs(current), np.zeros(len(trace), dtype=np.bool_)
    for _ in range(MOST_LEAPS):
        row = int(np.argmax(size))
        if not _leaps_alone(trace, size, row):
            break
        left[row], size[row] = True, 0.0
    if not left.any():
        return trace
    rows = np.flatnonzero(left)
    detail = f"{trace.current[rows[0]]:g} A in row {int(rows[0]) + 1}"
    remark = Remark(Problem.CURRENT_SPIKE, Verdict.REPAIRED, detail, None, len(rows))
    return replace(trace, frame=trace.frame.filter(pl.Series(~left))).noting((remark,))


def _leaps_alone(trace: Trace, size: Floats, row: int) -> bool:
    near = [place for place in (row - 1, row + 1) if 0 <= place < len(size)]
    beside = max(abs(float(size[place])) for place in near)
    moved = max(abs(float(trace.voltage[place] - trace.voltage[row])) for place in near)
    return abs(float(size[row])) > LEAP_TIMES * beside and moved < LEAP_MOVES


def check_current(trace: Trace) -> Iterator[Remark]:
    """Report a current no cell carries and a file in which nothing flows; compare with the tester's power.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    largest = trace.largest_current
    if largest > LARGEST_CURRENT:
        raise TraceRefused(Problem.CURRENT_IMPOSSIBLE, f"{largest:g} A")
    if largest == 0.0:
        yield Remark(Problem.NO_CURRENT, Verdict.WARNED)
    if trace.has(Role.POWER) and largest > 0.0:
        yield from _power(trace)


def _power(trace: Trace) -> Iterator[Remark]:
    given, computed = np.abs(trace.floats(Role.POWER)), np.abs(trace.voltage * trace.current)
    flowing = (computed > 0.05 * computed.max()) & np.isfinite(given) & (given > 0)
    if not flowing.any():
        return
    ratio = float(np.median(given[flowing] / computed[flowing]))
    if min(abs(ratio / 1000 - 1), abs(ratio * 1000 - 1)) < 0.1:
        raise TraceRefused(Problem.CURRENT_UNIT_SLIP, f"power is {ratio:.4g} times voltage times current")
    if abs(ratio - 1) > 0.1:
        yield Remark(Problem.POWER_DISAGREES, Verdict.WARNED, f"it is {ratio:.3g} times that")
