"""What papers say, gathered from the tables and frozen."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from packs.documents import (
    Document,
    Group,
    Heading,
    Limit,
    Outline,
    Slots,
    TestReport,
    check_code,
    content_hash,
    freeze,
    hash_begins,
)
from packs.terms import DangerLevel, DocumentKind
from shop.errors import ShopError
from shop.models import Consignment, Container, Job, User

from .charts import bars, discharge
from .container_label import container_label
from .disposal import consignment_note, disposal_note
from .drawing import FacePicture, Section, face_pictures, sections, stroked
from .hand_over import hand_over_receipt
from .heading import About, Anew, heading
from .health_report import health_report
from .job_card import job_card
from .limits_annex import LimitsAnnex, limits_annex
from .pack_label import pack_label
from .quote import quote
from .reading import thawed
from .test_report import test_report
from .way_stated import way_stated

__all__ = [
    "About",
    "Anew",
    "Document",
    "FacePicture",
    "Group",
    "Limit",
    "LimitsAnnex",
    "Outline",
    "Section",
    "Slots",
    "TestReport",
    "bars",
    "build",
    "check_code",
    "content_hash",
    "discharge",
    "face_pictures",
    "hash_begins",
    "limits_annex",
    "sections",
    "stroked",
    "thawed",
    "way_stated",
]

_BUILDERS: dict[DocumentKind, Callable[[Job, Heading], Document]] = {
    DocumentKind.JOB_CARD: job_card,
    DocumentKind.TEST_REPORT: test_report,
    DocumentKind.DISPOSAL_NOTE: disposal_note,
    DocumentKind.HAND_OVER: hand_over_receipt,
    DocumentKind.HEALTH_REPORT: health_report,
    DocumentKind.QUOTE: quote,
    DocumentKind.PACK_LABEL: pack_label,
}


def build(
    about: About, kind: DocumentKind, *, number: int, by: User, at: datetime, anew: Anew | None = None
) -> dict[str, Any]:
    """Return the content of a paper as values that JSON can hold.

    Raises
    ------
    ShopError
        The job is not so far that there is anything to put on this paper, or the paper is not one of a job.
    """
    head = heading(about, kind, number=number, by=by, at=at, anew=anew)
    if isinstance(about, Container):
        return freeze(container_label(about, head))
    if isinstance(about, Consignment):
        return freeze(consignment_note(about, head))
    return freeze(_of_job(about, kind)(about, head))


def _of_job(job: Job, kind: DocumentKind) -> Callable[[Job, Heading], Document]:
    if kind not in _BUILDERS:
        raise ShopError("no_paper_of_a_job", f"A {kind.label} is not issued for a job.")
    if job.danger_level == DangerLevel.RED and kind is not DocumentKind.DISPOSAL_NOTE:
        raise ShopError("red", f"The pack of job {job.code} is not worked on; its only paper is the disposal note.")
    return _BUILDERS[kind]
