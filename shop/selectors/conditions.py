"""How a cell is told: its condition in a word, what was measured of it, and what became of its condition."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from packs.terms import Condition, Measure
from shop.bridge import figures
from shop.models import Cell, ConditionChange
from shop.operations.conditions import GETTING_WORSE

SHAPES = {Condition.INTACT: "pass", Condition.DAMAGED: "warn", Condition.REACTIVE: "fail"}


@dataclass(frozen=True)
class CellTold:
    """One cell: its condition as a word with its shape, and its newest voltage and resistance."""

    cell: Cell
    word: str
    shape: str
    rest_voltage_mv: Decimal | None
    dc_resistance_uohm: Decimal | None

    @property
    def measured(self) -> bool:
        """Whether its rest voltage is known."""
        return self.rest_voltage_mv is not None


def told(cells: Sequence[Cell]) -> list[CellTold]:
    """Return cells as they are told, in as many queries for one as for many."""
    known, rejected = figures.of_cells(cells), _rejected(cells)
    return [_told(cell, known.get(cell.pk, {}), rejected=cell.pk in rejected) for cell in cells]


def _told(cell: Cell, known: figures.Figures, *, rejected: bool) -> CellTold:
    condition, voltage = Condition(cell.condition), known.get(Measure.REST_VOLTAGE)
    word, shape = condition.label, SHAPES[condition]
    if condition is Condition.DAMAGED and rejected:
        word = "rejected"
    elif condition is Condition.INTACT and voltage is None:
        word, shape = "not measured", "unknown"
    return CellTold(cell, word, shape, voltage, known.get(Measure.DC_RESISTANCE))


def _rejected(cells: Sequence[Cell]) -> set[int]:
    """Return the cells whose last change was made by a rest voltage."""
    last = ConditionChange.objects.filter(cell__in=[cell.pk for cell in cells]).values_list("cell_id", "reading_id")
    return {cell for cell, reading in dict(last).items() if reading is not None}


def worse(cell: Cell) -> list[Condition]:
    """Return the conditions that a cell can still come to."""
    return list(GETTING_WORSE[GETTING_WORSE.index(Condition(cell.condition)) + 1 :])


def changes(cell: Cell) -> list[ConditionChange]:
    """Return what became of a cell's condition, the newest first."""
    return list(cell.condition_changes.select_related("by", "reading").order_by("-pk"))
