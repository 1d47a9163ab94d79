"""The target pack: what is to be built, worked out while it is typed."""

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import ChargerRead, Measure, Stage
from shop.bridge import cautions, conductors, figures, layouts, rules, standing, topology
from shop.bridge.documents import way_stated
from shop.models import Job, PackAsFound, Plan
from shop.operations import planning
from shop.operations.base import BENCH
from shop.selectors import quotes, sheet
from shop.web import drafts, prefill
from shop.web.forms import groups
from shop.web.forms.base import QuantityField
from shop.web.forms.curves import CurveField, written
from shop.web.forms.target import STATED, TargetForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import typed

from .examine import ADD_MODEL, to_new_model


@page(*BENCH)
def target(request: HttpRequest, number: int) -> HttpResponse:
    """The pack that is to be built; it stands only if cells, charger and outlet can live with it."""
    job = get_job(number)
    if request.method == "POST" and ADD_MODEL in request.POST:
        return to_new_model(request)
    if request.method != "POST" and not _due(job):
        return _told(request, job)
    initial = drafts.kept(request) or _known(request, job)
    form = TargetForm.of_job(job, request.POST or None, initial=initial, numbers=numbers(request))
    worked_out = _worked_out(job, form if form.is_bound else TargetForm.of_job(job, initial, numbers=numbers(request)))
    sent = request.method == "POST" and form.is_valid()
    if sent and (answer := submit(request, form, lambda: _stated(request, job, form))):
        drafts.drop(request)
        return answer
    return show(
        request,
        "target/page.html",
        job=job,
        form=form,
        cautions=cautions.for_stage(Stage.TARGET),
        add_model=ADD_MODEL,
        found_mv=_found_mv(job),
        quote=quotes.standing(job),
        **worked_out,
    )


@page(*BENCH)
def target_figures(request: HttpRequest, number: int) -> HttpResponse:
    """Figures, check results and drawing of the pack that is being typed."""
    job = get_job(number)
    form = TargetForm.of_job(job, request.GET, numbers=numbers(request))
    return show(request, "target/worked_out.html", job=job, **_worked_out(job, form))


def _stated(request: HttpRequest, job: Job, form: TargetForm) -> str:
    plan = planning.state_target(
        job=job,
        target=form.target(),
        group_capacities_mah=form.capacities(),
        group_resistances_uohm=form.resistances(),
        by=person(request),
        version=version(request),
    )
    say(request, f"The target pack is stated: {plan.series}s{plan.parallel}p of {plan.cell_model}.")
    return reverse("job", args=[job.number])


def _worked_out(job: Job, form: TargetForm) -> dict[str, Any]:
    """Return what can be said of the pack as far as it is typed."""
    found = PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    if not form.counts():
        return {"found": found}
    plan = form.draft(job)
    return {
        "found": found,
        "plan": plan,
        "figures": topology.target_figures(plan),
        "picture": layouts.picture(plan, {}),
        "limits": rules.target_limits(plan),
        "findings": rules.target(plan) if form.can_be_checked() else [],
    }


def _found_mv(job: Job) -> list[tuple[int, Decimal]]:
    """Return what each group showed at rest when it was found, where a repair says which are replaced."""
    if not job.part_stays:
        return []
    known = figures.of_points(job, Stage.EXAMINE, Measure.REST_VOLTAGE)
    series = job.as_found.series
    return [(n, known[point]) for n in range(1, series + 1) if (point := standing.point_of(n)) in known]


def _known(request: HttpRequest, job: Job) -> dict[str, str]:
    """Return the form as far as the standing plan, or the pack as found and the nameplate, fill it."""
    plan = sheet.standing_plan(job)
    if plan:
        stated = {name: getattr(plan, name) for name in STATED if name != "cell_model"}
        return _typed(request, plan, **stated) | _typed_groups(request, plan)
    found = PackAsFound.objects.filter(job=job).first()
    if found is None:
        return {}
    charger = job.device.charger_voltage_mv
    read = {"charger_read": ChargerRead.LABEL.value} if charger else {}  # nobody measured it yet
    return _typed(request, found, joint_method=found.joint_method, charger_voltage_mv=charger, **read)


def _typed(request: HttpRequest, pack: Plan | PackAsFound, **known: Any) -> dict[str, str]:
    """Return known values as somebody would type them."""
    fields = TargetForm(numbers=numbers(request)).fields
    texts = {
        "arrangement": f"{pack.series}s{getattr(pack, 'fullest', pack.parallel)}p",
        "cell_model": str(pack.cell_model_id),
    }
    for name, value in known.items():
        field = fields[name]
        if isinstance(field, QuantityField):
            texts[name] = prefill.typed(field, value, locale=locale(request))
        elif isinstance(field, CurveField):
            texts[name] = written(value, locale=locale(request))
        else:
            texts[name] = "" if value is None else str(value)
    if (area := known.get("lead_area_um2")) and (gauge := conductors.gauge_word(area)):
        texts["lead_area_um2"] = gauge
    return texts


def _typed_groups(request: HttpRequest, plan: Plan) -> dict[str, str]:
    """Return the groups of a repair, and what is known of those that stay, as somebody would type them."""
    texts = {"replaced": groups.typed(plan.replaced)} if plan.replaced else {}
    for group in standing.groups(plan):
        if group.capacity_mah is not None:
            texts[f"capacity_{group.number}"] = typed(request, Measure.CAPACITY, group.capacity_mah)
        if group.resistance_uohm is not None:
            texts[f"resistance_{group.number}"] = typed(request, Measure.DC_RESISTANCE, group.resistance_uohm)
    return texts


def _due(job: Job) -> bool:
    return job.closed_at is None and not job.held and Stage(job.stage) in (Stage.TARGET, Stage.MATCH)


def _told(request: HttpRequest, job: Job) -> HttpResponse:
    plan = sheet.standing_plan(job)
    figures: dict[str, Any] = (
        {
            "figures": topology.target_figures(plan),
            "limits": rules.target_limits(plan),
            "picture": layouts.picture(plan, {}),
            "mixed": standing.mixed(plan, rules.group_capacities(plan)),
            "way": way_stated(plan),
        }
        if plan
        else {}
    )
    return show(request, "target/told.html", job=job, plan=plan, action=sheet.next_action(job), **figures)


urlpatterns = [
    path("jobs/<int:number>/target/", target, name="target"),
    path("jobs/<int:number>/target/figures/", target_figures, name="target_figures"),
]
