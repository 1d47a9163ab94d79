"""What a customer has to approve before work goes on, and again where something goes beyond it later."""

from collections import defaultdict
from decimal import Decimal
from typing import NamedTuple

from packs.terms import OWNER_AGREED, Measure, QuoteState
from packs.units import of, show
from shop.bridge import figures, standing
from shop.bridge.standing import named
from shop.errors import ShopError
from shop.models import Job, Plan, PlanState, Prices, Quote


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
    _refuse(lacking(job, counting(job), pack, needed=reserving and quotes_needed()))


def counting(job: Job) -> Quote | None:
    """Return the quote that counts on a job; None where none was issued."""
    return job.quotes.exclude(state=QuoteState.REPLACED.value).select_related("document", "cell_model").last()


def require_for_step(job: Job) -> None:
    """No step begins while a quote waits or was declined, nor with cells that hold less than was quoted."""
    _refuse(lacking_for_step(job))


def lacking_for_step(job: Job) -> Lack | None:
    """Return what the customer has to approve before the next step begins; None where the way is free."""
    quote = counting(job)
    if quote is None:
        return None
    plan = Plan.objects.filter(job=job, state=PlanState.ACCEPTED.value).select_related("cell_model").first()
    return _unanswered(quote) or (_below(quote, plan) if plan else None)


def require_quoted_capacity(job: Job, plan: Plan) -> None:
    """Cells that hold less than was quoted are a change, which the customer approves first."""
    quote = counting(job)
    _refuse(_below(quote, plan) if quote else None)


def require_board_offered(job: Job) -> None:
    """Another board than the one that was found goes in only where the approved quote says so."""
    quote = counting(job)
    if quote is not None and not quote.board_goes_in:
        words = (
            f"In quote {quote.code} the board stays as it is. Another one is a change: quote it anew with the board, "
            "and have it approved."
        )
        _refuse(Lack("beyond_quote", words))


def _refuse(lack: Lack | None) -> None:
    if lack is not None:
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
    if lack := _unanswered(quote):
        return lack
    if _beyond(quote, pack):
        words = (
            f"Approved was {quote.arrangement} of {quote.cell_model}{_groups(quote)} (quote {quote.code}). A change "
            "needs a new quote and its approval."
        )
        return Lack("beyond_quote", words)
    return None


def _unanswered(quote: Quote) -> Lack | None:
    if quote.state == QuoteState.WAITING:
        return Lack("quote_waiting", f"Quote {quote.code} waits for the customer. Record the answer first.")
    if quote.state == QuoteState.DECLINED:
        return Lack("quote_declined", f"Quote {quote.code} was declined. Give the build up, or quote it anew.")
    return None


def _below(quote: Quote, plan: Plan) -> Lack | None:
    """Return what is missing where the weakest known group holds less than the quote expects, to one mAh."""
    quoted, held = quote.expected_capacity_mah, least_mah(plan)
    if quoted is None or held is None or round(held) >= round(quoted):
        return None
    shown, wanted = (show(of(Measure.CAPACITY, mah), digits=0, symbol="mAh") for mah in (held, quoted))
    words = (
        f"The weakest group of these cells holds {shown}; quote {quote.code} expects {wanted}. Choose others, or quote "
        "it anew with what they hold and have it approved."
    )
    return Lack("below_quote", words)


def least_mah(plan: Plan) -> Decimal | None:
    """Return what the weakest group of a plan holds [mAh], as far as its groups are known; None where none is."""
    positions = list(plan.positions.filter(open=True).select_related("cell"))
    known = figures.of_cells([position.cell for position in positions])
    cells: dict[int, list[Decimal | None]] = defaultdict(list)
    for position in positions:
        cells[position.group].append(known.get(position.cell_id, {}).get(Measure.CAPACITY))
    new = [sum(mah for mah in group if mah is not None) for group in cells.values() if None not in group]
    stay = standing.least_mah(plan)
    return min([*map(Decimal, new), *([] if stay is None else [stay])], default=None)


def quotes_needed() -> bool:
    """Whether the shop reserves no cells without an approved quote."""
    prices = Prices.objects.last()
    return prices is not None and prices.quotes_needed


def _beyond(quote: Quote, pack: Offered) -> bool:
    return (quote.cell_model_id, quote.series, quote.parallel, tuple(quote.replaced)) != pack


def _groups(quote: Quote) -> str:
    return f", {named(quote.replaced)} replaced" if quote.replaced else ""
