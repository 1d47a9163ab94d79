"""At the counter: a device comes in, a lead writes findings, a danger sign shows, a device goes back."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import DangerLevel, DangerSign, Role, Stage
from shop.bridge import cautions
from shop.models import Cell, Job, User
from shop.operations import intake
from shop.operations.base import EVERYONE, LEADS
from shop.operations.intake import BEFORE_OPENING, DECLINABLE
from shop.selectors import sheet
from shop.web.forms.take_in import CustomerForm, DangerForm, DeclineForm, FindingsForm, TakeInForm
from shop.web.http import numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job

LEADS_TO = {DangerLevel.RED: "danger", DangerLevel.AMBER: "findings", DangerLevel.CLEAR: "job"}


@page(*EVERYONE)
def take_in(request: HttpRequest) -> HttpResponse:
    """The danger signs first, then whose it is, what its nameplate says and what is wrong with it."""
    form = TakeInForm(request.POST or None, numbers=numbers(request))
    sent = request.method == "POST" and form.is_valid()
    if sent and (answer := submit(request, form, lambda: _taken_in(request, form))):
        return answer
    return show(request, "take_in/page.html", form=form, cautions=cautions.for_stage(Stage.TAKE_IN))


def _taken_in(request: HttpRequest, form: TakeInForm) -> str:
    job = intake.take_in(
        customer=form.existing(),
        nameplate=form.nameplate(),
        signs=form.signs(),
        recall=form.recall(),
        by=person(request),
        **form.values("customer_name", "phone", "email", "complaint", "removed_owner"),
    )
    say(request, f"Job {job.code} is open.")
    return reverse(LEADS_TO[DangerLevel(job.danger_level)], args=[job.number])


@page(*EVERYONE)
def customers(request: HttpRequest) -> HttpResponse:
    """The customers that the book has by the name being typed."""
    return show(request, "take_in/customers.html", form=CustomerForm(request.GET))


@page(*EVERYONE)
def findings(request: HttpRequest, number: int) -> HttpResponse:
    """An amber pack waits on the separate bench for what a lead writes."""
    job = get_job(number)
    form = FindingsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            intake.clear_amber(job=job, by=person(request), version=version(request), **form.values())
            say(request, f"Job {job.code} may go to the bench.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "take_in/findings.html",
        job=job,
        form=form,
        signs=_signs(job),
        cautions=cautions.for_stage(Stage.TAKE_IN),
        may_write=person(request).holds(*LEADS),
        leads=[] if person(request).holds(*LEADS) else _people(*LEADS),
    )


@page(*EVERYONE)
def danger(request: HttpRequest, number: int) -> HttpResponse:
    """A red sign seen later; once it is in the book, what to do now. Never refused because a page is old."""
    job = get_job(number)
    form = DangerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            intake.report_danger(job=job, by=person(request), **form.values())
            return reverse("danger", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    red = job.danger_level == DangerLevel.RED
    return show(
        request,
        "take_in/red.html" if red else "take_in/danger.html",
        job=job,
        form=form,
        signs=_signs(job),
        cautions=cautions.for_stage(Stage.TAKE_IN),
        unopened=_stands_whole(job) and Stage(job.stage) in BEFORE_OPENING,
        waits_for_disposal=job.closed_at is None and Stage(job.stage) is Stage.REMOVED,
        may_dispose=person(request).holds(*sheet.BENCH),
    )


@page(*EVERYONE)
def decline(request: HttpRequest, number: int) -> HttpResponse:
    """A device goes back without a rebuild, and the job says why."""
    job = get_job(number)
    form = DeclineForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            intake.decline(job=job, by=person(request), version=version(request), **form.values())
            say(request, f"Job {job.code} is closed: returned without a rebuild.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "take_in/decline.html",
        job=job,
        form=form,
        red=job.danger_level == DangerLevel.RED,
        possible=_stands_whole(job) and not job.held and Stage(job.stage) in DECLINABLE,
    )


def _stands_whole(job: Job) -> bool:
    return job.closed_at is None and not Cell.objects.filter(lot__donor_job=job).exists()


def _signs(job: Job) -> list[str]:
    return [DangerSign(sign).label for sign in job.danger_signs]


def _people(*roles: Role) -> list[User]:
    wanted = [role.value for role in roles]
    return list(User.objects.filter(is_active=True, holdings__role__in=wanted).distinct().order_by("username"))


urlpatterns = [
    path("jobs/new/", take_in, name="take_in"),
    path("jobs/new/customers/", customers, name="customers"),
    path("jobs/<int:number>/findings/", findings, name="findings"),
    path("jobs/<int:number>/danger/", danger, name="danger"),
    path("jobs/<int:number>/decline/", decline, name="decline"),
]
