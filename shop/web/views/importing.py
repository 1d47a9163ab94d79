"""A table of tested cells comes in: the file, then what its columns mean and what will come in, then the import."""

import hashlib
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import path, reverse

from packs.terms import Area, Measure
from shop.bridge import columns, tables
from shop.bridge.columns import Taken
from shop.models import Lot
from shop.operations import stock
from shop.operations.possible import CONFIRM
from shop.selectors import sheet
from shop.web import uploads
from shop.web.forms.importing import UNITS, ColumnsForm, UploadForm
from shop.web.http import numbers, page, person, say, show, submit
from shop.web.room import warn_of_room

ROWS_SHOWN = 5
LINES_A_PAGE = 50
IMPORT = "import"
PAGED = ("rows", "faults", "odd")


@dataclass(frozen=True)
class Preview:
    """What a choice of columns would bring in, and by line what keeps it out. ``sign`` says which choice it was.

    ``odd`` are the rows with values that hardly any cell has: they come in only when somebody says they are true.
    """

    rows: list[stock.CellRow]
    faults: list[tuple[int, str]]
    odd: list[tuple[int, str]]
    readable: bool
    sign: str
    pages: dict[str, str]

    @classmethod
    def of(cls, taken: Taken, lot: Lot, sign: str, pages: dict[str, str]) -> "Preview":
        """Look at what was taken from a table as the import into a lot would."""
        rows = [stock.CellRow(line=one.line, code=one.code, readings=one.readings) for one in taken.lines]
        faults = sorted([*taken.problems, *stock.bad_rows(rows, lot.cell_model)])
        return cls(rows, faults, stock.odd_rows(rows, lot.cell_model), not taken.problems, sign, pages)

    @property
    def measures(self) -> list[tuple[Measure, int]]:
        """The measures that come in, each with the number of cells it is missing for."""
        missing = {measure: sum(measure not in row.readings for row in self.rows) for measure in UNITS}
        return [(measure, count) for measure, count in missing.items() if count < len(self.rows)]

    def read(self, row: stock.CellRow) -> list[tuple[Measure, Decimal | None]]:
        """Return what was read of a row, in the order of the columns shown."""
        return [(measure, row.readings.get(measure)) for measure, _ in self.measures]

    @cached_property
    def row_page(self) -> "Page[Any]":
        """One page of the rows as they were read."""
        found: Page[Any] = Paginator(self.rows, LINES_A_PAGE).get_page(self.pages.get("rows"))
        read = [(row, self.read(row)) for row in found]
        return Page(read, found.number, found.paginator)

    @cached_property
    def fault_page(self) -> "Page[Any]":
        """One page of the faults."""
        return Paginator(self.faults, LINES_A_PAGE).get_page(self.pages.get("faults"))

    @cached_property
    def odd_page(self) -> "Page[Any]":
        """One page of the rows with odd values."""
        return Paginator(self.odd, LINES_A_PAGE).get_page(self.pages.get("odd"))


@page(*sheet.BENCH)
def import_cells(request: HttpRequest) -> HttpResponse:
    """Ask for a table; with one at hand, ask what its columns mean."""
    name = request.GET.get("table", "")
    data = uploads.kept(name)
    if data is None:
        return _upload(request, gone=bool(name))
    return _columns(request, tables.read(data))


def _upload(request: HttpRequest, *, gone: bool) -> HttpResponse:
    sent = request.method == "POST" and not gone
    form = UploadForm(request.POST, request.FILES) if sent else UploadForm()
    if sent and form.is_valid():
        name = getattr(request.FILES["table"], "name", "")
        kept = uploads.keep(form.cleaned_data["table"])
        asked = {"table": kept, "file": name, "lot": request.GET.get("lot", "")}
        return redirect(f"{reverse('import_cells')}?{urlencode(asked)}")
    return show(request, "stock/import.html", form=form, gone=gone, lots=Lot.objects.filter(donor_job=None).exists())


def _columns(request: HttpRequest, table: tables.Table) -> HttpResponse:
    lot = Lot.objects.filter(code=request.GET.get("lot", "")).first()
    form = ColumnsForm(request.POST or None, table=table, initial={"lot": lot}, numbers=numbers(request))
    preview = None
    if request.method == "POST" and form.is_valid():
        taken = columns.take(table, form.choice())
        pages = {name: request.POST[f"page_{name}"] for name in PAGED if f"page_{name}" in request.POST}
        preview = Preview.of(taken, form.cleaned_data["lot"], _sign(request.POST, form), pages)
        if IMPORT in request.POST and _as_shown(request, form, preview) and (answer := _import(request, form, preview)):
            return answer
    return show(
        request,
        "stock/columns.html",
        form=form,
        table=table,
        rows=table.rows[:ROWS_SHOWN],
        file=request.GET.get("file", ""),
        preview=preview,
        possible=preview and preview.rows and not preview.faults,
    )


def _import(request: HttpRequest, form: ColumnsForm, preview: Preview) -> HttpResponse | None:
    lot: Lot = form.cleaned_data["lot"]

    def do() -> str:
        cells = stock.import_cells(
            lot=lot,
            rows=preview.rows,
            methods={Measure.DC_RESISTANCE: form.cleaned_data["method"]},
            conditions=form.conditions(),
            conditions_of=form.conditions_of(),
            instrument=form.cleaned_data["instrument"],
            measured_at=form.measured_at(),
            sure=form.cleaned_data["sure"],
            by=person(request),
        )
        say(request, f"{len(cells)} {'cell' if len(cells) == 1 else 'cells'} came in.")
        warn_of_room(request, Area.STOCK)
        return reverse("lot", args=[lot.code])

    return submit(request, form, do)


def _as_shown(request: HttpRequest, form: ColumnsForm, preview: Preview) -> bool:
    """Nothing comes in that was not looked at first. What is in the book by now is for the import itself to say."""
    if not preview.readable:
        return False
    if request.POST.get("looked_at") == preview.sign:
        return True
    form.add_error(None, "The choice was changed after it was looked at. This is what would come in now.")
    return False


def _sign(posted: QueryDict, form: ColumnsForm) -> str:
    said = repr([(name, posted.get(name, "")) for name in sorted(form.fields) if name != CONFIRM])
    return hashlib.sha256(said.encode()).hexdigest()


urlpatterns = [path("stock/import/", import_cells, name="import_cells")]
