"""A half-built pack is parked, and taken up again."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse

from packs.terms import Area, Stage
from shop.bridge import cautions, rules
from shop.models import Job
from shop.operations import parking
from shop.selectors import sheet
from shop.web.forms.parking import ParkedForm, ParkForm, ResumeForm
from shop.web.http import numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.room import warn_of_room
from shop.web.stepping import get_plan, highest_mv, last_meter


@page(*sheet.BENCH)
def park(request: HttpRequest, number: int) -> HttpResponse:
    """Say where a half-built pack lies and what its groups have."""
    job = get_job(number)
    if not parking.possible(job):
        return redirect("job", number=job.number)
    form = _form(ParkForm, request, job)

    def do() -> str:
        parking.park(
            job=job,
            place=form.cleaned_data["place"],
            insulated=form.cleaned_data["insulated"],
            supply_off=form.cleaned_data.get("supply_off"),
            groups_mv=form.point_values(),
            instrument=form.cleaned_data.get("instrument"),
            by=person(request),
            version=version(request),
        )
        return _done(request, job, f"The pack of {job.code} is parked.")

    return _answer(request, job, form, do)


@page(*sheet.BENCH)
def resume(request: HttpRequest, number: int) -> HttpResponse:
    """Measure a parked pack and go on."""
    job = get_job(number)
    if not job.parked or job.closed_at is not None:
        return redirect("job", number=job.number)
    form = _form(ResumeForm, request, job)

    def do() -> str:
        parking.resume(
            job=job,
            supervised_by=form.cleaned_data.get("supervised_by", ""),
            groups_mv=form.point_values(),
            instrument=form.cleaned_data.get("instrument"),
            by=person(request),
            version=version(request),
        )
        return _done(request, job, f"Work on {job.code} goes on.")

    return _answer(request, job, form, do)


def _form(kind: type[ParkedForm], request: HttpRequest, job: Job) -> ParkedForm:
    plan = get_plan(job)
    return kind(
        request.POST or None,
        groups=plan.series if rules.is_joined(plan) else 0,
        charging=Stage(job.stage) is Stage.FIRST_CHARGE,
        initial=last_meter(job),
        numbers=numbers(request),
    )


def _done(request: HttpRequest, job: Job, sentence: str) -> str:
    say(request, sentence)
    warn_of_room(request, Area.HALF_BUILT, Area.CHARGING)
    return reverse("job", args=[job.number])


def _answer(request: HttpRequest, job: Job, form: ParkedForm, do: Callable[[], str]) -> HttpResponse:
    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(
        request,
        "jobs/park.html",
        job=job,
        form=form,
        parked=parking.parked_groups(job) if job.parked else {},
        cautions=cautions.for_stage(
            Stage(job.stage),
            highest_mv=highest_mv(get_plan(job)),
            unpowered=cautions.board_of(job),
            part_stays=job.part_stays,
        ),
    )


urlpatterns = [
    path("jobs/<int:number>/park/", park, name="park"),
    path("jobs/<int:number>/resume/", resume, name="resume"),
]
