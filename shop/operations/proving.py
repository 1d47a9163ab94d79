"""The steps that prove the pack: housing, supervised first charge, final test."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType

from django.utils import timezone

from packs.terms import Area, Measure, Stage
from packs.units import of, show
from shop.bridge import discharges, rules
from shop.bridge.checking import Checks
from shop.bridge.machines import CHARGED_WITH
from shop.errors import ShopError
from shop.models import SUPERVISED_BY, Instrument, Job, Plan, User

from . import areas, incidents
from .base import BENCH, lock_job, moment, require_stage, standing_plan, verb
from .possible import refuse, require_pack_likely
from .readings import Taken, of_groups, require_count, require_pack_possible, require_possible, write_all
from .since import require_told
from .steps import StepResult, begin, conclude

CURVE_APART = Decimal("0.02")
"""How far, as a share of the capacity, a curve may end beside it: testers round; common practice, no source."""
NOTHING: Mapping[str, bool] = MappingProxyType({})


@dataclass(frozen=True, kw_only=True)
class ChargeLine:
    """One look at the pack during its first charge."""

    minutes: int
    pack_voltage_mv: Decimal
    current_ma: Decimal
    hottest_mdegc: Decimal


@verb(*BENCH)
def close_housing(
    *,
    job: Job,
    confirmed: Mapping[str, bool],
    by: User,
    metal: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """The case is shut only over cells that cannot move, insulated groups, wires off the strip edges, a free vent."""
    job = lock_job(job, version)
    require_stage(job, Stage.HOUSING)
    if unknown := sorted(set(confirmed) - set(rules.HOUSING_RULES) - {rules.FLAT_CELLS, rules.THERMAL_CUTOFF}):
        raise ShopError("no_such_question", f"Nobody asks {', '.join(unknown)} here.", field="confirmed")
    at = moment(now)
    step = begin(job, Stage.HOUSING, by=by, at=at)
    kept = dict(confirmed) | ({rules.METAL: True} if metal else {})
    result = conclude(step, rules.housing(standing_plan(job), confirmed), by=by, at=at, confirmed=kept)
    if Stage(step.job.stage) is Stage.FIRST_CHARGE:
        areas.require_room(Area.CHARGING)
    return result


@verb(*BENCH)
def first_charge(
    *,
    job: Job,
    supervised_by: str,
    charger_voltage_mv: Decimal,
    lines: Sequence[ChargeLine],
    groups_mv: Sequence[Decimal | None],
    by: User,
    mid_groups_mv: Sequence[Decimal | None] = (),
    stopped_because: str = "",
    ends_itself: bool | None = None,
    charged_with: str = "",
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    since: str = "",
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """The first charge has somebody beside it by name, readings at intervals, and ends inside every limit.

    The last look is the one at the end; groups are read in the middle and at the end.
    One that was stopped early is kept with its reason, and done again as another try.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.FIRST_CHARGE)
    incidents.require_charger(charged_with, by=by, field="charged_with")
    if not lines:
        raise ShopError("no_readings", "Write down at least one look at the pack while it charged.", field="lines")
    plan = standing_plan(job)
    require_count(plan.series, groups_mv)
    require_count(plan.series, mid_groups_mv)
    require_told(job, Stage.FIRST_CHARGE, since)
    step = begin(job, Stage.FIRST_CHARGE, by=by, at=at, measured_at=measured_at)
    readings: list[Taken] = [("charger", Measure.VOLTAGE, charger_voltage_mv)]
    for line in lines:
        point = f"{line.minutes} min"
        readings += [
            (point, Measure.VOLTAGE, line.pack_voltage_mv),
            (point, Measure.CURRENT, line.current_ma),
            (point, Measure.TEMPERATURE, line.hottest_mdegc),
        ]
    middle = of_groups(Measure.VOLTAGE, mid_groups_mv)
    readings += [(f"{rules.MID}{point}", measure, mv) for point, measure, mv in middle]
    readings += of_groups(Measure.VOLTAGE, groups_mv)
    write_all(readings, step=step, by=by, at=at, instrument=instrument)
    findings = rules.first_charge(
        plan,
        supervised=bool(supervised_by.strip()),
        charger_voltage_mv=charger_voltage_mv,
        looks=lines,
        groups_mv=groups_mv,
        mid_groups_mv=mid_groups_mv,
        stopped=bool(stopped_because.strip()),
        ends_itself=ends_itself,
    )
    confirmed = {f"{SUPERVISED_BY}{supervised_by.strip()}": True} if supervised_by.strip() else {}
    if ends_itself is not None:
        confirmed[rules.ENDS_ITSELF] = ends_itself
    if charged_with.strip():
        confirmed[f"{CHARGED_WITH}{charged_with.strip()}"] = True
    if stopped_because.strip():
        confirmed[f"{rules.STOPPED}{stopped_because.strip()}"] = True
    lasted = timedelta(minutes=max(line.minutes for line in lines))
    if soon := rules.too_soon(job, Stage.FIRST_CHARGE, measured_at or at, lasted):
        confirmed[soon] = True
    return conclude(step, findings, by=by, at=at, confirmed=confirmed, since=since)


@verb(*BENCH)
def final_test(
    *,
    job: Job,
    capacity_mah: Decimal | None,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    by: User,
    outlet_mv: Decimal | None = None,
    conditions: str = "",
    hold: rules.RestHold | None = None,
    load: rules.UnderLoad = rules.NOT_LOADED,
    discharge: discharges.Curve = (),
    insulation_kohm: Decimal | None = None,
    confirmed: Mapping[str, bool] = NOTHING,
    forecast_only: bool = False,
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    version: int | None = None,
    sure: bool = False,
    now: datetime | None = None,
) -> StepResult:
    """What the pack is worth is measured, and held against the very cells that were placed.

    A shop without a load closes on the forecast alone, and every paper says so. ``discharge`` is its measured curve: charge
    drawn [mAh] and voltage of the pack [mV], as far as a tester wrote it down.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.FINAL_TEST)
    plan = standing_plan(job)
    if unknown := sorted(set(confirmed) - {rules.BOARD_CUTOFF}):
        raise ShopError("no_such_question", f"Nobody asks {', '.join(unknown)} here.", field="confirmed")
    if forecast_only:
        _require_no_load_yet(job, capacity_mah, discharge)
    _require_calibrated(instrument, measured_at or at)
    require_count(plan.series, groups_mv)
    require_possible({f"group {n}": mv for n, mv in enumerate(groups_mv, start=1)}, plan.cell_model)
    require_pack_possible({"pack_rest": pack_rest_mv}, plan.cell_model, plan.series)
    _require_loaded(load, pack_rest_mv)
    require_pack_likely(capacity_mah, plan, sure=sure)
    _require_curve(discharge, capacity_mah, plan, conditions)
    if hold is not None:
        require_count(plan.series, hold.groups_mv)
    step = begin(job, Stage.FINAL_TEST, by=by, at=at, measured_at=measured_at)
    discharged: list[Taken] = [
        ("pack", Measure.CAPACITY, capacity_mah),
        *((discharges.drawn_point(mah), Measure.VOLTAGE, mv) for mah, mv in discharges.thinned(discharge)),
    ]
    readings: list[Taken] = [
        ("pack", Measure.REST_VOLTAGE, pack_rest_mv),
        ("outlet", Measure.VOLTAGE, outlet_mv),
        *of_groups(Measure.REST_VOLTAGE, groups_mv),
        *_after(hold),
        *((point, measure, getattr(load, name)) for name, (point, measure) in rules.LOADED.items()),
        ("pack", Measure.INSULATION, insulation_kohm),
    ]
    write_all(discharged, step=step, by=by, at=at, instrument=instrument, conditions=conditions)
    write_all(readings, step=step, by=by, at=at, instrument=instrument)
    findings = rules.final_test(
        plan,
        capacity_mah=capacity_mah,
        pack_rest_mv=pack_rest_mv,
        groups_mv=groups_mv,
        outlet_mv=outlet_mv,
        instrument=instrument,
        hold=hold,
        load=load,
        insulation_kohm=insulation_kohm,
        confirmed=confirmed,
        forecast_only=forecast_only,
        conditions=conditions,
    )
    kept = dict(confirmed) | ({rules.FORECAST_ONLY: True} if forecast_only else {})
    took = rules.test_took(plan, capacity_mah, conditions, hold.hours if hold else None)
    if soon := rules.too_soon(job, Stage.FINAL_TEST, measured_at or at, took):
        kept[soon] = True
    return conclude(step, findings, by=by, at=at, confirmed=kept)


def _require_no_load_yet(job: Job, capacity_mah: Decimal | None, discharge: discharges.Curve) -> None:
    """A forecast is for a shop without a load: once this pack was on one, what it showed is what counts."""
    if capacity_mah is not None or discharge:
        raise ShopError("capacity_given", "A capacity was measured: then this is no forecast only.", field="capacity")
    if rules.was_loaded(job):
        raise ShopError(
            "loaded_before",
            "This pack was on a load in a try before: a forecast does not stand in for what was found then. Test it again.",
            field="forecast_only",
        )


def _require_curve(curve: discharges.Curve, capacity_mah: Decimal | None, plan: Plan, conditions: str) -> None:
    """What is drawn grows from point to point, ends with the capacity, and no voltage is beyond the pack."""
    if not curve:
        return
    drawn = [mah for mah, _ in curve]
    if len(curve) < 2 or drawn[0] < 0 or any(later <= earlier for earlier, later in pairwise(drawn)):
        message = "The charge drawn grows from point to point, and two points at least make a curve."
        raise ShopError("curve_unordered", message, field="discharge")
    if capacity_mah is not None and not _ends_with(drawn[-1], capacity_mah):
        message = _apart(drawn[-1], capacity_mah, discharges.current_of(plan, conditions))
        raise ShopError("curve_beside_capacity", message, field="discharge")
    highest = max(mv for _, mv in curve)
    require_pack_possible(
        {"discharge": highest if min(mv for _, mv in curve) >= 0 else Decimal(-1)}, plan.cell_model, plan.series
    )


def _ends_with(drawn_mah: Decimal, capacity_mah: Decimal) -> bool:
    return abs(drawn_mah - capacity_mah) <= capacity_mah * CURVE_APART


def _apart(drawn_mah: Decimal, capacity_mah: Decimal, current_ma: Decimal | None) -> str:
    """Say that a curve does not end with the capacity, and what its first column would be for it to do so."""
    ends, gave = (show(of(Measure.CAPACITY, mah)) for mah in (drawn_mah, capacity_mah))
    told = f"The curve ends at {ends}, the capacity delivered is {gave}: within {CURVE_APART * 100:.0f} % of it the curve has to end."
    if _ends_with(drawn_mah * 1000, capacity_mah):
        return f"{told} Its first figures look like Ah: write the unit behind them."
    if current_ma is not None and _ends_with(drawn_mah * current_ma / 60, capacity_mah):
        return f"{told} Its first figures look like minutes: copy the charge that was drawn instead."
    return f"{told} Are its first figures charge, in mAh, of this discharge, down to its end?"


def _require_loaded(load: rules.UnderLoad, pack_rest_mv: Decimal | None) -> None:
    """A load draws a current, and no pack rises under it."""
    drawn = load.current_ma is None or load.current_ma > 0
    fell = load.pack_mv is None or pack_rest_mv is None or load.pack_mv < pack_rest_mv
    refuse(
        "impossible_value",
        {
            "load_current": "" if drawn else "The current of a load lies above zero.",
            "load_pack": "" if fell else "Under load a pack lies below its rest voltage. Check both readings.",
        },
    )


def _after(hold: rules.RestHold | None) -> list[Taken]:
    """Return what the groups had at the end of the rest hold."""
    if hold is None:
        return []
    read = enumerate(hold.groups_mv, start=1)
    return [(rules.held_point(hold.hours, n), Measure.REST_VOLTAGE, mv) for n, mv in read]


def _require_calibrated(instrument: Instrument | None, measured: datetime) -> None:
    if instrument is not None and instrument.overdue(timezone.localdate(measured)):
        raise ShopError(
            "calibration_overdue",
            f"The calibration of {instrument} is overdue: what it measures ends no final test. Calibrate it, or measure "
            "with another one.",
            field="instrument",
        )
    if instrument is not None and (why := Checks.of_cells().against(instrument, measured)):
        raise ShopError(
            "check_overdue",
            f"{instrument} ends no final test: {why}. Read the check cell, or measure with another meter.",
            field="instrument",
        )
