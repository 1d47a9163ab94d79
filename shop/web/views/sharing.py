"""Several jobs that wait for cells of one model: their packs out of one stock, all accepted together or none."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.errors import PacksError
from packs.terms import Stage
from shop.bridge import cautions, sharing
from shop.bridge.accepting import Shown
from shop.models import Job, Plan
from shop.operations import planning
from shop.selectors import sheet
from shop.web.forms.match import DEFAULTS, LimitsForm
from shop.web.forms.sharing import AcceptTogetherForm, ShareForm, signed_packs
from shop.web.http import numbers, page, person, say, show, submit
from shop.web.unmatched import asked


@page(*sheet.BENCH)
def match_together(request: HttpRequest) -> HttpResponse:
    """Choose jobs, see what each gets and would have alone, and reserve the cells of all of them."""
    accept = AcceptTogetherForm(request.POST if request.method == "POST" else None)
    if accept.is_bound and accept.is_valid():

        def do() -> str:
            packs = [
                planning.Accepted(
                    Job.objects.get(pk=one["job"][0]),
                    one["groups"],
                    one["job"][1],
                    Shown.of(one["as"]) if one["as"] else None,
                )
                for one in accept.cleaned_data["packs"]
            ]
            plans = planning.accept_together(packs=packs, by=person(request))
            say(request, f"Cells are reserved for {', '.join(plan.job.code for plan in plans)}.")
            return reverse("jobs")

        if answer := submit(request, accept, do):
            return answer
    return _page(request, accept)


def _page(request: HttpRequest, accept: AcceptTogetherForm) -> HttpResponse:
    models = sharing.waiting()
    model = request.GET.get("model", "") if request.GET.get("model") in models else next(iter(models), "")
    plans = models.get(model, [])
    form = ShareForm(request.GET if "shares" in request.GET else None, plans=plans)
    limits = LimitsForm(request.GET if "health" in request.GET else DEFAULTS, job=None, numbers=numbers(request))
    found, missing, readable, usable = None, "", limits.is_valid(), 0
    chosen: list[Plan] = []
    if plans and form.is_bound and form.is_valid() and readable:
        chosen = form.cleaned_data["chosen"]
        try:
            found = sharing.together(chosen, [limits.limits(plan) for plan in chosen], form.places)
        except PacksError as error:
            missing = _named(str(error), chosen)
            usable = sharing.usable(chosen, [limits.limits(plan) for plan in chosen])
    return show(
        request,
        "match/together.html",
        models=list(models),
        model=model,
        form=form,
        limits=limits,
        found=found,
        signed=_signed(found) if found else "",
        alike=form.alike if found else (),
        missing=missing,
        chosen=chosen,
        needed=sum(plan.new_cells for plan in chosen),
        usable=usable,
        lacking=max(0, sum(plan.new_cells for plan in chosen) - usable),
        query=asked(request),
        accept=accept,
        cautions=cautions.for_stage(Stage.MATCH),
    )


def _signed(found: sharing.SharedOut) -> str:
    return signed_packs(
        (pack.plan.job, pack.plan, [group.codes for group in pack.groups], pack.shown) for pack in found.packs
    )


def _named(message: str, plans: list[Plan]) -> str:
    """Name jobs where the engine counts packs."""
    for place, plan in reversed(list(enumerate(plans, start=1))):
        message = message.replace(f"Pack {place}", plan.job.code)
    return message


urlpatterns = [path("match/together/", match_together, name="match_together")]
