"""The steps of the job card: one address per step, each answered by the page that knows its readings."""

from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path

from packs.terms import Stage
from shop.models import Job
from shop.selectors import sheet, tries
from shop.web.http import page, person, show
from shop.web.jobs import get_job
from shop.web.stepping import action_url, is_next, outline
from shop.web.views import building, health, placing, proving

PAGES: dict[Stage, Callable[[HttpRequest, Job], HttpResponse]] = {
    Stage.TEST_PACK: health.pack_test,
    Stage.DISMANTLE: placing.dismantle,
    Stage.PLACE: placing.place,
    Stage.MEASURE: building.measure,
    Stage.JOIN: building.join,
    Stage.LADDER: building.taps,
    Stage.HOUSING: proving.housing,
    Stage.FIRST_CHARGE: proving.first_charge,
    Stage.FINAL_TEST: proving.final_test,
}
NOT_TYPED = frozenset({"csrfmiddlewaretoken", "form_token", "version", "instrument"})


@page(*sheet.BENCH)
def step(request: HttpRequest, number: int, stage: str) -> HttpResponse:
    """The step that is next asks for its readings; one that is done shows what was found."""
    job, wanted = get_job(number), _stage(stage)
    return PAGES[wanted](request, job) if is_next(job, wanted) else _told(request, job, wanted)


def _stage(stage: str) -> Stage:
    if stage not in {step.value for step in PAGES}:
        raise Http404
    return Stage(stage)


def _told(request: HttpRequest, job: Job, stage: Stage) -> HttpResponse:
    unsent = _unsent(request)
    if request.method == "POST":
        messages.error(request, f"Nothing was recorded: “{job.label_of(stage)}” is not what comes next on this job.")
    action = sheet.next_action(job)
    told = tries.of_stage(job, stage)
    counting = told.pop() if told and told[-1].step.done else None
    return show(
        request,
        "steps/told.html",
        job=job,
        stage=stage,
        counting=counting,
        earlier=told,
        outline=outline(job),
        unsent=unsent,
        action=action if action and person(request).holds(*action.roles) else None,
        action_url=action_url(job, action) if action else "",
        status=409 if request.method == "POST" else 200,
    )


def _unsent(request: HttpRequest) -> list[tuple[str, str]]:
    """Return what was typed into a form that came too late, so that it can be read and copied."""
    typed = ((name, str(text).strip()) for name, text in request.POST.items() if name not in NOT_TYPED)
    return [(name.removeprefix("v_").replace("_", " "), text) for name, text in typed if text]


urlpatterns = [
    path("jobs/<int:number>/steps/<str:stage>/", step, name="step"),
    path("jobs/<int:number>/steps/dismantle/before/", placing.before_cutting, name="before_cutting"),
    path("jobs/<int:number>/steps/dismantle/cell/", placing.remove_cell, name="remove_cell"),
    path("jobs/<int:number>/steps/join/peel-samples/", building.peel_samples, name="peel_samples"),
    path("jobs/<int:number>/steps/place/cell/", placing.place_cell, name="place_cell"),
]
