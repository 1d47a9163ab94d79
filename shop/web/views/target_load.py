"""What the target pack does under its load, worked out after its page stands: way of the current, and forecast."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path

from packs.errors import PacksError
from shop import plots
from shop.bridge import conductors, forecast, plan_cells, rules, strips
from shop.models import Job, Plan
from shop.operations.base import BENCH
from shop.selectors import sheet
from shop.web.forms.target import TargetForm
from shop.web.http import locale, numbers, page, show
from shop.web.jobs import get_job

from .curves import svg

CURVES = ("pack", "groups")


@page(*BENCH)
def target_path(request: HttpRequest, number: int) -> HttpResponse:
    """Weakest part, rise, advice, fuse and strip to cut, of the pack that is being typed or of the standing plan."""
    job = get_job(number)
    form = TargetForm.of_job(job, request.GET, numbers=numbers(request)) if request.GET else None
    plan = sheet.standing_plan(job) if form is None else form.draft(job) if form.has_path() else None
    told = _path(plan)
    if plan is not None and form is not None:  # a standing plan tells what was found when it was stated
        told["findings"] = rules.of_path(plan, told.get("path"))
    return show(request, "target/path.html", job=job, plan=plan, **told)


@page(*BENCH)
def target_forecast(request: HttpRequest, number: int) -> HttpResponse:
    """The discharge to be expected, of the pack that is being typed or of the standing plan."""
    job = get_job(number)
    plan, outlook, not_known = _outlook(request, job)
    query = f"?{request.GET.urlencode()}" if request.GET else ""
    return show(request, "target/forecast.html", job=job, plan=plan, outlook=outlook, not_known=not_known, query=query)


@page(*BENCH)
def target_curve(request: HttpRequest, number: int, of: str) -> HttpResponse:
    """Voltage over time of the pack, or of its highest and lowest group."""
    plan, outlook, not_known = _outlook(request, get_job(number))
    if plan is None or outlook is None or of not in CURVES:
        raise Http404(not_known)
    return svg(_drawn(outlook, plan, of, locale(request)))


def _path(plan: Plan | None) -> dict[str, Any]:
    if plan is None:
        return {}
    try:
        return {
            "path": conductors.current_path(plan, plan_cells.of_plan(plan)),
            "cutting": strips.cutting(plan),
            "laying": strips.laying(plan),
        }
    except PacksError as error:
        return {"not_known": str(error)}


def _outlook(request: HttpRequest, job: Job) -> tuple[Plan | None, forecast.Outlook | None, str]:
    """Return the plan as far as it is known, its forecast, and why there is none."""
    form = TargetForm.of_job(job, request.GET, numbers=numbers(request)) if request.GET else None
    plan = sheet.standing_plan(job) if form is None else form.draft(job) if form.has_load() else None
    if plan is None:
        return None, None, ""
    try:
        return plan, forecast.outlook(plan, plan_cells.of_plan(plan)), ""
    except PacksError as error:
        return plan, None, str(error)


def _drawn(outlook: forecast.Outlook, plan: Plan, of: str, number_locale: str) -> bytes:
    lines = {"pack": outlook.pack_volts}
    end = plots.Mark("all groups at end of discharge", outlook.end_volts * plan.series)
    if of == "groups":
        lines = {"highest group": outlook.highest_volts, "lowest group": outlook.lowest_volts}
        end = plots.Mark("end of discharge", outlook.end_volts)
    series = [plots.Line(label, outlook.hours, volts) for label, volts in lines.items()]
    return plots.line_plot(series, "Time [h]", "Voltage [V]", levels=[end], locale=number_locale)


urlpatterns = [
    path("jobs/<int:number>/target/path/", target_path, name="target_path"),
    path("jobs/<int:number>/target/forecast/", target_forecast, name="target_forecast"),
    path("jobs/<int:number>/target/<slug:of>.svg", target_curve, name="target_curve"),
]
