"""What the rules find of a step that is done, by the readings of it that stand: asked when one of them was corrected."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from packs.rules import Finding
from packs.terms import JointMethod, Measure, Stage
from shop.bridge import figures, standing
from shop.models import Instrument, Job, Joint, JointState, Plan, PlanState, Step, cells_due_out

from . import building, charging, opening, proving

LEANING_ON: Mapping[Stage, tuple[Stage, ...]] = {
    Stage.EXAMINE: (Stage.DISMANTLE,),
    Stage.MEASURE: (Stage.LADDER,),
}
"""Steps whose rules ask about the readings of an earlier one."""

PAST = frozenset({Stage.DISMANTLE})
"""Steps that no job goes back to: what is apart stays apart, and only its record changes."""


@dataclass(frozen=True)
class _Look:
    """One look at the first charge, as its readings have it."""

    minutes: int
    pack_voltage_mv: Decimal
    current_ma: Decimal
    hottest_mdegc: Decimal


def found_again(step: Step) -> list[Finding] | None:
    """Return what the rules find of a step by now; None for a step whose rules ask about no reading."""
    ask = _ASK.get(Stage(step.stage))
    return None if ask is None else ask(step)


def _examined(step: Step) -> list[Finding]:
    found = step.job.as_found
    rest = _points(step, Measure.REST_VOLTAGE)
    groups = [rest[name] for name in _groups(found.series) if name in rest]
    return proving.examined(found, pack_rest_mv=rest.get("pack"), groups_mv=groups, instrument=_meter(step))


def _dismantled(step: Step) -> list[Finding]:
    found, due = step.job.as_found, cells_due_out(step.job)
    return [*opening.before_opening(found, step.confirmed), *building.dismantled(found, due, due)]


def _measured(step: Step) -> list[Finding]:
    plan, rest = _plan(step.job), _points(step, Measure.REST_VOLTAGE)
    stay = map(standing.point_of, plan.standing_groups)
    names = [*(position.name for position in plan.positions.all()), *stay]
    voltages = {name: rest.get(name) for name in names}
    return building.before_joining(plan, voltages, equal_charge=step.confirmed.get(building.EQUAL_CHARGE))


def _bolted(step: Step) -> list[Finding] | None:
    """The bolts by what was read of them; nothing is read of a weld or a solder joint."""
    plan, bolts = _plan(step.job), (Measure.TORQUE, Measure.CONTACT_RESISTANCE)
    if plan.joint_method != JointMethod.BOLTED:
        return None
    look = building.looked_again(plan, building.look_kept(step.confirmed))
    joints = Joint.objects.filter(position__plan=plan)
    return look + building.joined(
        plan,
        made=joints.filter(state=JointState.MADE.value).count(),
        failed=joints.filter(state=JointState.FAILED.value).count(),
        again=building.made_again_kept(step.confirmed),
        clean_faces=step.confirmed.get("clean_faces"),
        bolts={measure: _points(step, measure) for measure in bolts},
    )


def _tapped(step: Step) -> list[Finding]:
    plan, read = _plan(step.job), _points(step, Measure.VOLTAGE)
    taps = [read.get(f"tap {tap}") for tap in range(1, plan.series + 1)]
    board = building.BoardTried(
        suits=step.confirmed.get(building.BOARD_SUITS),
        overcharge_mv=read.get(building.OVERCHARGE_TRIP),
        undervoltage_mv=read.get(building.UNDERVOLTAGE_TRIP),
    )
    return [*building.ladder(plan, taps, _meter(step)), *building.board_tried(plan, board)]


def _charged(step: Step) -> list[Finding]:
    plan, volts = _plan(step.job), _points(step, Measure.VOLTAGE)
    amperes, degrees = _points(step, Measure.CURRENT), _points(step, Measure.TEMPERATURE)
    minutes = sorted(int(point.removesuffix(" min")) for point in volts if point.endswith(" min"))
    looks = [_Look(at, *(read[f"{at} min"] for read in (volts, amperes, degrees))) for at in minutes]
    return charging.first_charge(
        plan,
        supervised=bool(step.supervisor),
        charger_voltage_mv=volts["charger"],
        looks=looks,
        groups_mv=[volts.get(name) for name in _groups(plan.series)],
        mid_groups_mv=[volts.get(f"{charging.MID}{name}") for name in _groups(plan.series)],
        stopped=any(said.startswith(charging.STOPPED) for said in step.confirmed),
        ends_itself=step.confirmed.get(charging.ENDS_ITSELF),
    )


def _proved(step: Step) -> list[Finding]:
    plan, rest = _plan(step.job), _points(step, Measure.REST_VOLTAGE)
    return proving.final_test(
        plan,
        capacity_mah=_points(step, Measure.CAPACITY).get("pack"),
        pack_rest_mv=rest.get("pack"),
        groups_mv=[rest.get(name) for name in _groups(plan.series)],
        outlet_mv=_points(step, Measure.VOLTAGE).get("outlet"),
        instrument=_meter(step),
        hold=proving.held(rest, plan.series),
        load=proving.UnderLoad(**{name: _points(step, of).get(point) for name, (point, of) in proving.LOADED.items()}),
        insulation_kohm=_points(step, Measure.INSULATION).get("pack"),
        confirmed=step.confirmed,
        forecast_only=proving.FORECAST_ONLY in step.confirmed,
        conditions=next((read.conditions for read in step.readings.all() if read.conditions), ""),
    )


def _tested(step: Step) -> list[Finding]:
    found, rest = step.job.as_found, _points(step, Measure.REST_VOLTAGE)
    groups = [rest.get(name) for name in _groups(found.series)]
    return proving.pack_test(found, pack_rest_mv=rest.get("pack"), groups_mv=groups, instrument=_meter(step))


_ASK: Mapping[Stage, Callable[[Step], list[Finding] | None]] = {
    Stage.EXAMINE: _examined,
    Stage.DISMANTLE: _dismantled,
    Stage.MEASURE: _measured,
    Stage.JOIN: _bolted,
    Stage.LADDER: _tapped,
    Stage.FIRST_CHARGE: _charged,
    Stage.FINAL_TEST: _proved,
    Stage.TEST_PACK: _tested,
}


def _points(step: Step, measure: Measure) -> dict[str, Decimal]:
    return figures.of_points(step.job, Stage(step.stage), measure)


def _groups(series: int) -> list[str]:
    return [standing.point_of(number) for number in range(1, series + 1)]


def _meter(step: Step) -> Instrument | None:
    last = step.readings.exclude(instrument=None).select_related("instrument").last()
    return last.instrument if last else None


def _plan(job: Job) -> Plan:
    return job.plans.exclude(state=PlanState.ABANDONED.value).select_related("cell_model").get()
