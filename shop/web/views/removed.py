"""Where the removed cells and items of a job go."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from packs.terms import Area, Condition, DocumentKind, Owner, Stage
from shop.bridge import cautions
from shop.models import Cell, Container, Job
from shop.operations import closeout, disposal
from shop.selectors import removed as removed_things
from shop.selectors import sheet
from shop.selectors.removed import Heap, Thing
from shop.web.forms.disposal import EmergencyForm, RemovedForm, WasteItemForm
from shop.web.http import attempt, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.room import warn_of_room
from shop.web.stepping import outline

Forms = list[tuple[Heap, RemovedForm]]


@page(*sheet.BENCH)
def removed(request: HttpRequest, number: int) -> HttpResponse:
    """Condition by condition: all of them, or what is ticked, go one way, from the moment a cell is in the book.

    Once the pack is proved the job moves on when nothing is left.
    """
    job = get_job(number)
    waiting = removed_things.waiting(job)
    forms = _forms(request, waiting)
    sent = next((form for _, form in forms if form.is_bound), None)
    if sent is not None and sent.is_valid():

        def do() -> str:
            _send(request, job, sent)
            return go_on(request, job) or reverse("removed", args=[job.number])

        if answer := submit(request, sent, do):
            return answer
    return _page(request, job, waiting, forms)


def go_on(request: HttpRequest, job: Job) -> str:
    """Once nothing is left the hand-over is next, and nobody has to say so; return its page, or nothing."""
    job.refresh_from_db()
    if Stage(job.stage) is not Stage.REMOVED or disposal.waiting(job):
        return ""
    disposal.finish_removed(job=job, by=person(request))
    left = "The pack is put aside for disposal." if job.unopened else "Nothing that was removed is left on the bench."
    say(request, left)
    return reverse("hand_over", args=[job.number])


def _forms(request: HttpRequest, waiting: list[Heap]) -> Forms:
    """Return a form for each heap; the one that was sent is filled. None takes what may react."""
    containers = list(Container.objects.filter(closed_at__isnull=True))
    return [
        (
            heap,
            RemovedForm(
                request.POST if request.POST.get("condition") == heap.key else None,
                prefix=heap.key,
                things=heap.things,
                ways=_ways(heap, containers),
                batteries=heap.batteries,
                damaged=heap.condition is Condition.DAMAGED,
            ),
        )
        for heap in waiting
        if heap.condition is not Condition.REACTIVE
    ]


def _ways(heap: Heap, containers: list[Container]) -> list[tuple[str, str]]:
    """Return the ways open to a heap: containers for its condition, and for whole cells their owner."""
    fitting = [
        row
        for row in containers
        if row.contents == heap.contents and (row.condition == heap.condition or not heap.batteries)
    ]
    ways = [(f"container-{row.pk}", f"into container {row.code}") for row in fitting]
    if (
        heap.condition is not Condition.INTACT
        or not heap.batteries
        or not all(isinstance(thing, Cell) or disposal.his_own(thing) for thing in heap.things)
    ):
        return ways
    if heap.owner is Owner.SHOP:
        return [*ways, (RemovedForm.TO_STOCK, "back to stock as reclaimed, to be tested")] if heap.measured else ways
    return [*ways, (RemovedForm.TO_CUSTOMER, "to the customer, whose cells they are")]


def _send(request: HttpRequest, job: Job, form: RemovedForm) -> None:
    by, cells, items, container = person(request), form.cells(), form.items(), form.container()
    confirmed: dict[str, Any] = form.confirmed()
    if container:
        disposal.to_container(job=job, container=container, cells=cells, items=items, by=by, **confirmed)
    elif form.cleaned_data["way"] == RemovedForm.TO_STOCK:
        disposal.to_stock(job=job, cells=cells, by=by)
    else:
        disposal.to_customer(job=job, cells=cells, items=items, insulated=confirmed["insulated"], by=by)
    warn_of_room(request, Area.STOCK, Area.WASTE)
    say(request, f"{len(cells) + len(items)} {dict(form.fields['way'].choices)[form.cleaned_data['way']]}.")  # type: ignore[attr-defined]


def _page(request: HttpRequest, job: Job, waiting: list[Heap], forms: Forms) -> HttpResponse:
    reacting = [thing for heap in waiting if heap.condition is Condition.REACTIVE for thing in heap.things]
    current = Stage(job.stage) is Stage.REMOVED and job.closed_at is None
    return show(
        request,
        "waste/removed.html",
        job=job,
        label=job.label_of(Stage.REMOVED),
        current=current,
        may_add=job.closed_at is None and Stage(job.stage) in disposal.ADDED_AT,
        sorting=current or (job.closed_at is None and bool(waiting)),
        outline=outline(job),
        cautions=cautions.for_stage(Stage.REMOVED),
        reacting=[("cell" if isinstance(thing, Cell) else "item", thing) for thing in reacting],
        waiting=forms,
        gone=removed_things.gone(job),
        **_note(job),
    )


def _note(job: Job) -> dict[str, Any]:
    documents = job.documents.counting().filter(kind=DocumentKind.DISPOSAL_NOTE.value).defer("pdf", "content")
    behind = closeout.note_behind(job)
    return {"note_due": closeout.note_due(job), "note": documents.order_by("pk").last(), "note_behind": behind}


@page(*sheet.BENCH)
def waste_item_new(request: HttpRequest, number: int) -> HttpResponse:
    """Write down something else of the job that is waste."""
    job = get_job(number)
    form = WasteItemForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            item = disposal.add_item(job=job, **form.facts(), by=person(request))
            say(request, f"{item} is set apart; say where it goes.")
            return reverse("removed", args=[number])

        if answer := submit(request, form, do):
            return answer
    return show(request, "waste/item_new.html", job=job, form=form, outline=outline(job))


@require_POST
@page(*sheet.BENCH)
def finish_removed(request: HttpRequest, number: int) -> HttpResponse:
    """Go on to the hand-over."""
    job = get_job(number)

    def do() -> str:
        disposal.finish_removed(job=job, by=person(request), version=version(request))
        return reverse("hand_over", args=[number])

    return attempt(request, do, back=reverse("removed", args=[number]))


@page(*sheet.BENCH)
def emergency(request: HttpRequest, number: int, kind: str, pk: int) -> HttpResponse:
    """Say who took what is liable to react."""
    job = get_job(number)
    thing = _reacting(job, kind, pk)
    form = EmergencyForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            disposal.to_emergency_route(
                job=job, thing=thing, receiver=form.cleaned_data["receiver"], by=person(request)
            )
            say(request, f"{thing} is out of the shop.")
            return go_on(request, job) or reverse("removed", args=[number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "waste/emergency.html",
        job=job,
        label=job.label_of(Stage.REMOVED),
        thing=thing,
        form=form,
        outline=outline(job),
        cautions=cautions.for_stage(Stage.REMOVED),
    )


def _reacting(job: Job, kind: str, pk: int) -> Thing:
    """Return a thing of the job that is liable to react, or answer 404."""
    reactive = Condition.REACTIVE.value
    thing: Thing | None = None
    if kind == "cell":
        thing = Cell.objects.taken_off_by(job).filter(pk=pk, condition=reactive).first()
    elif kind == "item":
        thing = job.items.filter(pk=pk, condition=reactive).first()
    if thing is None:
        raise Http404
    return thing


urlpatterns = [
    path("jobs/<int:number>/removed/", removed, name="removed"),
    path("jobs/<int:number>/removed/new/", waste_item_new, name="waste_item_new"),
    path("jobs/<int:number>/removed/finish/", finish_removed, name="finish_removed"),
    path("jobs/<int:number>/removed/<str:kind>/<int:pk>/", emergency, name="emergency"),
]
