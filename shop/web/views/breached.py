"""A can was pierced while the pack was joined."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path

from packs.errors import PacksError
from packs.terms import Measure, Stage
from shop.bridge import cautions, figures, replacing
from shop.bridge.matching import NO_LIMITS
from shop.bridge.replacing import LeastChange
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
    if request.method != "POST":
        return _page(request, job, plan, None)
    form = _form(request, plan)
    if form.is_valid():

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


def _form(request: HttpRequest, plan: Plan, **known: str) -> BreachedForm:
    placed = [(spot.cell.code, f"{spot.cell.code} at {spot.name}") for spot in bench.positions(plan) if spot.placed_at]
    return BreachedForm(request.POST or None, placed=placed, initial=known, numbers=numbers(request))


def _page(request: HttpRequest, job: Job, plan: Plan, sent: BreachedForm | None) -> HttpResponse:
    free = Cell.objects.free(job).filter(lot__cell_model_id=plan.cell_model_id).order_by("code")
    known = figures.of_cells(free)
    tested = [
        (cell.code, known[cell.pk][Measure.CAPACITY]) for cell in free if Measure.CAPACITY in known.get(cell.pk, {})
    ]
    code = request.GET.get("cell", "") if sent is None else sent.data.get("code", "")
    least, refused = _least(plan, code)
    return show(
        request,
        "jobs/breached.html",
        job=job,
        plan=plan,
        form=sent or _form(request, plan, code=code, instead=least.changes[0].into if least else ""),
        code=code,
        least=least,
        refused=refused,
        free=tested[:OFFERED],
        cautions=cautions.at_a_pierced_can(highest_mv=highest_mv(plan), part_stays=job.part_stays),
    )


def _least(plan: Plan, code: str) -> tuple[LeastChange | None, str]:
    """Return the free cell that fits best into the place of a pierced one, all others staying, or why none does."""
    codes = frozenset(plan.positions.values_list("cell__code", flat=True))
    if code not in codes:
        return None, ""
    try:
        return replacing.least_change(plan, code, NO_LIMITS, stay=codes - {code}), ""
    except PacksError as error:
        return None, str(error)


urlpatterns = [path("jobs/<int:number>/breached/", pierced, name="breached")]
