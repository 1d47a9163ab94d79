"""Waste containers: what is in them, closing, labelling, and out with a carrier."""

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from packs.terms import Stage
from shop.bridge import cautions
from shop.models import Container
from shop.operations import consignments as consigning
from shop.operations import containers as operations
from shop.operations import documents as issuing
from shop.selectors import sheet
from shop.selectors import waste as selectors
from shop.web.forms.containers import CloseForm, ConsignForm, ContainerForm
from shop.web.http import attempt, numbers, page, person, say, show, submit
from shop.web.printed import issue_and_print


@page()
def containers(request: HttpRequest) -> HttpResponse:
    """Every container that is still here and how near its limits it is, and every consignment."""
    now = timezone.now()
    here, outside = selectors.standings(selectors.here(), now), selectors.waiting(now)
    return show(
        request,
        "waste/containers.html",
        here=here,
        outside=outside,
        site=selectors.site(here, outside, now),
        consignments=selectors.consignments(),
        may_open=person(request).holds(*sheet.BENCH),
    )


@page(*sheet.BENCH)
def container_new(request: HttpRequest) -> HttpResponse:
    """Open a container; whoever came from a job's removed items goes back there."""
    form = ContainerForm(request.POST or None, initial={"condition": request.GET.get("condition")})
    job = request.GET.get("for", "")
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            container = operations.open_container(**form.facts(), by=person(request))
            say(request, f"Container {container.code} is open.")
            return (
                reverse("removed", args=[int(job)]) if job.isdecimal() else reverse("container", args=[container.code])
            )

        if answer := submit(request, form, do):
            return answer
    return show(request, "waste/container_new.html", form=form)


@page(*sheet.EVERYONE, posts=sheet.BENCH)
def container(request: HttpRequest, code: str) -> HttpResponse:
    """What is in a container; one that is open is closed here, one that is closed leaves from here."""
    row = get_object_or_404(Container.objects.select_related("consignment", "closed_by"), code=code)
    form = _form(request, row)
    if request.method == "POST" and form is not None and form.is_valid():

        def do() -> str:
            return _close(request, row, form) if isinstance(form, CloseForm) else _consign(request, row, form)

        if answer := submit(request, form, do):
            return answer
    return show(
        request,
        "waste/container.html",
        container=row,
        standing=selectors.standing(row, timezone.now()),
        cells=row.cells.select_related("lot__cell_model", "lot__donor_job", "inner_packaging"),
        items=row.items.select_related("job", "inner_packaging"),
        nameless=selectors.without_chemistry(row),
        form=form,
        load=selectors.load([row, *_closed_beside(row)], timezone.now()) if isinstance(form, ConsignForm) else None,
        due=form is not None and row.consigned_at is None and isinstance(form, ConsignForm) == bool(row.closed_at),
        may_consign=person(request).holds(*sheet.BENCH),
        labels=row.documents.counting().defer("pdf", "content"),
        cautions=cautions.for_stage(Stage.REMOVED),
    )


def _form(request: HttpRequest, row: Container) -> CloseForm | ConsignForm | None:
    """Return the form that was sent, or that of what is next for the container; none where it left."""
    sent = request.method == "POST"
    if row.consigned_at is not None and not sent:
        return None
    if not ("carrier" in request.POST if sent else row.closed_at):
        approved = {"approved_packaging": row.approved_packaging}
        return CloseForm(request.POST or None, numbers=numbers(request), initial=approved)
    signs = {"handed_over_by": str(person(request))}
    return ConsignForm(request.POST or None, others=_closed_beside(row), initial=signs)


def _closed_beside(row: Container) -> "QuerySet[Container]":
    return Container.objects.filter(closed_at__isnull=False, consigned_at=None).exclude(pk=row.pk)


def _close(request: HttpRequest, row: Container, form: CloseForm) -> str:
    operations.close_container(container=row, **form.facts(), by=person(request))
    say(request, f"Container {row.code} is closed.")
    return reverse("container", args=[row.code])


def _consign(request: HttpRequest, row: Container, form: ConsignForm | None) -> str:
    assert form is not None  # noqa: S101 - a container that left has no form
    together = [row, *form.cleaned_data.get("together", [])]
    consignment = consigning.consign(containers=together, **form.facts(), by=person(request))
    say(request, f"Consignment {consignment.code} is on its way.")
    return reverse("consignment", args=[consignment.number])


@require_POST
@page(*sheet.BENCH)
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a closed container again."""
    row = get_object_or_404(Container, pk=pk)
    back = reverse("container", args=[row.code])

    def do() -> str:
        operations.reopen_container(container=row, by=person(request))
        say(request, f"Container {row.code} is open again; weigh it when it is closed.")
        return back

    return attempt(request, do, back=back)


@require_POST
@page(*sheet.BENCH)
def label(request: HttpRequest, pk: int) -> HttpResponse:
    """Issue the label of a container."""
    row = get_object_or_404(Container, pk=pk)
    return issue_and_print(
        request,
        lambda: issuing.issue_label(container=row, by=person(request)),
        back=reverse("container", args=[row.code]),
    )


urlpatterns = [
    path("containers/", containers, name="containers"),
    path("containers/new/", container_new, name="container_new"),
    path("containers/<path:code>/", container, name="container"),
    path("waste/containers/<int:pk>/reopen/", reopen, name="container_reopen"),
    path("waste/containers/<int:pk>/label/", label, name="container_label"),
]
