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
    return show(
        request,
        "waste/containers.html",
        containers=[(row, Condition(row.condition)) for row in rows.order_by("consigned_at", "code")],
    )


@page(*sheet.BENCH)
def container_new(request: HttpRequest) -> HttpResponse:
    """Open a container."""
    form = ContainerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            container = disposal.open_container(**form.values(), by=person(request))
            return reverse("container", args=[container.code])

        if answer := submit(request, form, do):
            return answer
    return show(request, "waste/container_new.html", form=form)


@page(*sheet.BENCH)
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
        cautions=cautions.for_stage(Stage.REMOVED),
    )


urlpatterns = [
    path("containers/", containers, name="containers"),
    path("containers/new/", container_new, name="container_new"),
    path("containers/<str:code>/", container, name="container"),
]
