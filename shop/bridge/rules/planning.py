"""Rules of the target pack and of the cells chosen for it."""

from collections.abc import Iterable
from dataclasses import dataclass

from packs import topology
from packs.rules import Finding
from packs.terms import Chemistry, Compression, Measure
from packs.units import Quantity, of
from shop.bridge import cells, figures, standing
from shop.models import Cell, Plan

from . import design, origin
from .asking import DATA_SHEET, asking, volts
from .building import at_rest
from .limits import counted, in_force

TESTED = frozenset({Measure.CAPACITY, Measure.DC_RESISTANCE, Measure.REST_VOLTAGE})


def target(plan: Plan) -> list[Finding]:
    """Whether cells, charger and outlet can live with the target pack, and no group stays that rests too low or too high."""
    ask = asking(plan)
    pack = cells.pack_figures(plan)
    per_cell = topology.cell_current(of(Measure.CURRENT, plan.continuous_current_ma), cells.arrangement(plan))
    most = cells.model(plan.cell_model).max_discharge_current
    findings = [
        ask("target.chemistry_known", plan.cell_model.chemistry != Chemistry.UNKNOWN),
        ask("target.compression_known", plan.cell_model.compression != Compression.UNKNOWN),
        ask("target.cell_current", per_cell, limit=most, limit_source=DATA_SHEET),
        *design.charger(plan, pack.voltage_high),
        *design.board(plan),
        *design.cell_peak(plan),
        *origin.ordered(plan),
    ]
    for group in standing.groups(plan):
        findings += at_rest(ask, plan.cell_model, group.found_mv, standing.point_of(group.number))
    if plan.outlet_voltage_mv is not None and plan.dropout_mv is not None:
        needed = volts(plan.outlet_voltage_mv + plan.dropout_mv)
        findings.append(ask("target.step_down", pack.voltage_low, limit=needed, limit_source="outlet plus dropout"))
    return findings


@dataclass(frozen=True)
class TargetLimits:
    """What one cell and the charger of a target pack are held against; None where the data sheet does not say."""

    cell_current: Quantity | None
    charger_voltage: Quantity | None


def target_limits(plan: Plan) -> TargetLimits:
    """Return the limits of a target pack as they count."""
    rules, most = in_force(plan.job), cells.model(plan.cell_model).max_discharge_current
    high = cells.pack_figures(plan).voltage_high
    return TargetLimits(
        cell_current=counted(rules, "target.cell_current", most),
        charger_voltage=counted(rules, "target.charger_voltage", design.highest_charger(plan, high)),
    )


def matched(plan: Plan, chosen: Iterable[Cell]) -> list[Finding]:
    """Whether the chosen cells may be used in this device at all."""
    ask = asking(plan)
    chosen = list(chosen)
    known = figures.of_cells(chosen)
    untested = [cell.code for cell in chosen if not set(known.get(cell.pk, {})) >= TESTED]
    return [
        ask("cell.tested", not untested, where=origin.some(untested)),
        *origin.may_serve(plan, chosen),
        *(ask("cell.health", _health(plan, known.get(cell.pk, {})), where=f"cell {cell.code}") for cell in chosen),
    ]


def old_beside_new(plan: Plan) -> list[Finding]:
    """Whether new groups stand beside old ones; nothing to ask where every group is built anew."""
    return [asking(plan)("target.old_beside_new", False)] if plan.standing_groups else []


def _health(plan: Plan, known: figures.Figures) -> Quantity | None:
    """Return the measured capacity of a cell as a share of the rated one."""
    capacity = known.get(Measure.CAPACITY)
    if capacity is None:
        return None
    share: Quantity = of(Measure.CAPACITY, capacity) / of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah)
    return share
