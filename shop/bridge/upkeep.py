"""Cells in stock that want something done: read again, charged or discharged for storage, or looked at beside their lot."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from packs.terms import Measure
from packs.units import of, show, to
from shop.bridge import cells as limits_of
from shop.bridge import grading
from shop.models import Cell, CellModel, Reading


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
    before = at - timedelta(days=float(grading.criteria().oldest.m_as("day")))
    bands = {model.pk: _band(model) for model in {cell.lot.cell_model for cell in rows}}
    outside = {cell.pk: _outside(rest.get(cell.pk), bands[cell.lot.cell_model_id], locale) for cell in rows}
    return Wanting(
        recheck=_saying(rows, {cell.pk: _due(rest.get(cell.pk), before) for cell in rows}),
        storage=_saying(rows, outside),
        drifting=_saying(rows, grading.drifting(rows, locale=locale)),
    )


_Rest = tuple[Decimal, datetime]


def _rest(cells: list[int]) -> dict[int, _Rest]:
    rows = Reading.objects.still_telling().filter(cell__in=cells, measure=Measure.REST_VOLTAGE.value)
    return {cell: (value, at) for cell, value, at in rows.values_list("cell_id", "value", "measured_at")}


def _saying(rows: list[Cell], told: Mapping[int, str]) -> tuple[tuple[Cell, str], ...]:
    return tuple((cell, words) for cell in rows if (words := told.get(cell.pk, "")))


def _due(rest: _Rest | None, before: datetime) -> str:
    if rest is None:
        return "no rest voltage on record"
    return f"last read {rest[1]:%Y-%m-%d}" if rest[1] < before else ""


_Band = tuple[Decimal, Decimal]


def _band(model: CellModel) -> _Band | None:
    """Return between which millivolts cells of a model are stored; None where their chemistry says nothing."""
    known = limits_of.limits(model)
    if known.storage_low is None or known.storage_high is None:
        return None
    return to(Measure.REST_VOLTAGE, known.storage_low), to(Measure.REST_VOLTAGE, known.storage_high)


def _outside(rest: _Rest | None, band: _Band | None, locale: str) -> str:
    """Say how a cell is brought into its storage band; numbers are compared as stored, and put into words only then."""
    if rest is None or band is None or band[0] <= rest[0] <= band[1]:
        return ""
    said = [show(of(Measure.REST_VOLTAGE, value), locale=locale) for value in (rest[0], *band)]
    do = "charge it to there" if rest[0] < band[0] else "discharge it to there, over a load made for it"
    return f"rests at {said[0]}, storage is {said[1]} to {said[2]}: {do}"
