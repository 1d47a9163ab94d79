"""What comes before the next step of a job: an answer, a quote, the job card. Asked of one job, or of a whole list."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from packs.terms import STEPS, DocumentKind, QuoteState, Stage
from shop.models import IssuedDocument, Job, Plan, PlanPosition, PlanState, Quote
from shop.operations import consent
from shop.operations.quoting import WHILE_OPEN

CARD_AT = (Stage.DISMANTLE, Stage.PLACE)


@dataclass(frozen=True)
class Due:
    """What is due, why, and the page it is done on; a ``card`` is printed with one button."""

    label: str
    why: str
    button: str
    card: bool = False


CARD = Due(
    "Print the job card",
    "It carries the plan, the limits and the order of work to the bench.",
    "Issue the job card",
    card=True,
)


def of_job(job: Job) -> Due | None:
    """Return what comes first on a job; nothing where its next step does. Cells that hold too little are looked for."""
    found = of_jobs([job]).get(job.pk)
    if Stage(job.stage) in STEPS and not job.given_up and (lack := consent.lacking_for_step(job)):
        return found if found and not found.card else _anew(lack)
    return found


def of_jobs(jobs: Iterable[Job]) -> dict[int, Due]:
    """Return what comes first on each of some jobs, in as many queries as for one."""
    open_to = [job for job in jobs if job.closed_at is None and not job.held and not job.parked]
    cards = [job for job in open_to if Stage(job.stage) in CARD_AT]
    quoted = [job for job in open_to if Stage(job.stage) in WHILE_OPEN and not job.given_up]
    return dict.fromkeys(_without_card(cards), CARD) | _quotes(quoted)


def _quotes(jobs: Sequence[Job]) -> dict[int, Due]:
    if not jobs:
        return {}
    rows = Quote.objects.filter(job__in=jobs).exclude(state=QuoteState.REPLACED.value)
    quotes = {row.job_id: row for row in rows.select_related("document", "cell_model")}
    plans = {row.job_id: row for row in Plan.objects.filter(job__in=jobs).exclude(state=PlanState.ABANDONED.value)}
    needed = consent.quotes_needed()
    found = {job.pk: _quote(job, quotes.get(job.pk), plans.get(job.pk), needed=needed) for job in jobs}
    return {job: due for job, due in found.items() if due is not None}


def _quote(job: Job, quote: Quote | None, plan: Plan | None, *, needed: bool) -> Due | None:
    if quote is not None and quote.state == QuoteState.WAITING:
        why = "Nothing goes on before the customer has answered."
        return Due(f"Record the answer to quote {quote.code}", why, "Go to the quote")
    if plan is None or Stage(job.stage) is not Stage.MATCH:
        return None
    lack = consent.lacking(job, quote, consent.offered(plan), needed=needed)
    return _anew(lack, first=quote is None) if lack else None


def _anew(lack: consent.Lack, *, first: bool = False) -> Due:
    return Due("Quote it first" if first else "Quote it anew", lack.message, "Go to the quote")


def _without_card(jobs: Sequence[Job]) -> set[int]:
    """Return the jobs whose cells are reserved, on which nothing was placed yet, and whose card is not printed."""
    if not jobs:
        return set()
    positions = PlanPosition.objects.filter(plan__job__in=jobs).exclude(plan__state=PlanState.ABANDONED.value)
    by_job = positions.values_list("plan__job", "placed_at")
    reserved = {job for job, _ in by_job}
    begun = {job for job, placed_at in by_job if placed_at is not None}
    cards = IssuedDocument.objects.counting().filter(job__in=jobs, kind=DocumentKind.JOB_CARD.value)
    return reserved - begun - set(cards.values_list("job_id", flat=True))
