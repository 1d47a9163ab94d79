"""Pages of the first two steps: the old pack comes apart, the new cells go into their positions."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from packs.terms import Measure, Stage, Unpowered
from shop.bridge import cautions, figures, layouts, rules, to_level
from shop.models import Cell, Job, cells_due_out
from shop.operations import opening_pack, rebuild
from shop.selectors import bench, conditions, sheet
from shop.web.forms.building import BeforeCuttingForm, PlaceForm, RemoveCellForm
from shop.web.http import attempt, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import (
    after,
    between,
    codes,
    get_plan,
    highest_mv,
    is_next,
    last_meter,
    leads_to_emergency,
    outline,
    step_page,
    step_url,
    typed_points,
)
from shop.web.views.told import told

PLACED = "placed"


def dismantle(request: HttpRequest, job: Job) -> HttpResponse:
    """Cells leave the old pack one by one or several alike; the step ends when all are in the book."""
    if request.method != "POST":
        if _to_prepare(job):
            return _before_cutting_page(request, job, _before_cutting_form(request, job))
        return _dismantle_page(request, job, RemoveCellForm(numbers=numbers(request)))

    def do() -> str:
        return after(request, job, rebuild.finish_dismantling(job=job, by=person(request), version=version(request)))

    return attempt(request, do, back=step_url(job, Stage.DISMANTLE))


@page(*sheet.BENCH)
def before_cutting(request: HttpRequest, number: int) -> HttpResponse:
    """Say what has to hold before the old pack is cut."""
    job = get_job(number)
    if not is_next(job, Stage.DISMANTLE):
        return _not_next(request, job, Stage.DISMANTLE)
    form = _before_cutting_form(request, job)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            opening_pack.prepare_dismantling(
                job=job,
                confirmed=form.confirmed(),
                groups_mv=form.point_values(),
                instrument=form.cleaned_data.get("instrument"),
                measured_at=form.cleaned_data.get("measured_at"),
                qualified=form.name("qualified"),
                second=form.name("second"),
                by=person(request),
                version=version(request),
            )
            return step_url(job, Stage.DISMANTLE)

        if answer := submit(request, form, do):
            return answer
    return _before_cutting_page(request, job, form)


def _to_prepare(job: Job) -> bool:
    """Whether something stands against cutting the pack; once a cell is out nobody asks again."""
    return not Cell.objects.removed_from_pack_of(job).exists() and bool(rules.stopping(opening_pack.standing(job)))


def _before_cutting_form(request: HttpRequest, job: Job) -> BeforeCuttingForm:
    stops = rules.stopping(opening_pack.standing(job))
    known = opening_pack.under_way(job).confirmed
    named = {"qualified": opening_pack.QUALIFIED, "second": opening_pack.SECOND}
    names = {
        field: words.removeprefix(before)
        for field, before in named.items()
        for words in known
        if words.startswith(before)
    }
    read = figures.of_points(job, Stage.DISMANTLE, Measure.REST_VOLTAGE)
    return BeforeCuttingForm(
        request.POST or None,
        found=job.as_found,
        charge_open=any(finding.rule_id == "dismantle.charge_low" for finding in stops),
        initial=known | names | last_meter(job) | typed_points(request, Measure.REST_VOLTAGE, read),
        numbers=numbers(request),
    )


def _before_cutting_page(request: HttpRequest, job: Job, form: BeforeCuttingForm) -> HttpResponse:
    step, limit = opening_pack.under_way(job), rules.own_limit("dismantle.charge_low").to("percent")
    return step_page(
        request,
        job,
        step,
        form,
        "steps/before_cutting.html",
        found=job.as_found,
        charge_limit=limit,
        rest_limit=rules.rest_at_most(job.as_found.cell_model),
    )


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
                recorded=form.cleaned_data["recorded"],
                sure=form.said_true(),
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
        recorded=len(removed),
        next_number=len(removed) + 1,
        counted=due,
        plan=plan,
        picture=layouts.picture(plan, {}) if plan and plan.replaced else "",
        waiting=Cell.objects.on_bench_of(job).exists(),
        leaves_now=bench.not_whole(job),
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
        plan=plan,
        on_the_bench=bench.not_whole(job),
        to_level=to_level.of_chosen(plan),
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
