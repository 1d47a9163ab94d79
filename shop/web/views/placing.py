"""Pages of the first two steps: the old pack comes apart, the new cells go into their positions."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from packs.terms import Condition, Stage, Unpowered
from shop.bridge import cautions, layouts, rules
from shop.models import Cell, Job, cells_due_out
from shop.operations import rebuild
from shop.selectors import bench, conditions, sheet
from shop.web.forms.building import PlaceForm, RemoveCellForm
from shop.web.http import attempt, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import (
    after,
    between,
    codes,
    get_plan,
    highest_mv,
    is_next,
    leads_to_emergency,
    outline,
    step_url,
)
from shop.web.views.told import told

PLACED = "placed"


def dismantle(request: HttpRequest, job: Job) -> HttpResponse:
    """Cells leave the old pack one by one or several alike; the step ends when all are in the book."""
    if request.method != "POST":
        return _dismantle_page(request, job, RemoveCellForm(numbers=numbers(request)))

    def do() -> str:
        return after(request, job, rebuild.finish_dismantling(job=job, by=person(request), version=version(request)))

    return attempt(request, do, back=step_url(job, Stage.DISMANTLE))


@page(*sheet.BENCH)
def remove_cell(request: HttpRequest, number: int) -> HttpResponse:
    """Record one removed cell, or several alike."""
    job = get_job(number)
    form = RemoveCellForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            found = rebuild.record_removed(
                job=job,
                rest_voltage_mv=form.cleaned_data["rest_voltage"],
                condition=form.cleaned_data["condition"],
                count=form.cleaned_data["count"],
                code=form.cleaned_data["code"],
                by=person(request),
            )
            say(request, _in_the_book(found))
            return leads_to_emergency(found) or step_url(job, Stage.DISMANTLE)

        if answer := submit(request, form, do):
            return answer
    if not is_next(job, Stage.DISMANTLE):
        return _not_next(request, job, Stage.DISMANTLE)
    return _dismantle_page(request, job, form)


def _in_the_book(found: list[Cell]) -> str:
    """Say which cells are in the book, and what their voltage made of them."""
    told = conditions.told(found)[0]
    named = f"In the book: {found[0]}" + (f" to {found[-1]}." if found[1:] else ".")
    worth = {
        "rejected": " Rejected: with this voltage it is not used again.",
        "not measured": " Not measured: back to stock only with a voltage.",
    }
    return named + worth.get(told.word, "")


def _dismantle_page(request: HttpRequest, job: Job, form: RemoveCellForm) -> HttpResponse:
    removed = bench.removed_cells(job)
    found, due, plan = job.as_found, cells_due_out(job), job.plans.last()
    window = rules.reusable(found.cell_model)
    return show(
        request,
        "steps/dismantle.html",
        job=job,
        stage=Stage.DISMANTLE,
        form=form,
        outline=outline(job),
        cautions=cautions.for_stage(
            Stage.DISMANTLE,
            highest_mv=highest_mv(found),
            unpowered=Unpowered(found.unpowered),
            part_stays=job.part_stays,
        ),
        removed=removed,
        left=due - len(removed),
        next_number=len(removed) + 1,
        counted=due,
        plan=plan,
        picture=layouts.picture(plan, {}) if plan and plan.replaced else "",
        waiting=Cell.objects.on_bench_of(job).exists(),
        leaves_now=Cell.objects.on_bench_of(job).exclude(condition=Condition.INTACT.value).count(),
        reuse_limit=f"{between(request, *window)} to be used again" if window is not None else "",
    )


def place(request: HttpRequest, job: Job) -> HttpResponse:
    """Each position waits for its cell's code."""
    return _place_page(request, job, PlaceForm())


@page(*sheet.BENCH)
def place_cell(request: HttpRequest, number: int) -> HttpResponse:
    """Put the cell with the typed or scanned code into its position."""
    job = get_job(number)
    form = PlaceForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            position = rebuild.place_cell(job=job, code=form.cleaned_data["code"], by=person(request))
            say(request, f"Cell {position.cell.code} is in position {position.name}.")
            job.refresh_from_db()
            return step_url(job, Stage.PLACE) if is_next(job, Stage.PLACE) else reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    if not is_next(job, Stage.PLACE):
        return _not_next(request, job, Stage.PLACE)
    return _place_page(request, job, form)


def _place_page(request: HttpRequest, job: Job, form: PlaceForm) -> HttpResponse:
    plan = get_plan(job)
    positions = bench.positions(plan)
    waiting = [position for position in positions if position.placed_at is None]
    return show(
        request,
        "steps/place.html",
        job=job,
        stage=Stage.PLACE,
        form=form,
        outline=outline(job),
        cautions=cautions.for_stage(Stage.PLACE, highest_mv=highest_mv(plan), part_stays=job.part_stays),
        positions=positions,
        waiting=waiting,
        due=waiting[0] if waiting else None,
        placed=len(positions) - len(waiting),
        picture=layouts.picture(
            plan,
            codes(positions),
            {(spot.group, spot.place): PLACED for spot in positions if spot.placed_at},
            waiting=(waiting[0].group, waiting[0].place) if waiting else None,
        ),
    )


def _not_next(request: HttpRequest, job: Job, stage: Stage) -> HttpResponse:
    """Lead to what the step has to tell; what was typed is told with it, since it was not recorded."""
    return told(request, job, stage) if request.method == "POST" else redirect(step_url(job, stage))
