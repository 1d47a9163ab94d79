"""Written exceptions: a lead accepts in writing that one rule does not hold on one job, and answers for it by name."""

from datetime import datetime

from packs.terms import Stage
from shop.bridge import exceptions
from shop.errors import ShopError
from shop.models import ExceptionWithdrawal, Job, PlanState, StepOutcome, User, WrittenException

from . import log
from .base import LEADS, lock_job, moment, save, verb


@verb(*LEADS)
def write_exception(
    *, job: Job, rule_id: str, reason: str, by: User, version: int | None = None, now: datetime | None = None
) -> WrittenException:
    """One rule is accepted as it is, on this job alone, by a lead who says why; what can set fire never is."""
    at = moment(now)
    job = lock_job(job, version)
    exceptions.require_acceptable(rule_id)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the work may go on all the same.", field="reason")
    _require_still_asked(job, exceptions.stage_of(rule_id), rule_id)
    if job.exceptions.standing().filter(rule_id=rule_id).exists():
        raise ShopError("accepted_already", "This is accepted in writing already.", field="rule_id")
    row = save(WrittenException(job=job, rule_id=rule_id, reason=reason.strip(), at=at, by=by))
    _moved_on(job)
    log.record("exception written", by=by, at=at, job=job, rule=rule_id, reason=row.reason)
    return row


@verb(*LEADS)
def withdraw_exception(
    *,
    job: Job,
    exception: WrittenException,
    reason: str,
    by: User,
    version: int | None = None,
    now: datetime | None = None,
) -> ExceptionWithdrawal:
    """An exception is withdrawn as long as no step was done with it."""
    at = moment(now)
    job = lock_job(job, version)
    if exception.job_id != job.pk:
        raise ShopError("no_such_exception", f"This exception is none of job {job.code}.")
    if not job.exceptions.standing().filter(pk=exception.pk).exists():
        raise ShopError("withdrawn_already", "This exception was withdrawn before.")
    if not reason.strip():
        raise ShopError("reason_missing", "Say why it counts no more.", field="reason")
    if used(exception):
        raise ShopError("exception_used", "A step was done with this exception; it stays with the job.")
    row = save(ExceptionWithdrawal(exception=exception, reason=reason.strip(), at=at, by=by))
    _moved_on(job)
    log.record("exception withdrawn", by=by, at=at, job=job, rule=exception.rule_id, reason=row.reason)
    return row


def used(exception: WrittenException) -> bool:
    """Whether a step was done, or a plan stands, with the help of an exception."""
    job = exception.job
    plans = job.plans.exclude(state=PlanState.ABANDONED.value).values_list("findings", flat=True)
    steps = job.steps.filter(outcome=StepOutcome.DONE.value).values_list("findings", flat=True)
    return any(exceptions.covers(found, exception.pk) for findings in (*plans, *steps) for found in findings)


def _require_still_asked(job: Job, stage: Stage, rule_id: str) -> None:
    """Refuse where the rule guards no step of this job that is still to be done."""
    again = Stage(job.stage) is Stage.MATCH and stage is Stage.TARGET  # the target can be stated anew
    if stage in job.route and (again or job.route.index(stage) >= job.route.index(Stage(job.stage))):
        return
    words = f"“{exceptions.asks_about(rule_id)}” is not asked any more on job {job.code}, or never was."
    raise ShopError("not_asked", words, field="rule_id", job=job.code, stage=job.stage)


def _moved_on(job: Job) -> None:
    """A page that was opened before does not know of this."""
    job.version += 1
    save(job)
