"""How long a target pack will last at its continuous current, reckoned from its cells."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from packs import forecast
from packs.chemistry import curves_of
from packs.errors import ImpossibleValue, MissingFact
from packs.matching.sure import fifth_percentile
from packs.terms import Chemistry, Measure
from packs.units import Quantity, of, ureg
from shop.models import Plan

from . import plan_cells
from .plan_cells import PlanCells

STEPS = 120
"""As many steps a discharge is followed in; half of them move its end by less than the curve is uncertain."""


@dataclass(frozen=True)
class Outlook:
    """A forecast discharge at the continuous current: what is drawn of it, and what is said.

    ``hours`` and the voltages of pack, lowest and highest group are shape (times,) [h], [V]; ``ending_group`` counts
    from 1, and is None where all groups are reckoned alike.
    """

    hours: tuple[float, ...]
    pack_volts: tuple[float, ...]
    lowest_volts: tuple[float, ...]
    highest_volts: tuple[float, ...]
    end_volts: float
    duration: Quantity
    charge: Quantity
    energy: Quantity
    heat: Quantity
    ended_by: str
    ending_group: int | None
    curve: str
    matched: bool
    tested: int


def outlook(plan: Plan, of_cells: PlanCells) -> Outlook:
    """Return the forecast of a plan's pack, full and rested at its start; the plan may be unsaved.

    Raises
    ------
    packs.errors.MissingFact
        Capacity or DC resistance was not measured, or of the chemistry no rest voltages are known.
    packs.errors.ImpossibleValue
        A value is not above zero.
    """
    of_cells.require_resistance()
    curve = curves_of(Chemistry(plan.cell_model.chemistry))[0]
    pack = forecast.pack_cells(of_cells.groups, curve)
    current = of(Measure.CURRENT, plan.continuous_current_ma)
    run = forecast.discharge(
        pack,
        forecast.ConstantCurrent(current),
        end_of_discharge=of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv),
        every=_step(plan, current),
    )
    return _outlook(plan, of_cells, run, curve.name)


REPEATABILITY = Decimal("0.005")
"""Standard deviation of a capacity test as a share of the capacity; common practice, no source."""

POINTS = 40
"""As many points of a curve are kept on a paper, about."""


def least_likely_mah(plan: Plan) -> Decimal | None:
    """Return the capacity that the pack falls short of in one case of twenty; None where a cell was not measured."""
    known = plan_cells.of_plan(plan)
    capacities = [[cell.capacity for cell in group] for group in known.groups]
    if not known.matched or any(capacity is None for group in capacities for capacity in group):
        return None
    mah = [np.array([float(one.to("mAh").magnitude) for one in group if one is not None]) for group in capacities]
    return Decimal(f"{fifth_percentile(mah, float(REPEATABILITY)):.1f}")


def curve_at(plan: Plan, current: Quantity) -> list[tuple[Decimal, Decimal]]:
    """Return the forecast discharge of the very cells at a current: charge taken [mAh] and pack voltage [mV]; nothing
    where it cannot be reckoned.
    """
    known = plan_cells.of_plan(plan)
    if not known.matched:
        return []
    try:
        known.require_resistance()
        pack = forecast.pack_cells(known.groups, curves_of(Chemistry(plan.cell_model.chemistry))[0])
        run = forecast.discharge(
            pack,
            forecast.ConstantCurrent(current),
            end_of_discharge=of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv),
            every=_step(plan, current),
        )
    except (MissingFact, ImpossibleValue):
        return []
    ma = float(current.to("mA").magnitude)
    points = list(
        zip((run.seconds / 3600 * ma).tolist(), run.terminal_voltages.to("mV").magnitude.tolist(), strict=True)
    )
    kept = points[:: max(1, len(points) // POINTS)]
    return [
        (Decimal(f"{x:.1f}"), Decimal(f"{y:.0f}")) for x, y in (kept if kept[-1] == points[-1] else [*kept, points[-1]])
    ]


def _step(plan: Plan, current: Quantity) -> Quantity:
    """A share of the time in which the rated capacity is drawn, so that a small current is not followed for days."""
    rated = of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah) * plan.parallel
    seconds = float((rated / current).to("second").magnitude) / STEPS
    return ureg.Quantity(seconds, "second")


def _outlook(plan: Plan, of_cells: PlanCells, run: forecast.Forecast, curve: str) -> Outlook:
    return Outlook(
        hours=tuple((run.seconds / 3600).tolist()),
        pack_volts=tuple(run.terminal_voltages.to("volt").magnitude.tolist()),
        lowest_volts=tuple(run.group_volts.min(axis=1).tolist()),
        highest_volts=tuple(run.group_volts.max(axis=1).tolist()),
        end_volts=plan.cell_model.end_of_discharge_mv / 1000,
        duration=run.duration,
        charge=run.charge,
        energy=run.energy,
        heat=run.heat,
        ended_by=str(run.ended_by),
        ending_group=None if run.ending_group is None or not of_cells.matched else run.ending_group + 1,
        curve=curve,
        matched=of_cells.matched,
        tested=of_cells.tested,
    )
