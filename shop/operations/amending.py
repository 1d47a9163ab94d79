"""What was written down wrong about cell models, lots and meters is put right, as far as it is not history yet."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import models

from packs.terms import Place
from shop.bridge import likely
from shop.errors import ShopError
from shop.models import Cell, CellModel, ConditionChange, Instrument, Lot, Movement, PackAsFound, Plan, User

from . import log
from .base import BENCH, LEADS, moment, save, verb
from .possible import ask, require_not_ahead, require_stated
from .stock import require_rising

M = TypeVar("M", bound=models.Model)

CORRECTED = "corrected"
"""With what was corrected before it, such as "lot corrected": what the log calls it."""


@verb(*BENCH)
def correct_cell_model(
    *, cell_model: CellModel, by: User, sure: bool = False, now: datetime | None = None, **facts: Any
) -> CellModel:
    """A cell model is put right until a cell of it was used; from then on jobs stand on its limits."""
    row = _locked(cell_model)
    if why := use_of(row):
        message = f"{why} Jobs stand on the limits of {row}: add a model of another name, and bar this one."
        raise ShopError("used_already", message)
    require_stated(facts)
    require_rising(facts)
    ask(likely.model_doubts(facts), sure=sure)
    return _corrected("cell model", row, facts, by=by, at=moment(now))


def use_of(cell_model: CellModel) -> str:
    """Say why a cell model is history by now; nothing while it can be put right."""
    cells = Cell.objects.filter(lot__cell_model=cell_model)
    if PackAsFound.objects.filter(cell_model=cell_model).exists():
        return "A pack of these cells was examined."
    if Plan.objects.filter(cell_model=cell_model).exists():
        return "A target pack was stated with these cells."
    left = cells.exclude(place=Place.STOCK.value).exists()
    if left or Movement.objects.filter(cell__lot__cell_model=cell_model, job__isnull=False).exists():
        return "Cells of it were used or left the stock."
    if ConditionChange.objects.filter(cell__lot__cell_model=cell_model).exists():
        return "A cell was judged by its limits."
    return ""


@verb(*LEADS)
def bar_cell_model(*, cell_model: CellModel, reason: str, by: User, now: datetime | None = None) -> CellModel:
    """A cell model whose limits are wrong takes no new lots and no new target packs."""
    row, at = _locked(cell_model), moment(now)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why it is not used any more.", field="reason")
    if row.barred_at is not None:
        raise ShopError("barred_already", f"{row} is barred already.")
    row.barred_at, row.barred_why = at, reason.strip()
    save(row)
    log.record("cell model barred", by=by, at=at, pk=row.pk, model=row.name, reason=row.barred_why)
    return row


@verb(*LEADS)
def allow_cell_model(*, cell_model: CellModel, by: User, now: datetime | None = None) -> CellModel:
    """A cell model that was barred by mistake is used again."""
    row, at = _locked(cell_model), moment(now)
    if row.barred_at is None:
        raise ShopError("not_barred", f"{row} is not barred.")
    row.barred_at, row.barred_why = None, ""
    save(row)
    log.record("cell model allowed", by=by, at=at, pk=row.pk, model=row.name)
    return row


@verb(*BENCH)
def correct_lot(
    *,
    lot: Lot,
    received_on: date,
    by: User,
    supplier: str = "",
    evidence: str = "",
    unit_cost: Any = None,
    now: datetime | None = None,
) -> Lot:
    """Of a lot, where it came from, when, for how much and what is known of it can be put right, not whose or what it is."""
    row, at = Lot.objects.select_for_update().get(pk=lot.pk), moment(now)
    require_not_ahead(received_on, at, "The lot cannot have come in on a day that lies ahead.", field="received_on")
    require_stated({"unit_cost": unit_cost})
    facts = {"received_on": received_on, "supplier": supplier, "evidence": evidence, "unit_cost": unit_cost}
    return _corrected("lot", row, facts, by=by, at=at)


@verb(*BENCH)
def correct_instrument(
    *,
    instrument: Instrument,
    error_ppm: int,
    error_uv: int,
    by: User,
    calibrated_on: date | None = None,
    calibrated_every_d: int | None = None,
    now: datetime | None = None,
) -> Instrument:
    """A meter was calibrated, or its error was typed wrong; checks that were made stay as they are."""
    row, at = Instrument.objects.select_for_update().get(pk=instrument.pk), moment(now)
    require_stated({"error_ppm": error_ppm, "error_uv": error_uv, "calibrated_every_d": calibrated_every_d})
    if calibrated_on:
        require_not_ahead(calibrated_on, at, "This day is still to come.", field="calibrated_on")
    facts = {
        "error_ppm": error_ppm,
        "error_uv": error_uv,
        "calibrated_on": calibrated_on,
        "calibrated_every_d": calibrated_every_d,
    }
    return _corrected("meter", row, facts, by=by, at=at)


def _locked(cell_model: CellModel) -> CellModel:
    return CellModel.objects.select_for_update().get(pk=cell_model.pk)


def _corrected(what: str, row: M, facts: Mapping[str, Any], *, by: User, at: datetime) -> M:
    """Save other facts of a row, with what stood there before in the log."""
    before = {name: _plain(getattr(row, name)) for name in facts}
    for name, value in facts.items():
        setattr(row, name, getattr(value, "value", value))
    save(row)
    row.refresh_from_db()
    after = {name: _plain(getattr(row, name)) for name in facts}
    changed = {name: [before[name], after[name]] for name in facts if before[name] != after[name]}
    if not changed:
        raise ShopError("nothing_changed", "Nothing here is different from what stands in the book.")
    log.record(f"{what} {CORRECTED}", by=by, at=at, pk=row.pk, changed=changed)
    return row


def _plain(value: Any) -> str | None:
    return None if value is None or value == "" else str(getattr(value, "value", value))
