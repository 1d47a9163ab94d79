"""The criteria of grades with their history, and what a new cell of a model reads."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import Grade
from shop.bridge import grading as bridge
from shop.models import CellModel, GradeCriteria
from shop.operations import grading as operations
from shop.operations.base import BENCH, LEADS
from shop.web.forms.grading import CriteriaForm, NewCellForm
from shop.web.http import locale, numbers, page, person, say, show, submit


@page(posts=LEADS)
def criteria(request: HttpRequest) -> HttpResponse:
    """The criteria that count now, how they came about, and for a lead the way to set others."""
    counting = bridge.criteria()
    told = {name: bridge.BOUNDS[name][1].shown(value, locale=locale(request))
            for name, value in bridge.facts_of(counting).items()}  # fmt: skip
    form = CriteriaForm(request.POST or None, initial=told, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            values = form.values(*bridge.BOUNDS)
            row = operations.set_criteria(values=values, reason=form.cleaned_data["reason"], by=person(request))
            say(request, f"Version {row.number} of the criteria counts from now on.")
            return reverse("criteria")

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "grading/criteria.html",
        version=counting.version,
        grades=[grade.label for grade in bridge.GRADES],
        rows=[
            (label, [told[f"{grade.value}_{name}"] for grade in bridge.GRADES])
            for name, (label, _) in bridge.OF_A_BAND.items()
        ],
        tests=[(label, told[name]) for name, (label, _) in bridge.OF_THE_TEST.items()],
        bands=[(grade.label, [form[f"{grade.value}_{name}"] for name in bridge.OF_A_BAND]) for grade in bridge.GRADES],
        of_the_test=[form[name] for name in bridge.OF_THE_TEST],
        others=[grade.label for grade in Grade if not grade.usable],
        form=form,
        history=GradeCriteria.objects.select_related("by").order_by("-number"),
        may_change=person(request).holds(*LEADS),
    )


@page(*BENCH)
def new_cell(request: HttpRequest, pk: int) -> HttpResponse:
    """State what a new cell of a model reads, against which used ones are graded."""
    row = get_object_or_404(CellModel, pk=pk)
    form = NewCellForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.state_new_cell(cell_model=row, **form.values(), by=person(request))
            say(request, f"Used cells are held against this new {row} from now on.")
            return reverse("cell_model", args=[row.pk])

        if answer := submit(request, form, do):
            return answer
    return show(request, "grading/new_cell.html", form=form, model=row)


urlpatterns = [
    path("settings/criteria/", criteria, name="criteria"),
    path("stock/models/<int:pk>/new-cell/", new_cell, name="new_cell"),
]
