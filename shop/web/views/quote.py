"""Whether a rebuild is worth it, the quote, and what the customer says to it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from packs.errors import PacksError
from packs.terms import Owner, QuoteState, Stage
from shop.bridge import worth
from shop.errors import ShopError
from shop.models import Job, Prices, Quote
from shop.operations import quoting
from shop.operations.base import BENCH, EVERYONE
from shop.selectors import faults, quotes, sheet
from shop.web.context import current
from shop.web.forms.base import QuantityField, ShopForm
from shop.web.forms.money import as_typed
from shop.web.forms.quote import AnswerForm, QuoteForm
from shop.web.http import locale, numbers, page, person, say, show, submit, version
from shop.web.jobs import get_job
from shop.web.prefill import typed
from shop.web.printed import print_document

WORK_OUT, ANEW = "work_out", "anew"


@page(*EVERYONE, posts=BENCH)
def quote(request: HttpRequest, number: int) -> HttpResponse:
    """What was offered and how it stands; or the form of a quote, with what it comes to."""
    job = get_job(number)
    row, open_to = quotes.standing(job), _open(job)
    if request.method != "POST" and (not open_to or (row is not None and ANEW not in request.GET)):
        return _told(request, job, row, AnswerForm())
    prices = quotes.prices()
    form = QuoteForm(
        request.POST or None,
        initial={} if request.method == "POST" else _known(request, job),
        agreed=Owner(job.removed_owner),
        numbers=numbers(request),
        part_stays=job.part_stays,
        grounds=quotes.grounds(job),
    )
    worked = _worked(request, job, form, prices) if request.method == "POST" and form.is_valid() else None
    if worked and WORK_OUT not in request.POST and (answer := _issued(request, job, form)):
        return answer
    return show(
        request,
        "quote/page.html",
        job=job,
        form=form,
        prices=prices,
        plan=sheet.standing_plan(job),
        worked=worked,
        replaces=row,
        may_quote=person(request).holds(*BENCH),
    )


@require_POST
@page(*EVERYONE)
def quote_answer(request: HttpRequest, number: int) -> HttpResponse:
    """The customer's answer: who gave it, how, and what it was."""
    job = get_job(number)
    form = AnswerForm(request.POST)
    approved = request.POST.get("answer") != QuoteState.DECLINED

    def do() -> str:
        do_it = quoting.approve_quote if approved else quoting.decline_quote
        given = do_it(job=job, by=person(request), version=version(request), **form.values())
        say(request, f"Quote {given.code} is {QuoteState(given.state).label}.")
        return reverse("job", args=[number])

    if form.is_valid() and (answer := submit(request, form, do)):
        return answer
    return _told(request, job, quotes.standing(job), form)


def _known(request: HttpRequest, job: Job) -> dict[str, object]:
    """Return what is known of the pack as somebody would type it."""
    known = quotes.known(job)
    fields = {name: QuoteForm.base_fields[name] for name in known if name in QuoteForm.base_fields}
    return as_typed(known, numbers(request)) | {
        name: typed(field, known[name], locale=locale(request))
        for name, field in fields.items()
        if isinstance(field, QuantityField)
    }


def _issued(request: HttpRequest, job: Job, form: QuoteForm) -> HttpResponse | None:
    issued: list[Quote] = []

    def do() -> str:
        issued.append(quoting.issue_quote(job=job, offer=form.offer(), by=person(request), version=version(request)))
        return reverse("quote", args=[job.number])

    answer = submit(request, form, do)
    for row in issued:
        if row.document and print_document(request, row.document, person(request)):
            say(request, f"Quote {row.code} is issued.")
    return answer


def _worked(request: HttpRequest, job: Job, form: QuoteForm, prices: Prices | None) -> worth.Worked | None:
    settings = current(request)
    if prices is None or settings is None:
        form.add_error(None, "The owner states the workshop's prices first.")
        return None
    try:
        offer, search = form.offer(), faults.standing(job)
        quoting.require_sound(offer)
        return worth.work_out(offer, prices, currency=settings.currency, locale=locale(request), search=search)
    except ShopError as refusal:
        form.refuse(refusal)
        return None
    except PacksError as error:
        form.add_error(None, str(error))
        return None


def _told(request: HttpRequest, job: Job, row: Quote | None, form: ShopForm) -> HttpResponse:
    context: dict[str, Any] = {
        "job": job,
        "quote": row,
        "form": form,
        "waits": row is not None and row.state == QuoteState.WAITING and _open(job),
        "earlier": quotes.earlier(job),
        "may_quote": _open(job) and person(request).holds(*BENCH),
        "action": sheet.next_action(job),
    }
    return show(request, "quote/told.html", **context)


def _open(job: Job) -> bool:
    at_its_stage = job.closed_at is None and not job.held and Stage(job.stage) in quoting.WHILE_OPEN
    return at_its_stage and job.kind in quoting.QUOTED and not job.given_up


urlpatterns = [
    path("jobs/<int:number>/quote/", quote, name="quote"),
    path("jobs/<int:number>/quote/answer/", quote_answer, name="quote_answer"),
]
