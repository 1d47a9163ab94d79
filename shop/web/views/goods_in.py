"""Goods in: a bought lot is checked, and one that is held is released by a lead."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from shop.models import Lot, LotCheck
from shop.operations import goods_in as operations
from shop.operations.base import BENCH, LEADS
from shop.web.forms.goods_in import LotCheckForm, ReleaseForm
from shop.web.http import numbers, page, person, say, show, submit, warn
from shop.web.pictures import picture


@page(*BENCH)
def check_lot(request: HttpRequest, code: str) -> HttpResponse:
    """What came with a lot, and what a sample of it measured."""
    lot = get_object_or_404(Lot.objects.select_related("cell_model"), code=code)
    form = LotCheckForm(request.POST or None, request.FILES or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            check = operations.check_lot(lot=lot, **form.values(), by=person(request))
            if check.doubts:
                warn(request, f"Lot {lot} is held: none of its cells is used until a lead says otherwise.")
            else:
                say(request, "It is in the book.")
            return reverse("lot", args=[lot.code])

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/lot_check.html", form=form, lot=lot)


@page(*LEADS)
def release_lot(request: HttpRequest, code: str) -> HttpResponse:
    """A lead says why a held lot is used all the same."""
    lot = get_object_or_404(Lot.objects.select_related("cell_model"), code=code)
    form = ReleaseForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.release_lot(lot=lot, reason=form.cleaned_data["reason"], by=person(request))
            say(request, f"Lot {lot} may be used.")
            return reverse("lot", args=[lot.code])

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/lot_release.html", form=form, lot=lot)


@page()
def lot_check_picture(_request: HttpRequest, pk: int) -> HttpResponse:
    """Return the photograph of what is printed on bought cells, to whoever works here."""
    row = get_object_or_404(LotCheck.objects.exclude(picture_sha256=""), pk=pk)
    return picture(lambda: operations.content_of(row), f"print-of-lot-{row.pk}.jpg", row.picture_sha256)


urlpatterns = [
    path("stock/goods-in-prints/<int:pk>.jpg", lot_check_picture, name="lot_check_picture"),
    path("stock/goods-in/<path:code>/release/", release_lot, name="release_lot"),
    path("stock/goods-in/<path:code>/", check_lot, name="check_lot"),
]
