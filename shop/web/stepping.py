"""What the step pages share."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from packs.terms import Condition, Measure, Outcome, Place, Severity, Stage
from packs.units import Kind, Quantity, show
from shop.bridge import cautions, exceptions, rules
from shop.models import Cell, Incident, Instrument, Job, PackAsFound, Plan, PlanPosition, Step
from shop.operations.base import LEADS
from shop.operations.steps import StepResult
from shop.selectors import bench, sheet, story, tries
from shop.web import http, prefill
from shop.web.forms.base import QuantityField, ShopForm


def step_url(job: Job, stage: Stage) -> str:
    """Return the address of a step."""
    return reverse("step", args=[job.number, stage.value])


def record(request: HttpRequest, job: Job, form: ShopForm, conclude: Callable[[], StepResult]) -> HttpResponse | None:
    """Conclude a step with what its form holds, and lead on; give None where the form is still to be filled."""
    if request.method != "POST" or not form.is_valid():
        return None
    return http.submit(request, form, lambda: after(request, job, conclude()))


def taken(request: HttpRequest, form: ShopForm) -> dict[str, Any]:
    """Return who took the readings of a form, with which meter, and for which version of the job."""
    return {
        "instrument": form.cleaned_data["instrument"],
        "measured_at": form.cleaned_data["measured_at"],
        "by": http.person(request),
        "version": http.version(request),
    }


def after(request: HttpRequest, job: Job, result: StepResult) -> str:
    """Return where a concluded step leads: to the job when it is done, back to the step when a rule stopped it."""
    stage = Stage(result.step.stage)
    if result.done:
        http.say(request, f"Done: {stage.label.lower()}.")
        warn(request, result.step)
        return reverse("job", args=[job.number])
    messages.warning(request, "What you typed is kept. The step is not done yet: see what stops it below.")
    return step_url(job, stage)


def warn(request: HttpRequest, step: Step) -> None:
    """Say on the next page with which findings a step was passed all the same."""
    for words in step.said:
        if words.startswith(rules.TOO_SOON):
            messages.warning(request, f"{words[:1].upper()}{words[1:]}. It is kept so and printed on the report.")
    for found in story.remarks(step.findings):
        where = f"{found['where'].capitalize()}: " if found["where"] else ""
        word = "accepted" if found["outcome"] == Outcome.ACCEPTED else Severity(found["severity"]).label
        messages.warning(request, f"{word.capitalize()}: {where}{found['message']}")


def frozen(request: HttpRequest, job: Job) -> dict[str, Any]:
    """Return the incidents that freeze a job, and whether who is there may release them, as pages tell it."""
    by = list(Incident.objects.freezing().filter(job=job))
    return {"frozen_by": by, "may_release": http.person(request).holds(*LEADS)}


def frozen_machines(of: str) -> list[tuple[Incident, str]]:
    """Return the welders or chargers that an incident froze, each by the name it was written down with."""
    return [(one, getattr(one, of)) for one in Incident.objects.freezing().exclude(**{of: ""})]


def get_plan(job: Job) -> Plan:
    """Return the standing plan; a job at a step has one."""
    plan = sheet.standing_plan(job)
    assert plan is not None  # noqa: S101 - the stage was reached through it
    return plan


def get_step(job: Job, stage: Stage) -> Step | None:
    """Return the last try of a step."""
    return Step.objects.filter(job=job, stage=stage.value).last()


def last_meter(job: Job) -> dict[str, int]:
    """Return the meter used last on a job, for a form to begin with."""
    used = Instrument.objects.filter(readings__job=job).order_by("-readings__pk").first()
    return {"instrument": used.pk} if used else {}


def is_next(job: Job, stage: Stage) -> bool:
    """Whether a stage is what has to be done on a job now."""
    return Stage(job.stage) is stage and job.closed_at is None and not job.held and not job.parked


def highest_mv(pack: Plan | PackAsFound) -> int:
    """Return the voltage of a full pack, which decides who may work on it."""
    return pack.series * pack.cell_model.charge_limit_mv


def codes(positions: Iterable[PlanPosition]) -> dict[tuple[int, int], str]:
    """Return the code of the cell in each position, for the drawing."""
    return {(position.group, position.place): position.cell.code for position in positions}


def words(request: HttpRequest, quantity: Quantity, kind: Kind | None = None) -> str:
    """Return a quantity as the shop writes it; a torque has to be named as one."""
    return str(show(quantity, kind, locale=http.locale(request)))


def between(request: HttpRequest, low: Quantity, high: Quantity) -> str:
    """Return a window as the shop writes it."""
    return f"{words(request, low)} to {words(request, high)}"


def typed(request: HttpRequest, measure: Measure, value: Decimal | None) -> str:
    """Return a stored value as somebody would type it into its field, whose unit stands beside it."""
    field = QuantityField.of(measure)
    field.numbers = http.numbers(request)
    text = prefill.as_read(field, value, locale=http.locale(request))
    number, _, unit = text.rpartition("\N{NARROW NO-BREAK SPACE}")
    return number if unit == field.typed_unit else text


def typed_points(request: HttpRequest, measure: Measure, known: Mapping[str, Decimal]) -> dict[str, str]:
    """Return the readings of points as somebody would type them, by the names of their fields."""
    return {point.replace(" ", "_"): typed(request, measure, value) for point, value in known.items()}


def step_page(
    request: HttpRequest,
    job: Job,
    step: Step | None,
    form: ShopForm,
    template: str,
    *,
    of: Stage | None = None,
    findings: Sequence[dict[str, Any]] | None = None,
    **context: Any,
) -> HttpResponse:
    """Answer with the page of a step: its form, its cautions, and what the rules found the last time.

    ``findings`` are those where a page tells them in its own way.
    """
    stage = of or Stage(job.stage)
    pack: Plan | PackAsFound | None = context.get("plan") or context.get("found")
    return http.show(
        request,
        template,
        job=job,
        stage=stage,
        form=form,
        outline=outline(job),
        cautions=cautions.for_stage(
            stage,
            highest_mv=highest_mv(pack) if pack else 0,
            unpowered=cautions.board_of(job),
            part_stays=job.part_stays,
            joint_method=pack.joint_method if pack else "",
        ),
        tried=step,
        on_the_bench=bench.not_whole(job),
        findings=findings if findings is not None else step.findings if step else [],
        acceptable=exceptions.acceptable_of(step.findings) if step else [],
        earlier=tries.of_stage(job, stage)[:-1],
        **frozen(request, job),
        **context,
    )


def outline(job: Job) -> list[dict[str, str]]:
    """Return the stages of a job for the margin of its pages."""
    return [
        {"label": job.label_of(line.stage), "state": line.state, "url": stage_url(job, line.stage, line.state)}
        for line in story.outline(job)
    ]


def action_url(job: Job, action: sheet.NextAction) -> str:
    """Return the page on which the next action is done."""
    return step_url(job, action.stage) if action.page == "step" else reverse(action.page, args=[job.number])


def leads_to_emergency(cells: Iterable[Cell]) -> str:
    """Return the page that says what to do now with cells on the bench that may react; nothing where none does."""
    reacting = [cell for cell in cells if cell.condition == Condition.REACTIVE and cell.place == Place.BENCH]
    if not reacting:
        return ""
    one, job = reacting[0], reacting[0].job
    assert job is not None  # noqa: S101 - a cell on the bench has its job
    if reacting[1:]:
        return reverse("removed", args=[job.number])
    return reverse("emergency", args=[job.number, "cell", one.pk])


def stage_url(job: Job, stage: Stage, state: str) -> str:
    """Return the page of a stage that there is something to see of, or nothing."""
    if state in ("ahead", "none") or stage is Stage.TAKE_IN:
        return ""
    page = sheet.PAGES.get(stage, stage.value)
    return step_url(job, stage) if page == "step" else reverse(page, args=[job.number])
