"""The test report."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from packs.documents import (
    AsFound,
    ChargeLook,
    CheckResult,
    CurvePoint,
    FromPaper,
    Heading,
    Limit,
    Proof,
    StepDone,
    StoppedTry,
    TestReport,
)
from packs.rules import RULES
from packs.terms import JointMethod, Measure, Outcome, Severity, Stage, StripMaterial
from packs.units import of, to
from shop.bridge import discharges, figures, forecast, rebuilt, rules, waste
from shop.errors import ShopError
from shop.models import Job, Plan, Reading, Step, StepOutcome

from .heading import local
from .packs_of import change_of, charge_temperature, groups, mixed, outline, plan_of, rating, storage, within
from .words import day, written_for

Stored = dict[str, Any]
ORDER = list(Stage)


NONE_NAMED = "none named"
"""What stands in place of a meter where nobody said with which one was measured."""


def test_report(job: Job, heading: Heading) -> TestReport:
    """Return what was measured before and after; there is none before the final test is done."""
    require_tested(job)
    plan = plan_of(job)
    left = rating(plan)
    found = as_found(job) if Stage.EXAMINE in job.route else None
    return TestReport(
        heading=heading,
        customer=job.device.customer.name,
        found=found,
        left=left,
        change=None if found is None else change_of(found.rating, left),
        joint_method=JointMethod(plan.joint_method),
        strip_material=StripMaterial(plan.strip_material),
        outline=outline(plan),
        groups=groups(
            plan,
            charged_mv=figures.of_points(job, Stage.FIRST_CHARGE, Measure.VOLTAGE),
            rest_mv=figures.of_points(job, Stage.FINAL_TEST, Measure.REST_VOLTAGE),
        ),
        proof=_proof(plan),
        checks=checks(job, plan.findings, heading.workshop.number_locale),
        steps=steps_done(job, heading.workshop.time_zone),
        charger_voltage_mv=Decimal(plan.charger_voltage_mv),
        charge_temperature=charge_temperature(plan),
        storage=storage(plan),
        stopped=stopped_tries(job, heading),
        from_paper=from_paper(job, heading.workshop.time_zone),
        market=rebuilt.on_the_market(plan, waste.here(heading.issued_at)),
        mixed=mixed(plan),
    )


def require_tested(job: Job) -> None:
    """Refuse a paper on a pack that was not tested."""
    require_done(job, Stage.FINAL_TEST)


def require_done(job: Job, stage: Stage) -> None:
    """Refuse a paper on what was not done yet."""
    if not job.steps.filter(stage=stage.value, outcome=StepOutcome.DONE.value).exists():
        what = f"“{stage.label}”"
        raise ShopError("not_tested", f"{what} of job {job.code} is not done yet; this paper comes after it.")


def as_found(job: Job) -> AsFound:
    """Return the pack as it came in."""
    row = job.as_found
    voltages = figures.of_points(job, Stage.EXAMINE, Measure.REST_VOLTAGE)
    return AsFound(
        rating=rating(row),
        joint_method=JointMethod(row.joint_method) if row.joint_method else None,
        housing=row.housing,
        board=row.board,
        note=row.note,
        pack_mv=voltages.get("pack"),
        groups_mv=tuple(voltages.get(f"group {number}") for number in range(1, row.series + 1)),
    )


def _proof(plan: Plan) -> Proof:
    job = plan.job
    capacity = figures.of_points(job, Stage.FINAL_TEST, Measure.CAPACITY)
    voltages = figures.of_points(job, Stage.FINAL_TEST, Measure.VOLTAGE)
    least = rules.least_final_capacity(plan)
    return Proof(
        conditions=_conditions(job),
        forecast_mah=rules.forecast_mah(plan),
        least_capacity_mah=None if least is None else to(Measure.CAPACITY, least),
        capacity_mah=capacity.get("pack"),
        pack_rest_mv=figures.of_points(job, Stage.FINAL_TEST, Measure.REST_VOLTAGE).get("pack"),
        outlet_mv=voltages.get("outlet"),
        outlet=_outlet(plan),
        charger_mv=figures.of_points(job, Stage.FIRST_CHARGE, Measure.VOLTAGE).get("charger"),
        looks=_looks(job),
        instruments=instruments(job),
        supervised_by=_supervisor(job),
        forecast_only=closed_on_forecast(job),
        **_expected(plan),
    )


def _expected(plan: Plan) -> dict[str, Any]:
    """Return what was to be expected of the very cells, beside what the pack showed under load."""
    load, loaded = (
        figures.of_points(plan.job, Stage.FINAL_TEST, measure).get(point)
        for point, measure in (rules.LOADED["current_ma"], rules.LOADED["pack_mv"])
    )
    measured = discharges.measured_curve(plan.job)
    rate_ma = discharges.current_of(plan, _conditions(plan.job)) if measured else None
    current_ma = rate_ma or load or Decimal(plan.continuous_current_ma)
    curve = forecast.curve_at(plan, of(Measure.CURRENT, current_ma))
    low = forecast.least_likely_mah(plan)
    return {
        "forecast_low_mah": low,
        "test_share": None if low is None else forecast.REPEATABILITY,
        "curve": tuple(CurvePoint(mah, mv) for mah, mv in curve),
        "curve_ma": current_ma if curve else None,
        "loaded_ma": load,
        "loaded_mv": loaded,
        "measured_curve": tuple(CurvePoint(mah, mv) for mah, mv in measured),
        "charge_percent": rules.charge_told(plan),
    }


def closed_on_forecast(job: Job) -> bool:
    """Whether the final test was closed without a measured capacity."""
    done = job.steps.filter(stage=Stage.FINAL_TEST.value, outcome=StepOutcome.DONE.value).first()
    return done is not None and any(
        found["rule_id"] == "final.forecast_only" and found["outcome"] == Outcome.FAIL for found in done.findings
    )


def _supervisor(job: Job) -> str:
    charged = job.steps.filter(stage=Stage.FIRST_CHARGE.value, outcome=StepOutcome.DONE.value).first()
    return charged.supervisor if charged else ""


def _conditions(job: Job) -> str:
    """Return how the capacity that counts was measured."""
    readings = Reading.objects.standing().filter(job=job, stage=Stage.FINAL_TEST.value, measure=Measure.CAPACITY.value)
    last = readings.last()
    return last.conditions if last else ""


def _outlet(plan: Plan) -> Limit | None:
    window = rules.outlet_window(plan)
    return window and within("voltage at the outlet", Measure.VOLTAGE, *window)


def _looks(job: Job) -> tuple[ChargeLook, ...]:
    by_measure = {
        measure: figures.of_points(job, Stage.FIRST_CHARGE, measure)
        for measure in (Measure.VOLTAGE, Measure.CURRENT, Measure.TEMPERATURE)
    }
    points = sorted((int(point.removesuffix(" min")), point) for point in by_measure[Measure.CURRENT])
    return tuple(
        ChargeLook(
            point=point,
            voltage_mv=by_measure[Measure.VOLTAGE].get(point),
            current_ma=by_measure[Measure.CURRENT].get(point),
            temperature_mdegc=by_measure[Measure.TEMPERATURE].get(point),
        )
        for _, point in points
    )


def instruments(job: Job) -> tuple[str, ...]:
    """Return the meters behind the readings of a job that count, each with the day of its calibration and what it read.

    Last stands what was read without a meter being named.
    """
    used: dict[str, set[Measure]] = {}
    rows = Reading.objects.standing().filter(job=job)
    for name, calibrated_on, measure in rows.values_list("instrument__name", "instrument__calibrated_on", "measure"):
        used.setdefault(_meter(name, calibrated_on), set()).add(Measure(measure))
    meters = sorted(used, key=lambda meter: (meter == NONE_NAMED, meter))
    return tuple(f"{meter}: {', '.join(one.label for one in Measure if one in used[meter])}" for meter in meters)


def _meter(name: str | None, calibrated_on: date | None) -> str:
    if name is None:
        return NONE_NAMED
    return f"{name} (calibrated {day(calibrated_on)})" if calibrated_on else name


def checks(job: Job, planned: Iterable[Stored], locale: str) -> tuple[CheckResult, ...]:
    """Return every rule's answer, those that hold at several places as one."""
    found: list[Stored] = [*planned]
    for step in job.steps.filter(outcome=StepOutcome.DONE.value):
        found += step.findings
    alike: dict[tuple[str, ...], list[Stored]] = {}
    for finding in sorted(found, key=lambda each: ORDER.index(Stage(each["stage"]))):
        if finding["outcome"] != Outcome.NOT_APPLICABLE:
            alike.setdefault((finding["rule_id"], finding["outcome"]), []).append(finding)
    return tuple(result for run in alike.values() for result in _results(run, locale))


def _results(run: list[Stored], locale: str) -> Iterator[CheckResult]:
    if len(run) == 1 or run[0]["outcome"] != Outcome.PASS:
        yield from (_result(finding, 1, finding["message"], locale) for finding in run)
    else:
        yield _result(run[0] | {"where": ""}, len(run), "", locale)


def _result(finding: Stored, places: int, message: str, locale: str) -> CheckResult:
    rule = RULES.get(finding["rule_id"])
    return CheckResult(
        stage=Stage(finding["stage"]),
        what=rule.quantity if rule else finding["rule_id"],
        outcome=Outcome(finding["outcome"]),
        severity=Severity(finding["severity"]),
        places=places,
        limit=written_for(locale, finding["limit"]),
        message=written_for(locale, message, finding["where"]) if message else "",
    )


def steps_done(job: Job, time_zone: str) -> tuple[StepDone, ...]:
    """Return who finished which step."""
    done = job.steps.filter(outcome=StepOutcome.DONE.value).select_related("by")
    before = _said_in_stopped_tries(job)
    return tuple(
        StepDone(Stage(step.stage), str(step.by), local(step.ended_at, time_zone), (*before[step.stage], *step.said))
        for step in done
        if step.ended_at
    )


def _said_in_stopped_tries(job: Job) -> dict[str, list[str]]:
    """Return what was found and done before a try that was stopped again, by stage: the one that is done says its own."""
    said: dict[str, list[str]] = defaultdict(list)
    for step in job.steps.exclude(outcome=StepOutcome.DONE.value):
        if step.since:
            said[step.stage].append(f"before try {step.number}: {step.since}")
    return said


def from_paper(job: Job, time_zone: str) -> tuple[FromPaper, ...]:
    """Return which readings that count stood on paper first, step by step."""
    rows = Reading.objects.standing().filter(job=job, entered_at__isnull=False).select_related("by")
    counted = Counter((row.stage, row.measured_at, row.entered_at, str(row.by)) for row in rows)
    return tuple(
        FromPaper(Stage(stage), count, local(measured_at, time_zone), local(entered_at, time_zone), by)
        for (stage, measured_at, entered_at, by), count in counted.items()
        if entered_at is not None
    )


def stopped_tries(job: Job, heading: Heading) -> tuple[StoppedTry, ...]:
    """Return the tries of steps that were stopped, with what stopped them."""
    stopped = job.steps.filter(outcome=StepOutcome.STOPPED.value).select_related("by")
    return tuple(_stopped_try(step, heading) for step in stopped if step.ended_at)


def _stopped_try(step: Step, heading: Heading) -> StoppedTry:
    assert step.ended_at is not None  # noqa: S101 - only ended tries are asked about
    locale = heading.workshop.number_locale
    return StoppedTry(
        stage=Stage(step.stage),
        number=step.number,
        by=str(step.by),
        at=local(step.ended_at, heading.workshop.time_zone),
        reasons=tuple(
            written_for(locale, found["message"], found["where"]) for found in rules.stored_stops(step.findings)
        ),
    )
