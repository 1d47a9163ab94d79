"""What a customer has to approve before work goes on."""

from typing import NamedTuple

from packs.terms import OWNER_AGREED, QuoteState
from shop.bridge.standing import named
from shop.errors import ShopError
from shop.models import Job, Plan, Prices, Quote


class Offered(NamedTuple):
    """The pack that is to be built, as far as a quote names it."""

    cell_model: int
    series: int
    parallel: int
    replaced: tuple[int, ...] = ()


class Lack(NamedTuple):
    """What is missing before a job may go on: the code of the refusal, and its words."""

    code: str
    message: str


def offered(plan: Plan) -> Offered:
    """Return a plan as a quote names a pack."""
    return Offered(plan.cell_model_id, plan.series, plan.parallel, tuple(plan.replaced))


def require_consent(job: Job, pack: Offered, *, reserving: bool = False) -> None:
    """Once a quote was issued, nothing goes on beyond what was approved; where quotes are needed, none without one."""
    quote = job.quotes.exclude(state=QuoteState.REPLACED.value).select_related("document", "cell_model").last()
    if lack := lacking(job, quote, pack, needed=reserving and quotes_needed()):
        raise ShopError(lack.code, lack.message)


def owed(job: Job, plan: Plan) -> str:
    """Say what the customer has to approve before cells are reserved; nothing where the way is free."""
    try:
        require_consent(job, offered(plan), reserving=True)
    except ShopError as refusal:
        return refusal.message
    return ""


def lacking(job: Job, quote: Quote | None, pack: Offered, *, needed: bool) -> Lack | None:
    """Return what is missing, by the quote that counts on the job; ``needed`` where none is reserved without one."""
    if quote is None:
        if needed and job.kind in OWNER_AGREED:
            return Lack("quote_missing", "This shop reserves no cells without an approved quote. Quote it first.")
        return None
    if quote.state == QuoteState.WAITING:
        return Lack("quote_waiting", f"Quote {quote.code} waits for the customer. Record the answer first.")
    if quote.state == QuoteState.DECLINED:
        return Lack("quote_declined", f"Quote {quote.code} was declined. Give the build up, or quote it anew.")
    if _beyond(quote, pack):
        words = (
            f"Approved was {quote.arrangement} of {quote.cell_model}{_groups(quote)} (quote {quote.code}). A change "
            "needs a new quote and its approval."
        )
        return Lack("beyond_quote", words)
    return None


def quotes_needed() -> bool:
    """Whether the shop reserves no cells without an approved quote."""
    prices = Prices.objects.last()
    return prices is not None and prices.quotes_needed


def _beyond(quote: Quote, pack: Offered) -> bool:
    return (quote.cell_model_id, quote.series, quote.parallel, tuple(quote.replaced)) != pack


def _groups(quote: Quote) -> str:
    return f", {named(quote.replaced)} replaced" if quote.replaced else ""
