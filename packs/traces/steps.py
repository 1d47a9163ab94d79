"""Steps of a test: where they begin, what they are, and what flowed in each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from packs.traces.columns import Role
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

    A step begins where the tester says so: step number, kind of step, or time within the step starting again.
    Where it says nothing, or holds charge and discharge in one step, the current decides.
    """
    said = _said(trace)
    if said is None:
        return _starts(_by_current(trace))
    starts = _starts(said)
    states = _states(trace)
    high, low = np.maximum.reduceat(states, starts), np.minimum.reduceat(states, starts)
    mixed = np.flatnonzero((high > 0) & (low < 0))
    if not len(mixed):
        return starts
    ends = np.append(starts[1:], len(states))
    change = _by_current(trace)
    inside = [starts[k] + 1 + np.flatnonzero(change[starts[k] : ends[k] - 1]) for k in mixed]
    return np.unique(np.concatenate([starts, *inside]))


def _starts(change: NDArray[np.bool_]) -> NDArray[np.intp]:
    return np.concatenate([[0], np.flatnonzero(change) + 1]).astype(np.intp)


def _said(trace: Trace) -> NDArray[np.bool_] | None:
    """Between which rows the tester begins a step; ``None`` where it never does."""
    import polars as pl

    change = np.zeros(len(trace) - 1, dtype=np.bool_)
    for role in (Role.STEP_COUNT, Role.STEP_ID, Role.STEP_TYPE):
        if trace.has(role):
            series = trace.frame[role.value]
            coded = series.cast(pl.Categorical).to_physical() if series.dtype == pl.String else series
            change |= np.diff(coded.fill_null(0).to_numpy()) != 0
    if trace.has(Role.STEP_TIME):
        change |= np.diff(trace.floats(Role.STEP_TIME)) < -1e-6
    return change if change.any() else None


def _states(trace: Trace) -> NDArray[np.int8]:
    current, band = trace.current, DEAD_BAND * trace.largest_current
    return (current > band).astype(np.int8) - (current < -band).astype(np.int8)


def _by_current(trace: Trace) -> NDArray[np.bool_]:
    states = _states(trace)
    change = states[1:] != states[:-1]
    size = np.abs(trace.current)
    # Within one direction a level changes by half of the larger where one is twice the other.
    jump = (size[1:] > size[:-1] / LEVEL_CHANGE) | (size[:-1] > size[1:] / LEVEL_CHANGE)
    # In the first rows after a start the tester is still bringing the current up: no other step.
    jump[1:] &= ~change[:-1]
    jump[2:] &= ~change[:-2]
    return change | (jump & (states[1:] != 0))


def steps_of(trace: Trace) -> tuple[Step, ...]:
    """Cut a series into its steps and integrate each by the trapezoid rule over its own rows.

    Where the time within the step shows that the first row comes late, the first interval is added at the current of
    that row, if it holds a thousandth of the step's charge or more; otherwise what is missing is stated in ``late_ah``.

    References
    ----------
    Charge and energy: Q = ∫ I dt, W = ∫ V I dt, trapezoid rule, 64-bit.
    """
    starts = boundaries(trace)
    sums = _sums(trace, starts)
    ends = np.append(starts[1:], len(trace)) - 1
    return tuple(_step(trace, number, sums, int(ends[number])) for number in range(len(starts)))


@dataclass(frozen=True)
class _Sums:
    starts: NDArray[np.intp]
    charge_as: Floats
    energy_ws: Floats
    mean: Floats
    low_i: Floats
    high_i: Floats
    low_v: Floats
    high_v: Floats
    hottest: Floats | None
    band_a: float


def _sums(trace: Trace, starts: NDArray[np.intp]) -> _Sums:
    time, current, voltage = trace.time, trace.current, trace.voltage
    interval = trace.changes(Role.TIME).copy()
    interval[starts[1:] - 1] = 0.0
    charge = interval * (current[1:] + current[:-1])
    power = current * voltage
    energy = interval * (power[1:] + power[:-1])
    counts = np.diff(np.append(starts, len(time)))
    at = np.minimum(starts, len(charge) - 1)
    one = counts == 1
    degrees = trace.maybe(Role.TEMPERATURE)
    return _Sums(
        starts,
        np.where(one, 0.0, np.add.reduceat(charge, at) / 2),
        np.where(one, 0.0, np.add.reduceat(energy, at) / 2),
        np.add.reduceat(current, starts) / counts,
        np.minimum.reduceat(current, starts),
        np.maximum.reduceat(current, starts),
        np.minimum.reduceat(voltage, starts),
        np.maximum.reduceat(voltage, starts),
        None if degrees is None else np.fmax.reduceat(degrees, starts),
        DEAD_BAND * trace.largest_current,
    )


def _step(trace: Trace, number: int, sums: _Sums, last: int) -> Step:
    first = int(sums.starts[number])
    rows = slice(first, last + 1)
    current = trace.current[rows]
    flow = _flow(number, sums)
    sign = {Flow.CHARGE: 1.0, Flow.DISCHARGE: -1.0, Flow.REST: 0.0}[flow]
    late_s = _late(trace, first)
    late_ah = sign * float(current[0]) * late_s / 3600
    capacity = sign * float(sums.charge_as[number]) / 3600
    from_start = late_ah > LEAST_START_SHARE * max(capacity, 1e-12)
    late_wh = late_ah * float(trace.voltage[first])
    hottest = None if sums.hottest is None else float(sums.hottest[number])
    return Step(
        number=number + 1,
        first=first,
        last=last,
        flow=flow,
        control=_control(trace, flow, rows, number, sums),
        start_s=float(trace.time[first]) - late_s,
        end_s=float(trace.time[last]),
        capacity_ah=capacity + (late_ah if from_start else 0.0),
        energy_wh=sign * float(sums.energy_ws[number]) / 3600 + (late_wh if from_start else 0.0),
        late_ah=max(late_ah, 0.0),
        from_start=from_start,
        mean_current_a=float(sums.mean[number]),
        last_current_a=float(current[-1]),
        first_voltage_v=float(trace.voltage[first]),
        last_voltage_v=float(trace.voltage[last]),
        hottest_degc=hottest if hottest is not None and np.isfinite(hottest) else None,
    )


def _late(trace: Trace, first: int) -> float:
    """How long after the start of its step the first row comes [s], never reaching before the row above."""
    if not trace.has(Role.STEP_TIME):
        return 0.0
    late = float(trace.floats(Role.STEP_TIME)[first])
    if not np.isfinite(late) or late <= 0:
        return 0.0
    room = float(trace.time[first] - trace.time[first - 1]) if first else late
    return min(late, room)


def _flow(number: int, sums: _Sums) -> Flow:
    mean = float(sums.mean[number])
    if abs(mean) <= sums.band_a:
        return Flow.REST
    return Flow.CHARGE if mean > 0 else Flow.DISCHARGE


def _control(trace: Trace, flow: Flow, rows: slice, number: int, sums: _Sums) -> Control:
    if flow is Flow.REST:
        return Control.REST
    span = float(sums.high_i[number] - sums.low_i[number])
    largest = max(abs(float(sums.high_i[number])), abs(float(sums.low_i[number])))
    if span <= STEADY_CURRENT * largest:
        return Control.CURRENT
    size = np.abs(trace.current[rows])
    steady = np.abs(size - np.median(size)) <= STEADY_CURRENT * largest
    if steady.mean() >= 0.9:
        return Control.CURRENT
    held = np.abs(trace.voltage[rows] - float(trace.voltage[rows][-1])) <= STEADY_VOLTAGE
    if held.mean() >= 0.9:
        return Control.VOLTAGE
    top = np.abs(size - largest) <= STEADY_CURRENT * largest
    return Control.CURRENT_VOLTAGE if (top | held).mean() >= 0.9 else Control.OTHER
