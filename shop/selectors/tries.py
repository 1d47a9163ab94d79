"""The tries of a step: the one that counts, and those before it."""

from collections.abc import Iterable
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


def _told(steps: Iterable[Step]) -> Iterable[Try]:
    for step in steps:
        stops = [] if step.done else rules.stored_stops(step.findings)
        yield Try(step, StepOutcome(step.outcome), stops, tied(step.readings.all()))
