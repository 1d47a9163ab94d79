"""The pack as found."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse

from packs.terms import JobKind, Stage, Unpowered
from shop.bridge import cautions
from shop.models import Job, PackAsFound, Plan, PlanState
from shop.operations import examination
from shop.operations.base import BENCH
from shop.selectors import details, photographs, sheet, tries
from shop.web import drafts
from shop.web.forms.examine import ExamineForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import get_step, warn

ADD_MODEL = "add_cell_model"
ELSEWHERE = {"add_photographs": "photographs", "add_details": "pack_details"}
"""Buttons that lead to a page of its own and keep what was typed here."""

WRITTEN = ("cell_model", "counts", "joint_method", "housing", "board", "protects", "note", "instrument")
"""What is written down as it was typed."""


@page(*BENCH)
def examine(request: HttpRequest, number: int) -> HttpResponse:
    """What the opened pack shows, written down before anything is cut."""
    job = get_job(number)
    if request.method == "POST" and ADD_MODEL in request.POST:
        return to_new_model(request)
    for button, elsewhere in ELSEWHERE.items():
        if request.method == "POST" and button in request.POST:
            drafts.keep(request, but=button)
            return redirect(elsewhere, number=number)
    if request.method != "POST" and not _due(job):
        return _told(request, job)
    form = ExamineForm(
        request.POST or None,
        initial=_known(job) | drafts.kept(request),
        opened=job.kind != JobKind.TEST_ONLY,
        numbers=numbers(request),
    )
    sent = request.method == "POST" and form.is_valid()
    if sent and (answer := submit(request, form, lambda: _examined(request, job, form))):
        drafts.drop(request)
        return answer
    return show(
        request,
        "examine/page.html",
        job=job,
        form=form,
        cautions=cautions.for_stage(Stage.EXAMINE, highest_mv=job.device.rated_voltage_mv or 0),
        add_model=ADD_MODEL,
        details=_details(request, job),
        photographed=photographs.of_job(job),
    )


@page(*BENCH)
def group_fields(request: HttpRequest, number: int) -> HttpResponse:
    """One field per group of the arrangement being typed, with what was typed in them already."""
    form = ExamineForm(initial=request.GET.dict(), one_each=True, numbers=numbers(request))
    return show(request, "examine/groups.html", job=get_job(number), form=form)


def to_new_model(request: HttpRequest) -> HttpResponse:
    """Keep what was typed and go to the page where a cell model is added, which leads back here."""
    drafts.keep(request, but=ADD_MODEL)
    return redirect(f"{reverse('cell_model_new')}?{urlencode({'next': request.path})}")


def _examined(request: HttpRequest, job: Job, form: ExamineForm) -> str:
    arrangement = form.cleaned_data["arrangement"]
    found = examination.examine(
        job=job,
        series=arrangement.series,
        parallel=arrangement.parallel,
        pack_voltage_mv=form.cleaned_data["pack_voltage"],
        group_voltages_mv=form.voltages(),
        unpowered=form.cleaned_data["unpowered"] or Unpowered.UNKNOWN,
        by=person(request),
        version=version(request),
        **form.values(*(name for name in WRITTEN if name in form.fields)),
    )
    say(request, f"The pack as found is in the book: {found.arrangement}.")
    if step := get_step(job, Stage.EXAMINE):
        warn(request, step)
    return reverse("job", args=[job.number])


def _details(request: HttpRequest, job: Job) -> list[details.Told]:
    """Return what else was seen of the pack, as far as somebody wrote it down."""
    row = details.of_job(job)
    return details.lines(row, locale=locale(request)) if row else []


def _known(job: Job) -> dict[str, object]:
    """Return what is known of a pack that was built here."""
    built = Plan.objects.filter(job=job.returns_id, state=PlanState.BUILT.value).first() if job.returns_id else None
    if built is None:
        return {}
    arrangement = f"{built.series}s{built.parallel}p"
    return {"cell_model": built.cell_model_id, "arrangement": arrangement, "joint_method": built.joint_method}


def _due(job: Job) -> bool:
    return job.closed_at is None and not job.held and Stage(job.stage) is Stage.EXAMINE


def _told(request: HttpRequest, job: Job) -> HttpResponse:
    return show(
        request,
        "examine/told.html",
        job=job,
        found=PackAsFound.objects.filter(job=job).select_related("cell_model", "examined_by").first(),
        step=get_step(job, Stage.EXAMINE),
        attempt=next(iter(tries.of_stage(job, Stage.EXAMINE)[-1:]), None),
        details=_details(request, job),
        photographed=photographs.of_job(job, Stage.TAKE_IN, Stage.EXAMINE),
        action=sheet.next_action(job),
    )


urlpatterns = [
    path("jobs/<int:number>/examine/", examine, name="examine"),
    path("jobs/<int:number>/examine/groups/", group_fields, name="group_fields"),
]
