"""Stock: cell models, lots, and tables of tested cells that come in all or not at all."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from packs.terms import Condition, LotOrigin, Measure, Owner, Place
from shop.errors import ShopError
from shop.models import Cell, CellModel, Customer, Instrument, Lot, Reading, TraceFile, User

from . import book, log
from .base import BENCH, moment, save, verb
from .readings import doubt, require_possible


@dataclass(frozen=True, kw_only=True)
class CellRow:
    """One row of a table of tested cells: its line in the file, the cell's code, and its readings as stored."""

    line: int
    code: str
    readings: Mapping[Measure, Decimal] = field(default_factory=dict)


@verb(*BENCH)
def add_cell_model(*, by: User, now: datetime | None = None, **facts: Any) -> CellModel:
    """A type of cell comes into the shop with the limits of its data sheet."""
    model = save(CellModel(**facts))
    log.record("cell model added", by=by, at=moment(now), model=model.name)
    return model


@verb(*BENCH)
def add_lot(
    *,
    code: str,
    cell_model: CellModel,
    origin: LotOrigin,
    received_on: date,
    by: User,
    owner: Owner = Owner.SHOP,
    customer: Customer | None = None,
    supplier: str = "",
    evidence: str = "",
    now: datetime | None = None,
) -> Lot:
    """Cells that came in together are one lot, with where they come from and whose they are."""
    at = moment(now)
    if received_on > timezone.localdate(at):
        raise ShopError("future_date", "The lot cannot have come in on a day that lies ahead.", field="received_on")
    lot = save(
        Lot(
            code=code.strip(),
            cell_model=cell_model,
            origin=origin.value,
            owner=owner.value,
            customer=customer,
            supplier=supplier,
            received_on=received_on,
            evidence=evidence,
        )
    )
    log.record("lot added", by=by, at=at, lot=lot.code)
    return lot


@verb(*BENCH)
def import_cells(
    *,
    lot: Lot,
    rows: Sequence[CellRow],
    by: User,
    methods: Mapping[Measure, str] | None = None,
    conditions: str = "",
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    now: datetime | None = None,
) -> list[Cell]:
    """A table of tested cells comes in as a whole or not at all; every row that cannot is named."""
    at = moment(now)
    _refuse_bad_rows(rows, lot.cell_model)
    cells = Cell.objects.bulk_create(
        [Cell(code=row.code, lot=lot, condition=Condition.INTACT.value, place=Place.STOCK.value) for row in rows]
    )
    book.bring_in_all(cells, by=by, at=at, note=f"lot {lot.code}")
    Reading.objects.bulk_create(
        Reading(
            cell=cell,
            measure=measure.value,
            value=value,
            method=(methods or {}).get(measure, ""),
            conditions=conditions,
            instrument=instrument,
            measured_at=measured_at or at,
            by=by,
        )
        for cell, row in zip(cells, rows, strict=True)
        for measure, value in row.readings.items()
    )
    log.record("cells imported", by=by, at=at, lot=lot.code, cells=len(cells))
    return cells


@verb(*BENCH)
def record_reading(
    *,
    cell: Cell,
    measure: Measure,
    value: Decimal,
    by: User,
    method: str = "",
    conditions: str = "",
    instrument: Instrument | None = None,
    trace: TraceFile | None = None,
    measured_at: datetime | None = None,
    now: datetime | None = None,
) -> Reading:
    """A reading is added to the cell's history."""
    at = moment(now)
    if measure is Measure.REST_VOLTAGE:
        require_possible({"value": value}, cell.lot.cell_model)
    return save(
        Reading(
            cell=cell,
            measure=measure.value,
            value=value,
            method=method,
            conditions=conditions,
            instrument=instrument,
            trace=trace,
            measured_at=_not_ahead(measured_at or at, at),
            by=by,
        )
    )


@verb(*BENCH)
def correct_reading(*, reading: Reading, value: Decimal, reason: str, by: User, now: datetime | None = None) -> Reading:
    """A wrong reading stays, struck through; the right one is written below it and says why."""
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the reading is corrected.", field="reason")
    if Reading.objects.filter(corrects=reading).exists():
        raise ShopError("corrected_already", "This reading was corrected already; correct the newer one.")
    if reading.cell is not None and reading.measure == Measure.REST_VOLTAGE:
        require_possible({"value": value}, reading.cell.lot.cell_model)
    copied = ("cell_id", "job_id", "stage", "point", "measure", "method", "conditions", "instrument_id", "trace_id")
    corrected = save(
        Reading(
            **{name: getattr(reading, name) for name in copied},
            value=value,
            measured_at=reading.measured_at,
            by=by,
            corrects=reading,
            reason=reason.strip(),
        )
    )
    log.record(
        "reading corrected",
        by=by,
        at=moment(now),
        job=reading.job,
        measure=reading.measure,
        old=str(reading.value),
        new=str(value),
        reason=corrected.reason,
    )
    return corrected


def _not_ahead(measured_at: datetime, at: datetime) -> datetime:
    if measured_at > at:
        raise ShopError("future_date", "The reading lies in the future.", field="measured_at")
    return measured_at


def bad_rows(rows: Sequence[CellRow], model: CellModel) -> list[tuple[int, str]]:
    """Return by line, in order, why a row of the table cannot come in."""
    problems = [*_without_code(rows), *_twice_in_table(rows), *_known_already(rows), *_not_believed(rows, model)]
    return sorted(problems)


def _refuse_bad_rows(rows: Sequence[CellRow], model: CellModel) -> None:
    if not rows:
        raise ShopError("no_rows", "No row is left to import; look at the row filter.")
    if problems := bad_rows(rows, model):
        shown = "; ".join(f"line {line}: {problem}" for line, problem in problems[:10])
        more = f"; and {len(problems) - 10} more" if len(problems) > 10 else ""
        raise ShopError("bad_rows", f"Nothing was imported. {shown}{more}.", rows=[line for line, _ in problems])


def _without_code(rows: Iterable[CellRow]) -> list[tuple[int, str]]:
    return [(row.line, "no cell code") for row in rows if not row.code]


def _twice_in_table(rows: Sequence[CellRow]) -> list[tuple[int, str]]:
    counts = Counter(row.code for row in rows if row.code)
    return [
        (row.line, f"cell {row.code} stands in the table {counts[row.code]} times")
        for row in rows
        if counts[row.code] > 1
    ]


def _known_already(rows: Sequence[CellRow]) -> list[tuple[int, str]]:
    known = set(Cell.objects.filter(code__in=[row.code for row in rows]).values_list("code", flat=True))
    return [(row.line, f"cell {row.code} is in the book already") for row in rows if row.code in known]


def _not_believed(rows: Iterable[CellRow], model: CellModel) -> list[tuple[int, str]]:
    doubts = ((row.line, doubt(row.readings.get(Measure.REST_VOLTAGE), model)) for row in rows)
    return [(line, message) for line, message in doubts if message]
