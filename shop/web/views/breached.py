"""A can was pierced while the pack was joined."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path

from packs.terms import Measure, Stage
from shop.bridge import cautions, figures
from shop.models import Cell, Job, Plan
from shop.operations import breached
from shop.selectors import bench, sheet
from shop.web.forms.breached import BreachedForm
from shop.web.http import numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import get_plan, highest_mv, is_next, step_url

OFFERED = 12


@page(*sheet.BENCH)
def pierced(request: HttpRequest, number: int) -> HttpResponse:
    """Say what happened and which cell goes in instead; only that one and the strips on it come off."""
    job = get_job(number)
    if not any(is_next(job, stage) for stage in breached.BREACHED_AT):
        return redirect("job", number=job.number)
    plan = get_plan(job)
    placed = [(spot.cell.code, f"{spot.cell.code} at {spot.name}") for spot in bench.positions(plan) if spot.placed_at]
    form = BreachedForm(request.POST or None, placed=placed, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            breached.replace_breached(job=job, **form.values(), by=person(request), version=version(request))
            say(
                request,
                f"{form.cleaned_data['instead']} is to be placed once a lead released the job; every cell is measured again.",
            )
            return step_url(job, Stage.PLACE)

        if answer := submit(request, form, do):
            return answer
    return _page(request, job, plan, form)


def _page(request: HttpRequest, job: Job, plan: Plan, form: BreachedForm) -> HttpResponse:
    free = Cell.objects.free().filter(lot__cell_model_id=plan.cell_model_id).order_by("code")
    known = figures.of_cells(free)
    tested = [
        (cell.code, known[cell.pk][Measure.CAPACITY]) for cell in free if Measure.CAPACITY in known.get(cell.pk, {})
    ]
    return show(
        request,
        "jobs/breached.html",
        job=job,
        form=form,
        free=tested[:OFFERED],
        cautions=cautions.for_stage(Stage.TAKE_IN, highest_mv=highest_mv(plan)),
    )


urlpatterns = [path("jobs/<int:number>/breached/", pierced, name="breached")]
