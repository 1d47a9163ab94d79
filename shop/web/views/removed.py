"""Where the removed cells and items of a job go."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from packs.terms import Condition, DangerLevel, DocumentKind, Owner, Stage
from shop.bridge import cautions
from shop.models import Cell, Container, Job
from shop.operations import closeout, disposal
from shop.selectors import removed as removed_things
from shop.selectors import sheet
from shop.selectors.removed import Thing
from shop.web.forms.disposal import EmergencyForm, RemovedForm
from shop.web.http import attempt, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import outline

Forms = dict[Condition, RemovedForm]


@page(*sheet.BENCH)
def removed(request: HttpRequest, number: int) -> HttpResponse:
    """Condition by condition: all of them, or what is ticked, go one way; when nothing is left the job moves on."""
    job = get_job(number)
    waiting = removed_things.waiting(job)
    forms = _forms(request, job, waiting)
    sent = next((form for form in forms.values() if form.is_bound), None)
    if sent is not None and sent.is_valid():

        def do() -> str:
            _send(request, job, sent)
            return reverse("removed", args=[job.number])

        if answer := submit(request, sent, do):
            return answer
    return _page(request, job, waiting, forms)


def _forms(request: HttpRequest, job: Job, waiting: dict[Condition, list[Thing]]) -> Forms:
    """Return a form for what waits of each condition; the one that was sent is filled. None takes what may react."""
    containers = list(Container.objects.filter(consigned_at__isnull=True))
    return {
        condition: RemovedForm(
            request.POST if request.POST.get("condition") == condition.value else None,
            prefix=condition.value,
            things=things,
            ways=_ways(job, condition, containers),
        )
        for condition, things in waiting.items()
        if condition is not Condition.REACTIVE
    }


def _ways(job: Job, condition: Condition, containers: list[Container]) -> list[tuple[str, str]]:
    """Return the ways open to things of one condition: containers for it, and for whole cells their owner."""
    ways = [(f"container-{row.pk}", f"into container {row.code}") for row in containers if row.condition == condition]
    if job.danger_level == DangerLevel.RED or condition is not Condition.INTACT:
        return ways
    if job.removed_owner == Owner.SHOP:
        return [*ways, (RemovedForm.TO_STOCK, "back to stock as reclaimed, to be tested")]
    return [*ways, (RemovedForm.TO_CUSTOMER, "to the customer, whose cells they are")]


def _send(request: HttpRequest, job: Job, form: RemovedForm) -> None:
    by, cells, items, container = person(request), form.cells(), form.items(), form.container()
    if container:
        insulated = form.cleaned_data["insulated"]
        disposal.to_container(job=job, container=container, cells=cells, items=items, insulated=insulated, by=by)
    elif form.cleaned_data["way"] == RemovedForm.TO_STOCK:
        disposal.to_stock(job=job, cells=cells, by=by)
    else:
        disposal.to_customer(job=job, cells=cells, by=by)
    say(request, f"{len(cells) + len(items)} {dict(form.fields['way'].choices)[form.cleaned_data['way']]}.")  # type: ignore[attr-defined]


def _page(request: HttpRequest, job: Job, waiting: dict[Condition, list[Thing]], forms: Forms) -> HttpResponse:
    reacting = waiting.get(Condition.REACTIVE, [])
    current = Stage(job.stage) is Stage.REMOVED and job.closed_at is None
    return show(
        request,
        "waste/removed.html",
        job=job,
        current=current,
        outline=outline(job),
        cautions=cautions.for_stage(Stage.REMOVED),
        reacting=[("cell" if isinstance(thing, Cell) else "item", thing) for thing in reacting],
        waiting=[(condition, waiting[condition], form) for condition, form in forms.items()],
        gone=removed_things.gone(job),
        **_note(job),
    )


def _note(job: Job) -> dict[str, Any]:
    documents = job.documents.filter(kind=DocumentKind.DISPOSAL_NOTE.value).defer("pdf", "content")
    return {"note_due": closeout.note_due(job), "note": documents.first()}


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
            return reverse("removed", args=[number])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "waste/emergency.html",
        job=job,
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
        thing = Cell.objects.filter(pk=pk, lot__donor_job=job, condition=reactive).first()
    elif kind == "item":
        thing = job.items.filter(pk=pk, condition=reactive).first()
    if thing is None:
        raise Http404
    return thing


urlpatterns = [
    path("jobs/<int:number>/removed/", removed, name="removed"),
    path("jobs/<int:number>/removed/finish/", finish_removed, name="finish_removed"),
    path("jobs/<int:number>/removed/<str:kind>/<int:pk>/", emergency, name="emergency"),
]
