"""The workshop's settings, people and meters."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.utils import timezone

from packs.terms import Role
from packs.units import Kind, show, ureg
from shop.bridge import waste
from shop.bridge.checking import Checks
from shop.models import Instrument, User, WorkshopSettings
from shop.operations import workshop as operations
from shop.operations.base import LEADS
from shop.selectors import sheet
from shop.selectors import workshop as selectors
from shop.web import http
from shop.web.context import current
from shop.web.forms.workshop import InstrumentForm, PersonForm, SettingsForm
from shop.web.http import came_from, numbers, page, person, say, submit


@page(posts=(Role.OWNER,))
def settings(request: HttpRequest) -> HttpResponse:
    """What counts now, and how it came about."""
    row = current(request)
    may_change = person(request).holds(Role.OWNER)
    form = SettingsForm(
        request.POST or None, initial=_initial(request, row), other_mg=_kept(row), numbers=numbers(request)
    )
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.change_settings(by=person(request), **form.facts())
            say(request, "The new settings count from now on.")
            return reverse("settings")

        if answer := submit(request, form, do):
            return answer
    checks = Checks.of_cells()
    return http.show(
        request,
        "workshop/settings.html",
        form=form,
        may_change=may_change,
        may_add_meters=person(request).holds(*sheet.BENCH),
        may_issue_keys=person(request).holds(*LEADS),
        settings=row,
        changes=selectors.changes(),
        instruments=[
            (meter, _error(request, meter), meter.overdue(timezone.localdate()), checks.against(meter, timezone.now()))
            for meter in Instrument.objects.all()
        ],
    )


def _initial(request: HttpRequest, row: WorkshopSettings | None) -> dict[str, Any] | None:
    if row is None:
        return None
    named = {name: getattr(row, name) for name in SettingsForm.base_fields if name != "other_universal_waste_mg"}
    other = show(ureg.Quantity(row.other_universal_waste_mg, "mg"), Kind.MASS, locale=http.locale(request))
    return named | {"other_universal_waste_mg": str(other) if row.other_universal_waste_mg else ""}


def _kept(row: WorkshopSettings | None) -> int | None:
    """Return the other universal waste that stays as stated where the place does not ask for it; None where it does."""
    place = waste.here(timezone.now())
    return None if waste.knows_universal_waste(place) else (row.other_universal_waste_mg if row else 0)


def _error(request: HttpRequest, meter: Instrument) -> str:
    """Return how far a meter may be off, in words."""
    share = show(ureg.Quantity(meter.error_ppm, "ppm"), Kind.FRACTION, locale=http.locale(request), digits=2)
    fixed = show(ureg.Quantity(meter.error_uv, "microvolt"), Kind.VOLTAGE, locale=http.locale(request))
    return f"{share} of the reading and {fixed}"


@page(Role.OWNER)
def people(request: HttpRequest) -> HttpResponse:
    """Who works here and what they may do."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            added = operations.add_person(**form.values(), by=person(request))
            say(request, f"{added} can sign in as {added.username}.")
            return reverse("people")

        if answer := submit(request, form, do):
            return answer
    rows = [
        (user, [role.label for role in Role if user.holds(role)])
        for user in User.objects.prefetch_related("holdings").order_by("username")
    ]
    return http.show(request, "workshop/people.html", form=form, people=rows)


@page(*sheet.BENCH)
def instrument_new(request: HttpRequest) -> HttpResponse:
    """Add a meter."""
    form = InstrumentForm(request.POST or None, numbers=numbers(request))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            meter = operations.add_instrument(**form.values(), by=person(request))
            say(request, f"{meter} is known; its error counts in every check from now on.")
            return came_from(request) or reverse("settings")

        if answer := submit(request, form, do):
            return answer
    return http.show(request, "workshop/instrument_new.html", form=form, back_to=came_from(request))


urlpatterns = [
    path("settings/", settings, name="settings"),
    path("settings/people/", people, name="people"),
    path("settings/meters/new/", instrument_new, name="instrument_new"),
]
