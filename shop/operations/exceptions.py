"""Written exceptions: a lead accepts in writing that one rule does not hold on one job, and answers for it by name."""

from datetime import datetime

from packs.terms import DangerLevel, Stage
from shop.bridge import exceptions, rules
from shop.errors import ShopError
from shop.models import ExceptionWithdrawal, Job, PlanState, StepOutcome, User, WrittenException

from . import log
from .base import LEADS, lock_job, moment, require_stage, save, verb


@verb(*LEADS)
def write_exception(
    *, job: Job, rule_id: str, reason: str, by: User, version: int | None = None, now: datetime | None = None
) -> WrittenException:
    """One rule is accepted as it is, on this job alone, by a lead who says why; what can set fire never is."""
    at = moment(now)
    job = _at_work(job, version)
    exceptions.require_acceptable(rule_id)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the work may go on all the same.", field="reason")
    _require_still_asked(job, rule_id)
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
    job = _at_work(job, version)
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


def still_asked(job: Job, rule_id: str) -> bool:
    """Whether a rule guards a step of a job that is still to be done; a target can be stated anew while cells are matched."""
    stage, reached = exceptions.stage_of(rule_id), Stage(job.stage)
    again = reached is Stage.MATCH and stage is Stage.TARGET
    return stage in job.route and (again or job.route.index(stage) >= job.route.index(reached))


def _at_work(job: Job, version: int | None) -> Job:
    """Return the job, locked, where there is work that could go on."""
    job = lock_job(job, version)
    if job.danger_level == DangerLevel.RED:
        raise ShopError("red", "From a red danger sign there is no exception; only disposal remains.", job=job.code)
    require_stage(job, Stage(job.stage))
    return job


def _require_still_asked(job: Job, rule_id: str) -> None:
    if still_asked(job, rule_id):
        return
    reached = Stage(job.stage)
    words = (
        f"“{rules.asks_about(rule_id)}” is not asked any more on job {job.code}, or never was; "
        f"next is: {job.label_of(reached)}."
    )
    raise ShopError("out_of_order", words, field="rule_id", job=job.code, stage=reached.value)


def _moved_on(job: Job) -> None:
    """A page that was opened before does not know of this."""
    job.version += 1
    save(job)
