"""Arrangements as they are typed, and the figures of a pack that is still being stated."""

from dataclasses import dataclass

from packs import topology
from packs.terms import Measure
from packs.topology import Arrangement
from packs.units import Quantity, of
from shop.models import CellModel, Plan

from . import cells, layouts

__all__ = ["Arrangement", "TargetFigures", "arrangement_typed", "highest_pack_at_rest", "target_figures"]


@dataclass(frozen=True)
class TargetFigures:
    """What a stated pack comes to; None where its current is not stated."""

    pack: topology.PackFigures
    cell_current: Quantity | None
    c_rate: Quantity | None
    cells: int
    strips: int
    joints: int


def arrangement_typed(text: str) -> Arrangement:
    """Return the arrangement that was typed as 4s2p.

    Raises
    ------
    packs.errors.ParseError
        The text is not an arrangement.
    """
    return topology.parse_arrangement(text)


def target_figures(plan: Plan) -> TargetFigures:
    """Return voltage window, capacity, energy, load of a cell, strips and joints of a plan, saved or not."""
    model, arrangement = cells.model(plan.cell_model), cells.arrangement(plan)
    current = rate = None
    if plan.continuous_current_ma is not None:
        current = topology.cell_current(of(Measure.CURRENT, plan.continuous_current_ma), arrangement)
        rate = topology.c_rate(current, of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah))
    return TargetFigures(
        pack=topology.pack_figures(arrangement, model),
        cell_current=current,
        c_rate=rate,
        cells=plan.new_cells,
        strips=len(layouts.to_join(plan)),
        joints=layouts.joints_to_make(plan),
    )


def highest_pack_at_rest(model: CellModel, series: int) -> Quantity:
    """Return the highest voltage that a reading of a resting pack of the model is believed at."""
    highest: Quantity = cells.highest_at_rest(model) * series
    return highest
