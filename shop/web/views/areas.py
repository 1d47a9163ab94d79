"""What each kind of place may hold, and how full it is."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import Area, Role
from shop.bridge import areas as bridge
from shop.models import AreaLimit
from shop.operations import areas as operations
from shop.web import prefill
from shop.web.forms.areas import AreaLimitForm
from shop.web.forms.base import QuantityField
from shop.web.http import locale, numbers, page, person, say, show, submit


@page()
def areas(request: HttpRequest) -> HttpResponse:
    """Every kind of place with what stands in it."""
    held = bridge.standing()
    rows = [(area, AreaLimit.objects.filter(area=area.value).last(), bridge.told(area, held[area])) for area in Area]
    return show(request, "areas/list.html", section="settings", rows=rows, may_set=person(request).holds(Role.OWNER))


@page(Role.OWNER)
def area(request: HttpRequest, area: str) -> HttpResponse:
    """Enter what one kind of place may hold."""
    if area not in list(Area):
        raise Http404
    here = Area(area)
    history = list(AreaLimit.objects.filter(area=here.value).select_related("by").order_by("-pk"))
    form = AreaLimitForm(
        request.POST or None, initial=_initial(request, history[0] if history else None), numbers=numbers(request)
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.set_area_limit(area=here, by=person(request), **form.values())
            say(request, f"These limits of {here.label} count from now on.")
            return reverse("areas")

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "areas/one.html",
        section="settings",
        area=here,
        form=form,
        filled=bridge.told(here, bridge.standing()[here]),
        history=[(row, bridge.limits_told(row)) for row in history],
    )


def _initial(request: HttpRequest, row: AreaLimit | None) -> dict[str, Any]:
    """Return the limits that count as somebody would type them."""
    if row is None:
        return {}
    fields = AreaLimitForm(numbers=numbers(request)).fields
    typed = {
        name: prefill.typed(field, getattr(row, name), locale=locale(request))
        for name, field in fields.items()
        if isinstance(field, QuantityField)
    }
    return typed | {"said_by": row.said_by}


urlpatterns = [
    path("settings/places/", areas, name="areas"),
    path("settings/places/<str:area>/", area, name="area"),
]
