"""How jobs end: the hand-over, and for a pack built for stock its way there."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.utils import timezone

from packs.terms import DocumentKind, Stage
from shop.bridge import cautions, fees, outdated, rebuilt, rules, waste
from shop.models import IssuedDocument, Job
from shop.operations import closeout, for_stock, health, intake, pack_notes, quoting
from shop.selectors import faults, joblog, sheet
from shop.web.forms.base import ShopForm
from shop.web.forms.disposal import HandOverForm, IntoStockForm
from shop.web.http import page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.stepping import outline

Papers = list[tuple[DocumentKind, IssuedDocument | None, str]]
"""Each kind that is due with the paper that counts, and in what that one is out of date."""

OPTIONAL = frozenset({DocumentKind.HAND_OVER})
"""Papers without which a job may be closed all the same."""


@page(*sheet.EVERYONE)
def hand_over(request: HttpRequest, number: int) -> HttpResponse:
    """Papers out, everything accounted for, a name for who takes the device."""
    job = get_job(number)
    form = HandOverForm(request.POST or None, fee=fees.of_examination(job), ask_time=_ask_time(request, job))
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            seen = version(request)
            if minutes := form.cleaned_data.get("minutes"):
                noted = pack_notes.note_time(job=job, minutes=minutes, by=person(request), version=seen)
                seen = noted.job.version
            closeout.hand_over(
                job=job,
                received_by=form.cleaned_data["received_by"],
                travels=form.cleaned_data["travels"],
                transport_tests=form.cleaned_data["transport_tests"],
                fee=form.cleaned_data.get("fee"),
                by=person(request),
                version=seen,
            )
            say(request, f"Job {job.code} is closed.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return _page(request, job, form)


@page(*sheet.EVERYONE)
def into_stock(request: HttpRequest, number: int) -> HttpResponse:
    """The pack is built and proved: its papers, then its place in stock."""
    job = get_job(number)
    form = IntoStockForm(request.POST or None)
    if request.method == "POST" and form.is_valid():

        def do() -> str:
            pack = for_stock.into_stock(job=job, by=person(request), version=version(request))
            say(request, f"{pack} is in stock; job {job.code} is closed.")
            return reverse("job", args=[job.number])

        if answer := submit(request, form, do):
            return answer
    return _page(request, job, form)


def _page(request: HttpRequest, job: Job, form: ShopForm) -> HttpResponse:
    last = job.route[-1]
    current = Stage(job.stage) is last and job.closed_at is None
    findings = closeout.hold_points(job) if current else []
    papers = _papers(job)
    return show(
        request,
        "hand_over/page.html",
        job=job,
        form=form,
        current=current,
        findings=findings,
        stopped=bool(rules.stopping(findings)),
        next=_next_paper(request, job, papers),
        papers=papers,
        optional=OPTIONAL,
        may_reissue=person(request).holds(*sheet.BENCH),
        market=_market(job),
        into_stock=last is Stage.INTO_STOCK,
        goes_back=_goes_back(job),
        taken=_taken(job),
        fault=faults.found(job),
        may_add=health.may_add(job) and person(request).holds(*sheet.BENCH),
        given_back=job.items.to_give_back().exists(),
        built=closeout.report_due(job) is DocumentKind.TEST_REPORT,
        charge=_charge(job) if current else None,
        outline=outline(job),
        cautions=cautions.for_stage(last, route=job.route),
        action=sheet.next_action(job),
    )


def _ask_time(request: HttpRequest, job: Job) -> bool:
    """Whether a pack was built for its owner and nobody noted yet how long that took."""
    built = closeout.report_due(job) is DocumentKind.TEST_REPORT and job.kind in quoting.QUOTED
    return built and person(request).holds(*sheet.BENCH) and not job.times.exists()


def _goes_back(job: Job) -> str:
    """Return why the device goes back as it came; nothing where it does not."""
    said = job.log.filter(verb=intake.GOES_BACK).last() if job.goes_back_from else None
    return str(said.facts["reason"]) if said else ""


def _taken(job: Job) -> str:
    """Say who took the device, and what became of the fee; nothing while nobody did."""
    said = job.log.filter(verb="handed over").last() if job.closed_at else None
    return joblog.sentence(said.verb, said.facts) if said else ""


def _market(job: Job) -> rebuilt.OnTheMarket | None:
    """Return what a pack that was built and proved carries and may be called; None where none was."""
    plan = sheet.standing_plan(job)
    if plan is None or closeout.report_due(job) is not DocumentKind.TEST_REPORT:
        return None
    return rebuilt.on_the_market(plan, waste.here(timezone.now()))


def _charge(job: Job) -> int | None:
    """Return the most charge that a built pack can have by its final test."""
    plan = sheet.standing_plan(job)
    return rules.charge_told(plan) if plan else None


def _papers(job: Job) -> Papers:
    issued = {document.kind: document for document in job.documents.counting().order_by("pk").defer("pdf")}
    report = closeout.report_due(job)
    kinds = [report] if report else []
    if closeout.note_due(job):
        kinds.append(DocumentKind.DISPOSAL_NOTE)
    if report is DocumentKind.TEST_REPORT:
        kinds.append(DocumentKind.PACK_LABEL)
    if job.goes_back_from or (report is DocumentKind.TEST_REPORT and job.route[-1] is Stage.HAND_OVER):
        kinds.append(DocumentKind.HAND_OVER)
    found = [(kind, issued.get(kind.value)) for kind in kinds]
    return [(kind, document, outdated.why(document) if document else "") for kind, document in found]


def _next_paper(request: HttpRequest, job: Job, papers: Papers) -> dict[str, Any] | None:
    """Return the paper that must be issued before anything else can be done, as what lies on top of the page."""
    due = (paper for paper in papers if paper[0] not in OPTIONAL and (paper[1] is None or paper[2]))
    kind, document, behind = next(due, (None, None, ""))
    if kind is None:
        return None
    name = f"Issue the {kind.label}{' anew' if document else ''}"
    what = {"do": name, "button": name}
    if not person(request).holds(*sheet.BENCH):
        return what | {"stopped_by": "A technician, a lead or the owner issues it."}
    if document is not None:
        url = reverse("reissue", args=[document.code])
        return what | {"why": f"{document.code} is out of date: {behind}.", "url": url}
    url = reverse("issue", args=[job.number, kind.value])
    return what | {"why": "The job stays open until its papers are out.", "url": url, "post": True}


urlpatterns = [
    path("jobs/<int:number>/hand-over/", hand_over, name="hand_over"),
    path("jobs/<int:number>/into-stock/", into_stock, name="into_stock"),
]
