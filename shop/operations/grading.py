"""By what cells are graded: criteria in versions that stay written, and what a new cell of a model reads."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from packs.terms import CellProtection, Measure
from shop.bridge import grading, likely
from shop.bridge.possible import OF_A_CELL, STATED
from shop.errors import ShopError
from shop.models import CellModel, GradeCriteria, NewCell, User

from . import log
from .base import BENCH, LEADS, moment, save, verb
from .possible import ask


@verb(*LEADS)
def set_criteria(*, values: Mapping[str, Decimal], reason: str, by: User, now: datetime | None = None) -> GradeCriteria:
    """The criteria of grades are written as a whole new version, with the reason; older ones stay as they were."""
    at = moment(now)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the criteria are changed.", field="reason")
    _refuse_unknown(values)
    if doubts := {name: doubt for name, value in values.items() if (doubt := grading.BOUNDS[name][1].doubt(value))}:
        first = next(iter(doubts))
        raise ShopError("impossible_value", doubts[first], field=first, fields=doubts)
    last = GradeCriteria.objects.select_for_update().order_by("number").last()
    number = last.number + 1 if last else 1
    grading.of_facts(values, number)  # refuses a worse grade that would ask more than a better one
    facts = {name: str(values[name]) for name in grading.BOUNDS}
    row = save(GradeCriteria(number=number, facts=facts, reason=reason.strip(), at=at, by=by))
    log.record("criteria of grades set", by=by, at=at, version=row.number, reason=row.reason)
    return row


def _refuse_unknown(values: Mapping[str, Decimal]) -> None:
    if unlike := sorted(set(values) ^ set(grading.BOUNDS)):
        raise ShopError(
            "criteria_incomplete",
            f"A version holds every criterion and no other: {', '.join(unlike)}.",
            field="values",
            known=sorted(grading.BOUNDS),
        )


@verb(*BENCH)
def state_new_cell(
    *,
    cell_model: CellModel,
    dc_resistance_uohm: int,
    method: str,
    temperature_mdegc: int,
    source: str,
    by: User,
    protection: CellProtection = CellProtection.UNKNOWN,
    sure: bool = False,
    now: datetime | None = None,
) -> NewCell:
    """What a new cell of a model reads is stated with method, temperature and source; grades hold used ones against it."""
    at = moment(now)
    for name, words in (("method", "how it was measured"), ("source", "where the value comes from")):
        if not {"method": method, "source": source}[name].strip():
            raise ShopError(f"{name}_missing", f"Say {words}.", field=name)
    bounds = {"dc_resistance_uohm": OF_A_CELL[Measure.DC_RESISTANCE], "temperature_mdegc": STATED["temperature_mdegc"]}
    for name, value in (("dc_resistance_uohm", dc_resistance_uohm), ("temperature_mdegc", temperature_mdegc)):
        if doubt := bounds[name].doubt(value):
            raise ShopError("impossible_value", doubt, field=name)
    doubt = likely.doubt(Measure.DC_RESISTANCE, Decimal(dc_resistance_uohm), cell_model)
    ask({"dc_resistance_uohm": doubt}, sure=sure)
    row = save(
        NewCell(
            cell_model=cell_model,
            dc_resistance_uohm=dc_resistance_uohm,
            method=method.strip(),
            temperature_mdegc=temperature_mdegc,
            protection=protection.value,
            source=source.strip(),
            at=at,
            by=by,
        )
    )
    log.record("new cell stated", by=by, at=at, model=cell_model.name, dc_resistance_uohm=dc_resistance_uohm)
    return row
