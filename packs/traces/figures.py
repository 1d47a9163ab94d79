"""Everything a series gives: steps, capacity, resistance, rest, temperature, and how far the tester agrees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs.traces.capacity import CapacityTest, capacity_tests
from packs.traces.columns import Role
from packs.traces.counters import Agreement, agreements
from packs.traces.doubts import doubted
from packs.traces.expected import Expected, check_expected
from packs.traces.problems import Remark
from packs.traces.resistance import (
    PulseResistance,
    States,
    TwoStepResistance,
    pulse_resistances,
    two_step_resistances,
)
from packs.traces.rest import RestVoltage, SelfDischarge, rest_voltages, self_discharges
from packs.traces.series import Floats, Trace
from packs.traces.sign import Flow
from packs.traces.steps import Control, Step, steps_of
from packs.traces.withheld import Withheld
from packs.units import Quantity, ureg

MOST_REPORTED = 200


@dataclass(frozen=True)
class TesterResistance:
    """A resistance the tester reported itself, kept apart from what is computed from pulses.

    Attributes
    ----------
    resistance : Quantity
        [Ω]
    row : int
        First row, from 1, that shows it; testers repeat the last value.
    one_kilohertz : bool
        The file says it is the resistance at 1 kHz; otherwise its method is not stated.
    """

    resistance: Quantity
    row: int
    one_kilohertz: bool


@dataclass(frozen=True)
class Figures:
    """What one tester file gives.

    Attributes
    ----------
    remarks : tuple of Remark
        Everything found in the file, its repairs among them; they stay with each figure for ever.
    withheld : tuple of Withheld
        Figures that are not given, each with its reason.
    """

    steps: tuple[Step, ...]
    capacity_tests: tuple[CapacityTest, ...]
    pulses: tuple[PulseResistance, ...]
    two_steps: tuple[TwoStepResistance, ...]
    tester_resistances: tuple[TesterResistance, ...]
    rest_voltages: tuple[RestVoltage, ...]
    self_discharges: tuple[SelfDischarge, ...]
    hottest: Quantity | None
    agreements: tuple[Agreement, ...]
    remarks: tuple[Remark, ...]
    withheld: tuple[Withheld, ...]


def figures(trace: Trace, expected: Expected | None = None) -> Figures:
    """Compute what a series gives, and withhold what it does not.

    Series: time [s], current [A], voltage [V].

    Parameters
    ----------
    trace : Trace
        As ``read`` returns it.
    expected : Expected or None
        What is known of the cell; more is recognised, and more is checked, with it.

    Raises
    ------
    TraceRefused
        The current contradicts the tester's counters or the size of the cell by a factor of 1000.

    References
    ----------
    Ohm's law and arithmetic, as the functions it calls say.
    """
    expected = expected or Expected()
    known = tuple(check_expected(trace, expected))
    steps, found = doubted(trace, steps_of(trace))
    agreed, counted = agreements(trace, steps)
    tests, no_capacity = capacity_tests(trace, steps, expected)
    states = _states(steps, tests, expected)
    pulses, no_pulse = pulse_resistances(trace, steps, states)
    twos, no_two = two_step_resistances(trace, steps, states)
    slopes, no_slope = self_discharges(trace, steps)
    return Figures(
        steps=steps,
        capacity_tests=tests,
        pulses=pulses,
        two_steps=twos,
        tester_resistances=_reported(trace),
        rest_voltages=rest_voltages(trace, steps),
        self_discharges=slopes,
        hottest=_hottest(steps),
        agreements=agreed,
        remarks=(*trace.remarks, *known, *found, *counted),
        withheld=(*no_capacity, *no_pulse, *no_two, *no_slope),
    )


def _states(steps: Sequence[Step], tests: Sequence[CapacityTest], expected: Expected) -> States:
    """Charge taken out since the last full charge, before each step."""
    removed: Floats = np.full(len(steps) + 1, np.nan)
    highest = max((step.last_voltage_v for step in steps if step.flow is Flow.CHARGE), default=np.inf)
    limit = expected.charge_limit_v or highest
    for place, step in enumerate(steps):
        removed[place + 1] = removed[place] - step.signed_ah if step.flow is not Flow.REST else removed[place]
        if step.flow is Flow.CHARGE and _fills(step, limit):
            removed[place + 1] = 0.0
    measured = [float(test.capacity.to("Ah").magnitude) for test in tests]
    capacity = measured[0] if measured else expected.rated_ah
    return States(removed, capacity)


# A charge that brings a cell to full: at the limit, for longer than a pulse, its current tapered at the end.
_FULL_V, _FULL_S, _FULL_TAPER = 0.03, 300.0, 0.5


def _fills(step: Step, limit: float) -> bool:
    held = step.control in (Control.VOLTAGE, Control.CURRENT_VOLTAGE, Control.OTHER)
    tapered = abs(step.last_current_a) <= _FULL_TAPER * abs(step.mean_current_a)
    return step.last_voltage_v >= limit - _FULL_V and step.seconds >= _FULL_S and (held or tapered)


def _hottest(steps: Sequence[Step]) -> Quantity | None:
    degrees = [step.hottest_degc for step in steps if step.hottest_degc is not None]
    return ureg.Quantity(max(degrees), "degC") if degrees else None


def _reported(trace: Trace) -> tuple[TesterResistance, ...]:
    """Each value the tester reported, once."""
    found = []
    for role in (Role.AC_RESISTANCE, Role.TESTER_RESISTANCE):
        values = trace.maybe(role)
        if values is None:
            continue
        changes = np.flatnonzero(np.diff(values, prepend=np.nan) != 0)
        for row in changes[:MOST_REPORTED]:
            if np.isfinite(values[row]) and values[row] > 0:
                ohm = ureg.Quantity(float(values[row]), "ohm")
                found.append(TesterResistance(ohm, int(row) + 1, role is Role.AC_RESISTANCE))
    return tuple(found)
