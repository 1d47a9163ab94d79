"""What is wrong within the steps: gaps, rows that repeat, too few rows, words that contradict the current."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import Role
from packs.traces.passes import rows_where
from packs.traces.problems import Problem, Remark, Verdict
from packs.traces.series import Floats, Trace
from packs.traces.sign import DEAD_BAND, Flow, flow_of
from packs.traces.steps import Control, Step

# An interval this many times the usual one of its step is a gap where it holds this share of the step's time.
GAP_TIMES = 10.0
GAP_SHARE = 0.01
LEAST_GAP_S = 5.0
# A gap is bridged where current before and after agree this well and no more than this share of the step is missing.
BRIDGE_AGREES = 0.02
BRIDGE_SHARE = 0.05
FEWEST_ROWS = 5
STALE_ROWS = 10
# What the voltage leaps by when the recording goes on, in smallest and in usual changes.
STALE_LEAP = 5.0
USUAL_CHANGE = 0.9
LATE_SHARE = 0.001


def doubted(trace: Trace, steps: Sequence[Step]) -> tuple[tuple[Step, ...], tuple[Remark, ...]]:
    """Look at each step with its rows, and give it the codes of what withholds its figures.

    Series: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: a step is doubted where what was found touches its rows.
    """
    remarks = [
        *gaps(trace, steps),
        *stale(trace),
        *few_rows(steps),
        *contradicted(trace, steps),
        *late_starts(trace, steps),
    ]
    withheld = [each for each in (*trace.remarks, *remarks) if each.verdict is Verdict.WITHHELD]
    marked = [
        replace(step, doubts=tuple(each.code for each in withheld if each.touches(step.first + 1, step.last + 1)))
        for step in steps
    ]
    return tuple(marked), tuple(remarks)


def gaps(trace: Trace, steps: Sequence[Step]) -> Iterator[Remark]:
    """Find intervals far longer than the others of their step while current flows.

    Series: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: an interval is held against the usual one of its step; the thresholds are this room's own.
    """
    for step in steps:
        if step.flow is Flow.REST or step.last - step.first < FEWEST_ROWS:
            continue
        intervals = np.diff(trace.time[step.rows])
        long = float(intervals.max())
        if long > max(LEAST_GAP_S, GAP_SHARE * step.seconds) and long > GAP_TIMES * float(np.median(intervals)):
            yield _gap(trace, step, int(np.argmax(intervals)) + step.first, long)


def _gap(trace: Trace, step: Step, row: int, long: float) -> Remark:
    before, after = trace.current[row], trace.current[row + 1]
    agrees = abs(before - after) <= BRIDGE_AGREES * abs(before)
    detail = f"{long:g} s after row {row + 1}, step {step.number}"
    if agrees and long <= BRIDGE_SHARE * step.seconds:
        return Remark(Problem.GAP_BRIDGED, Verdict.REPAIRED, detail, (row + 1, row + 2), 1)
    return Remark(Problem.GAP, Verdict.WITHHELD, detail, (row + 1, row + 2), 1)


def stale(trace: Trace) -> Iterator[Remark]:
    """Find rows that repeat while current flows, where the recording elsewhere never or hardly repeats.

    A quiet signal of coarse resolution repeats too. So the run must end in a leap of the voltage while the current
    stays, or the file must change nearly every row elsewhere.

    References
    ----------
    Derived here: a live measurement never stands still; how often it may repeat is this room's own limit.
    """
    current, voltage = trace.current, trace.voltage
    largest = trace.largest_current
    band = DEAD_BAND * largest
    held = rows_where(lambda amps, volts: _repeats(amps, volts, band), current, voltage)
    starts, ends = _runs(held)
    long = ends - starts + 1 >= STALE_ROWS
    if not long.any():
        return
    flowing = int(np.count_nonzero(np.abs(current) > band))
    lively = 1 - len(held) / flowing > USUAL_CHANGE
    size = np.abs(np.diff(voltage))
    size = size[size > 0]
    leap = STALE_LEAP * max(float(size.min()), float(np.median(size))) if len(size) else np.inf
    for start, end in zip(starts[long][:1000], ends[long][:1000], strict=True):
        if lively or _leaps(current, voltage, int(end) + 1, leap, largest):
            detail = f"rows {start + 1} to {end + 2}"
            yield Remark(Problem.STALE_ROWS, Verdict.WITHHELD, detail, (int(start) + 1, int(end) + 2), int(end - start))


def _repeats(amps: Floats, volts: Floats, band: float) -> NDArray[np.bool_]:
    same = (volts[1:] == volts[:-1]) & (amps[1:] == amps[:-1])
    return same & (np.abs(amps[1:]) > band)


def _runs(rows: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First and last of each run of neighbours."""
    breaks = np.flatnonzero(np.diff(rows) > 1)
    if not len(rows):
        return rows, rows
    return rows[np.append(0, breaks + 1)], rows[np.append(breaks, len(rows) - 1)]


def _leaps(current: Floats, voltage: Floats, row: int, leap: float, largest: float) -> bool:
    if row + 1 >= len(voltage):
        return False
    steady = abs(current[row + 1] - current[row]) <= 0.05 * largest
    return bool(steady and abs(voltage[row + 1] - voltage[row]) >= leap)


def few_rows(steps: Sequence[Step]) -> Iterator[Remark]:
    """Report a step of some length that a handful of rows cannot describe.

    Series: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: the least number of rows is this room's own.
    """
    for step in steps:
        rows = step.last - step.first + 1
        steady = step.control is Control.CURRENT
        if step.flow is not Flow.REST and rows < FEWEST_ROWS and step.seconds > 60 and not (steady and rows > 2):
            detail = f"{rows} rows for {step.seconds:g} s, step {step.number}"
            yield Remark(Problem.INTERVAL_LONG, Verdict.WITHHELD, detail, (step.first + 1, step.last + 1), 1)


def contradicted(trace: Trace, steps: Sequence[Step]) -> Iterator[Remark]:
    """Compare the kind of each step in words with the sign of its current.

    Series: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: a charge has a positive current, a discharge a negative one.
    """
    if not trace.has(Role.STEP_TYPE):
        return
    words = trace.frame[Role.STEP_TYPE.value]
    for step in steps:
        said = flow_of(str(words[step.first] or ""))
        if said in (Flow.CHARGE, Flow.DISCHARGE) and step.flow not in (said, Flow.REST):
            detail = f"“{words[step.first]}” at {step.mean_current_a:.4g} A, step {step.number}"
            yield Remark(Problem.STEP_TYPE_CONTRADICTED, Verdict.WITHHELD, detail, (step.first + 1, step.last + 1), 1)


def late_starts(trace: Trace, steps: Sequence[Step]) -> Iterator[Remark]:
    """Say where the first interval of a step was added, and where it may be missing.

    Series: time [s], current [A], voltage [V].

    References
    ----------
    Derived here: the charge of a first interval is its length times the first current.
    """
    added = [step for step in steps if step.from_start]
    if added:
        worst = max(step.late_ah / step.capacity_ah for step in added if step.capacity_ah > 0)
        detail = f"{len(added)} steps, up to {worst:.2%} of their charge"
        yield Remark(Problem.STEP_START_USED, Verdict.REPAIRED, detail, None, len(added))
    if trace.has(Role.STEP_TIME):
        return
    for step in steps:
        missing = _missing_ah(trace, step)
        if step.flow is not Flow.REST and missing > LATE_SHARE * max(step.capacity_ah, 1e-12) and step.seconds > 60:
            share = missing / (step.capacity_ah + missing)
            detail = f"up to {missing:.4f} Ah ({share:.2%}) of step {step.number} may be missing"
            yield Remark(Problem.STEP_START_UNKNOWN, Verdict.WARNED, detail, (step.first + 1, step.first + 1), 1)


def _missing_ah(trace: Trace, step: Step) -> float:
    """The most that can have flowed between the row above a step and its first row [Ah]."""
    if step.first == 0:
        return 0.0
    gap = float(trace.time[step.first] - trace.time[step.first - 1])
    return gap * abs(float(trace.current[step.first])) / 3600
