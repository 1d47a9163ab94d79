"""Readings of a job: one way to write them, and which are not believed."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType

from packs.terms import Measure, Stage
from packs.units import of, show
from shop.bridge import cells
from shop.bridge.topology import highest_pack_at_rest
from shop.errors import ShopError
from shop.models import Cell, CellModel, Instrument, Job, Reading, Step, User

from .base import save
from .possible import refuse, require_readable

Taken = tuple[str, Measure, Decimal | None]
"""A point of the pack, what was measured there, and the value in its stored unit; None where nothing was read."""


ASKED: Mapping[tuple[Stage, Measure, str], str] = MappingProxyType(
    {
        (Stage.TARGET, Measure.CAPACITY, "group"): "discharge of the group alone",
        (Stage.TARGET, Measure.DC_RESISTANCE, "group"): "voltage step over current step, at the taps of the group",
        (Stage.LADDER, Measure.VOLTAGE, "tap"): "against the negative end, nothing connected",
        (Stage.LADDER, Measure.VOLTAGE, "overcharge"): "of the board, on a bench ladder",
        (Stage.LADDER, Measure.VOLTAGE, "undervoltage"): "of the board, on a bench ladder",
        (Stage.FIRST_CHARGE, Measure.VOLTAGE, "charger"): "no load",
        (Stage.FIRST_CHARGE, Measure.VOLTAGE, "group"): "at the end of the charge",
        (Stage.FIRST_CHARGE, Measure.VOLTAGE, "mid-charge"): "in the middle of the charge",
        (Stage.FINAL_TEST, Measure.VOLTAGE, "outlet"): "under load",
        (Stage.FINAL_TEST, Measure.VOLTAGE, "loaded"): "10 s after the load was put on",
        (Stage.FINAL_TEST, Measure.VOLTAGE, "worst"): "between cell and strip, under load",
        (Stage.FINAL_TEST, Measure.TEMPERATURE, "hottest"): "under load",
        (Stage.FINAL_TEST, Measure.INSULATION, "pack"): "groups against touchable metal",
        (Stage.FINAL_TEST, Measure.CAPACITY, "pack"): "discharge of the whole pack",
        (Stage.TEST_PACK, Measure.CAPACITY, "pack"): "discharge of the whole pack",
    }
)
"""How the steps ask for a reading, by the first word of its point, and so how it was taken."""

AT_REST = "open circuit, at rest"
"""What a rest voltage is; common practice, no source."""


def asked_for(stage: Stage, measure: Measure, point: str) -> str:
    """Return how a step asks for a reading; nothing where it leaves that open."""
    if measure is Measure.REST_VOLTAGE:
        return AT_REST
    return ASKED.get((stage, measure, point.partition(" ")[0]), "")


def of_groups(measure: Measure, groups_mv: Sequence[Decimal | None]) -> list[Taken]:
    """Return what was read of each group, from the negative end."""
    return [(f"group {n}", measure, mv) for n, mv in enumerate(groups_mv, start=1)]


def require_count(series: int, values: Sequence[Decimal | None], *, what: str = "groups") -> None:
    """Refuse more voltages than the pack has groups or taps."""
    if len(values) > series:
        message = f"This pack has {series} {what}, {len(values)} voltages are given."
        raise ShopError("wrong_count", message, field=what)


def write_all(
    readings: Sequence[Taken],
    *,
    step: Step,
    by: User,
    at: datetime,
    instrument: Instrument | None = None,
    conditions: str = "",
    methods: Mapping[Measure, str] | None = None,
) -> None:
    """Add what was read in one try of a step, with one meter under the same conditions."""
    for point, measure, value in readings:
        if value is not None:
            write(
                job=step.job,
                stage=Stage(step.stage),
                step=step,
                point=point,
                measure=measure,
                value=value,
                by=by,
                at=at,
                instrument=instrument,
                conditions=conditions,
                method=(methods or {}).get(measure, ""),
            )


def write(
    *,
    job: Job,
    stage: Stage,
    point: str,
    measure: Measure,
    value: Decimal,
    by: User,
    at: datetime,
    step: Step | None = None,
    cell: Cell | None = None,
    instrument: Instrument | None = None,
    conditions: str = "",
    method: str = "",
) -> Reading:
    """Add one reading of a point of the job, in the try of the step it was taken in, with how that was asked for."""
    require_readable(measure, value, point)
    paper_at = step.paper_at if step else None
    return save(
        Reading(
            cell=cell,
            job=job,
            stage=stage.value,
            step=step,
            point=point,
            measure=measure.value,
            value=value,
            instrument=instrument,
            conditions=conditions,
            method=method or asked_for(stage, measure, point),
            measured_at=paper_at or at,
            entered_at=at if paper_at else None,
            by=by,
        )
    )


def require_possible(rest_voltages_mv: Mapping[str, Decimal | None], model: CellModel) -> None:
    """Refuse rest voltages that no single cell of the model can have, each beside the field it was typed in."""
    refuse("impossible_value", {field: doubt(value, model) for field, value in rest_voltages_mv.items()})


def require_pack_possible(rest_voltages_mv: Mapping[str, Decimal | None], model: CellModel, series: int) -> None:
    """Refuse rest voltages that no pack of so many groups can have, each beside the field it was typed in."""
    refuse("impossible_value", {field: _pack_doubt(mv, model, series) for field, mv in rest_voltages_mv.items()})


def _pack_doubt(value_mv: Decimal | None, model: CellModel, series: int) -> str:
    highest = highest_pack_at_rest(model, series)
    if value_mv is None or (value_mv >= 0 and of(Measure.VOLTAGE, value_mv) <= highest):
        return ""
    return (
        f"{show(of(Measure.VOLTAGE, value_mv))} cannot be the rest voltage of {series} groups of {model}, which lies "
        f"between 0 V and {show(highest)}. Check range, typing, cell model and arrangement."
    )


def doubt(value_mv: Decimal | None, model: CellModel) -> str:
    """Say why a rest voltage of one cell is not believed; nothing where it can be."""
    if value_mv is None or cells.possible_at_rest(model, value_mv):
        return ""
    read, highest = show(of(Measure.VOLTAGE, value_mv)), show(cells.highest_at_rest(model))
    return (
        f"{read} cannot be the rest voltage of one {model} cell, which lies between 0 V and {highest}. "
        "Check range, probes and typing, and measure again."
    )
