"""The tester's own counters, clocks and numbers beside what the series says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from packs.traces.columns import Role
from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Floats, Trace
from packs.traces.sign import Flow
from packs.traces.steps import Step

# A counter that falls by less than this is rounding [Ah], [Wh].
ROUNDING = 1e-6
# Apart by more than this, one of the two is wrong.
AGREES = 0.01
LEAST_AH = 0.001
SLIP = 0.05
CLOCK_AGREES = 0.005
CLOCK_FLOOR_S = 120.0


@dataclass(frozen=True)
class Agreement:
    """Charge or energy of one step beside the tester's counter.

    Attributes
    ----------
    step : int
        Number of the step.
    quantity : str
        ``Ah`` or ``Wh``.
    ours, tester : float
        [Ah] or [Wh]; ``tester`` is NaN where its counter started again within the step.
    resolution : float
        Smallest change of the counter in the step [Ah] or [Wh].
    """

    step: int
    quantity: str
    ours: float
    tester: float
    resolution: float

    @property
    def apart(self) -> float:
        """Difference as a share of the tester's."""
        return self.ours / self.tester - 1 if self.tester else float("nan")


def agreements(trace: Trace, steps: Sequence[Step]) -> tuple[tuple[Agreement, ...], tuple[Remark, ...]]:
    """Compare every step in which something flowed with the tester's counters.

    Charge [Ah], energy [Wh].

    Raises
    ------
    TraceRefused
        The counters are a thousand times the integrated current, or a thousandth of it.

    References
    ----------
    Battery Data Format: a counter of a step starts again with it; the tolerance is common practice, no source.
    """
    found: list[Agreement] = []
    remarks: list[Remark] = []
    for step in steps:
        if step.flow is Flow.REST or step.capacity_ah < LEAST_AH:
            continue
        for quantity, ours, counter in _pairs(trace, step):
            tester, restart = _counted(counter, step)
            if restart is not None:
                remarks.append(_reset(step, restart, quantity))
            found.append(Agreement(step.number, quantity, ours, tester, _resolution(counter[step.rows])))
    remarks.extend(_apart(found))
    return tuple(found), tuple(remarks)


def _pairs(trace: Trace, step: Step) -> Iterator[tuple[str, float, Floats]]:
    charging = step.flow is Flow.CHARGE
    for quantity, ours, own, shared in (
        ("Ah", step.capacity_ah, Role.CHARGE_CAPACITY if charging else Role.DISCHARGE_CAPACITY, Role.CAPACITY),
        ("Wh", step.energy_wh, Role.CHARGE_ENERGY if charging else Role.DISCHARGE_ENERGY, Role.ENERGY),
    ):
        role = own if trace.has(own) else shared
        if trace.has(role):
            yield quantity, ours, np.abs(trace.floats(role))


def _resolution(counter: Floats) -> float:
    moves = np.diff(counter)
    return float(np.min(moves, where=moves > ROUNDING, initial=np.inf))


def _counted(counter: Floats, step: Step) -> tuple[float, int | None]:
    """What the counter gained over a step, and the row where it started again within it."""
    inside = counter[step.rows]
    falls = np.flatnonzero(np.diff(inside) < -max(ROUNDING, 1e-4 * float(np.nanmax(inside, initial=0.0))))
    if len(falls):
        return float("nan"), step.first + int(falls[0]) + 1
    before = float(counter[step.first - 1]) if step.first else 0.0
    # A counter that starts again with the step, or stands for the other direction, begins at zero.
    kept = before if np.isfinite(before) and before <= inside[0] + ROUNDING else 0.0
    if kept and inside[0] - kept > 0.5 * (inside[-1] - kept):
        kept = 0.0
    return float(inside[-1]) - kept, None


def _reset(step: Step, row: int, quantity: str) -> Remark:
    detail = f"the counter of {quantity} in step {step.number}, at row {row + 1}; it was not used"
    return Remark(Problem.COUNTER_RESETS, Verdict.WARNED, detail, (row + 1, row + 1), 1)


def _apart(found: Sequence[Agreement]) -> Iterator[Remark]:
    for quantity in ("Ah", "Wh"):
        known = [each for each in found if each.quantity == quantity and np.isfinite(each.tester) and each.tester > 0]
        if not known:
            continue
        ratio = float(np.median([each.ours / each.tester for each in known]))
        if ratio > 0 and min(abs(ratio / 1000 - 1), abs(ratio * 1000 - 1)) < SLIP:
            raise TraceRefused(
                Problem.CURRENT_UNIT_SLIP, f"the current gives {ratio:.4g} times the {quantity} that the tester counted"
            )
        worst = max(known, key=lambda each: abs(each.apart))
        if abs(worst.apart) > AGREES and abs(worst.ours - worst.tester) > worst.resolution:
            detail = f"{worst.ours:.4f} {quantity} from the current, {worst.tester:.4f} {quantity} by the tester, step {worst.step}"
            yield Remark(Problem.COUNTER_DISAGREES, Verdict.WARNED, detail, None, len(known))


def check_counts(trace: Trace) -> Iterator[Remark]:
    """Report cycle and step counts that are not whole numbers which only grow.

    References
    ----------
    Battery Data Format, rules of cycle_count and step_count.
    """
    if trace.has(Role.CYCLE):
        cycles = trace.floats(Role.CYCLE)
        known = cycles[np.isfinite(cycles)]
        odd = known[(known != np.floor(known)) | (known < 0)]
        if len(odd):
            yield Remark(Problem.CYCLE_COUNT, Verdict.WARNED, f"{odd[0]:g}; it is kept as it stands", None, len(odd))
        elif (np.diff(known) < 0).any():
            yield Remark(Problem.CYCLE_COUNT, Verdict.WARNED, "it falls", None, int((np.diff(known) < 0).sum()))
    if trace.has(Role.STEP_COUNT):
        change = np.diff(trace.floats(Role.STEP_COUNT))
        wrong = np.flatnonzero(~np.isin(change, (0.0, 1.0)))
        if len(wrong):
            detail = f"first at row {int(wrong[0]) + 2}"
            yield Remark(Problem.STEP_COUNT, Verdict.WARNED, detail, None, len(wrong))


def check_clocks(trace: Trace) -> Iterator[Remark]:
    """Compare elapsed time with clock time and with the time within the steps.

    Raises
    ------
    TraceRefused
        They differ by a factor of 1000.

    References
    ----------
    Battery Data Format: test time agrees with clock time; the tolerance is common practice, no source.
    """
    if trace.has(Role.CLOCK):
        clock = trace.floats(Role.CLOCK)
        passed = float(np.nanmax(clock) - np.nanmin(clock)) if np.isfinite(clock).any() else 0.0
        yield from _compare(float(trace.time[-1] - trace.time[0]), passed, "clock time")
    if trace.has(Role.STEP_TIME):
        within = np.diff(trace.floats(Role.STEP_TIME))
        same = within > 0
        if same.any():
            yield from _compare(float(np.diff(trace.time)[same].sum()), float(within[same].sum()), "time within steps")


def _compare(elapsed: float, other: float, name: str) -> Iterator[Remark]:
    if elapsed <= 0 or other <= 0:
        return
    ratio = elapsed / other
    if min(abs(ratio / 1000 - 1), abs(ratio * 1000 - 1)) < SLIP:
        raise TraceRefused(Problem.TIME_UNIT, f"{elapsed:g} s elapsed, {other:g} s of {name}")
    if abs(elapsed - other) > max(CLOCK_FLOOR_S, CLOCK_AGREES * other):
        yield Remark(Problem.CLOCKS_DISAGREE, Verdict.WARNED, f"{elapsed:g} s elapsed, {other:g} s of {name}")
