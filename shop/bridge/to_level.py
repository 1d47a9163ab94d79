"""What of a plan has to be brought where before it is joined, by the newest readings."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isnan

import numpy as np

from packs import matching
from packs.matching import Levelling, LevelTo, Question
from packs.terms import Measure
from packs.units import Quantity, of
from shop.models import Cell, Plan

from . import standing
from .stock_table import stock_table


@dataclass(frozen=True)
class ToLevel:
    """A cell, or a whole group where ``code`` is empty, that is brought to the charge of the others before joining."""

    group: int
    code: str
    rest: Quantity | None
    """None where nobody measured it."""
    target: Quantity | None
    """None where rest voltage says too little about charge: such cells are brought to equal charge."""


def level_mv(plan: Plan) -> float | None:
    """Return where the groups that stay rest, as they were last read [mV]; None where none stays or it is not known."""
    level = standing.level_mv({group.number: group.last_mv for group in standing.groups(plan)})
    return None if level is None else float(level)


def told(plan: Plan, found: Iterable[Levelling]) -> tuple[ToLevel, ...]:
    """Return what the matching says is to be levelled, by the numbers of the plan's groups."""
    return tuple(
        ToLevel(
            plan.open_groups[one.group - 1],
            one.code,
            None if isnan(one.rest_mv) else of(Measure.REST_VOLTAGE, one.rest_mv),
            None if one.to is LevelTo.CHARGE or one.target_mv is None else of(Measure.REST_VOLTAGE, one.target_mv),
        )
        for one in found
    )


def of_chosen(plan: Plan) -> tuple[ToLevel, ...]:
    """Return what of the cells that were chosen has to be levelled still; nothing before they are."""
    places = list(plan.positions.select_related("cell")) if plan.pk else []
    table = stock_table(Cell.objects.filter(pk__in=[place.cell_id for place in places]))
    rows = {code: row for row, code in enumerate(table.codes)}
    groups = [
        np.array([rows[place.cell.code] for place in places if place.group == number], dtype=np.int64)
        for number in plan.open_groups
    ]
    if not all(map(len, groups)):
        return ()
    asked = Question(series=len(groups), parallel=plan.parallel)
    return told(plan, matching.to_level(table, asked, groups, level_mv(plan)))
