"""A search for better groups that goes on longer than a page waits: how far it is, and the best so far."""

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.utils import timezone

from packs.terms import Measure, TaskKind
from packs.units import of
from shop.bridge import searching
from shop.models import Job, Task
from shop.operations import tasks
from shop.selectors import sheet
from shop.web.forms.match import DEFAULTS, LongerForm, MatchForm
from shop.web.http import attempt, numbers, page, person, show, submit
from shop.web.jobs import get_job
from shop.web.unmatched import asked


@page(*sheet.BENCH)
def match_search(request: HttpRequest, number: int) -> HttpResponse:
    """Ask for a longer search under the limits of the page; while one goes on, tell how far it is."""
    job = get_job(number)
    task = Task.objects.filter(job=job, kind=TaskKind.MATCHING.value).last()
    form = LongerForm(request.POST if request.method == "POST" and "seconds" in request.POST else None)
    limits = MatchForm(request.GET if "health" in request.GET else DEFAULTS, job=job, numbers=numbers(request))
    here = reverse("match_search", args=[job.number])
    if form.is_bound and form.is_valid() and limits.is_valid():

        def do() -> str:
            plan = sheet.standing_plan(job)
            seconds = form.cleaned_data["seconds"]
            written = searching.asked(limits.limits(plan), seconds) | {"query": asked(request)} if plan else {}
            tasks.search_longer(job=job, asked=written, by=person(request))
            return here

        if answer := submit(request, form, do):
            return answer
    elif request.method == "POST" and not form.is_bound and task is not None:
        return attempt(request, lambda: _stopped(request, task, here), back=here)
    return show(request, "match/search.html", job=job, form=form, limits=limits, **_told(job, task))


@page(*sheet.BENCH)
def match_search_now(request: HttpRequest, number: int) -> HttpResponse:
    """How far the search is, for a page that asks again and again."""
    job = get_job(number)
    task = Task.objects.filter(job=job, kind=TaskKind.MATCHING.value).last()
    return show(request, "match/search_now.html", job=job, **_told(job, task))


def _stopped(request: HttpRequest, task: Task, here: str) -> str:
    tasks.stop(task=task, by=person(request))
    return here


def _told(job: Job, task: Task | None) -> dict[str, Any]:
    """The search with its best groups, and whether they are still for the target that stands."""
    if task is None:
        return {"task": None}
    told = {
        "task": task,
        "percent": round(100 * task.share),
        "silent": not task.over and timezone.now() - (task.heard_at or task.at) > tasks.SILENT_AFTER,
    }
    if task.answer is None:
        return told
    weakest, bound = Decimal(task.answer["weakest"]), Decimal(task.answer["bound"])
    plan = sheet.standing_plan(job)
    return told | {
        "weakest": of(Measure.CAPACITY, weakest),
        "bound": of(Measure.CAPACITY, bound),
        "proven": weakest >= bound,
        "stands": plan is not None and task.answer["plan"] == [plan.pk, plan.version],
    }


urlpatterns = [
    path("jobs/<int:number>/match/search/", match_search, name="match_search"),
    path("jobs/<int:number>/match/search/now/", match_search_now, name="match_search_now"),
]
