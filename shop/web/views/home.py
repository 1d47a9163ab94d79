"""The list of jobs and the job's own sheet."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import DocumentKind, Stage
from shop.bridge import cells, layouts
from shop.models import Cell, Job
from shop.selectors import sheet
from shop.web.http import page, person, show
from shop.web.jobs import get_job


@page()
def jobs(request: HttpRequest) -> HttpResponse:
    """The bench: every open job with what comes next; closed ones on demand."""
    closed = request.GET.get("show") == "closed"
    rows = Job.objects.with_device().filter(closed_at__isnull=not closed)
    found = Paginator(rows, 30).get_page(request.GET.get("page"))
    return show(
        request,
        "jobs/list.html",
        page=found,
        jobs=[(job, sheet.next_action(job)) for job in found],
        closed=closed,
        open_count=Job.objects.open().count(),
    )


@page()
def job(request: HttpRequest, number: int) -> HttpResponse:
    """One job from top to bottom, with what must be done next lying on top."""
    row = get_job(number)
    action = sheet.next_action(row)
    plan = sheet.standing_plan(row)
    positions = list(plan.positions.select_related("cell")) if plan else []
    codes = {(position.group, position.place): position.cell.code for position in positions}
    return show(
        request,
        "jobs/sheet.html",
        job=row,
        action=action,
        action_url=_url(row, action) if action else "",
        allowed=action is not None and person(request).holds(*action.roles),
        story=[(line, _line_url(row, line)) for line in sheet.story(row)],
        plan=plan,
        figures=cells.pack_figures(plan) if plan else None,
        picture=layouts.picture(plan, codes) if plan else "",
        documents=row.documents.select_related("issued_by").defer("pdf", "content"),
        card_due=_card_due(row, plan is not None and bool(positions)),
        removed=Cell.objects.filter(lot__donor_job=row).count(),
        log=row.log.select_related("by").order_by("-pk")[:40],
    )


def _card_due(row: Job, matched: bool) -> bool:
    issued = row.documents.filter(kind=DocumentKind.JOB_CARD.value).exists()
    return matched and not issued and row.closed_at is None


def _url(row: Job, action: sheet.NextAction) -> str:
    if action.page == "step":
        return reverse("step", args=[row.number, action.stage.value])
    return reverse(action.page, args=[row.number])


def _line_url(row: Job, line: sheet.StoryLine) -> str:
    if line.state == "done" and line.stage in sheet.STEPS:
        return reverse("step", args=[row.number, line.stage.value])
    if line.state == "done" and line.stage in (Stage.REMOVED,):
        return reverse("removed", args=[row.number])
    return ""


urlpatterns = [
    path("", jobs, name="jobs"),
    path("jobs/<int:number>/", job, name="job"),
]
