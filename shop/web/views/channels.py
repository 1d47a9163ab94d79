"""The test bench: what is in which channel, what waits, and whether the channels read true."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone

from shop.errors import ShopError
from shop.models import Cell, Channel, ChannelRun
from shop.operations import channels as operations
from shop.operations.base import BENCH
from shop.selectors import channels as told
from shop.selectors import upkeep
from shop.web.forms.channels import (
    BeginForm,
    ChannelForm,
    CheckCellForm,
    CheckReadingForm,
    EndForm,
    PromiseForm,
    QueueForm,
)
from shop.web.http import numbers, page, person, say, show, submit, version, warn
from shop.web.jobs import get_job


@page()
def bench(request: HttpRequest) -> HttpResponse:
    """The test bench on one page: channels, queue, cost of a passed cell, upkeep."""
    at = timezone.now()
    return show(
        request,
        "bench/page.html",
        lines=told.lines(at),
        queue=told.queue(),
        cost=told.cost(at),
        check_cells=told.check_cells(),
        upkeep=upkeep.counts(at),
        may_work=person(request).holds(*BENCH),
    )


@page(*BENCH)
def channel_new(request: HttpRequest) -> HttpResponse:
    """Add a channel of a tester."""
    form = ChannelForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            channel = operations.add_channel(by=person(request), **form.given())
            say(request, f"{channel} is known. Read its check cell before it is used.")
            return reverse("bench")

        if answer := submit(request, form, do):
            return answer
    return _form(request, form, "Add a channel", "Add the channel", "What it is measured with stands in the settings.")


@page(*BENCH)
def check_cell_new(request: HttpRequest) -> HttpResponse:
    """Keep a cell to check channels with, or state anew what is known of it."""
    form = CheckCellForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            kept = operations.keep_check_cell(cell=_cell(form), **_given(form), by=person(request))
            say(request, f"Cell {kept.cell.code} stays at the bench and goes into no pack.")
            return reverse("bench")

        if answer := submit(request, form, do):
            return answer
    told_so = "A cell of known capacity. A channel that reads it otherwise, or not for too long, ends no test."
    return _form(request, form, "Keep a check cell", "Keep it at the bench", told_so)


@page(*BENCH)
def channel_check(request: HttpRequest, pk: int) -> HttpResponse:
    """What a channel read of a check cell."""
    channel = get_object_or_404(Channel.objects.select_related("instrument"), pk=pk)
    form = CheckReadingForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            cell = _cell(form)
            read = operations.read_check_cell(channel=channel, cell=cell, **_given(form), by=person(request))
            if read.temperature_mdegc is not None:
                say(request, f"Cells of this model that {channel.instrument} tests so today are held against {cell}.")
            elif read.agrees:
                say(request, f"{channel} reads true.")
            else:
                warn(
                    request,
                    f"{channel} does not read its check cell true: nothing it measured is graded until it does.",
                )
            return reverse("bench")

        if answer := submit(request, form, do):
            return answer
    return _form(request, form, f"Check cell in {channel}", "Write the reading down", "")


@page(*BENCH)
def queue_cells(request: HttpRequest) -> HttpResponse:
    """Cells that are to be tested wait for a channel."""
    asked = {name: request.GET.get(name, "") for name in ("lot", "codes")}
    form = QueueForm(request.POST or None, initial=asked)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            given = form.cleaned_data
            runs = operations.queue_cells(cells=given["cells"], job=given["job"], by=person(request))
            say(request, f"{len(runs)} cell{'s wait' if len(runs) > 1 else ' waits'} for a channel.")
            return f"{reverse('bench')}#queue"

        if answer := submit(request, form, do):
            return answer
    return _form(request, form, "Cells to be tested", "Let them wait for a channel", "")


@page(*BENCH)
def begin_run(request: HttpRequest, pk: int) -> HttpResponse:
    """A cell that waits goes into a channel."""
    run = get_object_or_404(ChannelRun.objects.select_related("cell"), pk=pk)
    form = BeginForm(request.POST or None, free=told.free(timezone.now()), numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            begun = operations.begin_run(run=run, **form.values(), by=person(request))
            say(request, f"Cell {run.cell.code} is in {begun.channel}.")
            return reverse("bench")

        if answer := submit(request, form, do):
            return answer
    return _form(request, form, f"Cell {run.cell.code} into a channel", "It is in the channel", "")


@page(*BENCH)
def end_run(request: HttpRequest, pk: int) -> HttpResponse:
    """A cell is taken out of its channel, or out of the queue."""
    run = get_object_or_404(ChannelRun.objects.select_related("cell"), pk=pk)
    form = EndForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            ended = operations.end_run(run=run, **form.values(), by=person(request))
            say(request, f"Cell {run.cell.code}: {ended.get_state_display()}.")
            return reverse("bench")

        if answer := submit(request, form, do):
            return answer
    return _form(request, form, f"Test of cell {run.cell.code}", "It is over", "")


@page()
def promise(request: HttpRequest, number: int) -> HttpResponse:
    """The day a customer was promised."""
    job = get_job(number)
    form = PromiseForm(request.POST or None, initial={"promised_on": job.promised_on})
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.promise(job=job, **form.values(), by=person(request), version=version(request))
            say(request, "The day stands with the job.")
            return reverse("job", args=[number])

        if answer := submit(request, form, do):
            return answer
    return _form(
        request,
        form,
        f"{job.code}, promised for",
        "Write the day down",
        "",
        back=reverse("job", args=[number]),
        job=job,
    )


@page()
def upkeep_list(request: HttpRequest) -> HttpResponse:
    """Cells due for another test, outside their storage band, or drifting from their lot."""
    return show(
        request,
        "bench/upkeep.html",
        lists=upkeep.lists(timezone.now()),
        held=upkeep.held(),
        may_work=person(request).holds(*BENCH),
    )


def _cell(form: CheckCellForm) -> Cell:
    cell = Cell.objects.coded(form.cleaned_data["code"])
    if cell is None:
        raise ShopError("no_such_cell", "No cell has this code.", field="code")
    return cell


def _given(form: CheckCellForm) -> dict[str, Any]:
    return {name: value for name, value in form.values().items() if name != "code"}


def _form(
    request: HttpRequest, form: Any, title: str, do: str, told_so: str, back: str = "", **more: Any
) -> HttpResponse:
    return show(
        request,
        "bench/form.html",
        form=form,
        title=title,
        do=do,
        told=told_so,
        back_to=back or reverse("bench"),
        **more,
    )


urlpatterns = [
    path("stock/bench/", bench, name="bench"),
    path("stock/bench/upkeep/", upkeep_list, name="upkeep"),
    path("stock/bench/channels/new/", channel_new, name="channel_new"),
    path("stock/bench/channels/<int:pk>/check/", channel_check, name="channel_check"),
    path("stock/bench/check-cells/new/", check_cell_new, name="check_cell_new"),
    path("stock/bench/queue/", queue_cells, name="queue_cells"),
    path("stock/bench/runs/<int:pk>/begin/", begin_run, name="begin_run"),
    path("stock/bench/runs/<int:pk>/end/", end_run, name="end_run"),
    path("jobs/<int:number>/promise/", promise, name="promise"),
]
