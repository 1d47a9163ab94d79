"""Issuing: number and content are fixed in one transaction, the bytes are stored once, right after."""

import hashlib
from datetime import datetime

from packs.terms import DocumentKind
from shop.bridge import documents as content_of
from shop.bridge import outdated, rules
from shop.bridge.documents import Anew, content_hash
from shop.errors import ShopError
from shop.models import Consignment, Container, IssuedDocument, Job, NumberSeries, User

from . import log
from .base import BENCH, EVERYONE, lock_job, moment, require_role, save, verb

ONE_COUNTS = outdated.REPORTING
"""Papers of which one counts at a time. A job card is printed as work goes on; a disposal note follows what leaves later."""


@verb(*EVERYONE)
def issue(*, job: Job, kind: DocumentKind, by: User, now: datetime | None = None) -> IssuedDocument:
    """A document gets the next number of its kind, and its content is frozen with it.

    A closed job gets a disposal note all the same: its waste leaves the shop later than its device. Whoever hands a
    device over issues its receipt; every other paper says what was done at the bench, which answers for it.
    """
    if kind is not DocumentKind.HAND_OVER:
        require_role(by, BENCH)
    job = lock_job(job, closed_too=kind is DocumentKind.DISPOSAL_NOTE, frozen_too=True)
    if kind in ONE_COUNTS:
        _require_none_standing(job, kind)
    return issued(job, kind, by, moment(now))


def _require_none_standing(job: Job, kind: DocumentKind) -> None:
    """A page that is older than the paper would issue it a second time, and both would count."""
    if standing := job.documents.counting().filter(kind=kind.value).defer("pdf", "content").last():
        raise ShopError(
            "stands_already",
            f"The {kind.label} {standing.code} of job {job.code} is issued and counts. Where it is wrong or out of date, "
            f"open {standing.code} and issue it anew, with the reason.",
            document=standing.code,
        )


@verb(*BENCH)
def issue_label(*, container: Container, by: User, now: datetime | None = None) -> IssuedDocument:
    """A container's label says what is in it on the day of its printing, since when, and until when it may stand."""
    container = Container.objects.select_for_update().get(pk=container.pk)
    return issued(container, DocumentKind.CONTAINER_LABEL, by, moment(now))


@verb(*BENCH)
def issue_consignment_note(*, consignment: Consignment, by: User, now: datetime | None = None) -> IssuedDocument:
    """A consignment has the shop's own record of everything that left with it."""
    return issued(consignment, DocumentKind.DISPOSAL_NOTE, by, moment(now))


@verb(*EVERYONE)
def keep_bytes(*, document: IssuedDocument, pdf: bytes, by: User, now: datetime | None = None) -> IssuedDocument:
    """The first rendering is the document; it is never replaced."""
    document = IssuedDocument.objects.select_for_update().get(pk=document.pk)
    if document.pdf is not None:
        return document
    if content_hash(document.content) != document.content_sha256:
        raise ShopError("content_changed", f"The content of {document.code} is not what was issued.")
    document.pdf, document.pdf_sha256 = pdf, hashlib.sha256(pdf).hexdigest()
    at = moment(now)
    log.record("document stored", by=by, at=at, job=document.job, document=document.code, sha256=document.pdf_sha256)
    return save(document)


def issued(
    about: content_of.About, kind: DocumentKind, by: User, at: datetime, *, anew: Anew | None = None
) -> IssuedDocument:
    """Give a paper its number and its content, within the transaction of an operation."""
    number = _next_number(kind)
    content = content_of.build(about, kind, number=number, by=by, at=at, anew=anew)
    job = about if isinstance(about, Job) else None
    document = save(
        IssuedDocument(
            kind=kind.value,
            number=number,
            job=job,
            container=about if isinstance(about, Container) else None,
            consignment=about if isinstance(about, Consignment) else None,
            content=content,
            content_sha256=content_hash(content),
            rule_set=rules.version(),
            issued_at=at,
            issued_by=by,
        )
    )
    log.record("document issued", by=by, at=at, job=job, document=document.code)
    return document


def _next_number(kind: DocumentKind) -> int:
    NumberSeries.objects.get_or_create(kind=kind.value)
    series = NumberSeries.objects.select_for_update().get(kind=kind.value)
    number, series.next_number = series.next_number, series.next_number + 1
    series.save()
    return number
