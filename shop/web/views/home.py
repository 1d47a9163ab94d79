"""The list of jobs."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils import timezone

from shop.bridge import sharing
from shop.models import Incident, Job
from shop.selectors import due, sheet, waste
from shop.web.http import page, show
from shop.web.views import job_sheet

ON_A_PAGE = 30


@page()
def jobs(request: HttpRequest) -> HttpResponse:
    """The bench: every open job with what comes next; closed ones on demand."""
    closed = request.GET.get("show") == "closed"
    rows = Job.objects.with_device().filter(closed_at__isnull=not closed)
    found = Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))
    first = due.of_jobs(found.object_list)
    return show(
        request,
        "jobs/list.html",
        page=found,
        jobs=[(job, first.get(job.pk) or sheet.next_action(job)) for job in found],
        closed=closed,
        frozen=set(Incident.objects.freezing().filter(job__isnull=False).values_list("job_id", flat=True)),
        sharing=not closed and bool(sharing.waiting()),
        pressing=None if closed else waste.pressing(timezone.now()),
    )


urlpatterns = [
    path("", jobs, name="jobs"),
    path("jobs/<int:number>/", job_sheet.job, name="job"),
]
