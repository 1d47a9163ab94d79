"""Photographs of a job: shown by stage, added, served to whoever works here, and withdrawn."""

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import urlencode

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils.cache import patch_cache_control

from packs.terms import Stage
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.models import Job, Photograph
from shop.operations import photographs as operations
from shop.operations.base import EVERYONE, LEADS
from shop.selectors import photographs as told
from shop.web.forms.photographs import PhotographForm, WithdrawForm
from shop.web.http import page, person, say, show, submit, warn
from shop.web.jobs import get_job
from shop.web.stepping import step_url

WAITING: Mapping[Stage, Callable[[Job], str]] = {
    Stage.EXAMINE: lambda job: reverse("examine", args=[job.number]),
    Stage.HOUSING: lambda job: step_url(job, Stage.HOUSING),
}
"""Steps whose half-filled page leads here, and where that page is."""


@page(*EVERYONE)
def photographs(request: HttpRequest, number: int) -> HttpResponse:
    """What was photographed on a job, stage by stage; sent, more of it."""
    job = get_job(number)
    form = PhotographForm(
        request.POST or None,
        request.FILES or None,
        initial={"stage": job.stage} | request.GET.dict(),
        stages=[(stage, job.label_of(stage)) for stage in operations.reached(job)],
    )
    if request.method == "POST" and form.is_valid() and (answer := _kept(request, job, form)):
        return answer
    return show(
        request,
        "photographs/page.html",
        job=job,
        form=form,
        shown=told.of_job(job),
        back=_back(request, job),
        may_withdraw=job.closed_at is None and person(request).holds(*LEADS),
    )


@page(*EVERYONE)
def photograph(_request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Return one photograph, to whoever works here."""
    row = _get(number, pk)
    try:
        answer = HttpResponse(operations.content_of(row), content_type="image/jpeg")
    except ShopError as gone:
        raise Http404 from gone
    answer["Content-Disposition"] = f'inline; filename="{row.job.code}-{row.pk}.jpg"'
    answer["ETag"] = f'"{row.sha256}"'
    patch_cache_control(answer, private=True, max_age=3600)
    return answer


@page(*LEADS)
def withdraw_photograph(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Withdraw one photograph, and say why."""
    row = _get(number, pk)
    form = WithdrawForm(request.POST or None)

    def do() -> str:
        operations.withdraw_photograph(job=row.job, photograph=row, by=person(request), **form.values())
        say(request, "Withdrawn. The photograph is gone; that it was there, and why it went, stays in the job log.")
        return reverse("photographs", args=[number])

    if request.method == "POST" and form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return show(request, "photographs/withdraw.html", job=row.job, form=form, photograph=row)


def _kept(request: HttpRequest, job: Job, form: PhotographForm) -> HttpResponse | None:
    """Keep every photograph that can be read, and say of each other one why it is not; with none nothing was done."""
    pictures, refused = _looked_at(form.cleaned_data["photographs"])
    if not pictures:
        for words in refused:
            form.add_error("photographs", words)
        return None

    def do() -> str:
        for name, picture in pictures:
            if operations.known_already(job, picture):
                refused.append(f"{name}: this photograph is kept already.")
            else:
                operations.keep_photograph(
                    job=job, picture=picture, by=person(request), **form.values("shows", "stage")
                )
        kept = len(form.cleaned_data["photographs"]) - len(refused)
        if kept:
            say(request, f"{kept} photograph{'s are' if kept > 1 else ' is'} kept.")
        for words in refused:
            warn(request, words)
        again = {name: str(form.cleaned_data[name]) for name in ("shows", "stage")} if refused else {}
        return f"{reverse('photographs', args=[job.number])}{f'?{urlencode(again)}' if again else ''}"

    return submit(request, form, do)


def _looked_at(files: "list[UploadedFile[Any]]") -> tuple[list[tuple[str, Picture]], list[str]]:
    pictures, refused = [], []
    for file in files:
        try:
            pictures.append((file.name or "file", operations.look_at(file.read())))
        except ShopError as error:
            refused.append(f"{file.name}: {error.message}")
    return pictures, refused


def _back(request: HttpRequest, job: Job) -> tuple[str, str]:
    """Return where this page was opened from: the step that waits half-filled for it, else the job."""
    for stage, address in WAITING.items():
        if f"draft {address(job)}" in request.session and Stage(job.stage) is stage:
            return address(job), stage.label
    return reverse("job", args=[job.number]), job.code


def _get(number: int, pk: int) -> Photograph:
    rows = Photograph.objects.standing().select_related("job__device__customer", "by")
    return get_object_or_404(rows, job__number=number, pk=pk)


urlpatterns = [
    path("jobs/<int:number>/photographs/", photographs, name="photographs"),
    path("jobs/<int:number>/photographs/<int:pk>.jpg", photograph, name="photograph"),
    path("jobs/<int:number>/photographs/<int:pk>/withdraw/", withdraw_photograph, name="withdraw_photograph"),
]
