"""The fee for an examination whose pack is not rebuilt."""

from dataclasses import dataclass
from decimal import Decimal

from packs.terms import OWNER_AGREED, QuoteState, Stage
from packs.units import rounded, show_money
from shop.models import Job, Prices, WorkshopSettings


@dataclass(frozen=True)
class Fee:
    """An amount with tax, in its currency."""

    amount: Decimal
    currency: str

    def __str__(self) -> str:
        return show_money(self.amount, self.currency)


def of_examination(job: Job) -> Fee | None:
    """Return the fee that is due on a device that goes back; None where none is.

    It is that of the quote that was declined, else that of the prices; what was not examined costs nothing.
    """
    if not job.goes_back_from or job.goes_back_from == Stage.EXAMINE:
        return None
    quote = job.quotes.filter(state=QuoteState.DECLINED.value).last()
    if quote is not None:
        return _fee(quote.examination_fee, quote.currency)
    prices, settings = Prices.objects.last(), WorkshopSettings.objects.last()
    if job.kind not in OWNER_AGREED or prices is None or settings is None:
        return None
    return _fee(prices.examination_fee, settings.currency)


def _fee(amount: Decimal, currency: str) -> Fee | None:
    return Fee(rounded(amount, currency), currency) if amount else None
