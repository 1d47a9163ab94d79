"""Figures of a lot and of one cell over its tests, as numbers that a picture shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from math import floor, log10

from packs.terms import Measure
from shop.bridge import figures
from shop.models import Cell, Lot, NewCell, Reading

MOST_BINS = 12
STEPS = (1, 2, 5, 10)


@dataclass(frozen=True)
class Bin:
    """Cells whose value lies from ``low`` on and below the next one."""

    low: float
    count: int


@dataclass(frozen=True)
class Tested:
    """A cell of a lot with capacity [mAh] and DC resistance [mΩ], as far as both are known."""

    code: str
    capacity: float | None
    resistance: float | None


@dataclass(frozen=True)
class Drift:
    """One measure of a cell over its tests: days since the first of them, and per cent of rated or new."""

    days: Sequence[float]
    percent: Sequence[float]


def of_lot(lot: Lot) -> list[Tested]:
    """Return what is known today of the cells of a lot, wherever they are."""
    cells = list(Cell.objects.filter(lot=lot).only("pk", "code", "lot_id"))
    known = figures.of_cells(cells)
    return [_tested(cell.code, known.get(cell.pk, {})) for cell in cells]


def _tested(code: str, known: figures.Figures) -> Tested:
    capacity, uohm = known.get(Measure.CAPACITY), known.get(Measure.DC_RESISTANCE)
    return Tested(code, None if capacity is None else float(capacity), None if uohm is None else float(uohm) / 1000)


def bins(numbers: Sequence[float]) -> list[Bin]:
    """Count numbers in steps of 1, 2 or 5 times a power of ten, one empty bin at either end so that the bars stand on 0."""
    low, high = min(numbers), max(numbers)
    wide = _step((high - low) / MOST_BINS)
    first, last = floor(low / wide), floor(high / wide)
    counts = [0] * (last - first + 3)
    for number in numbers:
        counts[floor(number / wide) - first + 1] += 1
    return [Bin((first - 1 + place) * wide, count) for place, count in enumerate(counts)]


def _step(least: float) -> float:
    if least <= 0:
        return 1.0
    power = 10.0 ** floor(log10(least))
    return max(1.0, next(step * power for step in STEPS if step * power >= least))


def new_of(lot: Lot) -> tuple[float, float] | None:
    """Return rated capacity [mAh] and DC resistance [mΩ] of a new cell of a lot's model; None where it is not stated."""
    row = NewCell.objects.filter(cell_model=lot.cell_model_id).order_by("pk").last()
    return None if row is None else (float(lot.cell_model.rated_capacity_mah), row.dc_resistance_uohm / 1000)


def drift(cell: Cell) -> dict[Measure, Drift]:
    """Return how capacity and DC resistance of a cell went over its tests, each where it was measured twice or more.

    Resistance only as it was measured last, and by that of a new cell only where that was measured alike.
    """
    rows = Reading.objects.standing().filter(cell=cell)
    new = NewCell.objects.filter(cell_model=cell.lot.cell_model_id).order_by("pk").last()
    capacity = list(rows.filter(measure=Measure.CAPACITY.value).values_list("measured_at", "value"))
    found = {Measure.CAPACITY: _over_time(capacity, cell.lot.cell_model.rated_capacity_mah)}
    if new is not None:
        pulses = rows.filter(measure=Measure.DC_RESISTANCE.value, method=new.method)
        found[Measure.DC_RESISTANCE] = _over_time(
            list(pulses.values_list("measured_at", "value")), Decimal(new.dc_resistance_uohm)
        )
    return {measure: line for measure, line in found.items() if line is not None}


def _over_time(rows: Sequence[tuple[datetime, Decimal]], whole: Decimal) -> Drift | None:
    if len({at for at, _ in rows}) < 2:
        return None
    first = rows[0][0]
    days = [(at - first).total_seconds() / 86_400 for at, _ in rows]
    return Drift(days, [float(100 * value / whole) for _, value in rows])
