"""Where the cells of a plan come from, and whether they may serve its device."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from packs.rules import Finding
from packs.terms import CellFormat, DeviceClass, InMobility, Place, Stubs, Wrap
from shop.models import Cell, CellPreparation, CellQuerySet, LotSignature, Movement, Plan, WorkshopSettings

from .asking import asking


def ordered(plan: Plan) -> list[Finding]:
    """Whether a medical device is rebuilt by the written order of its facility, with the type of cell that was in it."""
    ask, found = asking(plan), getattr(plan.job, "as_found", None)
    return [
        ask("target.facility_order", plan.job.facility_orders.exists()),
        ask("target.original_type", None if found is None else found.cell_model_id == plan.cell_model_id),
    ]


def may_serve(plan: Plan, cells: Iterable[Cell]) -> list[Finding]:
    """Whether reclaimed cells may serve this device: signed by a lead, for its class, and not forbidden by the place."""
    ask = asking(plan)
    rows = Cell.objects.filter(pk__in=[cell.pk for cell in cells])
    lots = dict(rows.with_history().order_by("lot__code").values_list("lot__pk", "lot__code"))
    signed = signatures(lots)
    unsigned = [code for pk, code in lots.items() if pk not in signed]
    left_out = [lots[pk] for pk, one in signed.items() if plan.job.device.device_class not in one.device_classes]
    reclaimed = list(rows.reclaimed().order_by("code").values_list("code", flat=True))
    return [
        ask("target.reclaimed_in_medical", not reclaimed, where=some(reclaimed)),
        ask("cell.history_signed", not unsigned, where=_lots(unsigned)),
        ask("cell.class_allowed", not left_out, where=_lots(left_out)),
        ask("target.reclaimed_in_mobility", allowed_in_mobility() if reclaimed else True, where=some(reclaimed)),
    ]


def prepared(plan: Plan, cells: Iterable[Cell]) -> Finding:
    """Whether reclaimed cells were made ready since they last came out of a pack."""
    rows = Cell.objects.filter(pk__in=[cell.pk for cell in cells]).reclaimed().order_by("code")
    out = dict(
        Movement.objects.filter(cell__in=rows, to_place=Place.BENCH.value).order_by("pk").values_list("cell", "at")
    )
    written = CellPreparation.objects.filter(cell__in=rows).select_related("cell__lot__cell_model").order_by("pk")
    done = {row.cell_id: row for row in written}
    lacking = [cell.code for cell in rows if not _ready(done.get(cell.pk), out.get(cell.pk))]
    return asking(plan)("cell.prepared", not lacking, where=some(lacking))


def _ready(done: CellPreparation | None, out: datetime | None) -> bool:
    if done is None or done.stubs == Stubs.LEFT or (out is not None and done.at < out):
        return False
    return bool(done.insulator != Wrap.NONE or done.cell.lot.cell_model.cell_format != CellFormat.ROUND)


def signatures(lots: Iterable[int]) -> dict[int, LotSignature]:
    """Return the newest signature of each lot that has one."""
    rows = LotSignature.objects.filter(lot__in=list(lots)).order_by("pk")
    return {row.lot_id: row for row in rows}


def allowed_in_mobility() -> bool | None:
    """Return what the shop's settings say of reclaimed cells in powered mobility; None where they say nothing yet."""
    row = WorkshopSettings.objects.last()
    said: Mapping[str, bool] = {InMobility.ALLOWED.value: True, InMobility.FORBIDDEN.value: False}
    return said.get(row.reclaimed_in_mobility) if row else None


def refused(plan: Plan, cells: CellQuerySet) -> dict[str, str]:
    """Return the cells that may not serve the device of a plan, by code, with the reason."""
    device_class = DeviceClass(plan.job.device.device_class)
    with_history = list(cells.with_history().values_list("code", "lot_id", "lot__code"))
    signed = signatures({lot for _, lot, _ in with_history})
    found = {}
    for code, lot, name in with_history:
        if lot not in signed:
            found[code] = f"no lead signed the history of lot {name}"
        elif device_class not in signed[lot].device_classes:
            found[code] = f"lot {name} is not signed for this class of device: {device_class.label}"
    if device_class is DeviceClass.LIGHT_VEHICLE and not allowed_in_mobility():
        why = "reclaimed, and the settings of the shop do not allow that in powered mobility"
        found |= dict.fromkeys(cells.reclaimed().values_list("code", flat=True), why)
    return found


def some(codes: list[str]) -> str:
    """Name a few of many codes."""
    return ", ".join(codes[:5]) + (" and more" if len(codes) > 5 else "")


def _lots(codes: list[str]) -> str:
    return f"lot{'s' * (len(codes) > 1)} {some(codes)}" if codes else ""
