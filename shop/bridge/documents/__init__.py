"""What the papers of a job say, gathered from the tables and frozen."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from packs.documents import Document, Group, Heading, Limit, Outline, freeze
from packs.terms import DangerLevel, DocumentKind
from shop.errors import ShopError
from shop.models import Job, User

from .disposal import disposal_note
from .drawing import face_pictures
from .hand_over import hand_over_receipt
from .heading import heading
from .health_report import health_report
from .job_card import job_card
from .reading import thawed
from .test_report import test_report

__all__ = ["Document", "Group", "Limit", "Outline", "build", "face_pictures", "thawed"]

_BUILDERS: dict[DocumentKind, Callable[[Job, Heading], Document]] = {
    DocumentKind.JOB_CARD: job_card,
    DocumentKind.TEST_REPORT: test_report,
    DocumentKind.DISPOSAL_NOTE: disposal_note,
    DocumentKind.HAND_OVER: hand_over_receipt,
    DocumentKind.HEALTH_REPORT: health_report,
}


def build(job: Job, kind: DocumentKind, *, number: int, by: User, at: datetime) -> dict[str, Any]:
    """Return the content of a paper as values that JSON can hold.

    Raises
    ------
    ShopError
        The job is not so far that there is anything to put on this paper.
    """
    if job.danger_level == DangerLevel.RED and kind is not DocumentKind.DISPOSAL_NOTE:
        raise ShopError("red", f"The pack of job {job.code} is not worked on; its only paper is the disposal note.")
    return freeze(_BUILDERS[kind](job, heading(job, kind, number=number, by=by, at=at)))
