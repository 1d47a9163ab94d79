"""Rest voltage with its rest time, and self-discharge where a rest is long enough to show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs.traces.capacity import mean_temperature
from packs.traces.resistance import rest_before
from packs.traces.series import Floats, Trace
from packs.traces.sign import Flow
from packs.traces.steps import Step
from packs.traces.withheld import Reason, Withheld
from packs.units import Quantity, ureg

DAY_S = 86400.0
HOUR_S = 3600.0
# What a rest needs before it says anything of self-discharge: relaxation first, then time to fall (invented, on the
# careful side of "needs relaxation and weeks" in trade articles on self-discharge measurement).
RELAXED_S = 24 * HOUR_S
LEAST_S = 12 * HOUR_S
LEAST_ROWS = 20
# A later half this much slower than the earlier one is still relaxing.
STILL_FALLING = 2.0
SHORTEST_REST_S = 1.0


@dataclass(frozen=True)
class RestVoltage:
    """Voltage at the end of a rest.

    Attributes
    ----------
    voltage : Quantity
        [V]
    rest_seconds : float
        How long no current had flowed [s].
    after : Flow or None
        What flowed before the rest; ``None`` where the file begins with it.
    """

    step: int
    voltage: Quantity
    rest_seconds: float
    after: Flow | None
    temperature: Quantity | None


@dataclass(frozen=True)
class SelfDischarge:
    """Slope of the voltage in a long rest.

    Attributes
    ----------
    slope, uncertainty : Quantity
        Change of the rest voltage and its expanded uncertainty (k = 2) [V/day]; a falling voltage is negative.
    from_seconds, to_seconds : float
        Part of the rest that was used, from its start [s].
    rest_voltage : Quantity
        Voltage at the end [V].
    """

    step: int
    slope: Quantity
    uncertainty: Quantity
    from_seconds: float
    to_seconds: float
    rest_voltage: Quantity
    temperature: Quantity | None


def rest_voltages(trace: Trace, steps: Sequence[Step]) -> tuple[RestVoltage, ...]:
    """Return the voltage at the end of every rest, the rests of one pause told once.

    Voltages [V], times [s].

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    found = []
    for place, step in enumerate(steps):
        ends = place + 1 == len(steps) or steps[place + 1].flow is not Flow.REST
        seconds = rest_before(steps, place + 1) if step.flow is Flow.REST else 0.0
        if step.flow is Flow.REST and ends and seconds >= SHORTEST_REST_S and not step.doubts:
            before = [each.flow for each in steps[:place] if each.flow is not Flow.REST]
            found.append(
                RestVoltage(
                    step.number,
                    ureg.Quantity(step.last_voltage_v, "V"),
                    seconds,
                    before[-1] if before else None,
                    mean_temperature(trace, step.last, step.last),
                )
            )
    return tuple(found)


def self_discharges(trace: Trace, steps: Sequence[Step]) -> tuple[tuple[SelfDischarge, ...], tuple[Withheld, ...]]:
    """Fit the voltage of each long rest, its first day left out.

    Slope [V/day].

    Each rest of the program stands for itself: a rest of another program beside it may start at another voltage.
    Rests under an hour are not mentioned.

    References
    ----------
    Derived here. Least squares of voltage over time. The uncertainty is twice the root of the sum of squares of: the standard error
    with the residuals' correlation, half the difference of the slopes of the two halves over root 3, and the
    resolution of the voltage over the length (rectangular).
    """
    found: list[SelfDischarge] = []
    withheld: list[Withheld] = []
    for step in steps:
        if step.flow is not Flow.REST or step.seconds < HOUR_S:
            continue
        read = _slope(trace, step)
        if isinstance(read, Reason):
            detail = f"{step.seconds / HOUR_S:.1f} h" if read is Reason.REST_SHORT else ""
            withheld.append(Withheld(read, "Self-discharge", step.number, detail))
        else:
            found.append(read)
    return tuple(found), tuple(withheld)


def _slope(trace: Trace, step: Step) -> SelfDischarge | Reason:
    if step.doubts:
        return Reason.ROWS_DOUBTED
    since = trace.time[step.rows] - step.start_s
    late = since >= RELAXED_S
    # A rest of 36 h that ends a row early is one of 36 h.
    if step.seconds < (RELAXED_S + LEAST_S) * 0.999 or late.sum() < LEAST_ROWS:
        return Reason.REST_SHORT
    days, volts = since[late] / DAY_S, trace.voltage[step.rows][late]
    slope = _fitted(days, volts)
    halves = _halves(days, volts)
    uncertainty = _uncertainty(days, volts, slope, halves)
    if slope > uncertainty:
        return Reason.VOLTAGE_RISES
    if halves[0] < 0 and halves[0] < STILL_FALLING * min(halves[1], 0.0) - uncertainty:
        return Reason.STILL_RELAXING
    return SelfDischarge(
        step.number,
        ureg.Quantity(slope, "V/day"),
        ureg.Quantity(uncertainty, "V/day"),
        float(since[late][0]),
        float(since[-1]),
        ureg.Quantity(step.last_voltage_v, "V"),
        mean_temperature(trace, step.first, step.last),
    )


def _fitted(days: Floats, volts: Floats) -> float:
    centred = days - days.mean()
    return float((centred * (volts - volts.mean())).sum() / (centred**2).sum())


def _halves(days: Floats, volts: Floats) -> tuple[float, float]:
    middle = days <= (days[0] + days[-1]) / 2
    return _fitted(days[middle], volts[middle]), _fitted(days[~middle], volts[~middle])


def _uncertainty(days: Floats, volts: Floats, slope: float, halves: tuple[float, float]) -> float:
    centred = days - days.mean()
    rest = volts - volts.mean() - slope * centred
    error = float(np.sqrt((rest**2).sum() / max(len(rest) - 2, 1) / (centred**2).sum()))
    together = float((rest[1:] * rest[:-1]).sum() / (rest**2).sum()) if (rest**2).sum() > 0 else 0.0
    together = min(max(together, 0.0), 0.99)
    error *= float(np.sqrt((1 + together) / (1 - together)))
    drift = abs(halves[0] - halves[1]) / 2 / np.sqrt(3)
    moves = np.abs(np.diff(np.unique(volts)))
    resolution = float(moves.min()) if len(moves) else 0.0
    coarse = resolution / float(days[-1] - days[0]) / np.sqrt(12)
    return float(2 * np.sqrt(error**2 + drift**2 + coarse**2))
