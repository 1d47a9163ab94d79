"""What a customer has to approve before work goes on."""

from typing import NamedTuple

from packs.terms import OWNER_AGREED, QuoteState
from shop.bridge.standing import named
from shop.errors import ShopError
from shop.models import Job, Prices, Quote


class Offered(NamedTuple):
    """The pack that is to be built, as far as a quote names it."""

    cell_model: int
    series: int
    parallel: int
    replaced: tuple[int, ...] = ()


def require_consent(job: Job, pack: Offered, *, reserving: bool = False) -> None:
    """Once a quote was issued, nothing goes on beyond what was approved; where quotes are needed, none without one."""
    quote = job.quotes.exclude(state=QuoteState.REPLACED.value).select_related("document", "cell_model").last()
    if quote is None:
        if reserving and job.kind in OWNER_AGREED and quotes_needed():
            raise ShopError("quote_missing", "This shop reserves no cells without an approved quote. Quote it first.")
        return
    if quote.state == QuoteState.WAITING:
        raise ShopError("quote_waiting", f"Quote {quote.code} waits for the customer. Record the answer first.")
    if quote.state == QuoteState.DECLINED:
        raise ShopError("quote_declined", f"Quote {quote.code} was declined. Give the build up, or quote it anew.")
    if _beyond(quote, pack):
        raise ShopError(
            "beyond_quote",
            f"Approved was {quote.arrangement} of {quote.cell_model}{_groups(quote)} (quote {quote.code}). A change "
            "needs a new quote and its approval.",
        )


def owed(job: Job, pack: Offered) -> str:
    """Say what the customer has to approve before cells are reserved; nothing where the way is free."""
    try:
        require_consent(job, pack, reserving=True)
    except ShopError as refusal:
        return refusal.message
    return ""


def quotes_needed() -> bool:
    """Whether the shop reserves no cells without an approved quote."""
    prices = Prices.objects.last()
    return prices is not None and prices.quotes_needed


def _beyond(quote: Quote, pack: Offered) -> bool:
    return (quote.cell_model_id, quote.series, quote.parallel, tuple(quote.replaced)) != pack


def _groups(quote: Quote) -> str:
    return f", {named(quote.replaced)} replaced" if quote.replaced else ""
