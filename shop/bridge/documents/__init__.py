"""What the papers of a job say, gathered from the tables and frozen."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from packs.documents import Document, Group, Heading, Limit, Outline, freeze
from packs.terms import DocumentKind
from shop.models import Job, User

from .disposal import disposal_note
from .drawing import face_pictures
from .hand_over import hand_over_receipt
from .heading import heading
from .job_card import job_card
from .reading import thawed
from .test_report import test_report

__all__ = ["Document", "Group", "Limit", "Outline", "build", "face_pictures", "thawed"]

_BUILDERS: dict[DocumentKind, Callable[[Job, Heading], Document]] = {
    DocumentKind.JOB_CARD: job_card,
    DocumentKind.TEST_REPORT: test_report,
    DocumentKind.DISPOSAL_NOTE: disposal_note,
    DocumentKind.HAND_OVER: hand_over_receipt,
}


def build(job: Job, kind: DocumentKind, *, number: int, by: User, at: datetime) -> dict[str, Any]:
    """Return the content of a paper as values that JSON can hold.

    Raises
    ------
    ShopError
        The job is not so far that there is anything to put on this paper.
    """
    return freeze(_BUILDERS[kind](job, heading(job, kind, number=number, by=by, at=at)))
