"""How a tester writes its files is stated over one of them: lines, columns, a look at the values, and a name."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse

from shop.bridge import trace_words, traces
from shop.bridge.traces import Column, ColumnLayout, Glance, TraceRefused
from shop.errors import ShopError
from shop.models import Cell
from shop.operations import cell_testing
from shop.selectors import sheet
from shop.selectors import traces as told
from shop.web import uploads
from shop.web.forms.layouts import ColumnsForm, WrittenForm, written
from shop.web.http import page, person, say, show, submit
from shop.web.views.tester_files import asked_layout, get_cell

SAVE = "save"
THE_FILE = "That is a fault of this file, not of how it is read: the layout can be saved for the next one."
NOTHING = Glance(kind=traces.TEXT, lines=(), names=(), rows=())


@page(*sheet.BENCH)
def trace_layout(request: HttpRequest, code: str) -> HttpResponse:
    """State how a waiting file is read, or correct what was proposed."""
    cell = get_cell(code)
    content = uploads.kept(request.GET.get("file", ""))
    if content is None:
        return redirect("read_trace", code=cell.code)
    start = _start(request, content)
    lines = WrittenForm(request.GET if "delimiter" in request.GET else None, initial=written(start))
    layout = lines.layout() if lines.is_bound and lines.is_valid() else start
    seen, refused = _glance(content, layout)
    form = ColumnsForm(
        request.POST or None,
        names=seen.names,
        known=_known(layout, start, seen),
        initial={"sign": start.sign, "date_format": start.date_format},
    )
    more: dict[str, Any] = {}
    if request.method == "POST" and form.is_valid():
        stated = form.stated(layout)
        saves = SAVE in request.POST
        more = _tried(form, content, cell, stated, saves=saves)
        if saves and not form.errors and (answer := _save(request, cell, form, stated)):
            return answer
    return show(
        request,
        "tester_files/layout.html",
        cell=cell,
        name=request.GET.get("name", ""),
        asked={key: request.GET[key] for key in ("file", "name", "layout") if key in request.GET},
        lines=lines,
        form=form,
        seen=seen,
        refused=refused,
        **more,
    )


def _start(request: HttpRequest, content: bytes) -> ColumnLayout:
    """Begin with the layout the address names, else with what the file proposes, else with how its lines look."""
    if stored := asked_layout(request, content):
        fitting = traces.recognised(content, [stored.facts])
        return ColumnLayout.from_facts(fitting[1] if fitting else stored.facts)
    try:
        return traces.proposal(content).layout
    except TraceRefused:
        pass
    try:
        return traces.first_guess(content)
    except TraceRefused:
        return ColumnLayout("", ())


def _glance(content: bytes, layout: ColumnLayout) -> tuple[Glance, str]:
    try:
        return traces.glance(content, layout), ""
    except TraceRefused as refused:
        return NOTHING, str(refused)


def _known(layout: ColumnLayout, start: ColumnLayout, seen: Glance) -> tuple[Column, ...]:
    """What was stated or proposed for these columns; where lines are split in another way, what headings say."""
    same = layout.columns or all(
        getattr(layout, name) == getattr(start, name) for name in ("delimiter", "lines_before", "header_lines", "sheet")
    )
    return start.columns if same and start.columns else traces.guessed_columns(seen.names)


def _tried(form: ColumnsForm, content: bytes, cell: Cell, stated: ColumnLayout, *, saves: bool) -> dict[str, Any]:
    """Read the file as stated; what cannot be read that way is said above the form.

    A fault of the very file does not keep the layout of its tester from being saved.
    """
    try:
        understood = cell_testing.look_by(content=content, model=cell.lot.cell_model, facts=stated.facts())
    except ShopError as refused:
        if not traces.of_the_file(refused.code):
            form.refuse(refused)
        elif not saves:
            form.add_error(None, f"{refused.message} {THE_FILE}")
        return {}
    return {
        "titles": trace_words.first_columns(understood.trace),
        "values": trace_words.first_rows(understood.trace),
        "rows": len(understood.trace),
        "steps": len(understood.figures.steps),
        "remarks": told.by_verdict(understood.remarks()),
    }


def _save(request: HttpRequest, cell: Cell, form: ColumnsForm, stated: ColumnLayout) -> HttpResponse | None:
    if not stated.name:
        form.add_error("name", "Give it a name: the next file of this tester is read by it.")
        return None

    def do() -> str:
        layout = cell_testing.add_layout(name=stated.name, facts=stated.facts(), by=person(request))
        say(request, f"The layout {layout.name} is in the book.")
        asked = {"file": request.GET["file"], "name": request.GET.get("name", ""), "layout": layout.name}
        return f"{reverse('read_trace', args=[cell.code])}?{urlencode(asked)}"

    return submit(request, form, do)


urlpatterns = [path("stock/tester-files/layout/<path:code>/", trace_layout, name="trace_layout")]
