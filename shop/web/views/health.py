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
from shop.web.stepping import get_step, last_meter, record, step_page, taken, words


def pack_test(request: HttpRequest, job: Job) -> HttpResponse:
    """What the pack gives today, beside what it is rated at."""
    found = job.as_found
    rated = of(Measure.CAPACITY, found.cell_model.rated_capacity_mah * found.parallel)
    form = PackTestForm(
        request.POST or None,
        groups=found.series,
        rated=words(request, rated),
        initial=last_meter(job),
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
        found=found,
        spread=words(request, rules.own_limit("pack_test.group_spread")),
    )
