"""Issuing: number and content are fixed in one transaction, the bytes are stored once, right after."""

import hashlib
import json
from datetime import datetime
from typing import Any

from packs.terms import DocumentKind
from shop.bridge import documents as content_of
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import IssuedDocument, Job, NumberSeries, User

from . import log
from .base import BENCH, lock_job, moment, save, verb


@verb(*BENCH)
def issue(*, job: Job, kind: DocumentKind, by: User, now: datetime | None = None) -> IssuedDocument:
    """A document gets the next number of its kind, and its content is frozen with it."""
    at = moment(now)
    job = lock_job(job)
    number = _next_number(kind)
    content = content_of.build(job, kind, number=number, by=by, at=at)
    document = save(
        IssuedDocument(
            kind=kind.value,
            number=number,
            job=job,
            content=content,
            content_sha256=content_hash(content),
            rule_set=rules.RULE_SET_VERSION,
            issued_at=at,
            issued_by=by,
        )
    )
    log.record("document issued", by=by, at=at, job=job, document=document.code)
    return document


@verb(*BENCH)
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


def content_hash(content: dict[str, Any]) -> str:
    """Return the SHA-256 of a document's content in canonical JSON."""
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _next_number(kind: DocumentKind) -> int:
    NumberSeries.objects.get_or_create(kind=kind.value)
    series = NumberSeries.objects.select_for_update().get(kind=kind.value)
    number, series.next_number = series.next_number, series.next_number + 1
    series.save()
    return number
