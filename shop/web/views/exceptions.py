"""Written exceptions of a job: what was accepted as it is, by whom and why."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.bridge import exceptions as bridge
from shop.models import Job, User, WrittenException
from shop.operations import exceptions as operations
from shop.operations.base import LEADS
from shop.selectors import exceptions as selectors
from shop.web.forms.limits import ExceptionForm, WithdrawForm
from shop.web.http import page, person, say, show, submit, version
from shop.web.jobs import get_job


@page(posts=LEADS)
def exceptions(request: HttpRequest, number: int) -> HttpResponse:
    """What was accepted in writing, and accepting one check more."""
    job = get_job(number)
    choices = _choices(job)
    form = ExceptionForm(request.POST or None, choices=choices, initial={"rule_id": request.GET.get("rule", "")})
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.write_exception(job=job, by=person(request), version=version(request), **form.values())
            say(request, "Accepted in writing. Do the step again; this check will not stop it.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "exceptions/page.html",
        job=job,
        form=form,
        told=selectors.of_job(job),
        possible=bool(choices) and _open(job),
        may_write=person(request).holds(*LEADS),
        leads=[] if person(request).holds(*LEADS) else [user for user in User.objects.all() if user.holds(*LEADS)],
        never=bridge.never(),
    )


@page(*LEADS)
def withdraw(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Say why an exception counts no more; it stays in the list."""
    job = get_job(number)
    row = get_object_or_404(WrittenException.objects.select_related("job", "by"), job=job, pk=pk)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.withdraw_exception(
                job=job, exception=row, by=person(request), version=version(request), **form.values()
            )
            say(request, "The exception is withdrawn; the check stops the work again.")
            return reverse("exceptions", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    told = next(one for one in selectors.of_job(job) if one.pk == row.pk)
    possible = _open(job) and told.withdrawn_at is None and not operations.used(row)
    return show(request, "exceptions/withdraw.html", job=job, form=form, one=told, possible=possible)


def _choices(job: Job) -> list[tuple[str, str]]:
    """Return the checks of a job that a lead may accept: those still to come that are not accepted yet."""
    standing = set(job.exceptions.standing().values_list("rule_id", flat=True))
    return [
        (rule.id, f"{rule.stage.label}: {rule.quantity}")
        for rule in bridge.acceptable()
        if rule.id not in standing and operations.still_asked(job, rule.id)
    ]


def _open(job: Job) -> bool:
    return job.closed_at is None and not job.held and not job.unopened


urlpatterns = [
    path("jobs/<int:number>/exceptions/", exceptions, name="exceptions"),
    path("jobs/<int:number>/exceptions/<int:pk>/withdraw/", withdraw, name="withdraw_exception"),
]
