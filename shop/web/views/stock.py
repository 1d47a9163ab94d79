"""Stock: cells, their models and their lots."""

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone

from packs.terms import LotOrigin, Measure, Place, Stage
from shop.bridge import lot_figures, sharing
from shop.models import Cell, CellModel, Lot, Reading
from shop.operations import stock as operations
from shop.operations import withdrawing
from shop.operations.base import LEADS
from shop.operations.conditions import JUDGED_AT
from shop.selectors import conditions as conditions_told
from shop.selectors import sheet, tries
from shop.selectors import stock as cells_told
from shop.selectors import traces as traces_told
from shop.web import drafts
from shop.web.forms.stock import CellForm, CellModelForm, CorrectionForm, LotForm, ReadingForm, WithdrawalForm
from shop.web.http import came_from, locale, numbers, page, person, say, show, submit, warn
from shop.web.stepping import stage_url

from .stock_plots import LEAST_CELLS

CELLS_A_PAGE = 50
LONGEST_SEARCH = 60


@page()
def stock(request: HttpRequest) -> HttpResponse:
    """The cells in stock, found by code, lot or model."""
    words = request.GET.get("q", "").strip()[:LONGEST_SEARCH]
    everywhere = request.GET.get("show") == "all"
    found = _paged(request, cells_told.search(words, everywhere=everywhere))
    return show(
        request,
        "stock/list.html",
        page=found,
        lines=cells_told.lines(list(found), at=timezone.now(), locale=locale(request)),
        words=words,
        sharing=bool(sharing.waiting()),
        everywhere=everywhere,
        packs=cells_told.packs() if not words else [],
        may_add=person(request).holds(*sheet.BENCH),
        empty=not words and not found.paginator.count,
    )


@page(posts=sheet.BENCH)
def cell(request: HttpRequest, code: str) -> HttpResponse:
    """One cell: its key figures, every reading ever taken of it, and where it has been."""
    row = get_object_or_404(Cell.objects.select_related("lot__cell_model", "lot__customer", "job"), code=code)
    form = ReadingForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.record_reading(cell=row, **form.values(), by=person(request))
            say(request, "The reading is in the book.")
            return reverse("cell", args=[row.code])

        if answer := submit(request, form, do):
            return answer
    may_add, held = person(request).holds(*sheet.BENCH), row.pk in cells_told.holders([row])
    return show(
        request,
        "stock/cell.html",
        cell=row,
        line=cells_told.lines([row], at=timezone.now(), locale=locale(request))[0],
        readings=[(Measure(reading.measure), reading) for reading in cells_told.history(row)],
        counting=cells_told.counting(row),
        telling=cells_told.telling(row),
        measured_before=row.readings.standing().filter(measure=Measure.REST_VOLTAGE.value).exists(),
        told=conditions_told.told([row])[0],
        changes=conditions_told.changes(row),
        check_cell=row.check_cells.last(),
        preparations=row.preparations.select_related("by").order_by("-pk"),
        reclaimed=Cell.objects.filter(pk=row.pk).reclaimed().exists(),
        may_lower=may_add and not held and row.place in JUDGED_AT and bool(conditions_told.worse(row)),
        may_discard=may_add and not held and row.place == Place.STOCK,
        traces=traces_told.of_cell(row),
        drifted=bool(lot_figures.drift(row)),
        movements=row.movements.select_related("job", "container", "by").order_by("-pk"),
        form=form,
        may_add=may_add,
    )


@page(*sheet.BENCH)
def cell_new(request: HttpRequest) -> HttpResponse:
    """Bring in one cell by hand; its readings are added on its own page."""
    form = CellForm(request.POST or None, initial={"lot": request.GET.get("lot", "")})
    if request.method == "POST" and form.is_valid():
        lot, row = form.cleaned_data["lot"], operations.CellRow(line=1, code=form.cleaned_data["code"].strip())

        def do() -> str:
            operations.import_cells(lot=lot, rows=[row], by=person(request))
            say(request, f"Cell {row.code} is in stock. Add what was measured of it below.")
            return f"{reverse('cell', args=[row.code])}#add"

        for _, problem in operations.bad_rows([row], lot.cell_model):
            form.add_error("code", f"{problem[0].upper()}{problem[1:].removesuffix('.')}.")
        if form.is_valid() and (answer := submit(request, form, do)):
            return answer
    return show(request, "stock/cell_new.html", form=form)


@page(*sheet.BENCH)
def correct_reading(request: HttpRequest, pk: int) -> HttpResponse:
    """The right value of a wrong reading, and why."""
    rows = Reading.objects.select_related("cell__lot__cell_model", "job", "by", "instrument", "step")
    reading = get_object_or_404(rows, pk=pk)
    measure, leads_to = Measure(reading.measure), came_from(request) or _page_of(reading)
    form = CorrectionForm(
        request.POST or None, measure=measure, of_a_cell=reading.cell is not None, numbers=numbers(request)
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            right = operations.correct_reading(reading=reading, **form.values(), by=person(request))
            say(request, f"Corrected. The old {measure.label} stays in the book, struck through.")
            if told := tries.beyond_a_limit(right):
                warn(request, told)
            return leads_to

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/correct.html", form=form, reading=reading, measure=measure, back_to=leads_to)


@page(*sheet.BENCH)
def withdraw_reading(request: HttpRequest, pk: int) -> HttpResponse:
    """Why a reading is none of its cell's."""
    rows = Reading.objects.select_related("cell__lot__cell_model", "job", "by", "step")
    reading = get_object_or_404(rows, pk=pk, cell__isnull=False)
    form, leads_to = WithdrawalForm(request.POST or None), _page_of(reading)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            withdrawing.withdraw_reading(reading=reading, by=person(request), **form.values())
            say(request, "Withdrawn. The reading stays in the book, struck through, and counts no more.")
            return leads_to

        if answer := submit(request, form, do):
            return answer
    measure = Measure(reading.measure)
    return show(request, "stock/withdraw.html", form=form, reading=reading, measure=measure, back_to=leads_to)


def _page_of(reading: Reading) -> str:
    """Return the page on which a reading is told: its cell's, or that of the step or the job it was taken for."""
    if reading.cell is not None:
        return reverse("cell", args=[reading.cell.code])
    assert reading.job is not None  # noqa: S101 - the table holds readings of cells and of jobs
    told = stage_url(reading.job, Stage(reading.stage), "done") if reading.step else ""
    return told or reverse("job", args=[reading.job.number])


@page()
def cell_models(request: HttpRequest) -> HttpResponse:
    """The cell models in the book, and the lots that came in of them."""
    return show(
        request,
        "stock/models.html",
        models=cells_told.models(),
        page=_paged(request, cells_told.lots()),
        may_add=person(request).holds(*sheet.BENCH),
    )


@page(*sheet.BENCH)
def cell_model_new(request: HttpRequest) -> HttpResponse:
    """Add a cell model, and go back to where it was missing."""
    form = CellModelForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            model = operations.add_cell_model(**form.values(), by=person(request))
            drafts.add(request, came_from(request), "cell_model", model.pk)
            say(request, f"{model.name} is in the book.")
            return came_from(request) or reverse("cell_models")

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/model_new.html", form=form, back_url=came_from(request) or reverse("cell_models"))


@page(*sheet.BENCH)
def lot_new(request: HttpRequest) -> HttpResponse:
    """Add a lot."""
    form = LotForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            row = operations.add_lot(**form.values(), by=person(request))
            say(request, f"Lot {row.code} is in the book. Its cells come in as a table.")
            return reverse("lot", args=[row.code])

        if answer := submit(request, form, do):
            return answer
    return show(request, "stock/lot_new.html", form=form, models=CellModel.objects.exists())


@page()
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """One lot: where it comes from, and its cells wherever they are now."""
    row = get_object_or_404(Lot.objects.select_related("cell_model", "customer", "donor_job"), code=code)
    found = _paged(request, Cell.objects.filter(lot=row).select_related("lot__cell_model", "job"))
    return show(
        request,
        "stock/lot.html",
        lot=row,
        page=found,
        lines=cells_told.lines(list(found), at=timezone.now(), locale=locale(request)),
        pictured=cells_told.measured_whole(row) >= LEAST_CELLS,
        may_add=person(request).holds(*sheet.BENCH) and row.donor_job is None,
        checks=row.checks.select_related("by").order_by("-pk"),
        may_release=person(request).holds(*LEADS),
        known=row.histories.select_related("by").last(),
        signed=row.signatures.select_related("by").last(),
        with_history=Cell.objects.filter(lot=row).with_history().exists() or row.origin == LotOrigin.DONOR,
        may_print=person(request).holds(*sheet.BENCH),
    )


def _paged(request: HttpRequest, rows: QuerySet[Any]) -> "Page[Any]":
    return Paginator(rows, CELLS_A_PAGE).get_page(request.GET.get("page"))


urlpatterns = [
    path("stock/", stock, name="stock"),
    path("stock/cells/<path:code>/", cell, name="cell"),
    path("stock/new-cell/", cell_new, name="cell_new"),
    path("stock/readings/<int:pk>/correct/", correct_reading, name="correct_reading"),
    path("stock/readings/<int:pk>/withdraw/", withdraw_reading, name="withdraw_reading"),
    path("stock/models/", cell_models, name="cell_models"),
    path("stock/models/new/", cell_model_new, name="cell_model_new"),
    path("stock/lots/new/", lot_new, name="lot_new"),
    path("stock/lots/<path:code>/", lot, name="lot"),
]
