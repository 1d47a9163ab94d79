"""How a step of the job card is tried and concluded: readings stay, rules decide, the job moves on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from packs.terms import Stage
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import SINCE, Job, Reading, Step, StepOutcome, User

from . import consent, log
from .base import advance, lock_job, save

PIECE_BY_PIECE = frozenset({Stage.DISMANTLE, Stage.PLACE})
"""Steps whose cells go one by one: nothing is done again when one is missing, so the try goes on until it is done."""


@dataclass(frozen=True)
class StepResult:
    """What came of a try of a step: whether it is done, and what every rule found."""

    step: Step
    findings: Sequence[rules.Finding]

    @property
    def done(self) -> bool:
        """Whether the job moved on."""
        return self.step.done


def begin(job: Job, stage: Stage, *, by: User, at: datetime, measured_at: datetime | None = None) -> Step:
    """Work on a step belongs to a try: the one under way, or a new one after those that were stopped.

    ``measured_at`` is when its readings were taken, where they stood on paper first.
    """
    step = _try(job, stage, by, at)
    step.paper_at = None if measured_at is None else _from_paper(job, measured_at, at)
    return step


def _from_paper(job: Job, measured_at: datetime, at: datetime) -> datetime:
    """What stood on paper was read while the job was here, and not in the time to come."""
    if measured_at > at:
        raise ShopError("future_date", "The readings lie in the future.", field="measured_at")
    if measured_at < job.opened_at:
        raise ShopError("before_the_job", "The readings are older than the job.", field="measured_at")
    return measured_at


def _try(job: Job, stage: Stage, by: User, at: datetime) -> Step:
    last = Step.objects.select_for_update().filter(job=job, stage=stage.value).last()
    if last is not None and last.outcome == StepOutcome.UNDER_WAY:
        last.job = job
        return last
    consent.require_for_step(job)
    return save(Step(job=job, stage=stage.value, number=last.number + 1 if last else 1, started_at=at, by=by))


def passed(step: Step, findings: Sequence[rules.Finding], *, at: datetime) -> None:
    """Keep what the rules found at a stage that nothing stops; its operation moves the job on."""
    step.findings, step.rule_set = rules.as_json(findings), rules.version()
    step.outcome, step.ended_at = StepOutcome.DONE.value, at
    save(step)


def conclude(
    step: Step,
    findings: Sequence[rules.Finding],
    *,
    by: User,
    at: datetime,
    confirmed: Mapping[str, bool] | None = None,
    before: Sequence[dict[str, Any]] = (),
    since: str = "",
) -> StepResult:
    """A step is done when no rule stops it. A try that was stopped keeps its readings, and the next one is another.

    ``before`` is what the rules found when the step was begun, as it was kept then; ``since`` what was found and done
    since the try before.
    """
    stage, stops = Stage(step.stage), rules.stopping(findings)
    step.findings = [*before, *rules.as_json(findings)]
    step.rule_set = rules.version()
    told = since.strip()
    step.confirmed = dict(confirmed or {}) | ({f"{SINCE}{told}": True} if told else {})
    step.by = by
    if not stops or stage not in PIECE_BY_PIECE:
        step.outcome, step.ended_at = (StepOutcome.STOPPED if stops else StepOutcome.DONE).value, at
    save(step)
    if not stops:
        advance(step.job, step.job.after(stage))
    log.record(
        "step stopped" if stops else "step done",
        by=by,
        at=at,
        job=step.job,
        step=stage.value,
        number=step.number,
        stops=[finding.rule_id for finding in stops],
        **({"since": told} if told else {}),
    )
    return StepResult(step, findings)


def ask_again(corrected: Reading, *, by: User, at: datetime) -> Sequence[rules.Finding]:
    """A step that is done is asked again when a reading of it was corrected; the stops that it meets are returned.

    With one the job goes back to that step, and what came after it is done anew. A job that is closed stays closed, and
    a pack that is apart stays apart: record and papers tell what was found.
    """
    if corrected.step is None or not corrected.step.done:
        return []
    stage = Stage(corrected.step.stage)
    for asked in (stage, *rules.LEANING_ON.get(stage, ())):
        step = Step.objects.filter(job=corrected.job, stage=asked.value, outcome=StepOutcome.DONE.value).first()
        findings = rules.found_again(step) if step is not None else None
        if step is None or findings is None:
            continue
        step.findings, step.rule_set = rules.as_json(findings), rules.version()
        save(step)
        if stops := rules.stopping(findings):
            _holds_no_more(step, stops, by=by, at=at)
            return stops
    return []


def _holds_no_more(step: Step, stops: Sequence[rules.Finding], *, by: User, at: datetime) -> None:
    job, stage = lock_job(step.job, closed_too=True), Stage(step.stage)
    log.record("step holds no more", by=by, at=at, job=job, step=stage.value, stops=[one.rule_id for one in stops])
    if job.closed_at is not None or stage in rules.PAST:
        return
    back_to(job, stage)


def back_to(job: Job, stage: Stage) -> None:
    """The job goes back to a stage, and what came after it is done anew."""
    anew = job.route[job.route.index(stage) :]
    Step.objects.filter(job=job, stage__in=[one.value for one in anew], outcome=StepOutcome.DONE.value).update(
        outcome=StepOutcome.STOPPED.value
    )
    advance(job, stage)


def give_up(job: Job, *, by: User, at: datetime) -> None:
    """A try that is under way when its job turns another way was given up."""
    Step.objects.filter(job=job, outcome=StepOutcome.UNDER_WAY.value).update(
        outcome=StepOutcome.GIVEN_UP.value, ended_at=at, by=by
    )
