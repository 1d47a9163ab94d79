"""Written exceptions of a job, as pages tell them."""

from dataclasses import dataclass
from datetime import datetime

from packs.terms import Stage
from shop.bridge import exceptions, rules
from shop.models import Job, WrittenException


@dataclass(frozen=True)
class Told:
    """One written exception: what was accepted, where, why, by whom; and who withdrew it, if anybody did."""

    pk: int
    stage: Stage
    quantity: str
    reason: str
    by: str
    at: datetime
    withdrawn: str = ""
    withdrawn_by: str = ""
    withdrawn_at: datetime | None = None


def of_job(job: Job) -> list[Told]:
    """Return every exception of a job in the order in which they were written."""
    return [_told(row) for row in job.exceptions.select_related("by", "withdrawal__by")]


def standing(job: Job) -> list[Told]:
    """Return the exceptions that count."""
    return [told for told in of_job(job) if told.withdrawn_at is None]


def _told(row: WrittenException) -> Told:
    back = getattr(row, "withdrawal", None)
    return Told(
        pk=row.pk,
        stage=exceptions.stage_of(row.rule_id),
        quantity=rules.asks_about(row.rule_id),
        reason=row.reason,
        by=str(row.by),
        at=row.at,
        withdrawn=back.reason if back else "",
        withdrawn_by=str(back.by) if back else "",
        withdrawn_at=back.at if back else None,
    )
