"""What a cell in stock turned out to be, and its way out of the shop."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import Area, Condition, Contents, Stage
from shop.bridge import cautions
from shop.models import Cell, Container
from shop.operations import conditions, disposal
from shop.selectors import conditions as conditions_told
from shop.selectors import sheet
from shop.web.forms.base import ShopForm
from shop.web.forms.disposal import ConditionForm, DiscardForm, EmergencyForm
from shop.web.http import page, person, say, show, submit
from shop.web.room import warn_of_room
from shop.web.stepping import leads_to_emergency


@page(*sheet.BENCH)
def lower(request: HttpRequest, code: str) -> HttpResponse:
    """Say that a cell is worse than it was written down."""
    row = _cell(code)
    worse = conditions_told.worse(row)
    form = ConditionForm(request.POST or None, worse=worse)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            conditions.lower_condition(cell=row, **form.values(), by=person(request))
            say(request, f"Cell {row.code} is {form.cleaned_data['condition'].label}.")
            row.refresh_from_db()
            return leads_to_emergency([row]) or _page_of(row)

        if answer := submit(request, form, do):
            return answer
    told = conditions_told.told([row])[0]
    return show(request, "stock/condition.html", cell=row, form=form, told=told, worse=worse)


@page(*sheet.BENCH)
def discard(request: HttpRequest, code: str) -> HttpResponse:
    """Put a cell of the stock into a waste container, or say who took what may react."""
    row = _cell(code)
    reactive = row.condition == Condition.REACTIVE
    open_ones = Container.objects.filter(closed_at__isnull=True, contents=Contents.CELLS.value, condition=row.condition)
    form = (
        EmergencyForm(request.POST or None)
        if reactive
        else DiscardForm(request.POST or None, containers=open_ones, damaged=row.condition == Condition.DAMAGED)
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            disposal.discard(cell=row, **form.values(), by=person(request))
            say(request, f"Cell {row.code} is {'out of the shop' if reactive else 'in the container'}.")
            warn_of_room(request, Area.WASTE)
            return _page_of(row)

        if answer := submit(request, form, do):
            return answer
    return _discard_page(request, row, form, possible=reactive or open_ones.exists())


def _discard_page(request: HttpRequest, row: Cell, form: ShopForm, *, possible: bool) -> HttpResponse:
    return show(
        request,
        "stock/discard.html",
        cell=row,
        form=form,
        possible=possible,
        told=conditions_told.told([row])[0],
        cautions=cautions.for_stage(Stage.REMOVED),
    )


def _cell(code: str) -> Cell:
    return get_object_or_404(Cell.objects.select_related("lot__cell_model", "job"), code=code)


def _page_of(row: Cell) -> str:
    return reverse("cell", args=[row.code])


urlpatterns = [
    path("stock/condition/<path:code>/", lower, name="lower_condition"),
    path("stock/discard/<path:code>/", discard, name="discard"),
]
