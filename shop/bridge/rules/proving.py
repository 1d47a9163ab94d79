"""Rules of the steps that prove the pack."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Protocol

from packs.rules import RULES, Finding, OutletLimit, outlet_limit
from packs.terms import LITHIUM_ION, NICKEL, Measure, Outcome, Stage
from packs.units import Quantity, of, to, ureg
from shop.bridge import cells, figures, standing
from shop.bridge.cautions import HIGH_VOLTAGE_MV
from shop.models import Instrument, PackAsFound, Plan

from .asking import CHARGED, DATA_SHEET, METERS, SERIES_TIMES_LIMIT, asking, volts
from .building import Ask, meters_error
from .limits import counted, counted_window, in_force

HOUSING_RULES = (
    "housing.fixed",
    "housing.wires",
    "housing.insulation",
    "housing.vent_path",
    "housing.strain_relief",
    "housing.sensors",
    "housing.gasket",
)
FLAT_CELLS = "housing.compression"
THERMAL_CUTOFF = "housing.thermal_cutoff"
METAL = "metal at the case"
"""What is written down when the case is closed, for the insulation to be measured at the final test."""
BOARD_CUTOFF, INSULATION = "final.board_cutoff", "final.insulation"
ENDS_ITSELF = "first_charge.ends_itself"
STOPPED, FORECAST_ONLY = "stopped early: ", "forecast only"
"""Words that are kept with a step: why its charge was stopped, and that no capacity was measured."""
HELD = re.compile(r"after (?P<hours>[0-9.]+) h group (?P<group>\d+)")


def held_point(hours: Decimal, group: int) -> str:
    """Return the point of a group at the end of a rest hold."""
    return f"after {hours.normalize():f} h group {group}"


class Look(Protocol):
    """What is read at one look at a charging pack."""

    @property
    def minutes(self) -> int: ...
    @property
    def pack_voltage_mv(self) -> Decimal: ...
    @property
    def current_ma(self) -> Decimal: ...
    @property
    def hottest_mdegc(self) -> Decimal: ...


@dataclass(frozen=True, kw_only=True)
class RestHold:
    """How long the pack rested after its charge, and what each group had at the end."""

    hours: Decimal
    groups_mv: Sequence[Decimal | None]


@dataclass(frozen=True)
class ChargeLimits:
    """What a pack, its groups, its current and its hottest spot are held against while it charges."""

    charger: Quantity | None
    pack: Quantity | None
    group: Quantity | None
    current: Quantity | None
    temperature: tuple[Quantity, Quantity] | None


def housing(plan: Plan, confirmed: Mapping[str, bool]) -> list[Finding]:
    """Whether the case may be shut."""
    ask = asking(plan)
    return [ask(rule, confirmed.get(rule)) for rule in (*HOUSING_RULES, FLAT_CELLS, THERMAL_CUTOFF)]


def housing_questions(plan: Plan) -> list[tuple[str, str]]:
    """Return the rules of the housing step that apply to this pack, and the words to confirm them with."""
    asked = [finding for finding in housing(plan, {}) if finding.outcome is not Outcome.NOT_APPLICABLE]
    return [(finding.rule_id, RULES[finding.rule_id].holds_words) for finding in asked]


def first_charge(
    plan: Plan,
    *,
    supervised: bool,
    charger_voltage_mv: Decimal,
    looks: Sequence[Look],
    groups_mv: Sequence[Decimal | None],
    stopped: bool = False,
    ends_itself: bool | None = None,
) -> list[Finding]:
    """Whether the first charge was supervised, stayed inside every limit and went to its end."""
    ask = asking(plan)
    limits = _by_data_sheet(plan)
    charger = volts(charger_voltage_mv)
    return [
        ask("first_charge.supervised", supervised),
        ask("first_charge.charger_voltage", charger, limit=limits.charger, limit_source=SERIES_TIMES_LIMIT),
        *(finding for number, look in enumerate(looks, start=1) for finding in _looked(ask, limits, number, look)),
        *_precharged(plan, looks),
        *_formed(plan, looks, ends_itself=ends_itself),
        ask("first_charge.completed", not stopped),
        *([] if stopped else _charged_groups(plan, groups_mv)),
    ]


def _precharged(plan: Plan, looks: Sequence[Look]) -> list[Finding]:
    """Ask about the looks at which the groups were, on average, below the precharge threshold; none where none was."""
    ask, known, model = asking(plan), cells.limits(plan.cell_model), cells.model(plan.cell_model)
    if known.precharge_below is None or known.precharge_rate is None or model.rated_capacity is None:
        return []
    threshold = to(Measure.VOLTAGE, known.precharge_below) * plan.series
    low = [(number, look) for number, look in enumerate(looks, start=1) if look.pack_voltage_mv < threshold]
    most = (known.precharge_rate * model.rated_capacity * plan.parallel).to("mA")
    findings = [
        ask(
            "first_charge.precharge_current",
            of(Measure.CURRENT, look.current_ma),
            limit=most,
            limit_source="chemistry",
            where=f"look {number}",
        )
        for number, look in low
    ]
    if low:
        lasted = max(look.minutes for _, look in low) - min(look.minutes for look in looks)
        findings.append(ask("first_charge.precharge_time", ureg.Quantity(lasted, "minute")))
    return findings


def _formed(plan: Plan, looks: Sequence[Look], *, ends_itself: bool | None) -> list[Finding]:
    """Ask how a nickel pack was formed: slowly, long enough, by a charger that ends by itself."""
    if plan.cell_model.chemistry not in NICKEL:
        return []
    ask = asking(plan)
    most = of(Measure.CURRENT, plan.cell_model.rated_capacity_mah * plan.parallel / 10)
    currents = [
        ask(
            "first_charge.forming_current",
            of(Measure.CURRENT, look.current_ma),
            limit=most,
            limit_source=DATA_SHEET,
            where=f"look {number}",
        )
        for number, look in enumerate(looks, start=1)
    ]
    lasted = ureg.Quantity(max(look.minutes for look in looks), "minute")
    return [ask(ENDS_ITSELF, ends_itself), *currents, ask("first_charge.forming_time", lasted)]


def charge_limits(plan: Plan) -> ChargeLimits:
    """Return what a pack is held against while it charges; None where data sheet or chemistry do not say."""
    rules, known = in_force(plan.job), _by_data_sheet(plan)
    return ChargeLimits(
        charger=counted(rules, "first_charge.charger_voltage", known.charger),
        pack=counted(rules, "first_charge.pack_voltage", known.pack),
        group=counted(rules, "first_charge.group_voltage", known.group),
        current=counted(rules, "first_charge.current", known.current),
        temperature=counted_window(rules, "first_charge.temperature", known.temperature),
    )


def _by_data_sheet(plan: Plan) -> ChargeLimits:
    """Return the limits before the rules count them. Nickel is charged by current: its voltage sets no limit."""
    current = cells.model(plan.cell_model).max_charge_current
    lithium = plan.cell_model.chemistry in LITHIUM_ION
    full = cells.pack_figures(plan).voltage_high if lithium else None
    return ChargeLimits(
        charger=full,
        pack=full,
        group=of(Measure.VOLTAGE, plan.cell_model.charge_limit_mv) if lithium else None,
        current=None if current is None else current * plan.parallel,
        temperature=cells.limits(plan.cell_model).charging_window,
    )


def weakest_groups(plan: Plan) -> tuple[tuple[int, ...], Decimal] | None:
    """Return numbers and capacity [mAh] of the weakest groups of the plan's cells, or None where one was not measured.

    There is no number where all groups hold the same.
    """
    found = standing.weakest(group_capacities(plan))
    return None if found is None else (found.groups, found.capacity_mah)


def group_capacities(plan: Plan) -> dict[int, Decimal | None]:
    """Return the capacity [mAh] of every group: of new ones that of their cells, of those that stay as measured."""
    positions = list(plan.positions.select_related("cell"))
    known = figures.of_cells([position.cell for position in positions])
    capacities: dict[int, Decimal | None] = {group.number: group.capacity_mah for group in standing.groups(plan)}
    for number in plan.open_groups:
        found = [known.get(place.cell_id, {}).get(Measure.CAPACITY) for place in positions if place.group == number]
        of_cells = [mah for mah in found if mah is not None]
        capacities[number] = sum(of_cells, Decimal()) if of_cells and len(of_cells) == len(found) else None
    return capacities


def forecast_mah(plan: Plan) -> Decimal | None:
    """Return the capacity of the weakest group of the very cells placed, or None where one was not measured."""
    weakest = weakest_groups(plan)
    return None if weakest is None else weakest[1]


def least_final_capacity(plan: Plan) -> Quantity | None:
    """Return the capacity the finished pack must give at least, or None where a cell was not measured."""
    return counted(in_force(plan.job), "final.capacity", _forecast(plan))


def _forecast(plan: Plan) -> Quantity | None:
    due = forecast_mah(plan)
    return None if due is None else of(Measure.CAPACITY, due)


def outlet_window(plan: Plan) -> tuple[Quantity, Quantity] | None:
    """Return between which voltages the plan's outlet has to be; None where the plan has no outlet."""
    port = _port(plan)
    return counted_window(in_force(plan.job), "final.outlet", None if port is None else (port.low, port.high))


def _port(plan: Plan) -> OutletLimit | None:
    stated = volts(plan.outlet_voltage_mv)
    return None if stated is None else outlet_limit(stated)


def final_test(
    plan: Plan,
    *,
    capacity_mah: Decimal | None,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    outlet_mv: Decimal | None,
    instrument: Instrument | None,
    hold: RestHold | None = None,
    confirmed: Mapping[str, bool | None] = MappingProxyType({}),
    forecast_only: bool = False,
) -> list[Finding]:
    """Whether the pack gives what its own cells promise, and rests where the sum of its groups is."""
    ask = asking(plan)
    capacity = _capacity(plan, capacity_mah, forecast_only=forecast_only)
    findings = [
        *capacity,
        ask("final.forecast_only", not forecast_only),
        *_rest(plan, "final", pack_rest_mv, groups_mv, instrument),
        *_held(plan, groups_mv, hold),
        *(ask(rule, confirmed.get(rule)) for rule in final_questions(plan, forecast_only=forecast_only)),
    ]
    if port := _port(plan):
        limit = (port.low, port.high)
        findings.append(ask("final.outlet", volts(outlet_mv), limit=limit, limit_source=port.source))
    return findings


def final_questions(plan: Plan, *, forecast_only: bool = False) -> tuple[str, ...]:
    """Return the rules of the final test that somebody has to confirm for this pack.

    Without a load nobody sees a board cut off: its trips stand as they were tried on the bench ladder.
    """
    cutoff = plan.cell_model.chemistry in LITHIUM_ION and not forecast_only
    return (*((BOARD_CUTOFF,) if cutoff else ()), *((INSULATION,) if to_insulate(plan) else ()))


def to_insulate(plan: Plan) -> bool:
    """Whether insulation is measured: above 60 V DC, or where the case was found to have metal."""
    closed = plan.job.steps.filter(stage=Stage.HOUSING.value).last()
    return highest_mv(plan) > HIGH_VOLTAGE_MV or bool(closed and closed.confirmed.get(METAL))


def highest_mv(plan: Plan) -> int:
    """Return the voltage of the full pack in millivolts."""
    return int(plan.series * plan.cell_model.charge_limit_mv)


def _capacity(plan: Plan, capacity_mah: Decimal | None, *, forecast_only: bool) -> list[Finding]:
    """Ask what the pack gave; beside groups that stay it has to be measured, without a load as well."""
    ask = asking(plan)
    on_record = [ask("final.capacity_on_record", capacity_mah is not None)] if plan.standing_groups else []
    if forecast_only:
        return on_record
    measured = None if capacity_mah is None else of(Measure.CAPACITY, capacity_mah)
    source = "capacity of the weakest group of the cells placed"
    return [ask("final.capacity", measured, limit=_forecast(plan), limit_source=source), *on_record]


def _held(plan: Plan, before: Sequence[Decimal | None], hold: RestHold | None) -> list[Finding]:
    """Ask about the rest hold: how long it was, and how far each group fell."""
    ask = asking(plan)
    if hold is None or all(mv is None for mv in hold.groups_mv):
        return [ask("final.rest_hold", None)]
    pairs = zip(before, [*hold.groups_mv, *[None] * plan.series], strict=False)
    falls = [None if first is None or last is None else first - last for first, last in pairs][: plan.series]
    return [
        ask("final.rest_hours", ureg.Quantity(float(hold.hours), "hour")),
        *(ask("final.rest_hold", volts(fall), where=f"group {group}") for group, fall in enumerate(falls, start=1)),
    ]


def pack_test(
    found: PackAsFound,
    *,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    instrument: Instrument | None,
) -> list[Finding]:
    """Whether a pack that is tested as it is rests where the sum of its groups is, and its groups beside each other."""
    return _rest(found, "pack_test", pack_rest_mv, groups_mv, instrument)


def examined(
    found: PackAsFound, *, pack_rest_mv: Decimal | None, groups_mv: Sequence[Decimal], instrument: Instrument | None
) -> list[Finding]:
    """Whether a group was overcharged, and pack and groups agree; nothing is asked of what was not measured."""
    ask, most = asking(found), cells.highest_charged(found.cell_model)
    overcharged = [
        ask("examine.group_overcharged", volts(mv), limit=most, limit_source=CHARGED, where=f"group {number}")
        for number, mv in enumerate(groups_mv, start=1)
    ]
    if pack_rest_mv is None or not groups_mv:
        return overcharged
    return [*overcharged, _agreement(found, "examine", pack_rest_mv, groups_mv, instrument)]


def _rest(
    pack: Plan | PackAsFound,
    test: str,
    pack_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    instrument: Instrument | None,
) -> list[Finding]:
    known = [value for value in groups_mv if value is not None]
    complete = len(known) == pack.series
    return [
        _agreement(pack, test, pack_mv, groups_mv, instrument),
        asking(pack)(f"{test}.group_spread", volts(max(known) - min(known)) if complete else None),
    ]


def _agreement(
    pack: Plan | PackAsFound,
    test: str,
    pack_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    instrument: Instrument | None,
) -> Finding:
    known = [value for value in groups_mv if value is not None]
    total = sum(known, Decimal())
    apart = abs(pack_mv - total) if len(known) == pack.series and pack_mv is not None else None
    limit = meters_error(total, instrument)
    return asking(pack)(f"{test}.rest_agreement", volts(apart), limit=limit, limit_source=METERS)


def _looked(ask: Ask, limits: ChargeLimits, number: int, look: Look) -> list[Finding]:
    where = f"look {number}"
    temperature = of(Measure.TEMPERATURE, look.hottest_mdegc)
    return [
        ask(
            "first_charge.pack_voltage",
            volts(look.pack_voltage_mv),
            limit=limits.pack,
            limit_source=SERIES_TIMES_LIMIT,
            where=where,
        ),
        ask(
            "first_charge.current",
            of(Measure.CURRENT, look.current_ma),
            limit=limits.current,
            limit_source=DATA_SHEET,
            where=where,
        ),
        ask(
            "first_charge.temperature",
            temperature,
            limit=limits.temperature,
            limit_source="charging temperatures of the chemistry",
            where=where,
        ),
    ]


def _charged_groups(plan: Plan, groups_mv: Sequence[Decimal | None]) -> list[Finding]:
    ask = asking(plan)
    top = _by_data_sheet(plan).group
    given = [*groups_mv, *[None] * (plan.series - len(groups_mv))]
    known = [value for value in given if value is not None]
    spread = volts(max(known) - min(known)) if len(known) == plan.series else None
    each = [
        ask("first_charge.group_voltage", volts(value), limit=top, limit_source=DATA_SHEET, where=f"group {group}")
        for group, value in enumerate(given, start=1)
    ]
    return [*each, ask("first_charge.group_spread", spread)]
