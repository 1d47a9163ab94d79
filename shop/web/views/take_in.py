"""At the counter: a device comes in, a lead writes findings, a danger sign shows, a device goes back."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import Condition, DangerLevel, DangerSign, Place, Role, Stage
from shop.bridge import cautions
from shop.bridge.areas import limits_of
from shop.models import Cell, Job, User
from shop.operations import danger_at_work, for_stock, giving_up, intake, returns
from shop.operations.areas import BROUGHT_TO
from shop.operations.base import BENCH, EVERYONE, LEADS
from shop.operations.intake import DECLINABLE
from shop.selectors import pack_notes, sheet
from shop.web.forms.take_in import (
    CustomerForm,
    DangerForm,
    DeclineForm,
    FindingsForm,
    ForStockForm,
    GiveUpForm,
    ReturnForm,
    TakeInForm,
)
from shop.web.http import numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.room import room_left, warn_of_room
from shop.web.stepping import leads_to_emergency

LEADS_TO = {DangerLevel.RED: "danger", DangerLevel.AMBER: "findings", DangerLevel.CLEAR: "job"}


@page(*EVERYONE)
def take_in(request: HttpRequest) -> HttpResponse:
    """The danger signs first, then whose it is, what its nameplate says and what is wrong with it."""
    form = TakeInForm(request.POST or None, numbers=numbers(request), limited=_limited())
    sent = request.method == "POST" and form.is_valid()
    if sent and (answer := submit(request, form, lambda: _taken_in(request, form))):
        return answer
    return show(
        request,
        "take_in/page.html",
        form=form,
        cautions=cautions.for_stage(Stage.TAKE_IN),
        room_left=room_left(*BROUGHT_TO),
        may_build=person(request).holds(*BENCH),
    )


def _limited() -> bool:
    """Whether a place where packs come in has a limit, so that it counts how much one is."""
    return any(limits_of(area) for area in BROUGHT_TO)


def _taken_in(request: HttpRequest, form: TakeInForm) -> str:
    job = intake.take_in(
        customer=form.existing(),
        nameplate=form.nameplate(),
        signs=form.signs(),
        recall=form.recall(),
        count=form.count(),
        size=form.size(),
        by=person(request),
        **form.values("kind", "customer_name", "phone", "email", "complaint", "removed_owner"),
    )
    say(request, f"Job {job.code} is open.")
    warn_of_room(request, *BROUGHT_TO)
    if notes := pack_notes.of_device(job.device):
        say(request, f"The shop has notes of this pack, {notes.row}{_time(notes)}: they stand on the job.")
    return _begin(job)


def _time(notes: pack_notes.Notes) -> str:
    """Return how long such a pack took, where a job noted it."""
    return "" if notes.minutes is None else f", {notes.minutes} min of work"


def _begin(job: Job) -> str:
    """Return where a job that was opened goes on; nobody need write findings on a pack that stays unopened."""
    level = DangerLevel(job.danger_level)
    return reverse("job" if level is DangerLevel.AMBER and not job.held else LEADS_TO[level], args=[job.number])


@page(*EVERYONE)
def take_in_return(request: HttpRequest, number: int) -> HttpResponse:
    """A pack that was rebuilt here comes back: a job of its own, linked to the first."""
    returned = get_job(number)
    form = ReturnForm(request.POST or None, numbers=numbers(request), limited=_limited())
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            given = form.values("complaint", "removed_owner")
            job = returns.take_in_return(
                returned=returned, signs=form.signs(), size=form.size(), by=person(request), **given
            )
            say(request, f"Job {job.code} is open, linked to {returned.code}.")
            warn_of_room(request, *BROUGHT_TO)
            return _begin(job)

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "take_in/return.html",
        job=returned,
        form=form,
        possible=returns.returnable(returned) or bool(form.errors),
        cautions=cautions.for_stage(Stage.TAKE_IN),
    )


@page(*BENCH)
def build_for_stock(request: HttpRequest) -> HttpResponse:
    """Nothing comes in: the shop builds a pack for its own stock."""
    form = ForStockForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            job = for_stock.build_for_stock(by=person(request), **form.values())
            say(request, f"Job {job.code} is open.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return show(request, "take_in/for_stock.html", form=form)


@page(*BENCH)
def give_up(request: HttpRequest, number: int) -> HttpResponse:
    """A build does not go on: its cells come back to the bench, and the job goes to its end."""
    job = get_job(number)
    placed = list(Cell.objects.filter(place=Place.PACK.value, job=job).values_list("code", flat=True))
    loose = Stage(job.stage) in giving_up.LOOSE_AT
    form = GiveUpForm(request.POST or None, placed=placed, loose=loose, part_stays=job.part_stays)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            giving_up.give_up(job=job, by=person(request), version=version(request), **form.values())
            say(request, f"The build of job {job.code} is given up.")
            return leads_to_emergency(Cell.objects.on_bench_of(job)) or reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    possible = job.closed_at is None and giving_up.possible(job)
    return show(
        request,
        "take_in/give_up.html",
        job=job,
        form=form,
        placed=placed,
        joined=bool(placed) and not loose,
        possible=possible or form.errors,
    )


@page(*EVERYONE)
def customers(request: HttpRequest) -> HttpResponse:
    """The customers that the book has by the name being typed."""
    return show(request, "take_in/customers.html", form=CustomerForm(request.GET))


@page(*EVERYONE, posts=LEADS)
def findings(request: HttpRequest, number: int) -> HttpResponse:
    """An amber pack waits on the separate bench for what a lead writes."""
    job = get_job(number)
    form = FindingsForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            told = {"job": job, "by": person(request), "version": version(request), **form.values()}
            if "condemn" in request.POST:
                intake.condemn(**told)
                say(request, f"Job {job.code} stays closed and outside.")
                return reverse("removed", args=[job.number])
            intake.clear_amber(**told)
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
    pack = None if job.closed_at else danger_at_work.whole(job)
    form = DangerForm(request.POST or None, new_pack=bool(pack and pack.placed))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            intake.report_danger(job=job, by=person(request), **form.values())
            return reverse("danger", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    red = job.danger_level == DangerLevel.RED or danger_at_work.outside(job) is not None
    return show(
        request,
        "take_in/red.html" if red else "take_in/danger.html",
        job=job,
        form=form,
        signs=_signs(job),
        cautions=cautions.for_stage(Stage.TAKE_IN),
        unopened=_stands_whole(job),
        pack=pack,
        loose=Stage(job.stage) in giving_up.LOOSE_AT,
        single_cells=Cell.objects.on_bench_of(job),
        reacting=job.items.waiting().filter(condition=Condition.REACTIVE.value).exists(),
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
            say(request, f"Job {job.code} goes back without a rebuild. Write down who takes the device.")
            return reverse("hand_over", args=[job.number])

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
    return job.closed_at is None and intake.stands_whole(job)


def _signs(job: Job) -> list[str]:
    return [DangerSign(sign).label for sign in job.danger_signs]


def _people(*roles: Role) -> list[User]:
    wanted = [role.value for role in roles]
    return list(User.objects.filter(is_active=True, holdings__role__in=wanted).distinct().order_by("username"))


urlpatterns = [
    path("jobs/new/", take_in, name="take_in"),
    path("jobs/new/customers/", customers, name="customers"),
    path("jobs/new/for-stock/", build_for_stock, name="build_for_stock"),
    path("jobs/<int:number>/return/", take_in_return, name="take_in_return"),
    path("jobs/<int:number>/give-up/", give_up, name="give_up"),
    path("jobs/<int:number>/findings/", findings, name="findings"),
    path("jobs/<int:number>/danger/", danger, name="danger"),
    path("jobs/<int:number>/decline/", decline, name="decline"),
]
