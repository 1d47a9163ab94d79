"""What of a plan has to be brought where before it is joined, by the newest readings."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from packs import matching
from packs.matching import CellTable, LevelTo, Question
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
    rest: Quantity
    target: Quantity | None
    """None where rest voltage says too little about charge: such cells are brought to equal charge."""


def to_level(plan: Plan, table: CellTable, question: Question, groups: Sequence[Sequence[int]]) -> tuple[ToLevel, ...]:
    """Return what rests too far from its group, or from the groups that stay as they were last read."""
    level = standing.level_mv({group.number: group.last_mv for group in standing.groups(plan)})
    members = [np.array(group) for group in groups]
    found = matching.to_level(table, question, members, None if level is None else float(level))
    return tuple(
        ToLevel(
            plan.open_groups[one.group - 1],
            one.code,
            of(Measure.REST_VOLTAGE, one.rest_mv),
            None if one.to is LevelTo.CHARGE or one.target_mv is None else of(Measure.REST_VOLTAGE, one.target_mv),
        )
        for one in found
    )


def of_chosen(plan: Plan) -> tuple[ToLevel, ...]:
    """Return what of the cells that were chosen has to be levelled still; nothing before they are."""
    places = list(plan.positions.select_related("cell")) if plan.pk else []
    table = stock_table(Cell.objects.filter(pk__in=[place.cell_id for place in places]))
    rows = {code: row for row, code in enumerate(table.codes)}
    groups = [[rows[place.cell.code] for place in places if place.group == number] for number in plan.open_groups]
    if not all(groups):
        return ()
    return to_level(plan, table, Question(series=len(groups), parallel=plan.parallel), groups)
