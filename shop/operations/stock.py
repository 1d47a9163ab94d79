"""Stock: cell models, lots, and tables of tested cells that come in all or not at all."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q
from django.db.models.functions import Upper
from django.utils import timezone

from packs.terms import Area, Condition, LotOrigin, Measure, Owner, Place
from packs.units import of, show
from shop.bridge import likely, rules
from shop.bridge.possible import OF_A_CELL, code_doubt
from shop.errors import ShopError
from shop.models import (
    Cell,
    CellModel,
    Customer,
    Instrument,
    Lot,
    Reading,
    ReadingWithdrawal,
    TesterToken,
    TraceFile,
    User,
)

from . import areas, book, incidents, log, steps
from . import conditions as of_cells
from .base import BENCH, lock_job, moment, save, verb
from .possible import (
    CONFIRM,
    UNLIKELY,
    ask,
    refuse,
    require_code,
    require_like_before,
    require_likely,
    require_not_ahead,
    require_of_a_cell,
    require_readable,
    require_stated,
)
from .readings import doubt, require_possible

GONE = frozenset({Place.CONTAINER, Place.CONSIGNED})
HOW_MEASURED = "Say how the DC resistance was measured: only like is matched with like."


@dataclass(frozen=True, kw_only=True)
class CellRow:
    """One row of a table of tested cells: its line in the file, the cell's code, and its readings as stored."""

    line: int
    code: str
    readings: Mapping[Measure, Decimal] = field(default_factory=dict)


@verb(*BENCH)
def add_cell_model(*, by: User, sure: bool = False, now: datetime | None = None, **facts: Any) -> CellModel:
    """A type of cell comes into the shop with the limits of its data sheet."""
    require_stated(facts)
    require_rising(facts)
    ask(likely.model_doubts(facts), sure=sure)
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
    unit_cost: Decimal | None = None,
    now: datetime | None = None,
) -> Lot:
    """Cells that came in together are one lot, with where they come from and whose they are."""
    at = moment(now)
    ahead = "The lot cannot have come in on a day that lies ahead."
    require_not_ahead(received_on, at, ahead, field="received_on")
    require_stated({"unit_cost": unit_cost})
    require_usable(cell_model)
    _require_owner_named(owner, customer)
    lot = save(
        Lot(
            code=require_code(code),
            cell_model=cell_model,
            origin=origin.value,
            owner=owner.value,
            customer=customer,
            supplier=supplier,
            received_on=received_on,
            evidence=evidence,
            unit_cost=unit_cost,
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
    conditions_of: Mapping[Measure, str] | None = None,
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    sure: bool = False,
    now: datetime | None = None,
) -> list[Cell]:
    """A table of tested cells comes in as a whole or not at all; every row that cannot is named.

    A row with a value that hardly any cell has is named too, unless somebody is ``sure``. ``conditions`` were those of every reading, ``conditions_of`` those of one measure where they were others.
    """
    at = moment(now)
    measured_at = _not_ahead(measured_at or at, at)
    if lot.donor_job is not None:
        message = f"Lot {lot.code} holds what came out of the pack of {lot.donor_job.code}; nothing else comes into it."
        raise ShopError("lot_of_a_pack", message, field="lot", lot=lot.code)
    _require_methods(rows, methods or {})
    _refuse_known_table(rows, lot)
    _refuse_bad_rows(rows, lot.cell_model, sure=sure)
    cells = Cell.objects.bulk_create(
        [Cell(code=row.code, lot=lot, condition=Condition.INTACT.value, place=Place.STOCK.value) for row in rows]
    )
    book.bring_in_all(cells, by=by, at=at, note=f"lot {lot.code}")
    areas.require_room(Area.STOCK)
    readings = Reading.objects.bulk_create(
        Reading(
            cell=cell,
            measure=measure.value,
            value=value,
            method=(methods or {}).get(measure, ""),
            conditions=(conditions_of or {}).get(measure, conditions),
            instrument=instrument,
            measured_at=measured_at,
            by=by,
        )
        for cell, row in zip(cells, rows, strict=True)
        for measure, value in row.readings.items()
    )
    in_force = rules.in_force()
    for reading in _rejected(readings, lot.cell_model, in_force):
        of_cells.follow(reading, by=by, at=at, in_force=in_force)
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
    tester: TesterToken | None = None,
    measured_at: datetime | None = None,
    sure: bool = False,
    now: datetime | None = None,
) -> Reading:
    """A reading is added to the cell's history; a rest voltage below what the chemistry may fall to rejects the cell."""
    at = moment(now)
    if tester is not None:  # it charges and discharges by itself
        incidents.require_released(tester.name, "charger", by=by, field="instrument")
        incidents.require_released(tester.instrument.name, "charger", by=by, field="instrument")
    _require_here(cell)
    _require_since_it_came(cell, measured_at)
    _require_possible_of(cell, measure, value)
    require_likely(measure, value, cell.lot.cell_model, sure=sure)
    require_like_before(cell, measure, value, sure=sure or trace is not None)  # what a tester wrote nobody mistyped
    if measure is Measure.DC_RESISTANCE and not method.strip():
        raise ShopError("method_missing", HOW_MEASURED, field="method")
    reading = save(
        Reading(
            cell=cell,
            measure=measure.value,
            value=value,
            method=method,
            conditions=conditions,
            instrument=instrument,
            trace=trace,
            tester=tester,
            measured_at=_not_ahead(measured_at or at, at),
            by=by,
        )
    )
    of_cells.follow(reading, by=by, at=at)
    return reading


@verb(*BENCH)
def correct_reading(
    *, reading: Reading, value: Decimal, reason: str, by: User, sure: bool = False, now: datetime | None = None
) -> Reading:
    """A wrong reading stays, struck through; the right one is written below it and says why.

    A step that was done with the wrong one is asked again.
    """
    at = moment(now)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the reading is corrected.", field="reason")
    if Reading.objects.filter(corrects=reading).exists():
        raise ShopError("corrected_already", "This reading was corrected already; correct the newer one.")
    if ReadingWithdrawal.objects.filter(reading=reading).exists():
        raise ShopError("withdrawn_already", "This reading was withdrawn; what is right is a new reading.")
    if reading.job is not None:
        lock_job(reading.job, closed_too=True)  # what an incident froze is evidence until a lead looked at it
    if reading.cell is not None:
        incidents.require_cells_released([reading.cell])
    _require_possible_instead(reading, value)
    if reading.cell is not None:
        require_likely(Measure(reading.measure), value, reading.cell.lot.cell_model, sure=sure)
    copied = (
        *("cell_id", "job_id", "stage", "step_id", "point", "measure"),
        *("method", "conditions", "instrument_id", "trace_id"),
    )
    corrected = save(
        Reading(
            **{name: getattr(reading, name) for name in copied},
            value=value,
            measured_at=reading.measured_at,
            written_at=at,
            by=by,
            corrects=reading,
            reason=reason.strip(),
        )
    )
    of_cells.follow_correction(corrected, by=by, at=at)
    log.record(
        "reading corrected",
        by=by,
        at=at,
        job=reading.job,
        measure=reading.measure,
        old=str(reading.value),
        new=str(value),
        reason=corrected.reason,
    )
    steps.ask_again(corrected, by=by, at=at)
    return corrected


def _require_here(cell: Cell) -> None:
    """Nothing is measured of a cell that was thrown away."""
    if Place(cell.place) in GONE:
        message = f"Cell {cell.code} is {Place(cell.place).label}: nothing is measured of it any more. Check the code."
        raise ShopError("not_here", message, field="cell")


def _require_since_it_came(cell: Cell, measured_at: datetime | None) -> None:
    """A reading is not older than the day its lot came in."""
    if measured_at is not None and timezone.localdate(measured_at) < cell.lot.received_on:
        raise ShopError(
            "before_it_came",
            f"Cell {cell.code} came in on {cell.lot.received_on:%Y-%m-%d}; a reading of it cannot be older. Check the clock.",
            field="measured_at",
        )


def _require_possible_of(cell: Cell, measure: Measure, value: Decimal) -> None:
    if measure is Measure.REST_VOLTAGE:
        require_possible({"value": value}, cell.lot.cell_model)
    require_of_a_cell(measure, value)


def _require_possible_instead(reading: Reading, value: Decimal) -> None:
    measure = Measure(reading.measure)
    if reading.cell is None or measure not in OF_A_CELL:
        require_readable(measure, value, "value")
    else:
        _require_possible_of(reading.cell, measure, value)


def require_usable(cell_model: CellModel) -> None:
    """Refuse a cell model that was barred from new use."""
    if cell_model.barred_at is not None:
        message = f"{cell_model} is barred from new use: {cell_model.barred_why}"
        raise ShopError("barred", message, field="cell_model")


def require_rising(facts: Mapping[str, Any]) -> None:
    """End of discharge, nominal voltage and charge limit rise in this order."""
    low, nominal, high = (facts[name] for name in ("end_of_discharge_mv", "nominal_voltage_mv", "charge_limit_mv"))
    said = {name: show(of(Measure.VOLTAGE, facts[name])) for name in ("end_of_discharge_mv", "charge_limit_mv")}
    middle = show(of(Measure.VOLTAGE, nominal))
    below = f"{said['end_of_discharge_mv']} is not below the nominal voltage of {middle}, as the end of discharge has to be."
    above = f"{said['charge_limit_mv']} is not above the nominal voltage of {middle}, as the charge limit has to be."
    refuse(
        "invalid",
        {"end_of_discharge_mv": below if low >= nominal else "", "charge_limit_mv": above if nominal >= high else ""},
    )


def _require_owner_named(owner: Owner, customer: Customer | None) -> None:
    """A customer's lot names the customer, the shop's own lot names none."""
    if owner is Owner.CUSTOMER and customer is None:
        raise ShopError("invalid", "Say which customer they belong to.", field="customer")
    if owner is not Owner.CUSTOMER and customer is not None:
        message = "These would be the customer's: say so here, or name no customer."
        raise ShopError("invalid", message, field="owner")


def _require_methods(rows: Sequence[CellRow], methods: Mapping[Measure, str]) -> None:
    brought = {measure for row in rows for measure in row.readings}
    if Measure.DC_RESISTANCE in brought and not methods.get(Measure.DC_RESISTANCE, "").strip():
        raise ShopError("method_missing", HOW_MEASURED, field="method")


def _not_ahead(measured_at: datetime, at: datetime) -> datetime:
    if measured_at > at:
        raise ShopError("future_date", "The reading lies in the future.", field="measured_at")
    return measured_at


def bad_rows(rows: Sequence[CellRow], model: CellModel) -> list[tuple[int, str]]:
    """Return by line, in order, why a row of the table cannot come in."""
    problems = [*_without_code(rows), *_twice_in_table(rows), *_known_already(rows), *_not_believed(rows, model)]
    problems += [*_not_on_a_label(rows), *_not_of_a_cell(rows, model)]
    return sorted(problems)


def odd_rows(rows: Sequence[CellRow], model: CellModel) -> list[tuple[int, str]]:
    """Return by line, in order, which value of a row hardly any cell of the model has, asked back."""
    return [
        (row.line, f"{measure.label}: {message}")
        for row in rows
        for measure, value in row.readings.items()
        if measure in OF_A_CELL and not OF_A_CELL[measure].doubt(value)
        if (message := likely.doubt(measure, value, model))
    ]


def _refuse_known_table(rows: Sequence[CellRow], lot: Lot) -> None:
    """A table of which every cell came into this lot before is told as what it is, not row by row."""
    codes = {row.code for row in rows}
    if len(codes) > 1 and Cell.objects.filter(lot=lot, code__in=codes).count() == len(codes):
        message = f"This table came in before: all of its {len(codes)} cells are in the book, in lot {lot.code}."
        raise ShopError("known_already", message, field="lot", lot=lot.code)


def _refuse_bad_rows(rows: Sequence[CellRow], model: CellModel, *, sure: bool) -> None:
    if not rows:
        raise ShopError("no_rows", "No row is left to import; look at the row filter.")
    if problems := bad_rows(rows, model):
        lines, every = [line for line, _ in problems], [[line, problem] for line, problem in problems]
        raise ShopError("bad_rows", _named(problems), rows=lines, problems=every)
    if not sure and (odd := odd_rows(rows, model)):
        raise ShopError(UNLIKELY, _named(odd), rows=[line for line, _ in odd], confirm=CONFIRM)


def _named(problems: Sequence[tuple[int, str]]) -> str:
    shown = "; ".join(f"line {line}: {problem.removesuffix('.')}" for line, problem in problems[:10])
    more = f"; and {len(problems) - 10} more" if len(problems) > 10 else ""
    return f"Nothing was imported. {shown}{more}."


def _without_code(rows: Iterable[CellRow]) -> list[tuple[int, str]]:
    return [(row.line, "no cell code") for row in rows if not row.code]


def _not_on_a_label(rows: Iterable[CellRow]) -> list[tuple[int, str]]:
    doubts = ((row.line, code_doubt(row.code)) for row in rows)
    return [(line, message) for line, message in doubts if message]


def _not_of_a_cell(rows: Iterable[CellRow], model: CellModel) -> list[tuple[int, str]]:
    return [
        (row.line, f"{measure.label}: {message}")
        for row in rows
        for measure, value in row.readings.items()
        if (message := OF_A_CELL[measure].doubt(value) if measure in OF_A_CELL else "is not kept of a single cell")
        # a rest voltage that is not believed is named with its model already
        and not (measure is Measure.REST_VOLTAGE and doubt(value, model))
    ]


def _twice_in_table(rows: Sequence[CellRow]) -> list[tuple[int, str]]:
    counts = Counter(row.code for row in rows if row.code)
    return [
        (row.line, f"cell {row.code} stands in the table {counts[row.code]} times")
        for row in rows
        if counts[row.code] > 1
    ]


def _known_already(rows: Sequence[CellRow]) -> list[tuple[int, str]]:
    """Name the codes that the book has; another letter case is the same label, or a table sent again would come in anew."""
    alike = {row.code.upper(): row.code for row in rows}
    found = Cell.objects.annotate(alike=Upper("code")).filter(
        Q(code__in=[row.code for row in rows]) | Q(alike__in=alike)
    )
    known = {code.upper(): code for code in found.values_list("code", flat=True)}
    told = [(row, known[row.code.upper()]) for row in rows if row.code.upper() in known]
    return [
        (row.line, f"cell {row.code} is in the book already" + (f", as {code}" if code != row.code else ""))
        for row, code in told
    ]


def _rejected(readings: Iterable[Reading], model: CellModel, in_force: rules.RuleSet) -> list[Reading]:
    """Return the rest voltages that reject their cell: each voltage of a large table is asked about once."""
    rest = [reading for reading in readings if reading.measure == Measure.REST_VOLTAGE]
    rejects = {value: rules.rejection(model, value, in_force) for value in {reading.value for reading in rest}}
    return [reading for reading in rest if rejects[reading.value]]


def _not_believed(rows: Iterable[CellRow], model: CellModel) -> list[tuple[int, str]]:
    rest = [(row.line, row.readings.get(Measure.REST_VOLTAGE)) for row in rows]
    doubts = {value: doubt(value, model) for value in {value for _, value in rest}}
    return [(line, doubts[value]) for line, value in rest if doubts[value]]
