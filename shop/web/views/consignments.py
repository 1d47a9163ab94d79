"""Consignments and what came back, and the rules that count here."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from packs.terms import Mode
from shop.models import Consignment
from shop.operations import consignments as operations
from shop.operations import documents as issuing
from shop.selectors import sheet
from shop.selectors import waste as selectors
from shop.web.forms.containers import ConfirmForm
from shop.web.http import page, person, say, show, submit
from shop.web.printed import issue_and_print


@page(*sheet.EVERYONE, posts=sheet.BENCH)
def consignment(request: HttpRequest, number: int) -> HttpResponse:
    """What a carrier took, and the confirmation of who received it."""
    row = get_object_or_404(Consignment, number=number)
    form = ConfirmForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            operations.confirm_consignment(consignment=row, **form.values(), by=person(request))
            say(request, f"Consignment {row.code} is confirmed.")
            return reverse("consignment", args=[number])

        if answer := submit(request, form, do):
            return answer
    containers = list(row.containers.all())
    return show(
        request,
        "waste/consignment.html",
        section="containers",
        consignment=row,
        mode=Mode(row.mode),
        containers=containers,
        load=selectors.load(containers, row.left_at),
        jobs=selectors.jobs_of(row),
        notes=row.documents.counting().defer("pdf", "content"),
        form=form,
        may_confirm=person(request).holds(*sheet.BENCH),
    )


@require_POST
@page(*sheet.BENCH)
def note(request: HttpRequest, number: int) -> HttpResponse:
    """Issue the disposal note of a consignment."""
    row = get_object_or_404(Consignment, number=number)
    return issue_and_print(
        request,
        lambda: issuing.issue_consignment_note(consignment=row, by=person(request)),
        back=reverse("consignment", args=[number]),
    )


@page()
def waste_rules(request: HttpRequest) -> HttpResponse:
    """Every row on waste and carriage, with its source and how well it is known."""
    where, topics = selectors.profile(timezone.now())
    return show(request, "waste/rules.html", section="containers", where=where, topics=topics)


urlpatterns = [
    path("consignments/<int:number>/", consignment, name="consignment"),
    path("consignments/<int:number>/note/", note, name="consignment_note"),
    path("waste/rules/", waste_rules, name="waste_rules"),
]
