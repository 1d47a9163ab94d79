"""A capacity test recognised as such: from full, at which rate, to which voltage, at which temperature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs.traces.columns import Role
from packs.traces.expected import Expected
from packs.traces.series import Trace
from packs.traces.sign import Flow
from packs.traces.steps import Control, Step
from packs.traces.withheld import Reason, Withheld
from packs.units import Quantity, ureg

# A charge counts as full within this of the charge limit [V] ...
FULL_VOLTAGE = 0.03
# ... when its current has fallen to this share of its largest, or to this many times the capacity per hour.
FULL_TAPER = 0.5
# A rested cell within this of the charge limit counts as full too [V].
FULL_RESTED = 0.05
CUT_OFF = 0.02
# A discharge shorter than this is a pulse, not a test of capacity [s].
SHORTEST = 600.0
USUAL_CUT_OFF = 3.3


@dataclass(frozen=True)
class CapacityTest:
    """One discharge from full to its end.

    Attributes
    ----------
    capacity, energy : Quantity
        [Ah], [Wh].
    current : Quantity
        Mean discharge current [A].
    rate : float or None
        Current over rated capacity [1/h]; ``None`` where the rated capacity is not known.
    cut_off, charged_to : Quantity
        Voltage at the end of the discharge, and of the charge before it [V].
    temperature : Quantity or None
        Mean cell temperature during the discharge [°C]; ``None`` where the file has none.
    hottest : Quantity or None
        Highest cell temperature during the discharge [°C].
    late_share : float
        Share of the charge that lies before the first row and is not counted.
    """

    step: int
    capacity: Quantity
    energy: Quantity
    current: Quantity
    rate: float | None
    cut_off: Quantity
    charged_to: Quantity
    temperature: Quantity | None
    hottest: Quantity | None
    late_share: float


def capacity_tests(
    trace: Trace, steps: Sequence[Step], expected: Expected
) -> tuple[tuple[CapacityTest, ...], tuple[Withheld, ...]]:
    """Recognise the discharges that measure capacity, and say why the others do not.

    Capacity [Ah], energy [Wh], currents [A], voltages [V].

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    tests: list[CapacityTest] = []
    withheld: list[Withheld] = []
    limits = _limits(trace, steps, expected)
    for place, step in enumerate(steps):
        if step.flow is not Flow.DISCHARGE or step.seconds < SHORTEST:
            continue
        charged_to = _full_before(steps, place, limits[0])
        reason = _reason(step, charged_to, limits[1])
        if reason is not None or charged_to is None:
            detail = ", ".join(step.doubts)
            withheld.append(Withheld(reason or Reason.NOT_FROM_FULL, "Capacity", step.number, detail))
        else:
            tests.append(_test(trace, step, charged_to, expected))
    return tuple(tests), tuple(withheld)


def _limits(trace: Trace, steps: Sequence[Step], expected: Expected) -> tuple[float, float]:
    """Charge limit and end of discharge: of the cell where known, else the outermost the test went to.

    Without a data sheet a lowest voltage above ``USUAL_CUT_OFF`` is no end of discharge of any lithium-ion cell.
    """
    high = expected.charge_limit_v
    if high is None:
        charges = [step.last_voltage_v for step in steps if step.flow is Flow.CHARGE]
        high = max(charges, default=float(trace.voltage.max()))
    low = expected.end_of_discharge_v
    if low is None:
        low = min((step.last_voltage_v for step in steps if step.flow is Flow.DISCHARGE), default=0.0)
        low = min(low, USUAL_CUT_OFF)
    return high, low


def _reason(step: Step, charged_to: float | None, low: float) -> Reason | None:
    if step.doubts:
        return Reason.ROWS_DOUBTED
    if charged_to is None:
        return Reason.NOT_FROM_FULL
    if step.last_voltage_v > low + CUT_OFF:
        return Reason.NOT_TO_CUT_OFF
    return None if step.control is Control.CURRENT else Reason.CURRENT_NOT_STEADY


def _full_before(steps: Sequence[Step], place: int, limit: float) -> float | None:
    """The voltage the cell was charged to before this discharge, nothing but rests lying between."""
    for before in reversed(steps[:place]):
        if before.flow is Flow.REST:
            continue
        if before.flow is Flow.DISCHARGE:
            return None
        held = before.control in (Control.VOLTAGE, Control.CURRENT_VOLTAGE, Control.OTHER)
        tapered = abs(before.last_current_a) <= FULL_TAPER * _largest(steps)
        full = before.last_voltage_v >= limit - FULL_VOLTAGE and (held or tapered)
        return before.last_voltage_v if full else None
    rested = steps[place - 1].last_voltage_v if place else steps[0].first_voltage_v
    return rested if place and rested >= limit - FULL_RESTED else None


def _largest(steps: Sequence[Step]) -> float:
    return max(abs(each.mean_current_a) for each in steps if each.flow is Flow.CHARGE)


def _test(trace: Trace, step: Step, charged_to: float, expected: Expected) -> CapacityTest:
    current = abs(step.mean_current_a)
    return CapacityTest(
        step=step.number,
        capacity=ureg.Quantity(step.capacity_ah, "Ah"),
        energy=ureg.Quantity(step.energy_wh, "Wh"),
        current=ureg.Quantity(current, "A"),
        rate=current / expected.rated_ah if expected.rated_ah else None,
        cut_off=ureg.Quantity(step.last_voltage_v, "V"),
        charged_to=ureg.Quantity(charged_to, "V"),
        temperature=mean_temperature(trace, step.first, step.last),
        hottest=None if step.hottest_degc is None else ureg.Quantity(step.hottest_degc, "degC"),
        late_share=0.0 if step.from_start else step.late_ah / step.capacity_ah,
    )


def mean_temperature(trace: Trace, first: int, last: int) -> Quantity | None:
    """Return the mean cell temperature over rows [°C], or nothing where the file has none.

    References
    ----------
    Arithmetic.
    """
    degrees = trace.maybe(Role.TEMPERATURE)
    if degrees is None:
        return None
    known = degrees[first : last + 1]
    known = known[np.isfinite(known)]
    return ureg.Quantity(float(known.mean()), "degC") if len(known) else None
