"""Where the removed cells and items of a job go."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from packs.terms import Condition, DangerLevel, DocumentKind, Owner, Place, Stage
from shop.bridge import cautions
from shop.models import Cell, Container, Item, Job
from shop.operations import closeout, disposal
from shop.selectors import sheet
from shop.web.forms.disposal import EmergencyForm, RemovedForm
from shop.web.http import attempt, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job


@page(*sheet.BENCH)
def removed(request: HttpRequest, number: int) -> HttpResponse:
    """Tick what goes together, say where it goes; when nothing is left the job moves on."""
    job = get_job(number)
    cells, items = _waiting(job)
    form = RemovedForm(request.POST or None, cells=cells, items=items, ways=_ways(job), numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            _send(request, job, form)
            return reverse("removed", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return _page(request, job, form, cells, items)


@require_POST
@page(*sheet.BENCH)
def finish_removed(request: HttpRequest, number: int) -> HttpResponse:
    """Go on to the hand-over."""
    job = get_job(number)
    here = reverse("removed", args=[number])
    if request.method != "POST":
        return show(request, "405.html", status=405)

    def do() -> str:
        disposal.finish_removed(job=job, by=person(request), version=version(request))
        return reverse("hand_over", args=[number])

    return attempt(request, do, back=here)


@page(*sheet.BENCH)
def emergency(request: HttpRequest, number: int, kind: str, pk: int) -> HttpResponse:
    """Say who took what is liable to react."""
    job = get_job(number)
    model = {"cell": Cell, "item": Item}.get(kind, Item)
    rows = model.objects.filter(lot__donor_job=job) if model is Cell else model.objects.filter(job=job)
    thing = rows.filter(pk=pk, condition=Condition.REACTIVE.value).first()
    form = EmergencyForm(request.POST or None)
    if thing is None:
        return show(request, "404.html", status=404)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            disposal.to_emergency_route(
                job=job, thing=thing, receiver=form.cleaned_data["receiver"], by=person(request)
            )
            return reverse("removed", args=[number])

        if answer := submit(request, form, do):
            return answer
    return show(request, "waste/emergency.html", job=job, thing=thing, form=form)


def _waiting(job: Job) -> tuple[list[Cell], list[Item]]:
    cells = Cell.objects.filter(lot__donor_job=job, place=Place.BENCH.value).order_by("pk")
    items = job.items.filter(place=Place.OUTSIDE.value)
    return list(cells), list(items)


def _ways(job: Job) -> list[tuple[str, str]]:
    ways = [
        (f"container-{container.pk}", f"container {container.code}: {Condition(container.condition).label}")
        for container in Container.objects.filter(consigned_at__isnull=True)
    ]
    if job.danger_level == DangerLevel.RED:
        return ways
    if job.removed_owner == Owner.SHOP:
        return [*ways, (RemovedForm.TO_STOCK, "back to stock as reclaimed, to be tested")]
    return [*ways, (RemovedForm.TO_CUSTOMER, "to the customer, whose cells they are")]


def _send(request: HttpRequest, job: Job, form: RemovedForm) -> None:
    by = person(request)
    cells = list(Cell.objects.filter(pk__in=form.chosen("cell")))
    items = list(Item.objects.filter(pk__in=form.chosen("item")))
    way, container = form.cleaned_data["way"], form.container()
    if container:
        insulated = form.cleaned_data["insulated"]
        disposal.to_container(job=job, container=container, cells=cells, items=items, insulated=insulated, by=by)
    elif way == RemovedForm.TO_STOCK:
        disposal.to_stock(job=job, cells=cells, by=by)
    else:
        disposal.to_customer(job=job, cells=cells, by=by)
    say(request, f"{len(cells) + len(items)} put there.")


def _page(request: HttpRequest, job: Job, form: RemovedForm, cells: list[Cell], items: list[Item]) -> HttpResponse:
    gone = Cell.objects.filter(lot__donor_job=job).exclude(place=Place.BENCH.value).select_related("container")
    things = [*cells, *items]
    return show(
        request,
        "waste/removed.html",
        job=job,
        form=form,
        waiting=len(things),
        reacting=[
            ("cell" if isinstance(thing, Cell) else "item", thing)
            for thing in things
            if thing.condition == Condition.REACTIVE
        ],
        gone=[(thing, Place(thing.place)) for thing in [*gone, *job.items.filter(place__in=AWAY)]],
        current=Stage(job.stage) is Stage.REMOVED and job.closed_at is None,
        containers=Container.objects.filter(consigned_at__isnull=True).exists(),
        cautions=cautions.for_stage(Stage.REMOVED),
        note_due=closeout.note_due(job),
        note=job.documents.filter(kind=DocumentKind.DISPOSAL_NOTE.value).first(),
    )


AWAY = [Place.CONTAINER.value, Place.CONSIGNED.value]

urlpatterns = [
    path("jobs/<int:number>/removed/", removed, name="removed"),
    path("jobs/<int:number>/removed/finish/", finish_removed, name="finish_removed"),
    path("jobs/<int:number>/removed/<str:kind>/<int:pk>/", emergency, name="emergency"),
]
