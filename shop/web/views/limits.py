"""Every limit with its source, the shop's own, and the annex on paper."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from packs.units import Kind
from shop import printing
from shop.bridge import limits as bridge
from shop.bridge import rules
from shop.bridge.documents import limits_annex
from shop.errors import ShopError
from shop.operations import limits as operations
from shop.operations.base import LEADS
from shop.selectors import limits as selectors
from shop.web.forms.limits import LimitForm
from shop.web.http import locale, numbers, page, person, say, show, submit


@page()
def limits(request: HttpRequest) -> HttpResponse:
    """Every limit by the step it guards, and how the shop's own came about."""
    in_force = rules.in_force()
    return show(
        request,
        "limits/page.html",
        sections=bridge.sections(locale(request), in_force),
        by_chemistry=bridge.by_chemistry(locale(request)),
        outlets=bridge.outlets(locale(request)),
        version=in_force.version,
        history=selectors.history(locale(request)),
        may_change=person(request).holds(*LEADS),
    )


@page(*LEADS)
def limit(request: HttpRequest, rule_id: str) -> HttpResponse:
    """Set one limit, or go back to what the catalogue says."""
    try:
        rule = bridge.one(rule_id)
    except ShopError as error:
        raise Http404 from error
    form = LimitForm(
        request.POST or None,
        initial={"value": bridge.shown(rule, bridge.counting(rule), locale(request))},
        kind=rule.number_kind or Kind.COUNT,
        unit=bridge.unit(rule),
        typed_unit=bridge.typed_unit(rule),
        label=bridge.number_label(rule),
        numbers=numbers(request),
    )
    back_to_catalogue = "catalogue" in request.POST
    if back_to_catalogue:
        form.fields["value"].required = False
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            value = None if back_to_catalogue else form.cleaned_data["value"]
            operations.set_limit(rule_id=rule.id, value=value, reason=form.cleaned_data["reason"], by=person(request))
            say(request, f"{rule.quantity.capitalize()}: the limit counts from now on.")
            return reverse("limits")

        if answer := submit(request, form, do):
            return answer
    line = bridge.line(rule, rules.in_force(), locale(request))
    history = selectors.history(locale(request), rule.id)
    return show(request, "limits/change.html", form=form, line=line, history=history)


@require_POST
@page()
def annex(request: HttpRequest) -> HttpResponse:
    """Return the limits as they count now as a PDF; it is made anew each time, and says when. It changes nothing."""
    try:
        paper = limits_annex(by=person(request), at=timezone.now())
        made = printing.annex(paper)
    except ShopError as error:
        messages.error(request, error.message)
        return redirect("limits")
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = 'inline; filename="limits.pdf"'
    return answer


urlpatterns = [
    path("settings/limits/", limits, name="limits"),
    path("settings/limits/annex.pdf", annex, name="limits_annex"),
    path("settings/limits/<str:rule_id>/", limit, name="limit"),
]
