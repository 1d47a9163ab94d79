"""Elapsed time that never runs backwards, or a refusal."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from packs.traces.clock import HOUR
from packs.traces.columns import Role
from packs.traces.passes import rows_where
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Floats, Trace

# A stamp this much below the one before is the printing of a rounded number, not time running backwards [s].
ROUNDING = 1e-6
# How near to zero time starts again, in usual intervals of the file.
NEAR_ZERO = 3.0
# Usual intervals of the file from which on a step of time is told as a leap; common practice, no source.
LEAP_TOLD = 10.0
LONG_LEAP = 30 * 24 * HOUR


def settle_time(trace: Trace) -> Trace:
    """Give the series an elapsed time from zero that never falls.

    A restart from zero goes on where the part before ended: the two parts are joined with no time between them.

    Raises
    ------
    TraceRefused
        Time runs backwards without starting again, stands still, or leaps.

    References
    ----------
    Derived here: elapsed time cannot fall; the thresholds are this room's own.
    """
    trace, seconds = _base(trace)
    stuck = _stuck(seconds)
    falls = stuck[seconds[stuck + 1] - seconds[stuck] < -ROUNDING]
    if len(falls):
        seconds, remark = _rejoined(trace, seconds, falls)
        trace, stuck = trace.noting((remark,)), _stuck(seconds)
    if len(seconds) > 1 and seconds[-1] - seconds[0] <= 0:
        raise TraceRefused(Problem.TIME_STANDS)
    _leaps(seconds)
    if len(falls) or not trace.has(Role.TIME) or (seconds[stuck + 1] < seconds[stuck]).any():
        trace = trace.with_column(Role.TIME, np.maximum.accumulate(seconds))
    return trace.noting(_twice(trace, stuck))


def _stuck(seconds: Floats) -> NDArray[np.intp]:
    """Rows after which time does not advance."""
    return rows_where(lambda stamps: stamps[1:] <= stamps[:-1], seconds)


def _base(trace: Trace) -> tuple[Trace, Floats]:
    if trace.has(Role.TIME):
        return trace, trace.time
    if trace.has(Role.CLOCK):
        clock = trace.floats(Role.CLOCK)
        return trace, clock - clock[0]
    within = trace.floats(Role.STEP_TIME)
    restarts = np.flatnonzero(np.diff(within) < -ROUNDING)
    shift = np.zeros(len(within))
    # The first row of a step lies its own step time after the last row of the step before.
    shift[restarts + 1] = within[restarts]
    remark = Remark(Problem.TIME_FROM_STEPS, Verdict.WARNED, f"{len(restarts) + 1} steps", count=len(restarts) + 1)
    return trace.noting((remark,)), within + np.cumsum(shift)


def _rejoined(trace: Trace, seconds: Floats, falls: NDArray[np.intp]) -> tuple[Floats, Remark]:
    first = int(falls[0])
    usual = float(np.median(np.diff(seconds)[np.diff(seconds) > 0])) if (np.diff(seconds) > 0).any() else 0.0
    place = f"from {seconds[first]:g} s to {seconds[first + 1]:g} s at {trace.place(first + 1)}"
    if not trace.has(Role.TIME):
        place += _besides(trace, seconds, usual)
        back = seconds[first] - seconds[first + 1]
        if abs(back - HOUR) <= max(5 * usual, 5.0):
            raise TraceRefused(Problem.CLOCK_CHANGED, place)
        raise TraceRefused(Problem.TIME_BACKWARD, place)
    if any(abs(seconds[fall + 1] - seconds[0]) > NEAR_ZERO * max(usual, 1e-3) for fall in falls):
        raise TraceRefused(Problem.TIME_BACKWARD, place + _besides(trace, seconds, usual))
    shift = np.zeros(len(seconds))
    shift[falls + 1] = seconds[falls] - seconds[falls + 1]
    detail = f"{len(falls)} times, {place}; the parts were joined with no time between them"
    rows = (first + 1, first + 2)
    return seconds + np.cumsum(shift), Remark(Problem.TIME_RESET, Verdict.REPAIRED, detail, rows, len(falls))


def _besides(trace: Trace, seconds: Floats, usual: float) -> str:
    """Say what else is amiss with the time of a file that is refused, so that all of it is mended at once."""
    steps = np.diff(seconds)
    twice, leaps = np.flatnonzero(np.abs(steps) <= ROUNDING), np.flatnonzero(steps > LEAP_TOLD * max(usual, 1e-3))
    found = []
    if len(twice):
        found.append(f"time stamps stand twice ({len(twice)}), first at {trace.place(int(twice[0]) + 1)}")
    if len(leaps):
        row = int(leaps[np.argmax(steps[leaps])])
        found.append(f"time leaps ahead by {steps[row]:g} s at {trace.place(row + 1)}")
    return f"; besides, {' and '.join(found)}" if found else ""


def _leaps(seconds: Floats) -> None:
    """Refuse a single leap that is longer than everything else together, and absurdly so."""
    for row in rows_where(lambda stamps: stamps[1:] - stamps[:-1] > LONG_LEAP, seconds):
        leap = float(seconds[row + 1] - seconds[row])
        if len(seconds) > 2 and leap > 100 * max(float(seconds[-1] - seconds[0]) - leap, 1.0):
            raise TraceRefused(Problem.TIME_JUMP, f"{leap:g} s after row {row + 1}")


def _twice(trace: Trace, twice: NDArray[np.intp]) -> tuple[Remark, ...]:
    if not len(twice):
        return ()
    detail = (
        f"{len(twice)} times, first at {trace.place(int(twice[0]) + 1)}; both rows are kept, nothing flows between them"
    )
    return (Remark(Problem.TIME_DUPLICATE, Verdict.REPAIRED, detail, None, len(twice)),)
