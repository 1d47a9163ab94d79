"""At the counter: what a rebuild costs, whether it is worth it, and what the customer says to it."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from packs.terms import (
    STEPS,
    DocumentKind,
    Heard,
    JobKind,
    Measure,
    Owner,
    QuoteState,
    RemovedWay,
    Role,
    Stage,
    Unpowered,
)
from packs.units import of, show, show_money
from shop.bridge import rules, worth
from shop.bridge.worth import Offer
from shop.errors import ShopError
from shop.models import Job, PackAsFound, Plan, PlanState, Prices, Quote, User, WorkshopSettings
from shop.models.quotes import WHAT_STAYS, WHAT_STAYS_BESIDE_A_BOARD
from shop.selectors import faults

from . import documents, intake, log, voiding
from .base import BENCH, EVERYONE, advance, lock_job, moment, require_stage, save, verb
from .consent import Offered, offered
from .part_of_pack import require_groups
from .possible import refuse_all, require_arrangement, require_stated

QUOTED = (JobKind.REBUILD, JobKind.WARRANTY, JobKind.GROUP_REPAIR)
WHILE_OPEN = (Stage.TARGET, Stage.MATCH, *STEPS)
"""As long as something is built; once cells are reserved for the pack that was planned, and for no other."""


RECKONED_FROM = (
    *("cell_cost", "strip_um", "wire_um", "conductor_cost", "board_cost", "labour_minutes", "test_minutes"),
    *("life_years", "replacement_price", "replacement_years"),
)
"""What of an offer only its price tells: kept, so that a quote made out anew starts from it."""


@verb(Role.OWNER)
def change_prices(*, by: User, now: datetime | None = None, **prices: Any) -> Prices:
    """What the workshop reckons with is changed by writing new prices below the old."""
    require_stated(prices)
    row = save(Prices(by=by, at=moment(now), **prices))
    log.record("prices changed", by=by, at=row.at)
    return row


@verb(*BENCH)
def issue_quote(*, job: Job, offer: Offer, by: User, version: int | None = None, now: datetime | None = None) -> Quote:
    """A quote is numbered and frozen as a paper; from then on the customer's answer decides how the job goes on."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *WHILE_OPEN)
    offer = _with_what_nobody_knows(job, _with_its_board(offer))
    _require_quotable(job, offer)
    prices, settings = _reckoned_with()
    worked = worth.work_out(
        offer, prices, currency=settings.currency, locale=settings.number_locale, search=faults.standing(job)
    )
    given = job.quotes.filter(
        state__in=[QuoteState.WAITING.value, QuoteState.APPROVED.value, QuoteState.DECLINED.value]
    )
    given.update(state=QuoteState.REPLACED.value)
    quote = save(Quote(job=job, **_columns(offer, worked, prices, at)))
    before = job.documents.counting().filter(kind=DocumentKind.QUOTE.value).first()
    quote.document = documents.issue(job=job, kind=DocumentKind.QUOTE, by=by, now=at)
    if before is not None:
        voiding.replaced(before, quote.document, "quoted anew", by=by, at=at)
    advance(job, Stage(job.stage))
    return save(quote)


@verb(*EVERYONE)
def approve_quote(
    *, job: Job, name: str, heard: Heard, by: User, version: int | None = None, now: datetime | None = None
) -> Quote:
    """What the customer approves counts: the pack, the price, and whose the removed cells are."""
    at = moment(now)
    job = lock_job(job, version)
    quote = _waiting(job)
    if timezone.localdate(at) > quote.valid_until:
        words = f"Quote {quote.code} was valid until {quote.valid_until:%d %B %Y}. Quote it anew."
        raise ShopError("quote_expired", words)
    _answer(quote, QuoteState.APPROVED, name, heard, by, at)
    job.removed_owner = _way(quote).owner.value
    advance(job, Stage(job.stage))
    log.record("quote approved", by=by, at=at, job=job, quote=quote.code, name=quote.answered_by, heard=heard.value)
    return quote


@verb(*EVERYONE)
def decline_quote(
    *, job: Job, name: str, heard: Heard, by: User, version: int | None = None, now: datetime | None = None
) -> Quote:
    """After a decline the device goes back as it came in; the fee for its examination is named."""
    at = moment(now)
    job = lock_job(job, version)
    quote = _waiting(job)
    _answer(quote, QuoteState.DECLINED, name, heard, by, at)
    log.record("quote declined", by=by, at=at, job=job, quote=quote.code, name=quote.answered_by, heard=heard.value)
    if intake.stands_whole(job):
        intake.decline(job=job, reason=_reason(quote), by=by, now=at)
    else:
        advance(job, Stage(job.stage))
    return quote


def _with_its_board(offer: Offer) -> Offer:
    """Where another board goes in, the old one does not stay, and what it does without supply is no question."""
    if not offer.board_cost:
        return offer
    return replace(offer, board_unknown=False, stays=offer.stays.replace(WHAT_STAYS, WHAT_STAYS_BESIDE_A_BOARD))


def _with_what_nobody_knows(job: Job, offer: Offer) -> Offer:
    """A board that stays, and of which nobody knows what it does without supply, is said in the quote, ticked or not."""
    found = PackAsFound.objects.filter(job=job).first()
    stays = found is not None and rules.has_board(found) and not offer.board_cost
    if not stays or found is None or found.unpowered != Unpowered.UNKNOWN:
        return offer
    return replace(offer, board_unknown=True)


def _require_quotable(job: Job, offer: Offer) -> None:
    if job.kind not in QUOTED or not PackAsFound.objects.filter(job=job).exists():
        raise ShopError("not_quoted", "A quote is made for the rebuild of a pack that was examined.")
    if job.given_up:
        raise ShopError("given_up_already", f"The build of job {job.code} was given up before.")
    _require_as_planned(job, offer)
    agreed = Owner(job.removed_owner)
    if offer.removed.owner is not agreed:
        told = f"At the counter it was agreed that the removed cells will be {agreed.label}’s."
        raise ShopError("agreed_otherwise", told, field="removed")
    require_arrangement(offer.series, offer.parallel)
    require_groups(job, offer.series, offer.parallel, offer.cell_model, offer.replaced)
    require_sound(offer)


def require_sound(offer: Offer) -> None:
    """Refuse an offer that cannot be, or that tells half of what is compared; each doubt beside its field."""
    require_stated(vars(offer))
    refuse_all(
        ("replacement_incomplete", _half_a_replacement(offer)),
        ("above_rated", {"expected_capacity_mah": _above_rated(offer)}),
        ("stays_missing", {"stays": _doubt_of_what_stays(offer)}),
    )


def _half_a_replacement(offer: Offer) -> dict[str, str]:
    if offer.replacement_price is not None and offer.replacement_years is None:
        return {"replacement_years": "Say how long a new one is expected to last: both are compared by the year."}
    if offer.replacement_price is None and offer.replacement_years is not None:
        return {"replacement_price": "Say what a new one costs: both are compared by the year."}
    return {}


def _above_rated(offer: Offer) -> str:
    """Say why a capacity cannot be expected: parallel cells add up, and none is promised above its rating."""
    rated = offer.parallel * Decimal(offer.cell_model.rated_capacity_mah)
    if offer.expected_capacity_mah is None or offer.expected_capacity_mah <= rated:
        return ""
    told = show(of(Measure.CAPACITY, rated), digits=0, symbol="mAh")
    names = f"{offer.parallel} of {offer.cell_model.name} in parallel"
    return f"{names} are rated {told}: the pack cannot be expected to hold more."


def _doubt_of_what_stays(offer: Offer) -> str:
    if not offer.stays.strip():
        return "Say what stays old."
    named = _BOARD_STAYS.search(_with_its_board(offer).stays) if offer.board_cost else None
    return (
        "Another board is priced, so the old one does not stay: take it out here, or its price below." if named else ""
    )


_BOARD_STAYS = re.compile(r"(?:^|[,;]|\band\b)\s*(?:the )?(?:old )?board\s*(?:$|[,;.]|\band\b)", re.IGNORECASE)
"""The board named as one of the things that stay."""


def _require_as_planned(job: Job, offer: Offer) -> None:
    """Once cells are reserved a quote changes price, board and what is expected; another pack needs another plan first."""
    plan = Plan.objects.filter(job=job, state=PlanState.ACCEPTED.value).select_related("cell_model").first()
    quoted = Offered(offer.cell_model.pk, offer.series, offer.parallel, tuple(sorted(offer.replaced)))
    if plan is not None and offered(plan) != quoted:
        words = f"Cells are reserved for {plan.series}s{plan.parallel}p of {plan.cell_model}. Give that plan up first."
        raise ShopError("beyond_plan", words, field="arrangement")


def _reckoned_with() -> tuple[Prices, WorkshopSettings]:
    prices, settings = Prices.objects.last(), WorkshopSettings.objects.last()
    if prices is None or settings is None:
        raise ShopError("no_prices", "The owner states the workshop's prices first: Settings, Prices.")
    return prices, settings


def _columns(offer: Offer, worked: worth.Worked, prices: Prices, at: datetime) -> dict[str, Any]:
    kept = ("cell_model", "series", "parallel", "expected_capacity_mah", "board_unknown")
    asked = worked.estimate
    return {name: getattr(offer, name) for name in kept} | {
        "replaced": sorted(offer.replaced),
        "offer": {name: str(getattr(offer, name)) for name in RECKONED_FROM if getattr(offer, name)},
        "stays": offer.stays.strip(),
        "limits_of_use": offer.limits_of_use.strip(),
        "removed": offer.removed.value,
        "risks": [risk.value for risk in offer.risks],
        "verdict": worked.advice.verdict.value,
        "reasons": list(worked.advice.reasons),
        "currency": asked.currency,
        "lines": [{"label": one.label, "detail": one.detail, "price": str(one.price)} for one in asked.lines],
        "tax_percent": prices.tax_percent,
        "tax": asked.tax,
        "total": asked.total,
        "examination_fee": worked.examination_fee,
        "valid_until": timezone.localdate(at) + timedelta(days=prices.valid_days),
    }


def _waiting(job: Job) -> Quote:
    require_stage(job, *WHILE_OPEN)
    rows = job.quotes.select_for_update().filter(state=QuoteState.WAITING.value)
    quote = rows.first()
    if quote is None:
        raise ShopError("no_quote_waits", f"No quote of job {job.code} waits for an answer.")
    return quote


def _answer(quote: Quote, state: QuoteState, name: str, heard: Heard, by: User, at: datetime) -> None:
    if not name.strip():
        raise ShopError("name_missing", "Write down who answered.", field="name")
    quote.state, quote.heard = state.value, heard.value
    quote.answered_by, quote.answered_at, quote.recorded_by = name.strip(), at, by
    save(quote)


def _reason(quote: Quote) -> str:
    fee = show_money(quote.examination_fee, quote.currency)
    due = f"; the fee for the examination, {fee} with tax, is due" if quote.examination_fee else ""
    return f"quote {quote.code} declined by {quote.answered_by}{due}"


def _way(quote: Quote) -> RemovedWay:
    return RemovedWay(quote.removed)
