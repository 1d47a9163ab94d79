"""Pages of the steps up to the joined pack: dismantle, place, measure, join, check the taps."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from packs.terms import Condition, JointMethod, Measure, Stage
from packs.units import of
from shop.bridge import cautions, cells, figures, layouts, rules
from shop.models import Cell, Job, Plan, PlanPosition
from shop.operations import rebuild
from shop.selectors import sheet
from shop.web.forms.steps import JoinForm, PlaceForm, RemoveCellForm, RestVoltagesForm, TapsForm
from shop.web.http import attempt, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import after, get_plan, step_page, step_url, typed, words


def _positions(plan: Plan) -> list[PlanPosition]:
    return list(plan.positions.select_related("cell__lot"))


def _codes(positions: list[PlanPosition]) -> dict[tuple[int, int], str]:
    return {(position.group, position.place): position.cell.code for position in positions}


def dismantle(request: HttpRequest, job: Job) -> HttpResponse:
    """Cells leave the old pack one by one or several alike; the step ends when all are in the book."""
    if request.method == "POST":
        return attempt(
            request,
            lambda: after(
                request,
                job,
                rebuild.finish_dismantling(job=job, by=person(request), version=version(request)),
            ),
            back=step_url(job, Stage.DISMANTLE),
        )
    return _dismantle_page(request, job, RemoveCellForm(numbers=numbers(request)))


@page(*sheet.BENCH)
def remove_cell(request: HttpRequest, number: int) -> HttpResponse:
    """Record one removed cell, or several alike."""
    job = get_job(number)
    form = RemoveCellForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            rebuild.record_removed(
                job=job,
                rest_voltage_mv=form.cleaned_data["rest_voltage"],
                condition=form.cleaned_data["condition"],
                count=form.cleaned_data["count"],
                by=person(request),
            )
            return step_url(job, Stage.DISMANTLE)

        if answer := submit(request, form, do):
            return answer
    return _dismantle_page(request, job, form)


def _dismantle_page(request: HttpRequest, job: Job, form: RemoveCellForm) -> HttpResponse:
    removed = list(Cell.objects.filter(lot__donor_job=job).order_by("pk"))
    known = figures.of_cells(removed)
    return show(
        request,
        "steps/dismantle.html",
        job=job,
        stage=Stage.DISMANTLE,
        form=form,
        cautions=cautions.for_stage(Stage.DISMANTLE),
        removed=[
            (cell, known.get(cell.pk, {}).get(Measure.REST_VOLTAGE), Condition(cell.condition)) for cell in removed
        ],
        left=job.as_found.cell_count - len(removed),
        counted=job.as_found.cell_count,
    )


def place(request: HttpRequest, job: Job) -> HttpResponse:
    """Each position waits for its cell's code."""
    return _place_page(request, job, PlaceForm(numbers=numbers(request)))


@page(*sheet.BENCH)
def place_cell(request: HttpRequest, number: int) -> HttpResponse:
    """Put the cell with the typed or scanned code into its position."""
    job = get_job(number)
    form = PlaceForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            position = rebuild.place_cell(job=job, code=form.cleaned_data["code"], by=person(request))
            say(request, f"Cell {position.cell.code} is in position {position.name}.")
            job.refresh_from_db()
            placed = Stage(job.stage) is not Stage.PLACE
            return reverse("job", args=[job.number]) if placed else step_url(job, Stage.PLACE)

        if answer := submit(request, form, do):
            return answer
    return _place_page(request, job, form)


def _place_page(request: HttpRequest, job: Job, form: PlaceForm) -> HttpResponse:
    plan = get_plan(job)
    positions = _positions(plan)
    waiting = [position for position in positions if position.placed_at is None]
    return show(
        request,
        "steps/place.html",
        job=job,
        stage=Stage.PLACE,
        form=form,
        cautions=cautions.for_stage(Stage.PLACE),
        positions=positions,
        waiting=waiting,
        placed=len(positions) - len(waiting),
        picture=layouts.picture(plan, _codes(positions)),
    )


def measure(request: HttpRequest, job: Job) -> HttpResponse:
    """One rest voltage per cell, and what joining them would do."""
    plan = get_plan(job)
    positions = _positions(plan)
    lowest = cells.limits(plan.cell_model).reject_below
    limit = f"at least {words(request, lowest)}" if lowest is not None else ""
    known = figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)
    form = RestVoltagesForm(
        request.POST or None,
        positions=[(position.name, position.cell.code, limit) for position in positions],
        initial={
            f"v_{name.replace('.', '_')}": typed(request, Measure.REST_VOLTAGE, value) for name, value in known.items()
        },
        numbers=numbers(request),
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = rebuild.measure_before_joining(
                job=job,
                rest_voltages_mv=form.voltages(),
                instrument=form.cleaned_data["instrument"],
                by=person(request),
                version=version(request),
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(request, job, Stage.MEASURE, form, "steps/measure.html", plan=plan)


def join(request: HttpRequest, job: Job) -> HttpResponse:
    """Strip by strip, in the order that never bridges two groups."""
    plan = get_plan(job)
    layout = layouts.of_plan(plan)
    strips = [
        (strip.number, f"Strip {strip.number}, {strip.face.label}: {len(strip.joints)} joints")
        for strip in layout.strips
    ]
    form = JoinForm(
        request.POST or None, strips=strips, method=JointMethod(plan.joint_method), numbers=numbers(request)
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = rebuild.join(
                job=job,
                strips=form.joined(),
                peel_sample_held=form.cleaned_data["peel_sample_held"],
                second_look=form.cleaned_data["second_look"],
                by=person(request),
                version=version(request),
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(
        request,
        job,
        Stage.JOIN,
        form,
        "steps/join.html",
        plan=plan,
        joints=layout.joint_count(),
        strips=len(strips),
        picture=layouts.picture(plan, _codes(_positions(plan))),
    )


def taps(request: HttpRequest, job: Job) -> HttpResponse:
    """Every tap from the negative end, with what it must show beside the field."""
    plan = get_plan(job)
    due = rules.expected_taps_mv(plan)
    limits = [
        f"{words(request, of(Measure.VOLTAGE, mv))}, within {words(request, rules.agreement_limit(mv, None))}"
        for mv in due
    ]
    known = figures.of_points(job, Stage.LADDER, Measure.VOLTAGE)
    form = TapsForm(
        request.POST or None,
        limits=limits,
        initial={point.replace(" ", "_"): typed(request, Measure.VOLTAGE, value) for point, value in known.items()},
        numbers=numbers(request),
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            result = rebuild.check_taps(
                job=job,
                taps_mv=form.point_values(),
                instrument=form.cleaned_data["instrument"],
                by=person(request),
                version=version(request),
            )
            return after(request, job, result)

        if answer := submit(request, form, do):
            return answer
    return step_page(request, job, Stage.LADDER, form, "steps/taps.html", plan=plan)


PAGES: dict[Stage, Callable[[HttpRequest, Job], HttpResponse]] = {
    Stage.DISMANTLE: dismantle,
    Stage.PLACE: place,
    Stage.MEASURE: measure,
    Stage.JOIN: join,
    Stage.LADDER: taps,
}
