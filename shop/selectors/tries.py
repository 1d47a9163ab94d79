"""The tries of a step: the one that counts, and those before it."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch

from packs.terms import Stage
from shop.bridge import rules
from shop.models import Job, Reading, Step, StepOutcome

from .corrected import tied


@dataclass(frozen=True)
class Try:
    """One try of a step: what stopped it, and what was read in it."""

    step: Step
    outcome: StepOutcome
    stops: list[dict[str, Any]]
    readings: list[Reading]

    @property
    def many_hands(self) -> bool:
        """Whether there is more to tell of the readings than that whoever ended the try took them."""
        return any(reading.by_id != self.step.by_id or reading.instrument_id for reading in self.readings)


def of_stage(job: Job, stage: Stage) -> list[Try]:
    """Return the tries of a step, the first one first."""
    readings = Reading.objects.select_related("by", "instrument", "corrected_by", "cell")
    steps = Step.objects.filter(job=job, stage=stage.value).select_related("by")
    return list(_told(steps.prefetch_related(Prefetch("readings", readings))))


def beyond_a_limit(right: Reading) -> str:
    """Say what no longer holds since a reading of a step was corrected; nothing where all still does."""
    step = right.step
    if step is None or right.job is None:
        return ""
    leaning = (Stage(step.stage), *rules.LEANING_ON.get(Stage(step.stage), ()))
    rows = Step.objects.filter(job=right.job, stage__in=[stage.value for stage in leaning]).exclude(ended_at=None)
    last = {row.stage: row for row in rows}
    stops = [found for row in last.values() for found in rules.stored_stops(row.findings)]
    if not stops:
        return ""
    right.job.refresh_from_db()
    told = " ".join(found["message"] for found in stops)
    return f"With this value a hold point does not hold: {told} {_then(right.job, leaning)}"


def _then(job: Job, asked: Collection[Stage]) -> str:
    """Say what follows for a job of which a step does not hold any more."""
    if job.closed_at:
        return (
            f"Job {job.code} is closed: tell whoever has the pack not to use it, and take it back as a warranty return."
        )
    if Stage(job.stage) not in asked:
        return "The old pack is apart already; the record says so."
    return f"The job is back at “{job.label_of(Stage(job.stage))}”; what came after it is done anew."


def _told(steps: Iterable[Step]) -> Iterable[Try]:
    for step in steps:
        stops = [] if step.done else rules.stored_stops(step.findings)
        yield Try(step, StepOutcome(step.outcome), stops, tied(step.readings.all()))
