"""A build that was begun and does not go on: its cells come back, the job still ends with everything accounted for."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from packs.terms import STEPS, Condition, Place, Stage
from shop.errors import ShopError
from shop.models import Cell, Job, Plan, PlanPosition, PlanState, User

from . import book, conditions, log, part_of_pack, steps
from .base import BENCH, advance, lock_job, moment, require_stage, verb

GIVE_UP_AT = (Stage.TARGET, Stage.MATCH, *STEPS)
LOOSE_AT = (Stage.PLACE, Stage.MEASURE)
"""While the placed cells are joined to nothing yet: one that may react can be told from the others."""


@verb(*BENCH)
def give_up(
    *,
    job: Job,
    reason: str,
    by: User,
    damaged: Sequence[str] = (),
    standing: Condition = Condition.INTACT,
    reacting: Sequence[str] = (),
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """A build can be given up at any step: cells not placed are free, placed ones come back to the bench.

    Of a repair the groups that stay are set apart as one thing, in the condition they are in.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *GIVE_UP_AT, parked_too=True)
    _require_begun(job)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the build is given up.", field="reason")
    if reacting and Stage(job.stage) not in LOOSE_AT:
        raise ShopError("joined", NOT_TAKEN_APART, field="reacting")
    worse = dict.fromkeys(damaged, Condition.DAMAGED) | dict.fromkeys(reacting, Condition.REACTIVE)
    cells = _back_to_the_bench(job, worse, by, at)
    part_of_pack.set_rest_aside(job, standing, by=by, at=at)
    free_plan(job)
    unfinished = Stage(job.stage) is Stage.DISMANTLE
    if not unfinished:
        steps.give_up(job, by=by, at=at)
    job.given_up = reason.strip()
    job.parked_in = ""
    advance(job, Stage.DISMANTLE if unfinished else Stage.REMOVED)
    log.record("build given up", by=by, at=at, job=job, reason=job.given_up, cells=[cell.code for cell in cells])
    return job


def free_plan(job: Job) -> list[str]:
    """Cells that were held for the job are free again; their codes are returned."""
    held = PlanPosition.objects.filter(plan__job=job, open=True).order_by("cell__code")
    codes = list(held.values_list("cell__code", flat=True))
    PlanPosition.objects.filter(plan__job=job).update(open=False)
    Plan.objects.filter(job=job).update(state=PlanState.ABANDONED.value)
    return codes


def possible(job: Job) -> bool:
    """Whether there is a build to give up: begun, not at its end, not given up before."""
    return Stage(job.stage) in GIVE_UP_AT and not job.held and not job.given_up and _begun(job)


def _begun(job: Job) -> bool:
    """Whether a build has begun: an old pack was opened, or there never was one."""
    return Stage.EXAMINE not in job.route or Cell.objects.removed_from_pack_of(job).exists()


def _require_begun(job: Job) -> None:
    if job.given_up:
        raise ShopError("given_up_already", f"The build of job {job.code} was given up before.")
    if not _begun(job):
        raise ShopError("not_opened", "Nothing was taken apart yet: return the device without a rebuild instead.")


NOT_TAKEN_APART = (
    "A joined pack that may react is not taken apart. Keep away from it and report the danger sign: it leaves in one "
    "piece."
)


def _back_to_the_bench(job: Job, worse: Mapping[str, Condition], by: User, at: datetime) -> list[Cell]:
    inside = Cell.objects.select_for_update().select_related("lot__cell_model")
    placed = list(inside.filter(place=Place.PACK.value, job=job))
    if strange := sorted(set(worse) - {cell.code for cell in placed}):
        raise ShopError("no_such_cell", f"Not placed on this job: {', '.join(strange)}.", field="damaged")
    for cell in placed:
        book.move(cell, Place.BENCH, by=by, at=at, job=job, note="the build was given up")
        if cell.code in worse:
            found = worse[cell.code]
            conditions.lower_to(cell, found, f"{found.label} when the build was given up", by=by, at=at)
        conditions.follow_newest(cell, by=by, at=at)
    return placed
