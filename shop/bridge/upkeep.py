"""Cells in stock that want something done: read again, charged or discharged for storage, or looked at beside their lot."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import Measure
from packs.units import Quantity, of, show, ureg
from shop.bridge import cells as limits_of
from shop.bridge import grading
from shop.models import Cell, Reading


@dataclass(frozen=True)
class Wanting:
    """Cells in stock by what they want, each with what tells it."""

    recheck: tuple[tuple[Cell, str], ...]
    storage: tuple[tuple[Cell, str], ...]
    drifting: tuple[tuple[Cell, str], ...]


def of_cells(cells: Iterable[Cell], at: datetime, *, locale: str = "en") -> Wanting:
    """Return what cells want, in as many queries for one as for many; a cell that was not read yet wants a reading."""
    rows = list(cells)
    rest = _rest([cell.pk for cell in rows])
    oldest = grading.criteria().oldest
    fallen = grading.drifting(rows, locale=locale)
    return Wanting(
        recheck=_saying(rows, {cell.pk: _due(rest.get(cell.pk), oldest, at) for cell in rows}),
        storage=_saying(rows, {cell.pk: _outside(cell, rest.get(cell.pk), locale) for cell in rows}),
        drifting=_saying(rows, fallen),
    )


_Rest = tuple[Decimal, datetime]


def _rest(cells: list[int]) -> dict[int, _Rest]:
    rows = Reading.objects.still_telling().filter(cell__in=cells, measure=Measure.REST_VOLTAGE.value)
    return {cell: (value, at) for cell, value, at in rows.values_list("cell_id", "value", "measured_at")}


def _saying(rows: list[Cell], told: Mapping[int, str]) -> tuple[tuple[Cell, str], ...]:
    return tuple((cell, words) for cell in rows if (words := told.get(cell.pk, "")))


def _due(rest: _Rest | None, oldest: Quantity, at: datetime) -> str:
    if rest is None:
        return "no rest voltage on record"
    age = ureg.Quantity((at - rest[1]).total_seconds() / 86_400, "day")
    return f"last read {rest[1]:%Y-%m-%d}" if age > oldest else ""


def _outside(cell: Cell, rest: _Rest | None, locale: str) -> str:
    known = limits_of.limits(cell.lot.cell_model)
    if rest is None or known.storage_low is None or known.storage_high is None:
        return ""
    read = of(Measure.REST_VOLTAGE, rest[0])
    if known.storage_low <= read <= known.storage_high:
        return ""
    said = [show(value, locale=locale) for value in (read, known.storage_low, known.storage_high)]
    do = "charge it to there" if read < known.storage_low else "discharge it to there, over a load made for it"
    return f"rests at {said[0]}, storage is {said[1]} to {said[2]}: {do}"
