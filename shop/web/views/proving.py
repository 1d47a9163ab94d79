"""Pages of the steps that prove the pack: housing, first charge, final test."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from packs.terms import NICKEL, Measure, Stage
from packs.units import Quantity
from shop.bridge import discharges, figures, rebuilt, rules, standing, waste
from shop.models import Job, Plan, Step
from shop.operations import proving
from shop.operations.steps import StepResult
from shop.selectors import bench, photographs
from shop.web import drafts
from shop.web.forms.proving import LOAD, FinalTestForm, FirstChargeForm, HousingForm
from shop.web.http import numbers, person, version
from shop.web.stepping import (
    between,
    frozen_machines,
    get_plan,
    get_step,
    last_meter,
    record,
    step_page,
    taken,
    typed,
    typed_points,
    words,
)
from shop.web.views import removed

ADD_PHOTOGRAPHS = "add_photographs"


def housing(request: HttpRequest, job: Job) -> HttpResponse:
    """What is looked at before the case is shut."""
    if request.method == "POST" and ADD_PHOTOGRAPHS in request.POST:
        drafts.keep(request, but=ADD_PHOTOGRAPHS)
        return redirect(f"{reverse('photographs', args=[job.number])}?stage={Stage.HOUSING.value}")
    step = get_step(job, Stage.HOUSING)
    before = dict(step.confirmed) | {"metal": rules.METAL in step.confirmed} if step else {}
    form = HousingForm(
        request.POST or None, plan=get_plan(job), initial=drafts.kept(request) or before, numbers=numbers(request)
    )

    def conclude() -> StepResult:
        result = proving.close_housing(
            job=job,
            confirmed=form.confirmed(),
            metal=form.cleaned_data["metal"],
            by=person(request),
            version=version(request),
        )
        drafts.drop(request)
        return result

    plan = get_plan(job)
    return record(request, job, form, conclude) or step_page(
        request,
        job,
        step,
        form,
        "steps/housing.html",
        plan=plan,
        photographed=photographs.of_job(job, Stage.HOUSING),
        market=rebuilt.carried(plan, waste.here(timezone.now())),
    )


def first_charge(request: HttpRequest, job: Job) -> HttpResponse:
    """Supervised, with looks at intervals, and every group at the end."""
    plan, step = get_plan(job), get_step(job, Stage.FIRST_CHARGE)
    form = FirstChargeForm(
        request.POST or None,
        groups=plan.series,
        limits=_charge_limits(request, plan),
        nickel=plan.cell_model.chemistry in NICKEL,
        middle=rules.has_mid_groups(plan),
        ask_since=bool(rules.to_be_told(step)),
        initial=_charged_already(request, job, step),
        numbers=numbers(request),
    )

    def conclude() -> StepResult:
        return proving.first_charge(
            job=job,
            supervised_by=form.cleaned_data["supervised_by"],
            charger_voltage_mv=form.cleaned_data["charger_voltage"],
            lines=form.lines(),
            groups_mv=form.point_values(),
            mid_groups_mv=form.middle_values(),
            stopped_because=form.cleaned_data["stopped_because"],
            ends_itself=form.cleaned_data.get("ends_itself"),
            charged_with=form.cleaned_data["charged_with"],
            since=form.told_since(),
            **taken(request, form),
        )

    most = _at_most(request, rules.charge_limits(plan).group)
    return record(request, job, form, conclude) or step_page(
        request,
        job,
        step,
        form,
        "steps/first_charge.html",
        frozen_machines=frozen_machines("charger"),
        plan=plan,
        group_limit=most,
        interval=words(request, rules.look_interval(plan)),
        mid_spread=words(request, rules.own_limit("first_charge.mid_spread")),
    )


def _charge_limits(request: HttpRequest, plan: Plan) -> dict[str, str]:
    limits = rules.charge_limits(plan)
    window = limits.temperature
    temperature = between(request, *window) if window else ""
    most = {"charger": limits.charger, "pack": limits.pack, "current": limits.current}
    return {name: _at_most(request, limit) for name, limit in most.items()} | {"hottest": temperature}


def _at_most(request: HttpRequest, limit: Quantity | None) -> str:
    return "" if limit is None else f"at most {words(request, limit)}"


def _charged_already(request: HttpRequest, job: Job, step: Step | None) -> dict[str, Any]:
    """Return what was written down when the charge was stopped."""
    known = figures.of_points(job, Stage.FIRST_CHARGE, Measure.VOLTAGE)
    initial: dict[str, Any] = typed_points(request, Measure.VOLTAGE, known) | last_meter(job)
    initial["charger_voltage"] = initial.get("charger", "")
    initial["supervised_by"] = step.supervisor if step else ""
    for number, look in enumerate(bench.charge_looks(job), start=1):
        initial |= {
            f"minutes_{number}": look.minutes,
            f"pack_{number}": typed(request, Measure.VOLTAGE, look.pack),
            f"current_{number}": typed(request, Measure.CURRENT, look.current),
            f"hottest_{number}": typed(request, Measure.TEMPERATURE, look.hottest),
        }
    return initial


def final_test(request: HttpRequest, job: Job) -> HttpResponse:
    """What the finished pack gives, beside what its own cells promise."""
    plan, step = get_plan(job), get_step(job, Stage.FINAL_TEST)
    form = FinalTestForm(
        request.POST or None,
        groups=plan.series,
        limits=_final_limits(request, plan),
        outlet=plan.outlet_voltage_mv is not None,
        insulate=rules.to_insulate(plan),
        questions=rules.final_questions(plan),
        initial=_tested_already(request, job) | (dict(step.confirmed) if step else {}),
        numbers=numbers(request),
    )

    def conclude() -> StepResult:
        result = proving.final_test(
            job=job,
            capacity_mah=form.cleaned_data["capacity"],
            pack_rest_mv=form.cleaned_data["pack_rest"],
            groups_mv=form.point_values(),
            outlet_mv=form.cleaned_data.get("outlet"),
            conditions=form.cleaned_data["conditions"],
            sure=form.said_true(),
            hold=form.hold(),
            load=form.load(),
            discharge=form.cleaned_data["discharge"],
            insulation_kohm=form.cleaned_data.get("insulation"),
            confirmed=form.confirmed(),
            forecast_only=form.cleaned_data["forecast_only"],
            **taken(request, form),
        )
        if result.done:
            removed.go_on(request, job)
        return result

    return record(request, job, form, conclude) or step_page(
        request,
        job,
        step,
        form,
        "steps/final_test.html",
        plan=plan,
        forecast_mah=rules.forecast_mah(plan),
        mixed=standing.mixed(plan, rules.group_capacities(plan)),
        spread=words(request, rules.own_limit("final.group_spread")),
        fall=words(request, rules.own_limit("final.rest_hold")),
    )


def _final_limits(request: HttpRequest, plan: Plan) -> dict[str, str]:
    due, outlet = rules.least_final_capacity(plan), rules.outlet_window(plan)
    resistance, own = rules.most_resistance(plan), rules.own_limit
    return {
        "held_hours": f"at least {words(request, own('final.rest_hours'))}",
        "load_pack": _at_most_resistance(request, resistance),
        "load_joint": _at_most_resistance(request, own("final.joint_drop")),
        "load_hottest": _at_most(request, own("final.temperature")),
        "insulation": f"at least {words(request, own('final.insulation'))}",
        "capacity": f"at least {words(request, due)}" if due is not None else "",
        "outlet": between(request, *outlet) if outlet else "",
        "pack_rest": f"the sum of its groups ± {words(request, rules.tolerance('final.rest_agreement'))}",
    }


def _at_most_resistance(request: HttpRequest, limit: Quantity | None) -> str:
    """Say what the fall of a voltage comes to at most, whatever the load is."""
    return "" if limit is None else f"{_at_most(request, limit)} times the load"


def _tested_already(request: HttpRequest, job: Job) -> dict[str, Any]:
    """Return what was written down when the final test was stopped."""
    rest = figures.of_points(job, Stage.FINAL_TEST, Measure.REST_VOLTAGE)
    initial: dict[str, Any] = typed_points(request, Measure.REST_VOLTAGE, rest) | last_meter(job)
    read = {measure: figures.of_points(job, Stage.FINAL_TEST, measure) for measure in Measure}
    loaded = {
        key: typed(request, measure, read[measure].get(point))
        for (key, _, _), (point, measure) in zip(LOAD, rules.LOADED.values(), strict=True)
    }
    return {
        **initial,
        **loaded,
        "pack_rest": initial.get("pack", ""),
        "capacity": typed(request, Measure.CAPACITY, read[Measure.CAPACITY].get("pack")),
        "outlet": typed(request, Measure.VOLTAGE, read[Measure.VOLTAGE].get("outlet")),
        "insulation": typed(request, Measure.INSULATION, read[Measure.INSULATION].get("pack")),
        "conditions": bench.conditions_of(job, Stage.FINAL_TEST),
        "discharge": _curve_already(request, job),
    }


def _curve_already(request: HttpRequest, job: Job) -> str:
    """Return the measured discharge as somebody would type it."""
    points = "\n".join(f"{mah:f} mAh {mv / 1000:f} V" for mah, mv in discharges.measured_curve(job))
    return points.replace(".", numbers(request).decimal or ".")
