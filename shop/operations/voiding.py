"""Papers that count no more: made void, or issued anew with the reason on the new one."""

from datetime import datetime

from packs.terms import DocumentKind, QuoteState
from shop.bridge.documents import About, Anew
from shop.errors import ShopError
from shop.models import IssuedDocument, Quote, User, Voiding

from . import log
from .base import BENCH, LEADS, lock_job, moment, save, verb
from .documents import issued


@verb(*LEADS)
def void(*, document: IssuedDocument, reason: str, by: User, now: datetime | None = None) -> Voiding:
    """A paper that should not have been issued is made void; it keeps its number, and whoever checks it is told."""
    document, at = _standing(document, reason), moment(now)
    _withdraw_offer(document)
    row = save(Voiding(document=document, reason=reason.strip(), at=at, by=by))
    log.record("document voided", by=by, at=at, job=document.job, document=document.code, reason=row.reason)
    return row


@verb(*BENCH)
def reissue(*, document: IssuedDocument, reason: str, by: User, now: datetime | None = None) -> IssuedDocument:
    """A paper is issued anew from what the book says now, under the next number; the old one counts no more."""
    document, at = _standing(document, reason), moment(now)
    kind = DocumentKind(document.kind)
    if kind is DocumentKind.QUOTE:
        raise ShopError("quote_anew", "A quote is made out anew on its own page, with its price.")
    new = issued(_about(document), kind, by, at, anew=Anew(document.code, reason.strip()))
    replaced(document, new, reason.strip(), by=by, at=at)
    return new


def replaced(old: IssuedDocument, new: IssuedDocument, reason: str, *, by: User, at: datetime) -> Voiding:
    """Write down that one paper takes the place of another."""
    row = save(Voiding(document=old, replaced_by=new, reason=reason, at=at, by=by))
    log.record("document replaced", by=by, at=at, job=old.job, document=old.code, by_document=new.code, reason=reason)
    return row


def _standing(document: IssuedDocument, reason: str) -> IssuedDocument:
    """Return the paper, locked; refuse one that counts no more, and a change without a reason."""
    document = IssuedDocument.objects.select_for_update().get(pk=document.pk)
    if not reason.strip():
        raise ShopError("reason_missing", "Say what is wrong with this paper.", field="reason")
    if document.job:
        lock_job(document.job, closed_too=True, frozen_too=True)
    if gone := Voiding.objects.filter(document=document).first():
        raise ShopError("counts_no_more", f"{gone}. It counts no more already.")
    return document


def _about(document: IssuedDocument) -> About:
    about = document.job or document.container or document.consignment
    assert about is not None  # noqa: S101 - the database holds that it is one of them
    return about


def _withdraw_offer(document: IssuedDocument) -> None:
    """A void quote can no longer be answered; one that was approved is what the work rests on."""
    quote = Quote.objects.select_for_update().filter(document=document).first()
    if quote is None:
        return
    if quote.state == QuoteState.APPROVED:
        raise ShopError("quote_approved", f"Quote {quote.code} was approved and the work rests on it. Quote it anew.")
    if quote.state == QuoteState.WAITING:
        quote.state = QuoteState.REPLACED.value
        save(quote)
