"""Several tester files at once: sent, read by the worker, and what became of each."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone

from packs.terms import TaskKind
from shop.models import Task
from shop.operations import many_files as operations
from shop.operations import tasks
from shop.operations.base import BENCH
from shop.web.forms.many_files import FilesForm
from shop.web.http import attempt, page, person, show, submit

LAST_SHOWN = 5


@page(*BENCH)
def many_files(request: HttpRequest) -> HttpResponse:
    """Choose tester files; the worker beside the shop reads them one after the other."""
    form = FilesForm(request.POST, request.FILES) if request.method == "POST" else FilesForm()
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            given = form.values()
            task = operations.read_files(**given, by=person(request))
            return reverse("files_read", args=[task.pk])

        if answer := submit(request, form, do):
            return answer
    before = Task.objects.filter(kind=TaskKind.TESTER_FILES.value).select_related("by").order_by("-pk")[:LAST_SHOWN]
    return show(request, "bench/many_files.html", form=form, before=before)


@page(*BENCH)
def files_read(request: HttpRequest, pk: int) -> HttpResponse:
    """How far the reading is, and what became of each file; it can be stopped between two files."""
    task = _task(pk)
    if request.method == "POST":
        here = reverse("files_read", args=[pk])

        def do() -> str:
            tasks.stop(task=task, by=person(request))
            return here

        return attempt(request, do, back=here)
    return show(request, "bench/files_read.html", **_told(task))


@page(*BENCH)
def files_read_now(request: HttpRequest, pk: int) -> HttpResponse:
    """How far it is, for a page that asks again and again."""
    return show(request, "bench/files_read_now.html", **_told(_task(pk)))


def _task(pk: int) -> Task:
    return get_object_or_404(Task, pk=pk, kind=TaskKind.TESTER_FILES.value)


def _told(task: Task) -> dict[str, Any]:
    became = task.answer or []
    return {
        "task": task,
        "percent": round(100 * task.share),
        "silent": not task.over and timezone.now() - (task.heard_at or task.at) > tasks.SILENT_AFTER,
        "became": became,
        "left": [one["name"] for one in task.asked["files"][len(became) :]],
        "counts": [(way, sum(one["way"] == way for one in became)) for way in WAYS],
    }


WAYS = (operations.KEPT, operations.KNOWN, operations.REFUSED)

urlpatterns = [
    path("stock/bench/tester-files/", many_files, name="many_files"),
    path("stock/bench/tester-files/<int:pk>/", files_read, name="files_read"),
    path("stock/bench/tester-files/<int:pk>/now/", files_read_now, name="files_read_now"),
]
