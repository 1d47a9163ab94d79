"""Rules of the steps that prove the pack."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from django.db import models

from packs import network
from packs.rules import Finding, OutletLimit, outlet_limit
from packs.terms import LITHIUM_ION, Measure, Port, Stage
from packs.units import Quantity, of, ureg
from shop.bridge import cells, discharges, figures, standing
from shop.bridge.cautions import HIGH_VOLTAGE_MV
from shop.models import Instrument, Job, PackAsFound, Plan, Reading

from .asking import CHARGED, METERS, asking, volts
from .building import meters_error
from .housing import METAL
from .limits import counted, counted_window, in_force

NAMED_AT_LEAST = Decimal("0.9")
"""Of the nominal voltage a nameplate names at least so much: 48 V for 51.2 V; common practice, no source."""
BY_THE_CELLS = "nominal voltage and charge limit of the data sheet"
BY_THE_FULLEST = "as many in every group as in the fullest"
BOARD_CUTOFF = "final.board_cutoff"
FORECAST_ONLY = "forecast only"
"""What is kept with a step whose capacity was not measured."""
HELD = re.compile(r"after (?P<hours>[0-9.]+) h group (?P<group>\d+)")


def held_point(hours: Decimal, group: int) -> str:
    """Return the point of a group at the end of a rest hold."""
    return f"after {hours.normalize():f} h group {group}"


@dataclass(frozen=True, kw_only=True)
class RestHold:
    """How long the pack rested after its charge, and what each group had at the end."""

    hours: Decimal
    groups_mv: Sequence[Decimal | None]


def held(rest: Mapping[str, Decimal], series: int) -> RestHold | None:
    """Return the rest hold by its readings, which name its hours and their group."""
    read = {(Decimal(found[1]), int(found[2])): mv for name, mv in rest.items() if (found := HELD.match(name))}
    if not read:
        return None
    hours = next(reversed(read))[0]
    return RestHold(hours=hours, groups_mv=[read.get((hours, number)) for number in range(1, series + 1)])


@dataclass(frozen=True, kw_only=True)
class UnderLoad:
    """What was read while the pack gave a steady current; ``pack_mv`` ten seconds after it was put on.

    ``joint_mv`` is the largest drop between a cell and its strip or bar.
    """

    current_ma: Decimal | None = None
    pack_mv: Decimal | None = None
    joint_mv: Decimal | None = None
    hottest_mdegc: Decimal | None = None


NOT_LOADED = UnderLoad()
LOADED: Mapping[str, tuple[str, Measure]] = MappingProxyType(
    {
        "current_ma": ("load", Measure.CURRENT),
        "pack_mv": ("loaded pack", Measure.VOLTAGE),
        "joint_mv": ("worst joint", Measure.VOLTAGE),
        "hottest_mdegc": ("hottest spot", Measure.TEMPERATURE),
    }
)
"""Where each of them is written down."""


def was_loaded(job: Job) -> bool:
    """Whether the pack was on a load, in whichever try of its final test, also one that was stopped."""
    rows = Reading.objects.filter(job=job, stage=Stage.FINAL_TEST.value, withdrawal__isnull=True)
    under_load = models.Q(point__in=[point for point, _ in LOADED.values()])
    return rows.filter(models.Q(measure=Measure.CAPACITY.value) | under_load).exists()


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
    return None if stated is None else outlet_limit(stated, Port(plan.outlet_port) if plan.outlet_port else None)


def final_test(
    plan: Plan,
    *,
    capacity_mah: Decimal | None,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    outlet_mv: Decimal | None,
    instrument: Instrument | None,
    hold: RestHold | None = None,
    load: UnderLoad = NOT_LOADED,
    insulation_kohm: Decimal | None = None,
    confirmed: Mapping[str, bool | None] = MappingProxyType({}),
    forecast_only: bool = False,
    conditions: str = "",
) -> list[Finding]:
    """Whether the pack gives what its own cells promise, and rests where the sum of its groups is."""
    ask = asking(plan)
    capacity = _capacity(plan, capacity_mah, conditions, forecast_only=forecast_only)
    findings = [
        *capacity,
        ask("final.forecast_only", not forecast_only),
        *_rest(plan, "final", pack_rest_mv, groups_mv, instrument),
        *_held(plan, groups_mv, hold),
        *([] if forecast_only else _loaded(plan, pack_rest_mv, load)),
        *([ask("final.insulation", _or_none(Measure.INSULATION, insulation_kohm))] if to_insulate(plan) else []),
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
    return (BOARD_CUTOFF,) if plan.cell_model.chemistry in LITHIUM_ION and not forecast_only else ()


def _loaded(plan: Plan, pack_rest_mv: Decimal | None, load: UnderLoad) -> list[Finding]:
    """Ask what the load showed: heat, the pack against its forecast, and the worst joint."""
    ask, fallen = asking(plan), None
    if pack_rest_mv is not None and load.pack_mv is not None:
        fallen = pack_rest_mv - load.pack_mv
    forecast = resistance_forecast(plan)
    against = (
        [
            ask(
                "final.resistance",
                _ohms(fallen, load.current_ma),
                limit=forecast,
                limit_source="DC resistance of the cells placed",
            )
        ]
        if forecast is not None
        else []
    )
    return [
        ask("final.temperature", _or_none(Measure.TEMPERATURE, load.hottest_mdegc)),
        *against,
        ask("final.joint_drop", _ohms(load.joint_mv, load.current_ma)),
    ]


def _ohms(drop_mv: Decimal | None, current_ma: Decimal | None) -> Quantity | None:
    if drop_mv is None or not current_ma:
        return None
    return of(Measure.DC_RESISTANCE, drop_mv / current_ma * 1_000_000)


def _or_none(measure: Measure, value: Decimal | None) -> Quantity | None:
    return None if value is None else of(measure, value)


def resistance_forecast(plan: Plan) -> Quantity | None:
    """Return the DC resistance of the groups in series, of the very cells placed; None where one is not known.

    Of groups that stay nobody measured it.
    """
    positions = list(plan.positions.select_related("cell"))
    known = figures.of_cells([place.cell for place in positions])
    of_groups: dict[int, list[Quantity]] = {group: [] for group in range(1, plan.series + 1)}
    for place in positions:
        if (uohm := known.get(place.cell_id, {}).get(Measure.DC_RESISTANCE)) is not None:
            of_groups[place.group].append(of(Measure.DC_RESISTANCE, uohm))
    if any(len(found) < plan.parallel for found in of_groups.values()):
        return None
    return sum((network.group_resistance(found) for found in of_groups.values()), start=ureg.Quantity(0.0, "milliohm"))


def most_resistance(plan: Plan) -> Quantity | None:
    """Return the most DC resistance that the finished pack may have; None where nothing is forecast."""
    return counted(in_force(plan.job), "final.resistance", resistance_forecast(plan))


def to_insulate(plan: Plan) -> bool:
    """Whether insulation is measured: above 60 V DC, or where the case was found to have metal."""
    closed = plan.job.steps.filter(stage=Stage.HOUSING.value).last()
    return highest_mv(plan) > HIGH_VOLTAGE_MV or bool(closed and closed.confirmed.get(METAL))


def highest_mv(plan: Plan) -> int:
    """Return the voltage of the full pack in millivolts."""
    return int(plan.series * plan.cell_model.charge_limit_mv)


def _capacity(plan: Plan, capacity_mah: Decimal | None, conditions: str, *, forecast_only: bool) -> list[Finding]:
    """Ask what the pack gave; beside groups that stay it has to be measured, without a load as well.

    Discharged otherwise than its cells, what it gave is not known in their measure.
    """
    ask = asking(plan)
    on_record = [ask("final.capacity_on_record", capacity_mah is not None)] if plan.standing_groups else []
    if forecast_only:
        return on_record
    measured, due = _or_none(Measure.CAPACITY, capacity_mah), _forecast(plan)
    source, how = "capacity of the weakest group of the cells placed", []
    if measured is not None and due is not None:
        like = discharges.pack_like_cells(plan, conditions)
        stated = discharges.of_pack(plan, conditions).whole
        missing = discharges.unstated(plan) if like is None and stated else ""
        how = [ask("final.capacity_stated", stated), ask("final.capacity_alike", like, where=missing)]
        measured = None if like is False else measured
    return [ask("final.capacity", measured, limit=due, limit_source=source), *how, *on_record]


def _held(plan: Plan, before: Sequence[Decimal | None], hold: RestHold | None) -> list[Finding]:
    """Ask about the rest hold: how long it was, and how far each group fell."""
    ask = asking(plan)
    if hold is None or all(mv is None for mv in hold.groups_mv):
        return [ask("final.rest_hold", None)]
    nothing = [None] * plan.series
    pairs = zip([*before, *nothing], [*hold.groups_mv, *nothing], strict=False)
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
    """Whether a group was overcharged, and pack, groups and nameplate agree; what was not measured is not asked."""
    ask, most = asking(found), cells.highest_charged(found.cell_model)
    found_of_groups = _as_named(found) + [
        ask("examine.group_overcharged", volts(mv), limit=most, limit_source=CHARGED, where=f"group {number}")
        for number, mv in enumerate(groups_mv, start=1)
    ]
    if len(groups_mv) > 1:
        found_of_groups.append(ask("examine.group_spread", volts(max(groups_mv) - min(groups_mv))))
    if pack_rest_mv is None or not groups_mv:
        return found_of_groups
    return [*found_of_groups, _agreement(found, "examine", pack_rest_mv, groups_mv, instrument)]


def _as_named(found: PackAsFound) -> list[Finding]:
    """Whether the arrangement gives the voltage of the nameplate, and every group has as many cells as the fullest."""
    ask, named, findings = asking(found), found.job.device.rated_voltage_mv, []
    if named is not None:
        least, most = found.cell_model.nominal_voltage_mv * NAMED_AT_LEAST, Decimal(found.cell_model.charge_limit_mv)
        ends = (of(Measure.VOLTAGE, found.series * least), of(Measure.VOLTAGE, found.series * most))
        findings.append(ask("examine.nameplate", volts(named), limit=ends, limit_source=BY_THE_CELLS))
    if found.counts:
        meant = found.series * found.fullest
        findings.append(ask("examine.counted", found.cell_count, limit=meant, limit_source=BY_THE_FULLEST))
    return findings


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
