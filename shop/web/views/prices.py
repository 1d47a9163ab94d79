"""What the workshop reckons with, and how it came about."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import Role
from shop.operations import quoting
from shop.selectors import quotes
from shop.web.context import current
from shop.web.forms.money import as_typed
from shop.web.forms.quote import PricesForm
from shop.web.http import numbers, page, person, say, show, submit


@page(Role.OWNER)
def prices(request: HttpRequest) -> HttpResponse:
    """Labour, margin, tax and fees as they count from now on."""
    row = quotes.prices()
    known = {name: getattr(row, name) for name in PricesForm.base_fields} if row else None
    form = PricesForm(request.POST or None, initial=as_typed(known or {}, numbers(request)), numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            quoting.change_prices(by=person(request), **form.values())
            say(request, "These prices count from now on; quotes that were issued stay as they are.")
            return reverse("prices")

        if answer := submit(request, form, do):
            return answer
    settings = current(request)
    return show(
        request,
        "workshop/prices.html",
        form=form,
        history=quotes.history(),
        currency=settings.currency if settings else "EUR",
    )


urlpatterns = [path("settings/prices/", prices, name="prices")]
