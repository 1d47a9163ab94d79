"""A cell of an accepted or half-built plan is not fit: what goes in instead, with as little changed as can be."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse

from packs.errors import PacksError
from packs.terms import Condition, DocumentKind, Place, Stage
from shop.bridge import cautions, replacing
from shop.models import Cell, Job, Plan
from shop.operations import replacing as operations
from shop.selectors import bench, sheet
from shop.web.forms.match import LimitsForm
from shop.web.forms.replacing import ReplaceForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version, warn
from shop.web.jobs import get_job
from shop.web.stepping import get_plan, highest_mv, is_next, leads_to_emergency, step_url
from shop.web.unmatched import accepted_under, asked


@page(*sheet.BENCH)
def replace_cell(request: HttpRequest, number: int) -> HttpResponse:
    """Say which cell is not fit, see the least change, and make it."""
    job = get_job(number)
    if not any(is_next(job, stage) for stage in operations.REPLACE_AT):
        return redirect("job", number=job.number)
    plan = get_plan(job)
    form = ReplaceForm(request.POST or None, plan=plan)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            shown, reason = form.cleaned_data["change"], form.cleaned_data["reason"]
            condition = form.cleaned_data["condition"]
            printed = job.documents.counting().filter(kind=DocumentKind.JOB_CARD.value).exists()
            operations.replace_cell(
                job=job, **shown, reason=reason, condition=condition, by=person(request), version=version(request)
            )
            after = get_job(number)
            card = " The printed job card no longer counts." if printed else ""
            say(request, f"{', '.join(shown['goes_in'].values())} reserved.{card}")
            goes_on = step_url(after, Stage.PLACE) if is_next(after, Stage.PLACE) else reverse("job", args=[number])
            return _away(request, Cell.objects.get(code=shown["code"])) or goes_on

        if answer := submit(request, form, do):
            return answer
    return _page(request, job, plan, form)


def _away(request: HttpRequest, cell: Cell) -> str:
    """Return where a cell that is no longer whole goes away first; nothing where it is whole or waits on the bench."""
    if Condition(cell.condition) is Condition.INTACT:
        return ""
    warn(request, f"{cell.code} is {cell.get_condition_display()} and is used in no pack: put it into a container now.")
    on_the_shelf = reverse("discard", args=[cell.code]) if Place(cell.place) is Place.STOCK else ""
    return leads_to_emergency([cell]) or on_the_shelf


def _page(request: HttpRequest, job: Job, plan: Plan, form: ReplaceForm) -> HttpResponse:
    joined = replacing.joined_cells(plan)
    spots = [spot for spot in bench.positions(plan) if spot.cell.code not in joined]
    usual = accepted_under(plan, locale(request))
    limits = LimitsForm(request.GET if "health" in request.GET else usual, job=job, numbers=numbers(request))
    code = request.GET.get("cell", "").strip()
    least, refused, signed = None, "", ""
    if code and limits.is_valid():
        try:
            least = replacing.least_change(plan, code, limits.limits(plan), stay=joined)
            signed = ReplaceForm.signed(plan, code, least)
        except PacksError as error:
            refused = str(error)
    return show(
        request,
        "jobs/replace.html",
        job=job,
        plan=plan,
        spots=spots,
        joined=len(joined),
        code=code,
        nothing_chosen="cell" in request.GET and not code,
        limits=limits,
        query=asked(request, usual),
        least=least,
        refused=refused,
        signed=signed,
        form=form if least or form.is_bound else None,
        cautions=cautions.for_stage(Stage.PLACE, highest_mv=highest_mv(plan), part_stays=job.part_stays),
    )


urlpatterns = [path("jobs/<int:number>/replace/", replace_cell, name="replace_cell")]
