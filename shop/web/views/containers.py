"""Waste containers."""

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import Condition, Stage
from shop.bridge import cautions
from shop.models import Container
from shop.operations import disposal
from shop.selectors import sheet
from shop.web.forms.disposal import ConsignForm, ContainerForm
from shop.web.http import page, person, say, show, submit


@page()
def containers(request: HttpRequest) -> HttpResponse:
    """Every container, those still here first."""
    rows = Container.objects.annotate(held=Count("cells", distinct=True) + Count("items", distinct=True))
    told = [(row, Condition(row.condition)) for row in rows.order_by("-consigned_at", "code")]
    return show(
        request,
        "waste/containers.html",
        here=[pair for pair in told if pair[0].consigned_at is None],
        gone=[pair for pair in told if pair[0].consigned_at is not None],
        may_open=person(request).holds(*sheet.BENCH),
    )


@page(*sheet.BENCH)
def container_new(request: HttpRequest) -> HttpResponse:
    """Open a container; whoever came from a job's removed items goes back there."""
    form = ContainerForm(request.POST or None, initial={"condition": request.GET.get("condition")})
    job = request.GET.get("for", "")
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            container = disposal.open_container(**form.values(), by=person(request))
            say(request, f"Container {container.code} is open.")
            return (
                reverse("removed", args=[int(job)]) if job.isdecimal() else reverse("container", args=[container.code])
            )

        if answer := submit(request, form, do):
            return answer
    return show(request, "waste/container_new.html", form=form)


@page(*sheet.EVERYONE, posts=sheet.BENCH)
def container(request: HttpRequest, code: str) -> HttpResponse:
    """What is in a container, and who takes it."""
    row = get_object_or_404(Container, code=code)
    form = ConsignForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            disposal.consign(container=row, **form.values(), by=person(request))
            say(request, f"Container {row.code} is on its way.")
            return reverse("container", args=[row.code])

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "waste/container.html",
        container=row,
        condition=Condition(row.condition),
        cells=row.cells.select_related("lot__cell_model", "lot__donor_job"),
        items=row.items.select_related("job"),
        form=form,
        may_consign=person(request).holds(*sheet.BENCH),
        cautions=cautions.for_stage(Stage.REMOVED),
    )


urlpatterns = [
    path("containers/", containers, name="containers"),
    path("containers/new/", container_new, name="container_new"),
    path("containers/<path:code>/", container, name="container"),
]
