"""What is known of the cell besides its file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from packs.traces.problems import Problem, Remark, TraceRefused, Verdict
from packs.traces.series import Trace

# Above the charge limit and below the end of discharge by more than this is worth a word [V].
MARGIN = 0.05
# More than this many times its capacity per hour no cell carries; less than this, the unit is doubtful.
HIGHEST_RATE = 60.0
LOWEST_RATE = 0.002


@dataclass(frozen=True)
class Expected:
    """The cell as its data sheet and chemistry say; ``None`` where it is not known.

    Attributes
    ----------
    rated_ah : float or None
        [Ah]
    charge_limit_v, end_of_discharge_v : float or None
        [V]
    """

    rated_ah: float | None = None
    charge_limit_v: float | None = None
    end_of_discharge_v: float | None = None


def check_expected(trace: Trace, expected: Expected) -> Iterator[Remark]:
    """Compare voltages and currents with the world of this cell.

    Voltages [V], currents [A], capacity [Ah].

    Raises
    ------
    TraceRefused
        The current is that of another unit.

    References
    ----------
    The limits are common practice, no source; the rule is derived here.
    """
    high, low = float(trace.voltage.max()), float(trace.voltage.min())
    if expected.charge_limit_v is not None and high > expected.charge_limit_v + MARGIN:
        detail = f"{high:.3f} V, the limit being {expected.charge_limit_v:g} V"
        yield Remark(Problem.VOLTAGE_ABOVE, Verdict.WARNED, detail)
    if expected.end_of_discharge_v is not None and low < expected.end_of_discharge_v - MARGIN:
        detail = f"{low:.3f} V, the end being {expected.end_of_discharge_v:g} V"
        yield Remark(Problem.VOLTAGE_BELOW, Verdict.WARNED, detail)
    if expected.rated_ah:
        yield from _rate(float(np.abs(trace.current).max()), expected.rated_ah)


def _rate(largest: float, rated_ah: float) -> Iterator[Remark]:
    rate = largest / rated_ah
    if rate > HIGHEST_RATE:
        slip = Problem.CURRENT_UNIT_SLIP if rate / 1000 <= HIGHEST_RATE else Problem.CURRENT_IMPOSSIBLE
        raise TraceRefused(slip, f"{largest:g} A for a cell of {rated_ah:g} Ah")
    if 0 < rate < LOWEST_RATE:
        detail = f"{largest:g} A at the most for a cell of {rated_ah:g} Ah"
        yield Remark(Problem.CURRENT_UNIT_SLIP, Verdict.WARNED, detail)
