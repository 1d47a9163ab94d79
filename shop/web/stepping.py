"""What the step pages share."""

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from packs.terms import Measure, Stage
from packs.units import Quantity, of, show
from shop.bridge import cautions
from shop.models import Job, Plan, Step
from shop.operations.steps import StepResult
from shop.selectors import sheet
from shop.web import http
from shop.web.forms.base import ShopForm


def step_url(job: Job, stage: Stage) -> str:
    """Return the address of a step."""
    return reverse("step", args=[job.number, stage.value])


def after(request: HttpRequest, job: Job, result: StepResult) -> str:
    """Return where a concluded step leads: to the job when it is done, back to the step when a rule stopped it."""
    stage = Stage(result.step.stage)
    if result.done:
        http.say(request, f"Done: {stage.label.lower()}.")
        return reverse("job", args=[job.number])
    return step_url(job, stage)


def get_plan(job: Job) -> Plan:
    """Return the standing plan; a job at a step has one."""
    plan = sheet.standing_plan(job)
    assert plan is not None  # noqa: S101 - the stage was reached through it
    return plan


def words(request: HttpRequest, quantity: Quantity) -> str:
    """Return a quantity as the shop writes it."""
    return str(show(quantity, locale=http.locale(request)))


def typed(request: HttpRequest, measure: Measure, value: Decimal) -> str:
    """Return a stored value as somebody would type it."""
    return words(request, of(measure, value))


def step_page(
    request: HttpRequest, job: Job, stage: Stage, form: ShopForm, template: str, **context: Any
) -> HttpResponse:
    """Answer with the page of a step: its form, its cautions, and what the rules found the last time."""
    step = Step.objects.filter(job=job, stage=stage.value).first()
    return http.show(
        request,
        template,
        job=job,
        stage=stage,
        form=form,
        cautions=cautions.for_stage(stage),
        findings=step.findings if step else [],
        **context,
    )
