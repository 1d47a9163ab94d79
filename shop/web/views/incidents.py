"""Incidents: writing one down, the list of them, their release, and what everybody does when it burns."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse

from packs.terms import DangerLevel, Role
from shop.models import EmergencyText, Incident
from shop.operations import incidents as operations
from shop.operations.base import LEADS
from shop.web.forms.incidents import EmergencyTextForm, IncidentForm, ReleaseForm
from shop.web.http import page, person, say, show, submit, version
from shop.web.jobs import get_job

SHOWN = 100


@page()
def incidents(request: HttpRequest) -> HttpResponse:
    """Every incident, those that freeze something first."""
    rows = Incident.objects.select_related("job", "by", "release__by")
    newest = list(rows[:SHOWN])
    return show(
        request,
        "incidents/list.html",
        section="settings",
        freezing=[row for row in newest if not hasattr(row, "release")],
        released=[row for row in newest if hasattr(row, "release")],
        may_release=person(request).holds(*LEADS),
    )


@page()
def incident_new(request: HttpRequest) -> HttpResponse:
    """Write down an incident that belongs to no job."""
    return _report(request, None)


@page()
def incident_of_job(request: HttpRequest, number: int) -> HttpResponse:
    """Write down an incident with a pack."""
    return _report(request, number)


def _report(request: HttpRequest, number: int | None) -> HttpResponse:
    job = None if number is None else get_job(number)
    form = IncidentForm(request.POST or None)
    back = reverse("incidents") if job is None else reverse("job", args=[job.number])
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.report_incident(job=job, by=person(request), version=version(request), **form.cleaned_data)
            say(request, "It is written down. What it names is not used until a lead releases it in writing.")
            return back

        if answer := submit(request, form, do):
            return answer
    return show(request, "incidents/report.html", section="jobs", job=job, form=form, back_to=back)


@page(*LEADS)
def incident_release(request: HttpRequest, pk: int) -> HttpResponse:
    """Say in writing that work goes on."""
    row = get_object_or_404(Incident.objects.select_related("job", "by", "release__by"), pk=pk)
    form = ReleaseForm(request.POST or None, asks_for_danger=operations.asks_for_danger(row, row.job))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.release_incident(incident=row, by=person(request), **form.cleaned_data)
            red = form.cleaned_data.get("danger") is DangerLevel.RED
            say(
                request, "Released. The pack is outside; only disposal remains." if red else "Released. Work may go on."
            )
            return reverse("job", args=[row.job.number]) if row.job else reverse("incidents")

        if answer := submit(request, form, do):
            return answer
    return show(request, "incidents/release.html", section="settings", incident=row, form=form)


@page(posts=(Role.OWNER,))
def emergency_text(request: HttpRequest) -> HttpResponse:
    """What everybody does when it burns, in the owner's words."""
    newest = EmergencyText.objects.select_related("by").first()
    form = EmergencyTextForm(request.POST or None, initial={"text": newest.text if newest else ""})
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.write_emergency_text(text=form.cleaned_data["text"], by=person(request))
            say(request, "This is what everybody reads from now on.")
            return reverse("emergency_text")

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "incidents/emergency.html",
        section="settings",
        newest=newest,
        form=form,
        may_write=person(request).holds(Role.OWNER),
    )


urlpatterns = [
    path("incidents/", incidents, name="incidents"),
    path("incidents/new/", incident_new, name="incident_new"),
    path("incidents/<int:pk>/release/", incident_release, name="incident_release"),
    path("jobs/<int:number>/incident/", incident_of_job, name="incident_of_job"),
    path("emergency/", emergency_text, name="emergency_text"),
]
