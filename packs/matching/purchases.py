"""Cells to buy: how many for each group, and within what they must lie to go with those that are there."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from packs.matching.deal import Candidates, Limits
from packs.matching.fitting import Stocked
from packs.matching.question import Question
from packs.matching.table import CAPACITY_STEPS_PER_MAH, FINE_STEPS, CellTable, IntArray


@dataclass(frozen=True)
class Purchase:
    """Cells to buy for one group: how many, and within what they must lie to go with the others there.

    Capacities [mAh], resistances [µΩ] and rest voltages [mV] as (least, most); None where nothing bounds them. `beside`
    are the codes of the cells in stock that they would join.
    """

    cells: int
    capacity_mah: tuple[float, float | None] | None
    resistance_uohm: tuple[float, float] | None
    beside: tuple[str, ...]
    rest_mv: tuple[float, float] | None = None


def purchases(
    table: CellTable, question: Question, cells: Candidates, limits: Limits, stocked: Stocked
) -> tuple[Purchase, ...]:
    """What to buy for each group, the fewest first: capacities [mAh], resistances [µΩ], rest voltages [mV].

    References
    ----------
    Derived here from the limits, around the cells that are there.
    """
    found = []
    for many, own in zip(stocked.bought, stocked.beside, strict=True):
        like = own if len(own) else np.arange(len(cells.rows))
        found.append(
            Purchase(
                many,
                _capacity_asked(question, cells, like, many, len(own)),
                _ohm_asked(cells, limits, like, alone=not len(own)),
                tuple(table.codes[row] for row in cells.rows[own].tolist()),
                _rest_asked(cells, limits, like, alone=not len(own)),
            )
        )
    return tuple(sorted(found, key=lambda one: (one.cells, one.beside)))


def _capacity_asked(
    question: Question, cells: Candidates, like: IntArray, many: int, own: int
) -> tuple[float, float | None] | None:
    """Least and most capacity [mAh]: cells from the one to the other keep the window whatever their mean.

    None of them lies below the least capacity asked of a cell, or above the most.
    """
    if not len(like):
        each = 0.0 if question.required_mah is None else question.required_mah / question.parallel
        floor = max(each, question.min_capacity_mah or 0.0)
        return (floor, question.max_capacity_mah) if floor or question.max_capacity_mah else None
    charge = cells.capacity[like] * cells.step / CAPACITY_STEPS_PER_MAH
    least, most = float(charge.min()), None
    if question.window is not None:
        width = 1 + float(question.window)
        middle = sqrt(float(charge.min()) * float(charge.max())) if own else float(np.median(charge))
        least, most = middle / sqrt(width), middle * sqrt(width)
    if question.required_mah is not None:
        least = max(least, (question.required_mah - (float(charge.sum()) if own else 0.0)) / many)
    least = max(least, question.min_capacity_mah or 0.0)
    ends = [end for end in (most, question.max_capacity_mah) if end is not None]
    return least, max(least, min(ends)) if ends else None


def _rest_asked(cells: Candidates, limits: Limits, like: IntArray, *, alone: bool) -> tuple[float, float] | None:
    """Least and most rest voltage [mV]: any two cells between them keep the window."""
    if limits.voltage is None or not len(like):
        return None
    rest = cells.voltage[like] / FINE_STEPS
    middle = float(np.median(rest)) if alone else (float(rest.min()) + float(rest.max())) / 2
    half = limits.voltage / FINE_STEPS / 2
    return middle - half, middle + half


def _ohm_asked(cells: Candidates, limits: Limits, like: IntArray, *, alone: bool) -> tuple[float, float] | None:
    """Least and most resistance [µΩ]: any two cells between them keep the ratio."""
    if limits.ratio is None or not len(like):
        return None
    part, whole = limits.ratio
    ohm = cells.resistance[like] / FINE_STEPS
    middle = float(np.median(ohm)) if alone else sqrt(float(ohm.min()) * float(ohm.max()))
    root = sqrt(part / whole)
    return middle / root, middle * root
