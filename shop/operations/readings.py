"""Readings of a job: one way to write them."""

from datetime import datetime
from decimal import Decimal

from packs.terms import Measure, Stage
from shop.models import Cell, Instrument, Job, Reading, User

from .base import save


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
) -> Reading:
    """Add one reading of a point of the job. A repeated measurement stands below the first one."""
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
            measured_at=at,
            by=by,
        )
    )
