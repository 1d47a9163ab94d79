"""A tester file of a cell: uploaded, looked at, accepted into the cell's readings; and the files that were kept."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, re_path, reverse
from django.utils.cache import patch_cache_control

from shop.bridge import trace_curves, trace_words
from shop.bridge.traces import Offer, Understood
from shop.errors import ShopError
from shop.models import Cell, FileLayout, TraceFile
from shop.operations import cell_testing, withdrawing
from shop.selectors import sheet
from shop.selectors import traces as told
from shop.web import uploads
from shop.web.forms.tester_files import AcceptForm, MoveForm, ReadByForm, TesterFileForm
from shop.web.http import locale, page, person, say, show, submit, warn
from shop.web.views.curves import drawn

UNNAMED = "tester file"


@page(*sheet.BENCH)
def read_trace(request: HttpRequest, code: str) -> HttpResponse:
    """Ask for a tester file; with one at hand, tell what it says and ask which figures are accepted."""
    cell = get_cell(code)
    content = uploads.kept(request.GET.get("file", ""))
    if content is None:
        return _upload(request, cell)
    if known := cell_testing.known_already(content):
        return redirect("trace", pk=known.pk)
    layout = asked_layout(request, content)
    try:
        understood = cell_testing.look_at(content=content, model=cell.lot.cell_model, layout=layout)
    except ShopError as refused:
        return _show_waiting(
            request, cell, "tester_files/refused.html", refused=refused, by_layout=layout, read_by=_read_by(layout)
        )
    return _look(request, cell, content, layout, understood)


def _upload(request: HttpRequest, cell: Cell) -> HttpResponse:
    gone = "file" in request.GET
    form = TesterFileForm(request.POST, request.FILES) if request.method == "POST" and not gone else TesterFileForm()
    if form.is_bound and form.is_valid():
        content = form.cleaned_data["file"]
        if known := cell_testing.known_already(content):
            if known.cell_id != cell.pk:
                warn(
                    request, f"This is the file of {known.cell.code}, kept as {known.name}: it counts once, and there."
                )
                return redirect(f"{reverse('move_trace', args=[known.pk])}?{urlencode({'to': cell.code})}")
            say(request, f"This file is kept already, as {known.name} of cell {known.cell.code}. It counts once.")
            return redirect("trace", pk=known.pk)
        name = getattr(request.FILES["file"], "name", "")
        asked = urlencode({"file": uploads.keep(content), "name": name})
        return redirect(f"{reverse('read_trace', args=[cell.code])}?{asked}")
    return show(request, "tester_files/upload.html", form=form, cell=cell, gone=gone)


def _look(
    request: HttpRequest, cell: Cell, content: bytes, layout: FileLayout | None, understood: Understood
) -> HttpResponse:
    form = AcceptForm(request.POST or None, offers=understood.offers, ended=cell_testing.believed(understood, cell))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            kept = cell_testing.keep_trace(
                cell=cell,
                name=request.GET.get("name", "") or UNNAMED,
                content=content,
                understood=understood,
                layout=layout,
                by=person(request),
            )
            return _accept(request, kept, understood, form)

        if answer := submit(request, form, do):
            return answer
    size = len(content)
    more = told_of(request, understood) | {"remarks": told.by_verdict(understood.remarks())}
    return _show_waiting(
        request,
        cell,
        "tester_files/look.html",
        form=form,
        size=size,
        by_layout=layout,
        read_by=_read_by(layout),
        **more,
    )


def _accept(request: HttpRequest, kept: TraceFile, understood: Understood, form: AcceptForm) -> str:
    measures = form.cleaned_data["measures"]
    if measures:
        cell_testing.accept_trace(
            trace=kept,
            understood=understood,
            measures=measures,
            instrument=form.cleaned_data["instrument"],
            **form.stated(),
            measured_at=form.cleaned_data["measured_at"],
            by=person(request),
            sure=form.said_true(),
        )
    count = f"{len(measures)} {'reading' if len(measures) == 1 else 'readings'}" if measures else "no reading"
    say(request, f"{kept.name} is kept; {count} of it came into the book.")
    return f"{reverse('cell', args=[kept.cell.code])}#tester-files"


def _show_waiting(request: HttpRequest, cell: Cell, template: str, **more: Any) -> HttpResponse:
    # An empty layout is an answer too: what the file itself shows.
    asked = {name: request.GET[name] for name in ("file", "name", "layout") if name in request.GET}
    return show(
        request,
        template,
        cell=cell,
        name=request.GET.get("name", "") or UNNAMED,
        query=urlencode(asked),
        asked={name: asked[name] for name in ("file", "name") if name in asked},
        **more,
    )


def told_of(request: HttpRequest, understood: Understood) -> dict[str, Any]:
    """Return what a page tells of a file that was read."""
    layout, figures = understood.trace.layout, understood.figures
    return {
        "understood": understood,
        "layout": layout,
        "columns": trace_words.columns(layout),
        "sign": trace_words.SIGNS[layout.sign],
        "delimiter": trace_words.DELIMITERS.get(layout.delimiter, layout.delimiter),
        "steps": trace_words.steps(figures),
        "figures": trace_words.lines(figures, locale(request)),
        "agreement": trace_words.agreement(figures),
        "curves": trace_curves.curves_of(understood.trace),
    }


@page(posts=sheet.BENCH)
def trace(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept tester file: what was understood and repaired, which readings came of it, and what else it offers."""
    kept = get_trace(pk)
    readings = list(told.readings(kept))
    try:
        understood = cell_testing.again(kept)
    except ShopError as refused:
        return show(request, "tester_files/kept.html", trace=kept, cell=kept.cell, readings=readings, refused=refused,
                    remarks=told.by_verdict(kept.remarks))  # fmt: skip
    moved = TraceFile.objects.select_related("cell").filter(moved_from=kept).first()
    form = AcceptForm(
        request.POST or None,
        offers=_not_taken(understood.offers, told.taken(kept)),
        ended=cell_testing.believed(understood, kept.cell),
    )
    may_add = person(request).holds(*sheet.BENCH) and moved is None
    if (
        request.method == "POST"
        and form.is_valid()
        and (answer := submit(request, form, lambda: _accept(request, kept, understood, form)))
    ):
        return answer
    return show(
        request,
        "tester_files/kept.html",
        trace=kept,
        cell=kept.cell,
        readings=readings,
        form=form,
        may_add=may_add,
        moved=moved,
        remarks=told.by_verdict(kept.remarks),
        **told_of(request, understood),
    )


@page(*sheet.BENCH)
def move_trace(request: HttpRequest, pk: int) -> HttpResponse:
    """Say of which cell a kept file really is, and why it stood with another one."""
    kept = get_trace(pk)
    form = MoveForm(request.POST or None, initial={"cell": request.GET.get("to", "")})
    if request.method == "POST" and form.is_valid():
        model = form.cleaned_data["cell"].lot.cell_model
        try:
            content = cell_testing.content_of(kept)
            understood = cell_testing.look_by(content=content, model=model, facts=kept.layout)
        except ShopError as refused:
            form.add_error(None, refused.message)
        else:
            if answer := submit(request, form, lambda: _moved(request, kept, understood, form)):
                return answer
    return show(request, "tester_files/move.html", trace=kept, cell=kept.cell, form=form)


def _moved(request: HttpRequest, kept: TraceFile, understood: Understood, form: MoveForm) -> str:
    right = withdrawing.put_to_cell(trace=kept, understood=understood, by=person(request), **form.values())
    say(request, f"{right.name} is put to cell {right.cell.code}. Tick below which of its figures become readings.")
    return reverse("trace", args=[right.pk])


def _not_taken(offers: Sequence[Offer], taken: set[str]) -> list[Offer]:
    return [offer for offer in offers if offer.measure.value not in taken]


@page(*sheet.BENCH)
def waiting_curve(request: HttpRequest, code: str, curve: str) -> HttpResponse:
    """One curve of a file that waits to be accepted."""
    content = uploads.kept(request.GET.get("file", ""))
    if content is None:
        raise Http404
    model = get_cell(code).lot.cell_model
    try:
        understood = cell_testing.look_at(content=content, model=model, layout=asked_layout(request, content))
    except ShopError as refused:
        raise Http404 from refused
    return drawn(trace_curves.of_trace(understood.trace, curve), curve, locale(request), narrow="narrow" in request.GET)


@page()
def trace_curve(request: HttpRequest, pk: int, curve: str) -> HttpResponse:
    """One curve of a kept file; it never changes, so a browser may keep it for an hour."""
    series = cell_testing.series_of(get_trace(pk).sha256)
    if not series.exists():
        raise Http404
    answer = drawn(
        trace_curves.of_series(series.read_bytes(), curve), curve, locale(request), narrow="narrow" in request.GET
    )
    patch_cache_control(answer, private=True, max_age=3600)
    return answer


def get_cell(code: str) -> Cell:
    """Return a cell with its model."""
    return get_object_or_404(Cell.objects.select_related("lot__cell_model"), code=code)


def get_trace(pk: int) -> TraceFile:
    """Return a kept file with its cell."""
    return get_object_or_404(TraceFile.objects.select_related("cell__lot__cell_model", "by"), pk=pk)


def asked_layout(request: HttpRequest, content: bytes) -> FileLayout | None:
    """Return the layout that the address names; where it says nothing, the one with the headings of the file."""
    if "layout" not in request.GET:
        return cell_testing.layout_of(content)
    name = request.GET["layout"]
    return get_object_or_404(FileLayout, name=name) if name else None


def _read_by(layout: FileLayout | None) -> ReadByForm:
    return ReadByForm(initial={"layout": layout.name if layout else None})


CURVE = "|".join(trace_curves.CURVES)
urlpatterns = [
    path("stock/tester-files/<int:pk>/", trace, name="trace"),
    path("stock/tester-files/<int:pk>/move/", move_trace, name="move_trace"),
    re_path(rf"^stock/tester-files/(?P<pk>[0-9]+)/(?P<curve>{CURVE})\.svg$", trace_curve, name="trace_curve"),
    re_path(rf"^stock/tester-files/for/(?P<code>.+)/(?P<curve>{CURVE})\.svg$", waiting_curve, name="waiting_curve"),
    path("stock/tester-files/for/<path:code>/", read_trace, name="read_trace"),
]
