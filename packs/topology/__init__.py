"""Series and parallel: what a pack of cells adds up to."""

from packs.topology.arrangement import Arrangement, parse_arrangement
from packs.topology.capacity import (
    Weakest,
    group_capacities,
    pack_capacity,
    pack_energy,
    weakest_groups,
)
from packs.topology.energy import RemovedCell, RemovedTotals, rated_energy_wh, removed_totals
from packs.topology.figures import PackFigures, c_rate, cell_current, pack_figures, step_down_possible

__all__ = [
    "Arrangement",
    "PackFigures",
    "RemovedCell",
    "RemovedTotals",
    "Weakest",
    "c_rate",
    "cell_current",
    "group_capacities",
    "pack_capacity",
    "pack_energy",
    "pack_figures",
    "parse_arrangement",
    "rated_energy_wh",
    "removed_totals",
    "step_down_possible",
    "weakest_groups",
]
