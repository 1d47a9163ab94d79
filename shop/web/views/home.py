"""The list of jobs and the job's own sheet."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import DangerLevel, DocumentKind, Stage
from shop.bridge import cells, layouts
from shop.models import Job
from shop.operations.intake import BEFORE_OPENING, DECLINABLE
from shop.selectors import sheet
from shop.web.http import page, person, show
from shop.web.jobs import get_job

BUTTONS = {"findings": "Write the findings", "removed": "Place them", "hand_over": "Go to the hand-over"}


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
        button=BUTTONS.get(action.page, "Go on") if action else "",
        roles_needed=f"This is for the {' or '.join(role.label for role in action.roles)}." if action else "",
        story=[_told(row, line) for line in sheet.story(row)],
        plan=plan,
        figures=cells.pack_figures(plan) if plan else None,
        picture=layouts.picture(plan, codes) if plan else "",
        documents=row.documents.select_related("issued_by").defer("pdf", "content"),
        card_due=_card_due(row, plan is not None and bool(positions)),
        log=row.log.select_related("by").order_by("-pk")[:40],
        before_opening=row.danger_level != DangerLevel.RED and Stage(row.stage) in BEFORE_OPENING,
        may_decline=row.danger_level != DangerLevel.RED and Stage(row.stage) in DECLINABLE,
        may_release=bool(positions)
        and Stage(row.stage) in (Stage.DISMANTLE, Stage.PLACE)
        and not any(position.placed_at for position in positions),
    )


def _card_due(row: Job, matched: bool) -> bool:
    issued = row.documents.filter(kind=DocumentKind.JOB_CARD.value).exists()
    return matched and not issued and row.closed_at is None


def _url(row: Job, action: sheet.NextAction) -> str:
    if action.page == "step":
        return reverse("step", args=[row.number, action.stage.value])
    return reverse(action.page, args=[row.number])


def _told(row: Job, line: sheet.StoryLine) -> dict[str, object]:
    """Return a line of the story as the page prints it."""
    return {
        "label": line.stage.label,
        "state": line.state,
        "url": _line_url(row, line),
        "when": line.at,
        "by": line.by,
        "said": line.facts,
    }


def _line_url(row: Job, line: sheet.StoryLine) -> str:
    if line.state != "done":
        return ""
    if line.stage in sheet.STEPS:
        return reverse("step", args=[row.number, line.stage.value])
    return reverse("removed", args=[row.number]) if line.stage is Stage.REMOVED else ""


urlpatterns = [
    path("", jobs, name="jobs"),
    path("jobs/<int:number>/", job, name="job"),
]
