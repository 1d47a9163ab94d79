"""The leads of a welder under its pulses: worked out while it is typed, and kept nowhere."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path

from packs.errors import PacksError
from shop.bridge.welder_leads import checked
from shop.operations.base import BENCH
from shop.web.forms.welder_leads import WelderLeadsForm
from shop.web.http import numbers, page, show
from shop.web.jobs import get_job


@page(*BENCH)
def welder_leads(request: HttpRequest, number: int) -> HttpResponse:
    """What a pulse does to the leads, and how long they stay within a rise."""
    form = WelderLeadsForm.of_query(request.GET, numbers=numbers(request))
    return show(request, "steps/welder_leads.html", job=get_job(number), form=form, **_found(form))


def _found(form: WelderLeadsForm) -> dict[str, Any]:
    if not form.is_valid():
        return {}
    try:
        return {"leads": checked(form.asked())}
    except PacksError as error:
        return {"not_known": str(error)}


urlpatterns = [path("jobs/<int:number>/welder-leads/", welder_leads, name="welder_leads")]
