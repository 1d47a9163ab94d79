"""How long a target pack will last at its continuous current, reckoned from its cells."""

from dataclasses import dataclass

from packs import forecast
from packs.chemistry import curves_of
from packs.terms import Chemistry, Measure
from packs.units import Quantity, of, ureg
from shop.models import Plan

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
