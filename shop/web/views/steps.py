"""The steps of the job card: one address per step, each answered by the page that knows its readings."""

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path

from packs.terms import Stage
from shop.models import Job
from shop.operations.health import may_add
from shop.operations.rebuild import to_be_joined
from shop.selectors import sheet
from shop.web.http import page
from shop.web.jobs import get_job
from shop.web.stepping import is_next
from shop.web.views import building, health, placing, proving
from shop.web.views.told import told

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
ADD = "add"


@page(*sheet.BENCH)
def step(request: HttpRequest, number: int, stage: str) -> HttpResponse:
    """The step that is next asks for its readings; one that is done shows what was found."""
    job, wanted = get_job(number), _stage(stage)
    adding = wanted is Stage.TEST_PACK and (request.method == "POST" or ADD in request.GET) and may_add(job)
    again = wanted is Stage.MEASURE and is_next(job, Stage.JOIN) and to_be_joined(job)
    return PAGES[wanted](request, job) if is_next(job, wanted) or adding or again else told(request, job, wanted)


def _stage(stage: str) -> Stage:
    if stage not in {step.value for step in PAGES}:
        raise Http404
    return Stage(stage)


urlpatterns = [
    path("jobs/<int:number>/steps/<str:stage>/", step, name="step"),
    path("jobs/<int:number>/steps/dismantle/before/", placing.before_cutting, name="before_cutting"),
    path("jobs/<int:number>/steps/dismantle/cell/", placing.remove_cell, name="remove_cell"),
    path("jobs/<int:number>/steps/join/peel-samples/", building.peel_samples, name="peel_samples"),
    path("jobs/<int:number>/steps/place/cell/", placing.place_cell, name="place_cell"),
]
