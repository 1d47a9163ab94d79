"""How a step of the job card is concluded: readings stay, rules decide, the job moves on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from packs.terms import Stage
from shop.bridge import rules
from shop.models import Job, Step, User

from . import log
from .base import advance, save


@dataclass(frozen=True)
class StepResult:
    """What came of a step: whether it is done, and what every rule found."""

    step: Step
    findings: Sequence[rules.Finding]

    @property
    def done(self) -> bool:
        """Whether the job moved on."""
        return self.step.done_at is not None


def conclude(
    job: Job,
    stage: Stage,
    findings: Sequence[rules.Finding],
    *,
    by: User,
    at: datetime,
    confirmed: Mapping[str, bool] | None = None,
) -> StepResult:
    """A step is done when no rule stops it. Readings that were taken are kept either way."""
    step, _ = Step.objects.select_for_update().get_or_create(job=job, stage=stage.value)
    step.findings = rules.as_json(findings)
    step.rule_set = rules.RULE_SET_VERSION
    step.confirmed = dict(confirmed or {})
    stops = rules.stopping(findings)
    if not stops:
        step.done_at, step.done_by = at, by
    save(step)
    if not stops:
        advance(job, job.after(stage))
    log.record(
        "step stopped" if stops else "step done",
        by=by,
        at=at,
        job=job,
        step=stage.value,
        stops=[finding.rule_id for finding in stops],
    )
    return StepResult(step, findings)
