"""Elapsed time that never runs backwards, or a refusal."""

from __future__ import annotations

import numpy as np

from packs.traces.clock import HOUR
from packs.traces.columns import Role
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Floats, Trace

# A stamp this much below the one before is the printing of a rounded number, not time running backwards [s].
ROUNDING = 1e-6
# How near to zero time starts again, in usual intervals of the file.
NEAR_ZERO = 3.0


def settle_time(trace: Trace) -> Trace:
    """Give the series an elapsed time from zero that never falls.

    A restart from zero goes on where the part before ended: the two parts are joined with no time between them.

    Raises
    ------
    TraceRefused
        Time runs backwards without starting again, stands still, or leaps.
    """
    trace, seconds = _base(trace)
    steps = trace.changes(Role.TIME) if trace.has(Role.TIME) else np.diff(seconds)
    falls = np.flatnonzero(steps < -ROUNDING)
    if len(falls):
        seconds, remark = _rejoined(seconds, falls, from_clock=not trace.has(Role.TIME))
        trace, steps = trace.noting((remark,)), np.diff(seconds)
    if len(seconds) > 1 and seconds[-1] - seconds[0] <= 0:
        raise TraceRefused(Problem.TIME_STANDS)
    _leaps(steps)
    twice = np.flatnonzero(steps <= 0)
    remarks = _twice(twice)
    if seconds[0] != 0.0 or not trace.has(Role.TIME) or len(falls) or steps.min(initial=0.0) < 0:
        seconds = np.maximum.accumulate(seconds)
        trace = trace.with_column(Role.TIME, seconds)
    return trace.noting(remarks)


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


def _rejoined(seconds: Floats, falls: np.ndarray, *, from_clock: bool) -> tuple[Floats, Remark]:
    first = int(falls[0])
    usual = float(np.median(np.diff(seconds)[np.diff(seconds) > 0])) if (np.diff(seconds) > 0).any() else 0.0
    place = f"from {seconds[first]:g} s to {seconds[first + 1]:g} s at row {first + 2}"
    if from_clock:
        back = seconds[first] - seconds[first + 1]
        if abs(back - HOUR) <= max(5 * usual, 5.0):
            raise TraceRefused(Problem.CLOCK_CHANGED, place)
        raise TraceRefused(Problem.TIME_BACKWARD, place)
    if any(abs(seconds[fall + 1] - seconds[0]) > NEAR_ZERO * max(usual, 1e-3) for fall in falls):
        raise TraceRefused(Problem.TIME_BACKWARD, place)
    shift = np.zeros(len(seconds))
    shift[falls + 1] = seconds[falls] - seconds[falls + 1]
    detail = f"{len(falls)} times, {place}; the parts were joined with no time between them"
    rows = (first + 1, first + 2)
    return seconds + np.cumsum(shift), Remark(Problem.TIME_RESET, Verdict.REPAIRED, detail, rows, len(falls))


def _leaps(steps: Floats) -> None:
    """Refuse a single leap that is longer than everything else together, and absurdly so."""
    if len(steps) < 2:
        return
    longest = int(np.argmax(steps))
    rest = float(steps.sum() - steps[longest])
    if steps[longest] > 100 * max(rest, 1.0) and steps[longest] > 30 * 24 * HOUR:
        raise TraceRefused(Problem.TIME_JUMP, f"{steps[longest]:g} s after row {longest + 1}")


def _twice(twice: np.ndarray) -> tuple[Remark, ...]:
    if not len(twice):
        return ()
    detail = f"{len(twice)} times, first at row {int(twice[0]) + 2}; both rows are kept, nothing flows between them"
    return (Remark(Problem.TIME_DUPLICATE, Verdict.REPAIRED, detail, None, len(twice)),)
