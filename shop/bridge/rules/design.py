"""Rules of the design: what charger, board, cell, strip, lead and fuse of a target pack stand."""

from packs import topology
from packs.conductors import PathKind
from packs.errors import PacksError
from packs.rules import Finding
from packs.terms import ChargerRead, Measure
from packs.units import Quantity, of, show, ureg
from shop.bridge import cells, conductors, plan_cells
from shop.bridge.conductors import PartLine, PathFigures
from shop.models import Plan

from .asking import DATA_SHEET, SERIES_TIMES_LIMIT, asking, volts

BOARD = (
    "board_groups",
    "board_chemistry",
    "board_overcharge_mv",
    "board_tolerance_mv",
    "board_undervoltage_mv",
)
TRIP = ("board_trip_ma", "board_trip_us")
STATED_BY_THE_TARGET = "target pack"
WHOLE = ureg.Quantity(100.0, "percent")


def charger(plan: Plan, high: Quantity | None) -> list[Finding]:
    """Whether the charger suits the cells; of one that gives nothing until connected that is not known."""
    ask = asking(plan)
    voltage = None if plan.charger_read == ChargerRead.SILENT else volts(plan.charger_voltage_mv)
    tolerance = of(Measure.VOLTAGE, plan.charger_tolerance_mv or 0)
    most = highest_charger(plan, high)
    source = f"{SERIES_TIMES_LIMIT}{', and its tolerance' if plan.charger_tolerance_mv else ''}"
    findings = [
        ask("target.charger_voltage", voltage, limit=most, limit_source=source),
        ask("target.charger_fills", voltage, limit=high, limit_source=SERIES_TIMES_LIMIT),
    ]
    if plan.charger_tolerance_mv:
        cell, source = cells.highest_ever(plan.cell_model)
        highest = None if voltage is None else voltage + tolerance
        limit = None if cell is None else cell * plan.series
        findings.append(ask("target.charger_highest", highest, limit=limit, limit_source=source))
    return findings


def highest_charger(plan: Plan, high: Quantity | None) -> Quantity | None:
    """Return the most that the charger may be read with: the charge limit of the pack, and what it is off by at most."""
    return None if high is None else high + of(Measure.VOLTAGE, plan.charger_tolerance_mv or 0)


def board(plan: Plan) -> list[Finding]:
    """Whether the board that is stated suits the pack; nothing to ask while none is stated."""
    if not any(getattr(plan, name) for name in BOARD):
        return []
    ask = asking(plan)
    highest, source = cells.highest_ever(plan.cell_model)
    trip = plan.board_overcharge_mv
    with_tolerance = None if trip is None or plan.board_tolerance_mv is None else trip + plan.board_tolerance_mv
    suits = plan.board_chemistry == plan.cell_model.chemistry if plan.board_chemistry else None
    lowest = of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv)
    return [
        ask("target.board_groups", plan.board_groups, limit=plan.series, limit_source=STATED_BY_THE_TARGET),
        ask("target.board_chemistry", suits),
        ask("target.board_overcharge", volts(with_tolerance), limit=highest, limit_source=source),
        ask("target.board_undervoltage", volts(plan.board_undervoltage_mv), limit=lowest, limit_source=DATA_SHEET),
    ]


def cell_peak(plan: Plan) -> list[Finding]:
    """Whether one cell stands the peak of the device for as long as it lasts; nothing to ask without a peak."""
    if plan.peak_current_ma is None:
        return []
    model = plan.cell_model
    pulsed = model.pulse_time_ms is not None and model.pulse_time_ms >= (plan.peak_time_ms or 0)
    most = model.pulse_current_ma if pulsed else model.max_discharge_current_ma
    per_cell = topology.cell_current(of(Measure.CURRENT, plan.peak_current_ma), cells.arrangement(plan))
    limit = None if most is None else of(Measure.CURRENT, most)
    return [asking(plan)("target.cell_peak", per_cell, limit=limit, limit_source=DATA_SHEET)]


def way_of_the_current(plan: Plan) -> list[Finding]:
    """Whether strips or bars and a stated lead stand their current, and a stated fuse the pack."""
    try:
        return of_path(plan, conductors.current_path(plan, plan_cells.of_plan(plan)))
    except PacksError:
        return of_path(plan, None)


def of_path(plan: Plan, path: PathFigures | None) -> list[Finding]:
    """Return the same of a way that is worked out already; None where it is not known."""
    ask = asking(plan)
    if path is None:
        return [ask("target.part_surface", None, where=f"{plan.conductor}s"), *_fuse(plan, None, None)]
    parts = [
        ask("target.part_current", line.share, where=f"{line.name}{_would_do(path, line)}")
        for line in path.conductors
        if line.share is not None
    ]
    if line := path.hardest_by_surface:
        parts.append(ask("target.part_surface", line.share_by_surface, where=line.name))
    return [*parts, *_fuse(plan, path.short_circuit_current, path.clears)]


def _would_do(path: PathFigures, line: PartLine) -> str:
    """Say which lead would carry the current, where the stated one does not."""
    if line.name != PathKind.LEAD or line.share is None or line.share <= WHOLE or path.wire_choice is None:
        return ""
    gauge = f"{path.gauge} or " if path.gauge else ""
    return f", for which {gauge}{show(path.wire_choice.area)} would do"


def _fuse(plan: Plan, short_circuit: Quantity | None, clears: conductors.Clears | None) -> list[Finding]:
    if plan.fuse_current_ma is None:
        return []
    ask = asking(plan)
    breaks = None if plan.fuse_breaking_ma is None else of(Measure.CURRENT, plan.fuse_breaking_ma)
    return [
        ask(
            "target.fuse_carries",
            of(Measure.CURRENT, plan.fuse_current_ma),
            limit=of(Measure.CURRENT, plan.continuous_current_ma),
            limit_source=STATED_BY_THE_TARGET,
        ),
        ask(
            "target.fuse_voltage",
            volts(plan.fuse_voltage_mv),
            limit=ureg.Quantity(plan.series * plan.cell_model.charge_limit_mv, "mV"),
            limit_source=SERIES_TIMES_LIMIT,
        ),
        ask("target.fuse_breaking", breaks, limit=short_circuit, limit_source="Kirchhoff's laws, full pack"),
        ask("target.fuse_clears", clears and clears.share, where=clears.where if clears else ""),
        *_board_first(plan),
    ]


def _board_first(plan: Plan) -> list[Finding]:
    """Ask whether the board trips before the fuse melts; nothing to ask while no board is stated."""
    if not any(getattr(plan, name) for name in (*BOARD, *TRIP)):
        return []
    return [asking(plan)("target.board_first", conductors.trip_share(plan))]
