"""The steps of the job card: one address per step, each answered by the page that knows its readings."""

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path

from packs.terms import STEPS, Stage
from shop.models import Job, Step
from shop.selectors import sheet
from shop.web.http import page, show
from shop.web.jobs import get_job
from shop.web.views import building, proving

PAGES = {**building.PAGES, **proving.PAGES}


@page(*sheet.BENCH)
def step(request: HttpRequest, number: int, stage: str) -> HttpResponse:
    """The step that is next asks for its readings; one that is done shows what was found."""
    job = get_job(number)
    wanted = _stage(stage)
    if Stage(job.stage) is wanted and job.closed_at is None and not job.held:
        return PAGES[wanted](request, job)
    return _told(request, job, wanted)


def _stage(stage: str) -> Stage:
    if stage not in {step.value for step in STEPS}:
        raise Http404
    return Stage(stage)


def _told(request: HttpRequest, job: Job, stage: Stage) -> HttpResponse:
    row = Step.objects.filter(job=job, stage=stage.value).select_related("done_by").first()
    readings = job.readings.filter(stage=stage.value).select_related("by", "instrument", "cell", "corrected_by")
    return show(
        request,
        "steps/told.html",
        job=job,
        stage=stage,
        step=row,
        readings=readings,
        action=sheet.next_action(job),
        status=200,
    )


urlpatterns = [
    path("jobs/<int:number>/steps/<str:stage>/", step, name="step"),
    path("jobs/<int:number>/steps/dismantle/cell/", building.remove_cell, name="remove_cell"),
    path("jobs/<int:number>/steps/place/cell/", building.place_cell, name="place_cell"),
]
