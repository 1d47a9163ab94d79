"""Rules of the target pack and of the cells chosen for it."""

from collections.abc import Iterable, Sequence

from packs import topology
from packs.rules import Finding
from packs.terms import Chemistry, Compression, Measure
from packs.units import of
from shop.bridge import cells, figures
from shop.models import Cell, Plan

from . import design
from .asking import DATA_SHEET, asking, volts

TESTED = frozenset({Measure.CAPACITY, Measure.DC_RESISTANCE, Measure.REST_VOLTAGE})


def target(plan: Plan) -> list[Finding]:
    """Whether cells, charger and outlet can live with the target pack."""
    ask = asking(plan)
    pack = cells.pack_figures(plan)
    per_cell = topology.cell_current(of(Measure.CURRENT, plan.continuous_current_ma), cells.arrangement(plan))
    most = cells.model(plan.cell_model).max_discharge_current
    findings = [
        ask("target.chemistry_known", plan.cell_model.chemistry != Chemistry.UNKNOWN),
        ask("target.compression_known", plan.cell_model.compression != Compression.UNKNOWN),
        ask("target.cell_current", per_cell, limit=most, limit_source=DATA_SHEET),
        *design.charger(plan, pack.voltage_high),
        *design.board(plan),
        *design.cell_peak(plan),
    ]
    if plan.outlet_voltage_mv is not None and plan.dropout_mv is not None:
        needed = volts(plan.outlet_voltage_mv + plan.dropout_mv)
        findings.append(ask("target.step_down", pack.voltage_low, limit=needed, limit_source="outlet plus dropout"))
    return findings


def matched(plan: Plan, chosen: Iterable[Cell]) -> list[Finding]:
    """Whether the chosen cells may be used in this device at all."""
    ask = asking(plan)
    chosen = list(chosen)
    known = figures.of_cells(chosen)
    untested = [cell.code for cell in chosen if not set(known.get(cell.pk, {})) >= TESTED]
    rows = Cell.objects.filter(pk__in=[cell.pk for cell in chosen])
    reclaimed = list(rows.reclaimed().order_by("code").values_list("code", flat=True))
    return [
        ask("cell.tested", not untested, where=_some(untested)),
        ask("target.reclaimed_in_medical", not reclaimed, where=_some(reclaimed)),
    ]


def _some(codes: Sequence[str]) -> str:
    return ", ".join(codes[:5]) + (" and more" if len(codes) > 5 else "")
