"""Cells that were in a pack before, made ready to be joined again."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import Stubs
from shop.bridge import cautions
from shop.models import CellPreparation
from shop.operations import preparing as operations
from shop.operations.base import BENCH
from shop.web.forms.preparing import PreparationForm
from shop.web.http import page, person, say, show, submit, warn
from shop.web.pictures import picture


@page(*BENCH)
def prepare_cells(request: HttpRequest) -> HttpResponse:
    """What was done to one cell or a set: tabs, stubs, wrapper and insulator."""
    asked = {name: request.GET.get(name, "") for name in ("lot", "codes")}
    form = PreparationForm(request.POST or None, request.FILES or None, initial=asked)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            made = operations.prepare_cells(**form.given(), by=person(request))
            if form.cleaned_data["stubs"] is Stubs.LEFT:
                warn(request, "It is written down. With stubs left on them they are not ready to be joined.")
            else:
                say(request, f"{len(made)} cell{'s are' if len(made) > 1 else ' is'} ready to be joined.")
            first = made[0].cell
            return reverse("cell", args=[first.code]) if len(made) == 1 else reverse("lot", args=[first.lot.code])

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/prepare.html", form=form, cautions=cautions.for_preparing())


@page()
def preparation_picture(_request: HttpRequest, pk: int) -> HttpResponse:
    """Return the photograph of an old wrap, to whoever works here."""
    row = get_object_or_404(CellPreparation.objects.exclude(picture_sha256=""), pk=pk)
    return picture(lambda: operations.content_of(row), f"print-{row.pk}.jpg", row.picture_sha256)


urlpatterns = [
    path("stock/preparations/<int:pk>.jpg", preparation_picture, name="preparation_picture"),
    path("stock/prepare/", prepare_cells, name="prepare_cells"),
]
