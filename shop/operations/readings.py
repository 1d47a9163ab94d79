"""Readings of a job: one way to write them, and which are not believed."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from packs.terms import Measure, Stage
from packs.units import of, show
from shop.bridge import cells
from shop.models import Cell, CellModel, Instrument, Job, Reading, User

from .base import save
from .possible import refuse, require_readable


def write(
    *,
    job: Job,
    stage: Stage,
    point: str,
    measure: Measure,
    value: Decimal,
    by: User,
    at: datetime,
    cell: Cell | None = None,
    instrument: Instrument | None = None,
    conditions: str = "",
    method: str = "",
) -> Reading:
    """Add one reading of a point of the job. A repeated measurement stands below the first one."""
    require_readable(measure, value, point)
    return save(
        Reading(
            cell=cell,
            job=job,
            stage=stage.value,
            point=point,
            measure=measure.value,
            value=value,
            instrument=instrument,
            conditions=conditions,
            method=method,
            measured_at=at,
            by=by,
        )
    )


def require_possible(rest_voltages_mv: Mapping[str, Decimal | None], model: CellModel) -> None:
    """Refuse rest voltages that no single cell of the model can have, each beside the field it was typed in."""
    refuse("impossible_value", {field: doubt(value, model) for field, value in rest_voltages_mv.items()})


def doubt(value_mv: Decimal | None, model: CellModel) -> str:
    """Say why a rest voltage of one cell is not believed; nothing where it can be."""
    if value_mv is None or cells.possible_at_rest(model, value_mv):
        return ""
    read, highest = show(of(Measure.VOLTAGE, value_mv)), show(cells.highest_at_rest(model))
    return (
        f"{read} cannot be the rest voltage of one {model} cell, which lies between 0 V and {highest}. "
        "Check range, probes and typing, and measure again."
    )
