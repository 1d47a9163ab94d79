"""DC resistance from the steps of a test: pulses after rest, and two currents one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs.traces.capacity import mean_temperature
from packs.traces.columns import Role
from packs.traces.series import Floats, Trace
from packs.traces.sign import Flow
from packs.traces.steps import Control, Step
from packs.traces.withheld import Reason, Withheld
from packs.units import Quantity, ureg

READ_OUTS = (0.5, 1.0, 10.0, 30.0)
# Up to here a tester may still be bringing the current up [s], or for this share of the read-out.
RISE_S = 0.3
RISE_SHARE = 0.1
STEADY = 0.02
# Rows around the read-out may lie this share of it apart; a row within this share of it stands for it.
APART_SHARE = 0.3
ON_IT_SHARE = 0.02
START_SHARE = 0.1
# IEC 61960-3: 0.2 It for 10 s, then 1.0 It for 1 s. A first step that lasts longer is still steady; so long, ours.
FIRST_RANGE_S, SECOND_S = (9.5, 60.0), 1.0
CURRENT_RATIO = (4.0, 6.0)


@dataclass(frozen=True)
class PulseResistance:
    """DC resistance at one moment after the onset of a current.

    Attributes
    ----------
    seconds : float
        Time from the onset to the read-out [s].
    resistance : Quantity
        (V − V before) / I [Ω].
    current : Quantity
        Charge positive [A].
    rest_voltage : Quantity
        Voltage before the onset [V].
    rest_seconds : float
        How long no current had flowed before [s].
    soc : float or None
        State of charge, from 0 to 1; ``None`` where neither a full charge nor a capacity is known.
    removed : Quantity or None
        Charge taken out since full [Ah].
    temperature : Quantity or None
        Cell temperature up to the read-out [°C].
    """

    step: int
    seconds: float
    resistance: Quantity
    current: Quantity
    rest_voltage: Quantity
    rest_seconds: float
    soc: float | None
    removed: Quantity | None
    temperature: Quantity | None


@dataclass(frozen=True)
class TwoStepResistance:
    """DC resistance from two discharge currents one after the other.

    Attributes
    ----------
    resistance : Quantity
        (U1 − U2) / (I2 − I1) [Ω].
    first_current, second_current : Quantity
        Sizes of the currents [A].
    first_seconds, second_seconds : float
        How long each had flowed at its read-out [s].
    """

    step: int
    resistance: Quantity
    first_current: Quantity
    second_current: Quantity
    first_seconds: float
    second_seconds: float
    soc: float | None
    temperature: Quantity | None


class NoResistance(ValueError):
    """Two currents and voltages that give no resistance; ``reason`` says why."""

    def __init__(self, reason: Reason) -> None:
        self.reason = reason
        super().__init__(reason.label)


def two_step(first_a: float, first_v: float, second_a: float, second_v: float) -> float:
    """Return the DC resistance [Ω] from two discharge currents [A] and the voltages under them [V].

    R = (U1 − U2) / (I2 − I1)

    Raises
    ------
    NoResistance
        The second current is not larger, or its voltage not lower.

    References
    ----------
    IEC 61960-3:2017, 7.7.3 (as quoted elsewhere).

    Examples
    --------
    >>> f"{1000 * two_step(0.52, 3.652, 2.6, 3.560):.3f} mΩ"
    '44.231 mΩ'
    """
    if not second_a > first_a:
        raise NoResistance(Reason.SECOND_NOT_LARGER)
    if not second_v < first_v:
        raise NoResistance(Reason.VOLTAGE_NOT_LOWER)
    return (first_v - second_v) / (second_a - first_a)


@dataclass(frozen=True)
class States:
    """How much was taken out since full before each step [Ah], NaN before the first full charge; and the capacity."""

    removed_ah: Floats
    capacity_ah: float | None

    def soc(self, place: int) -> float | None:
        """Return the state of charge before a step, from 0 to 1."""
        removed = float(self.removed_ah[place])
        if self.capacity_ah is None or not np.isfinite(removed):
            return None
        return min(max(1 - removed / self.capacity_ah, 0.0), 1.0)


def pulse_resistances(
    trace: Trace, steps: Sequence[Step], states: States
) -> tuple[tuple[PulseResistance, ...], tuple[Withheld, ...]]:
    """Read every onset of a current after rest at 0.5, 1, 10 and 30 s.

    Resistance [Ω], currents [A], voltages [V], times [s].

    References
    ----------
    Ohm's law. R = |V before − V(t)| / |I|: the voltage before is the last of the rest, time counts from the start of the step.
    """
    found: list[PulseResistance] = []
    withheld: list[Withheld] = []
    for place, step in enumerate(steps):
        if place == 0 or step.flow is Flow.REST or steps[place - 1].flow is not Flow.REST:
            continue
        for seconds in READ_OUTS:
            read = _read_out(trace, steps[place - 1], step, seconds)
            if isinstance(read, Reason):
                detail = f"{step.seconds:g} s" if read is Reason.PULSE_SHORT else ", ".join(step.doubts)
                withheld.append(Withheld(read, f"DC resistance at {seconds:g} s", step.number, detail))
            else:
                found.append(_pulse(trace, steps, place, states, seconds, read))
    return tuple(found), tuple(withheld)


def _read_out(trace: Trace, rest: Step, step: Step, seconds: float) -> tuple[float, float] | Reason:
    """Resistance [Ω] and current [A] at one moment, or why not."""
    if step.seconds < seconds * (1 - ON_IT_SHARE):
        return Reason.PULSE_SHORT
    if step.doubts or rest.doubts:
        return Reason.ROWS_DOUBTED
    if not _starts_known(trace, step, seconds):
        return Reason.START_UNKNOWN
    at = min(seconds, step.seconds)
    rows = _beginning(trace, step, at)
    since, current = trace.time[rows] - step.start_s, trace.current[rows]
    if not _close(since, at):
        return Reason.ROWS_APART
    window = current[(since >= min(max(RISE_S, RISE_SHARE * at), 0.9 * at)) & (since <= at * (1 + ON_IT_SHARE))]
    now = float(np.interp(at, since, current)) if not len(window) else float(np.median(window))
    if now == 0.0 or (len(window) and float(np.ptp(window)) > 2 * STEADY * abs(now)):
        return Reason.CURRENT_NOT_STEADY
    resistance = (float(np.interp(at, since, trace.voltage[rows])) - rest.last_voltage_v) / now
    return (resistance, now) if resistance > 0 else Reason.WRONG_WAY


def _starts_known(trace: Trace, step: Step, seconds: float) -> bool:
    """Tell whether time within the step, or a row just above it, says when it began."""
    if trace.has(Role.STEP_TIME):
        return True
    return float(trace.time[step.first] - trace.time[step.first - 1]) <= START_SHARE * seconds


def _beginning(trace: Trace, step: Step, seconds: float) -> slice:
    """The rows of a step up to a moment and a few beyond it."""
    end = int(np.searchsorted(trace.time[step.rows], step.start_s + seconds * (1 + ON_IT_SHARE), side="right"))
    return slice(step.first, min(step.first + end + 2, step.last + 1))


def _close(since: Floats, at: float) -> bool:
    """Tell whether rows stand close enough around a moment to read between them."""
    after = int(np.searchsorted(since, at))
    if after < len(since) and abs(float(since[after]) - at) <= ON_IT_SHARE * at:
        return True
    if after and abs(float(since[after - 1]) - at) <= ON_IT_SHARE * at:
        return True
    return 0 < after < len(since) and float(since[after] - since[after - 1]) <= APART_SHARE * at


def _pulse(
    trace: Trace, steps: Sequence[Step], place: int, states: States, seconds: float, read: tuple[float, float]
) -> PulseResistance:
    step, rest = steps[place], steps[place - 1]
    removed = float(states.removed_ah[place])
    last = _beginning(trace, step, seconds).stop - 1
    return PulseResistance(
        step=step.number,
        seconds=seconds,
        resistance=ureg.Quantity(read[0], "ohm"),
        current=ureg.Quantity(read[1], "A"),
        rest_voltage=ureg.Quantity(rest.last_voltage_v, "V"),
        rest_seconds=rest_before(steps, place),
        soc=states.soc(place),
        removed=ureg.Quantity(removed, "Ah") if np.isfinite(removed) else None,
        temperature=mean_temperature(trace, step.first, min(last, step.last)),
    )


def rest_before(steps: Sequence[Step], place: int) -> float:
    """Return how long no current had flowed before a step [s]; rests one after the other count together.

    References
    ----------
    Arithmetic.
    """
    start = place
    while start and steps[start - 1].flow is Flow.REST:
        start -= 1
    return steps[place - 1].end_s - steps[start].start_s if start < place else 0.0


def two_step_resistances(
    trace: Trace, steps: Sequence[Step], states: States
) -> tuple[tuple[TwoStepResistance, ...], tuple[Withheld, ...]]:
    """Find 0.2 It for 10 s followed at once by 1.0 It, and read both.

    Resistance [Ω], currents [A], voltages [V], times [s].

    References
    ----------
    IEC 61960-3:2017, 7.7.3 (as quoted elsewhere): U1 after 10 s, U2 after 1 s of the second current.
    """
    found: list[TwoStepResistance] = []
    withheld: list[Withheld] = []
    for place in range(1, len(steps)):
        first, second = steps[place - 1], steps[place]
        if not _is_pair(first, second):
            continue
        read = _two(trace, first, second)
        if isinstance(read, Reason):
            withheld.append(Withheld(read, "DC resistance by two currents", second.number))
        else:
            found.append(_two_step(trace, steps, place, states, read))
    return tuple(found), tuple(withheld)


def _is_pair(first: Step, second: Step) -> bool:
    if first.flow is not Flow.DISCHARGE or second.flow is not Flow.DISCHARGE:
        return False
    ratio = second.mean_current_a / first.mean_current_a
    steady = first.control is Control.CURRENT and second.control is Control.CURRENT
    lasts = FIRST_RANGE_S[0] <= first.seconds <= FIRST_RANGE_S[1]
    return steady and lasts and CURRENT_RATIO[0] <= ratio <= CURRENT_RATIO[1]


def _two(trace: Trace, first: Step, second: Step) -> float | Reason:
    if first.doubts or second.doubts:
        return Reason.ROWS_DOUBTED
    if not _starts_known(trace, second, SECOND_S):
        return Reason.START_UNKNOWN
    if second.seconds < SECOND_S * (1 - ON_IT_SHARE):
        return Reason.PULSE_SHORT
    rows = _beginning(trace, second, SECOND_S)
    since = trace.time[rows] - second.start_s
    if not _close(since, SECOND_S):
        return Reason.ROWS_APART
    under = float(np.interp(SECOND_S, since, trace.voltage[rows]))
    try:
        return two_step(-first.mean_current_a, first.last_voltage_v, -second.mean_current_a, under)
    except NoResistance as refused:
        return refused.reason


def _two_step(trace: Trace, steps: Sequence[Step], place: int, states: States, ohm: float) -> TwoStepResistance:
    first, second = steps[place - 1], steps[place]
    return TwoStepResistance(
        step=second.number,
        resistance=ureg.Quantity(ohm, "ohm"),
        first_current=ureg.Quantity(-first.mean_current_a, "A"),
        second_current=ureg.Quantity(-second.mean_current_a, "A"),
        first_seconds=first.seconds,
        second_seconds=SECOND_S,
        soc=states.soc(place - 1),
        temperature=mean_temperature(trace, first.first, second.last),
    )
