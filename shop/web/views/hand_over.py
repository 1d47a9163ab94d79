"""The hand-over."""

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse

from packs.terms import DangerLevel, DocumentKind, Stage
from shop.bridge import cautions
from shop.operations import closeout
from shop.selectors import sheet
from shop.web.forms.disposal import HandOverForm
from shop.web.http import page, person, say, show, submit, version
from shop.web.jobs import get_job


@page(*sheet.EVERYONE)
def hand_over(request: HttpRequest, number: int) -> HttpResponse:
    """Papers out, everything accounted for, a name for who takes the device."""
    job = get_job(number)
    form = HandOverForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            closeout.hand_over(
                job=job,
                received_by=form.cleaned_data["received_by"],
                by=person(request),
                version=version(request),
            )
            say(request, f"Job {job.code} is closed.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    documents = {document.kind: document for document in job.documents.order_by("pk").defer("pdf", "content")}
    return show(
        request,
        "hand_over/page.html",
        job=job,
        form=form,
        findings=closeout.hold_points(job) if job.closed_at is None else [],
        current=Stage(job.stage) is Stage.HAND_OVER and job.closed_at is None,
        disposal_only=job.danger_level == DangerLevel.RED,
        papers=[(kind, documents.get(kind.value)) for kind in _papers(job.danger_level, closeout.note_due(job))],
        cautions=cautions.for_stage(Stage.HAND_OVER),
        may_issue=person(request).holds(*sheet.BENCH),
    )


def _papers(danger_level: str, note_due: bool) -> list[DocumentKind]:
    rebuilt = [] if danger_level == DangerLevel.RED else [DocumentKind.TEST_REPORT, DocumentKind.HAND_OVER]
    return [*rebuilt, *([DocumentKind.DISPOSAL_NOTE] if note_due else [])]


urlpatterns = [path("jobs/<int:number>/hand-over/", hand_over, name="hand_over")]
