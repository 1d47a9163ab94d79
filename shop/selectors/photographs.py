"""Photographs of a job, by the stage at which they were taken."""

from collections.abc import Iterable
from dataclasses import dataclass

from packs.terms import Stage
from shop.models import Job, Photograph


@dataclass(frozen=True)
class Shown:
    """What was photographed at one stage."""

    stage: Stage
    label: str
    photographs: tuple[Photograph, ...]


def of_job(job: Job, *stages: Stage) -> list[Shown]:
    """Return the photographs of a job, or of some of its stages, in the order of the work."""
    rows = job.photographs.standing().select_related("by")
    wanted = rows.filter(stage__in=[stage.value for stage in stages]) if stages else rows
    return _by_stage(job, wanted)


def _by_stage(job: Job, rows: Iterable[Photograph]) -> list[Shown]:
    found: dict[str, list[Photograph]] = {}
    for row in rows:
        found.setdefault(row.stage, []).append(row)
    return [Shown(stage, job.label_of(stage), tuple(found[stage.value])) for stage in Stage if stage.value in found]
