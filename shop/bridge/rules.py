"""What the rules say at each stage of a job, asked with the values of its tables."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from packs import network, topology
from packs.rules import OUTLET_LIMITS, RULE_SET_VERSION, RULES, Context, Finding, check, stopping
from packs.terms import CellFormat, Chemistry, DeviceClass, JointMethod, LotOrigin, Measure, Stage
from packs.units import Quantity, of
from shop.models import Cell, Instrument, Plan

from . import cells, figures, layouts

__all__ = ["RULE_SET_VERSION", "Finding", "stopping"]

Voltages = Mapping[str, Decimal | None]


def as_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as they are stored: a snapshot that a later rule set does not change."""
    return [asdict(finding) for finding in findings]


def _context(plan: Plan) -> Context:
    return Context(
        chemistry=Chemistry(plan.cell_model.chemistry),
        cell_format=CellFormat(plan.cell_model.cell_format),
        joint_method=JointMethod(plan.joint_method),
        device_class=DeviceClass(plan.job.device.device_class),
    )


def _mv(value: Decimal | int | None) -> Quantity | None:
    return None if value is None else of(Measure.VOLTAGE, value)


def target(plan: Plan) -> list[Finding]:
    """Whether cells, charger and outlet can live with the target pack."""
    context = _context(plan)
    model = cells.model(plan.cell_model)
    pack = cells.pack_figures(plan)
    per_cell = topology.cell_current(of(Measure.CURRENT, plan.continuous_current_ma), cells.arrangement(plan))
    findings = [
        check("target.chemistry_known", context.chemistry is not Chemistry.UNKNOWN, context=context),
        check(
            "target.cell_current",
            per_cell,
            limit=model.max_discharge_current,
            limit_source="data sheet of the cell",
            context=context,
        ),
        check(
            "target.charger_voltage",
            _mv(plan.charger_voltage_mv),
            limit=pack.voltage_high,
            limit_source="cells in series times the charge limit of the data sheet",
            context=context,
        ),
    ]
    if plan.outlet_voltage_mv is not None and plan.dropout_mv is not None:
        needed = of(Measure.VOLTAGE, plan.outlet_voltage_mv + plan.dropout_mv)
        findings.append(
            check(
                "target.step_down",
                pack.voltage_low,
                limit=needed,
                limit_source="outlet plus dropout",
                context=context,
            )
        )
    return findings


def matched(plan: Plan, chosen: Iterable[Cell]) -> list[Finding]:
    """Whether the chosen cells may be used in this device at all."""
    context = _context(plan)
    chosen = list(chosen)
    known = figures.of_cells(chosen)
    needed = {Measure.CAPACITY, Measure.DC_RESISTANCE, Measure.REST_VOLTAGE}
    untested = [cell.code for cell in chosen if not needed <= set(known.get(cell.pk, {}))]
    reclaimed = [cell.code for cell in chosen if cell.lot.origin == LotOrigin.DONOR]
    return [
        check("cell.tested", not untested, where=_some(untested), context=context),
        check("target.reclaimed_in_medical", not reclaimed, where=_some(reclaimed), context=context),
    ]


def _some(codes: Sequence[str]) -> str:
    return ", ".join(codes[:5]) + (" and more" if len(codes) > 5 else "")


def dismantled(recorded: int, counted: int) -> list[Finding]:
    """Whether as many cells are in the book as were counted in the old pack."""
    return [check("dismantle.all_recorded", recorded, limit=counted, limit_source="count when examined")]


def placed(plan: Plan, cell: Cell) -> list[Finding]:
    """Whether a cell may go into a pack at all: whole, and above its recovery voltage."""
    voltage = figures.of_cells([cell]).get(cell.pk, {}).get(Measure.REST_VOLTAGE)
    return [
        check(
            "cell.recovery_voltage",
            _mv(voltage),
            limit=cells.limits(plan.cell_model).reject_below,
            limit_source="chemistry",
            where=f"cell {cell.code}",
            context=_context(plan),
        )
    ]


def all_placed(count: int, needed: int) -> list[Finding]:
    """Whether every position holds its cell."""
    return [check("place.all_placed", count, limit=needed, limit_source="target pack")]


def before_joining(plan: Plan, rest_mv: Voltages) -> list[Finding]:
    """Whether every cell was measured, and none would see too much current from the group it joins."""
    context = _context(plan)
    measured = [value for value in rest_mv.values() if value is not None]
    findings = [
        check("measure.all_measured", len(measured), limit=plan.cell_count, limit_source="target pack", context=context)
    ]
    positions = list(plan.positions.select_related("cell"))
    known = figures.of_cells([position.cell for position in positions])
    charge_current = cells.model(plan.cell_model).max_charge_current
    reject = cells.limits(plan.cell_model).reject_below
    for position in positions:
        findings.append(
            check(
                "cell.recovery_voltage",
                _mv(rest_mv[position.name]),
                limit=reject,
                limit_source="chemistry",
                where=f"position {position.name}",
                context=context,
            )
        )
    for group in range(1, plan.series + 1):
        members = [position for position in positions if position.group == group]
        voltages = [_mv(rest_mv[position.name]) for position in members]
        resistances = [
            of(Measure.DC_RESISTANCE, known[position.cell_id][Measure.DC_RESISTANCE])
            if Measure.DC_RESISTANCE in known.get(position.cell_id, {})
            else None
            for position in members
        ]
        findings += _joining(group, voltages, resistances, charge_current, context)
    return findings


def _joining(
    group: int,
    voltages: Sequence[Quantity | None],
    resistances: Sequence[Quantity | None],
    charge_current: Quantity | None,
    context: Context,
) -> list[Finding]:
    where = f"group {group}"
    complete = None not in voltages and None not in resistances
    current = (
        network.largest_joining_current(
            [v for v in voltages if v is not None], [r for r in resistances if r is not None]
        )
        if complete
        else None
    )
    known = [v for v in voltages if v is not None]
    spread = max(known) - min(known) if len(known) == len(voltages) else None
    return [
        check(
            "measure.joining_current",
            current.current if current else None,
            limit=charge_current,
            limit_source="charging current of the data sheet",
            where=where,
            context=context,
        ),
        check("measure.rest_spread", spread, where=where, context=context),
    ]


def joined(plan: Plan, *, made: int, peel_sample_held: bool, second_look: bool) -> list[Finding]:
    """Whether every cell end is on its strip, and the sample and the second look came first."""
    context = _context(plan)
    return [
        check("join.peel_sample", peel_sample_held, context=context),
        check("join.polarity_second_look", second_look, context=context),
        check(
            "join.joints",
            made,
            limit=layouts.of_plan(plan).joint_count(),
            limit_source="drawing of the target pack",
            context=context,
        ),
    ]


def expected_taps_mv(plan: Plan) -> list[Decimal]:
    """Return the voltage due at each tap from the negative end, from the readings taken before joining."""
    rest = figures.of_points(plan.job, Stage.MEASURE, Measure.REST_VOLTAGE)
    groups = [
        [rest[f"{group}.{place}"] for place in range(1, plan.parallel + 1)] for group in range(1, plan.series + 1)
    ]
    return network.expected_taps_mv(groups)


def ladder(plan: Plan, taps_mv: Sequence[Decimal | None], instrument: Instrument | None) -> list[Finding]:
    """Whether every tap, and with the last one the whole stack, shows what its groups add up to."""
    context = _context(plan)
    expected = expected_taps_mv(plan)
    findings = []
    for tap, due in enumerate(expected, start=1):
        value = taps_mv[tap - 1] if tap <= len(taps_mv) else None
        rule = "ladder.rest_agreement" if tap == len(expected) else "ladder.tap"
        findings.append(
            check(
                rule,
                None if value is None else _mv(abs(value - due)),
                limit=agreement_limit(due, instrument),
                limit_source="the larger of 0.1 V and the meters' combined error",
                where=f"tap {tap}",
                context=context,
            )
        )
    return findings


def agreement_limit(voltage_mv: Decimal, instrument: Instrument | None) -> Quantity:
    """Return how far two readings of the same voltage with this meter may lie apart."""
    if instrument is None:
        return network.agreement_limit([])
    error = voltage_mv * instrument.error_ppm / 1_000_000 + Decimal(instrument.error_uv) / 1000
    return network.agreement_limit([of(Measure.VOLTAGE, error)] * 2)


def housing(confirmed: Mapping[str, bool]) -> list[Finding]:
    """Whether the case may be shut."""
    return [check(rule, confirmed.get(rule)) for rule in HOUSING_RULES]


HOUSING_RULES = (
    "housing.fixed",
    "housing.wires",
    "housing.insulation",
    "housing.vent_path",
    "housing.strain_relief",
)


def first_charge(
    plan: Plan,
    *,
    supervised: bool,
    charger_voltage_mv: Decimal,
    temperatures_mdegc: Sequence[Decimal],
    groups_mv: Sequence[Decimal | None],
) -> list[Finding]:
    """Whether the first charge was supervised and stayed inside every limit."""
    context = _context(plan)
    pack = cells.pack_figures(plan)
    limits = cells.limits(plan.cell_model)
    low, high = limits.charge_temperature_low, limits.charge_temperature_high
    window = None if low is None or high is None else (low, high)
    findings = [
        check("first_charge.supervised", supervised, context=context),
        check(
            "first_charge.charger_voltage",
            _mv(charger_voltage_mv),
            limit=pack.voltage_high,
            limit_source="cells in series times the charge limit of the data sheet",
            context=context,
        ),
    ]
    for look, temperature in enumerate(temperatures_mdegc, start=1):
        findings.append(
            check(
                "first_charge.temperature",
                of(Measure.TEMPERATURE, temperature),
                limit=window,
                limit_source="charging temperatures of the chemistry",
                where=f"look {look}",
                context=context,
            )
        )
    for group in range(1, plan.series + 1):
        findings.append(
            check(
                "first_charge.group_voltage",
                _mv(groups_mv[group - 1] if group <= len(groups_mv) else None),
                limit=_mv(plan.cell_model.charge_limit_mv),
                limit_source="data sheet of the cell",
                where=f"group {group}",
                context=context,
            )
        )
    return findings


def forecast_mah(plan: Plan) -> Decimal | None:
    """Return the capacity of the weakest group of the very cells placed, or None where one was not measured."""
    known = figures.of_cells([position.cell for position in plan.positions.select_related("cell")])
    groups: dict[int, list[Decimal | None]] = {}
    for position in plan.positions.all():
        groups.setdefault(position.group, []).append(known.get(position.cell_id, {}).get(Measure.CAPACITY))
    sums = [sum(value for value in group if value is not None) for group in groups.values()]
    return None if not sums or any(None in group for group in groups.values()) else Decimal(min(sums))


def final_test(
    plan: Plan,
    *,
    capacity_mah: Decimal | None,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    outlet_mv: Decimal | None,
    instrument: Instrument | None,
) -> list[Finding]:
    """Whether the pack gives what its own cells promise, and rests where the sum of its groups is."""
    context = _context(plan)
    known = [value for value in groups_mv if value is not None]
    complete = len(known) == plan.series
    total = sum(known, Decimal())
    findings = [
        check(
            "final.capacity",
            None if capacity_mah is None else of(Measure.CAPACITY, capacity_mah),
            limit=least_final_capacity(plan),
            limit_source="weakest group of the cells placed",
            context=context,
        ),
        check(
            "final.rest_agreement",
            _mv(abs(pack_rest_mv - total)) if complete and pack_rest_mv is not None else None,
            limit=agreement_limit(total, instrument),
            limit_source="the larger of 0.1 V and the meters' combined error",
            context=context,
        ),
        check("final.group_spread", _mv(max(known) - min(known)) if complete else None, context=context),
    ]
    if plan.outlet_voltage_mv is not None:
        findings.append(
            check(
                "final.outlet",
                _mv(outlet_mv),
                limit=outlet_window(),
                limit_source=OUTLET_LIMITS["usb_high_power"].source,
                context=context,
            )
        )
    return findings


def removed_gone(waiting: int) -> list[Finding]:
    """Whether nothing that was removed is left on the bench."""
    return [check("handover.removed_gone", waiting)]


def hand_over(*, waiting: int, rebuilt: bool, report_issued: bool, note_due: bool, note_issued: bool) -> list[Finding]:
    """Whether papers are out and everything is accounted for."""
    findings = [check("handover.accounted", waiting == 0)]
    if rebuilt:
        findings.append(check("handover.report", report_issued))
    if note_due:
        findings.append(check("handover.disposal_note", note_issued))
    return findings


def housing_questions() -> list[tuple[str, str]]:
    """Return the rules of the housing step and the words to confirm them with."""
    return [(rule, RULES[rule].holds_words) for rule in HOUSING_RULES]


def least_final_capacity(plan: Plan) -> Quantity | None:
    """Return the capacity the finished pack must give at least, or None where a cell was not measured."""
    due = forecast_mah(plan)
    return None if due is None else topology.least_final_capacity(of(Measure.CAPACITY, due))


def outlet_window() -> tuple[Quantity, Quantity]:
    """Return the window of a 5 V outlet of the high-power kind."""
    window = OUTLET_LIMITS["usb_high_power"]
    return window.low, window.high
