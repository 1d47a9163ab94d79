"""Steps of a test: where they begin, what they are, and what flowed in each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import Role
from packs.traces.passes import integrals, rows_where
from packs.traces.series import Floats, Trace
from packs.traces.sign import DEAD_BAND, Flow

# Between two rows the current changes its level by this share of the larger: another step.
LEVEL_CHANGE = 0.5
# A first interval that holds this share of a step's charge is counted from the step's start; a smaller one is stated.
LEAST_START_SHARE = 0.001
STEADY_CURRENT = 0.02
STEADY_VOLTAGE = 0.01


class Control(StrEnum):
    """How the tester held a step."""

    REST = "rest"
    CURRENT = "constant current"
    VOLTAGE = "constant voltage"
    CURRENT_VOLTAGE = "constant current, then constant voltage"
    OTHER = "neither current nor voltage constant"


@dataclass(frozen=True)
class Step:
    """One step.

    Attributes
    ----------
    first, last : int
        Its rows, from 0.
    start_s, end_s : float
        Elapsed time of its start and its last row [s].
    capacity_ah, energy_wh : float
        Charged or discharged, never negative [Ah], [Wh].
    late_ah : float
        Charge between the start of the step and its first row [Ah]: part of ``capacity_ah`` where ``from_start``.
    from_start : bool
        The step was counted from its start, before its first row.
    mean_current_a, first_voltage_v, last_voltage_v, last_current_a : float
        Current with charge positive [A]; [V].
    hottest_degc : float or None
        Highest cell temperature [°C].
    doubts : tuple of str
        Codes of what was found in its rows; its figures are not used.
    """

    number: int
    first: int
    last: int
    flow: Flow
    control: Control
    start_s: float
    end_s: float
    capacity_ah: float
    energy_wh: float
    late_ah: float
    from_start: bool
    mean_current_a: float
    last_current_a: float
    first_voltage_v: float
    last_voltage_v: float
    hottest_degc: float | None
    doubts: tuple[str, ...] = ()

    @property
    def seconds(self) -> float:
        """How long it lasted [s]."""
        return self.end_s - self.start_s

    @property
    def rows(self) -> slice:
        """Its rows in the series."""
        return slice(self.first, self.last + 1)

    @property
    def signed_ah(self) -> float:
        """Charge that flowed, charging positive [Ah]."""
        return self.capacity_ah if self.flow is Flow.CHARGE else -self.capacity_ah


def boundaries(trace: Trace) -> NDArray[np.intp]:
    """Return the first row of every step, from 0.

    Time [s], current [A], charge [Ah], energy [Wh].

    A step begins where the tester says so: step number, kind of step, or time within the step starting again.
    Where it says nothing, or holds charge and discharge in one step, the current decides.

    References
    ----------
    Derived here: the tester's own counts first, else the level of the current; the thresholds are this room's own.
    """
    said = _said(trace)
    if said is None:
        return _by_current(trace)
    starts, band = said, DEAD_BAND * trace.largest_current
    high, low = np.maximum.reduceat(trace.current, starts), np.minimum.reduceat(trace.current, starts)
    mixed = np.flatnonzero((high > band) & (low < -band))
    if not len(mixed):
        return starts
    ends, change = np.append(starts[1:], len(trace)), _by_current(trace)
    inside = [change[(change > starts[k]) & (change < ends[k])] for k in mixed]
    return np.unique(np.concatenate([starts, *inside]))


def _starts(rows: NDArray[np.intp]) -> NDArray[np.intp]:
    return np.concatenate([np.zeros(1, dtype=np.intp), rows + 1])


def _said(trace: Trace) -> NDArray[np.intp] | None:
    """Where the tester begins a step; ``None`` where it never does."""
    import polars as pl

    found = []
    for role in (Role.STEP_COUNT, Role.STEP_ID, Role.STEP_TYPE):
        if trace.has(role):
            series = trace.frame[role.value]
            coded = series.cast(pl.Categorical).to_physical() if series.dtype == pl.String else series
            found.append(rows_where(lambda each: each[1:] != each[:-1], coded.fill_null(0).to_numpy()))
    if trace.has(Role.STEP_TIME):
        found.append(rows_where(lambda each: each[1:] - each[:-1] < -1e-6, trace.floats(Role.STEP_TIME)))
    rows = np.unique(np.concatenate(found)) if found else np.empty(0, dtype=np.intp)
    return _starts(rows) if len(rows) else None


def _by_current(trace: Trace) -> NDArray[np.intp]:
    """Where the current starts, stops, turns round, or changes its level by half of the larger."""
    band = DEAD_BAND * trace.largest_current
    turns = rows_where(lambda each: _state(each[1:], band) != _state(each[:-1], band), trace.current)
    jumps = rows_where(lambda each: _level_changes(np.abs(each), band), trace.current)
    # In the first rows after a start the tester is still bringing the current up: no other step.
    settled = jumps[~np.isin(jumps - 1, turns) & ~np.isin(jumps - 2, turns)]
    return _starts(np.union1d(turns, settled))


def _state(current: Floats, band: float) -> NDArray[np.int8]:
    return (current > band).astype(np.int8) - (current < -band).astype(np.int8)


def _level_changes(size: Floats, band: float) -> NDArray[np.bool_]:
    large, small = np.maximum(size[1:], size[:-1]), np.minimum(size[1:], size[:-1])
    return (small < large * (1 - LEVEL_CHANGE)) & (small > band)


def steps_of(trace: Trace) -> tuple[Step, ...]:
    """Cut a series into its steps and integrate each by the trapezoid rule over its own rows.

    Time [s], current [A], charge [Ah], energy [Wh].

    Where the time within the step shows that the first row comes late, the first interval is added at the current of
    that row, if it holds a thousandth of the step's charge or more; otherwise what is missing is stated in ``late_ah``.

    References
    ----------
    Arithmetic; Charge and energy: Q = ∫ I dt, W = ∫ V I dt, trapezoid rule, 64-bit.
    """
    starts = boundaries(trace).tolist()
    ends = [*(start - 1 for start in starts[1:]), len(trace) - 1]
    pairs = zip(starts, ends, strict=True)
    return tuple(_step(trace, number, first, last) for number, (first, last) in enumerate(pairs, start=1))


def _step(trace: Trace, number: int, first: int, last: int) -> Step:
    rows = slice(first, last + 1)
    current, voltage = trace.current[rows], trace.voltage[rows]
    mean = float(current.mean())
    flow = _flow(mean, DEAD_BAND * trace.largest_current)
    sign = {Flow.CHARGE: 1.0, Flow.DISCHARGE: -1.0, Flow.REST: 0.0}[flow]
    charge, energy = integrals(trace.time[rows], current, voltage) if sign else (0.0, 0.0)
    late_s = _late(trace, first)
    late_ah = sign * float(current[0]) * late_s / 3600
    capacity = sign * charge / 3600
    from_start = late_ah > LEAST_START_SHARE * max(capacity, 1e-12)
    return Step(
        number=number,
        first=first,
        last=last,
        flow=flow,
        control=_control(flow, current, voltage),
        start_s=float(trace.time[first]) - late_s,
        end_s=float(trace.time[last]),
        capacity_ah=capacity + (late_ah if from_start else 0.0),
        energy_wh=sign * energy / 3600 + (late_ah * float(voltage[0]) if from_start else 0.0),
        late_ah=max(late_ah, 0.0),
        from_start=from_start,
        mean_current_a=mean,
        last_current_a=float(current[-1]),
        first_voltage_v=float(voltage[0]),
        last_voltage_v=float(voltage[-1]),
        hottest_degc=_hottest(trace, rows),
    )


def _hottest(trace: Trace, rows: slice) -> float | None:
    degrees = trace.maybe(Role.TEMPERATURE)
    hottest = float("nan") if degrees is None else float(np.fmax.reduce(degrees[rows]))
    return hottest if np.isfinite(hottest) else None


def _late(trace: Trace, first: int) -> float:
    """How long after the start of its step the first row comes [s], never reaching before the row above."""
    if not trace.has(Role.STEP_TIME):
        return 0.0
    late = float(trace.floats(Role.STEP_TIME)[first])
    if not np.isfinite(late) or late <= 0:
        return 0.0
    room = float(trace.time[first] - trace.time[first - 1]) if first else late
    return min(late, room)


def _flow(mean: float, band: float) -> Flow:
    if abs(mean) <= band:
        return Flow.REST
    return Flow.CHARGE if mean > 0 else Flow.DISCHARGE


def _control(flow: Flow, current: Floats, voltage: Floats) -> Control:
    if flow is Flow.REST:
        return Control.REST
    high, low = float(current.max()), float(current.min())
    largest = max(abs(high), abs(low))
    if high - low <= STEADY_CURRENT * largest:
        return Control.CURRENT
    size = np.abs(current)
    steady = np.abs(size - np.median(size)) <= STEADY_CURRENT * largest
    if steady.mean() >= 0.9:
        return Control.CURRENT
    held = np.abs(voltage - float(voltage[-1])) <= STEADY_VOLTAGE
    if held.mean() >= 0.9:
        return Control.VOLTAGE
    top = np.abs(size - largest) <= STEADY_CURRENT * largest
    return Control.CURRENT_VOLTAGE if (top | held).mean() >= 0.9 else Control.OTHER
