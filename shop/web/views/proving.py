"""Pages of the steps that prove the pack: housing, first charge, final test."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from packs.terms import Measure, Stage
from packs.units import of
from shop.bridge import cells, figures, rules
from shop.models import Job, Plan
from shop.operations import proving
from shop.web.forms.steps import FinalTestForm, FirstChargeForm, HousingForm
from shop.web.http import numbers, person, submit, version
from shop.web.stepping import after, get_plan, step_page, typed, words


def housing(request: HttpRequest, job: Job) -> HttpResponse:
    """What is looked at before the case is shut."""
    form = HousingForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = proving.close_housing(
                job=job, confirmed=form.confirmed(), by=person(request), version=version(request)
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(request, job, Stage.HOUSING, form, "steps/housing.html")


def first_charge(request: HttpRequest, job: Job) -> HttpResponse:
    """Supervised, with looks at intervals, and every group at the end."""
    plan = get_plan(job)
    form = FirstChargeForm(
        request.POST or None,
        group_limits=[f"at most {words(request, of(Measure.VOLTAGE, plan.cell_model.charge_limit_mv))}"] * plan.series,
        limits=_charge_limits(request, plan),
        initial=_known_groups(request, job, Stage.FIRST_CHARGE, Measure.VOLTAGE),
        numbers=numbers(request),
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = proving.first_charge(
                job=job,
                supervised_by=form.cleaned_data["supervised_by"],
                charger_voltage_mv=form.cleaned_data["charger_voltage"],
                lines=form.lines(),
                groups_mv=form.point_values(),
                instrument=form.cleaned_data["instrument"],
                by=person(request),
                version=version(request),
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(request, job, Stage.FIRST_CHARGE, form, "steps/first_charge.html", plan=plan)


def final_test(request: HttpRequest, job: Job) -> HttpResponse:
    """What the finished pack gives, beside what its own cells promise."""
    plan = get_plan(job)
    due = rules.least_final_capacity(plan)
    form = FinalTestForm(
        request.POST or None,
        group_limits=[""] * plan.series,
        limits={
            "capacity": f"at least {words(request, due)}" if due is not None else "",
            "outlet": " to ".join(words(request, limit) for limit in rules.outlet_window()),
            "pack_rest": "as its groups add up",
        },
        outlet=plan.outlet_voltage_mv is not None,
        initial=_known_groups(request, job, Stage.FINAL_TEST, Measure.REST_VOLTAGE),
        numbers=numbers(request),
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = proving.final_test(
                job=job,
                capacity_mah=form.cleaned_data["capacity"],
                pack_rest_mv=form.cleaned_data["pack_rest"],
                groups_mv=form.point_values(),
                outlet_mv=form.cleaned_data.get("outlet"),
                conditions=form.cleaned_data["conditions"],
                instrument=form.cleaned_data["instrument"],
                by=person(request),
                version=version(request),
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(
        request, job, Stage.FINAL_TEST, form, "steps/final_test.html", plan=plan, forecast_mah=rules.forecast_mah(plan)
    )


def _charge_limits(request: HttpRequest, plan: Plan) -> dict[str, str]:
    pack = cells.pack_figures(plan)
    limits = cells.limits(plan.cell_model)
    low, high = limits.charge_temperature_low, limits.charge_temperature_high
    window = f"{words(request, low)} to {words(request, high)}" if low is not None and high is not None else ""
    top = f"at most {words(request, pack.voltage_high)}"
    return {"charger": top, "pack": top, "hottest": window}


def _known_groups(request: HttpRequest, job: Job, stage: Stage, measure: Measure) -> dict[str, str]:
    known = figures.of_points(job, stage, measure)
    return {point.replace(" ", "_"): typed(request, measure, value) for point, value in known.items()}


PAGES: dict[Stage, Callable[[HttpRequest, Job], HttpResponse]] = {
    Stage.HOUSING: housing,
    Stage.FIRST_CHARGE: first_charge,
    Stage.FINAL_TEST: final_test,
}
