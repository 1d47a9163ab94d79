"""Page of the pack that is tested as it is."""

from django.http import HttpRequest, HttpResponse

from packs.terms import Measure, Stage
from packs.units import of
from shop.bridge import rules
from shop.models import Job
from shop.operations import health
from shop.operations.steps import StepResult
from shop.web.forms.health import PackTestForm
from shop.web.http import numbers
from shop.web.stepping import get_step, last_meter, record, step_page, taken, typed, words

NAMES = {
    ("pack", Measure.CAPACITY): "capacity",
    ("pack", Measure.CURRENT): "current",
    (health.END, Measure.VOLTAGE): "end",
    ("pack", Measure.TEMPERATURE): "temperature",
    ("pack", Measure.REST_VOLTAGE): "pack_rest",
    ("pack", Measure.DC_RESISTANCE): "resistance",
}
"""The fields of the form by point and measure; groups have their own."""


def _read_before(request: HttpRequest, job: Job) -> dict[str, str]:
    """Return what was read the first time, where the test is done and what is missing may be added."""
    if not health.may_add(job):
        return {}
    rows = job.readings.standing().filter(stage=Stage.TEST_PACK.value)
    told = {}
    for row in rows:
        name = NAMES.get((row.point, Measure(row.measure)), row.point.replace(" ", "_"))
        told[name] = typed(request, Measure(row.measure), row.value)
        if name == "resistance":
            told["method"] = row.method
    return told


def pack_test(request: HttpRequest, job: Job) -> HttpResponse:
    """What the pack gives today, beside what it is rated at."""
    found = job.as_found
    rated = of(Measure.CAPACITY, found.cell_model.rated_capacity_mah * found.parallel)
    form = PackTestForm(
        request.POST or None,
        groups=found.series,
        rated=words(request, rated),
        initial=_read_before(request, job) | last_meter(job),
        numbers=numbers(request),
    )

    def conclude() -> StepResult:
        return health.record_pack_test(
            job=job,
            discharge=form.discharge(),
            pack_rest_mv=form.cleaned_data["pack_rest"],
            groups_mv=form.point_values(),
            resistance_uohm=form.cleaned_data["resistance"],
            resistance_method=form.cleaned_data["method"],
            sure=form.said_true(),
            **taken(request, form),
        )

    return record(request, job, form, conclude) or step_page(
        request,
        job,
        get_step(job, Stage.TEST_PACK),
        form,
        "steps/test_pack.html",
        of=Stage.TEST_PACK,
        found=found,
        adding=health.may_add(job),
        spread=words(request, rules.own_limit("pack_test.group_spread")),
    )
