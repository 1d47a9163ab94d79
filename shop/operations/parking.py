"""A half-built pack that waits: where it lies, what its groups have, and what they have before work goes on."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from packs.terms import STEPS, Area, Measure, Stage
from shop.bridge import rules
from shop.bridge.areas import AT_CHARGE
from shop.errors import Held, ShopError
from shop.models import Instrument, Job, Plan, Reading, User

from . import areas, log
from .base import BENCH, lock_job, moment, require_stage, save, standing_plan, verb
from .readings import require_count, require_possible, write

PARKED_AT = STEPS[1:]
"""From the first placed cell to the final test; while the old pack comes apart every cell is in the book already."""
PARKED = "parked, "


@verb(*BENCH)
def park(
    *,
    job: Job,
    place: str,
    insulated: bool,
    by: User,
    groups_mv: Sequence[Decimal | None] = (),
    supply_off: bool | None = None,
    instrument: Instrument | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """Nobody leaves a half-built pack without covered ends, a named place, and what its groups have."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *PARKED_AT)
    plan = _plan(job)
    if not place.strip():
        raise ShopError("place_missing", "Say where it lies, so that the next person finds it.", field="place")
    _require_possible(plan, groups_mv)
    found = rules.parked(plan, insulated=insulated, supply_off=supply_off, groups_mv=groups_mv)
    if stops := rules.stopping(found):
        raise Held(stops)
    _write(job, PARKED, groups_mv, instrument, by, at)
    job.parked_in = place.strip()
    job.version += 1
    save(job)
    if Stage(job.stage) in AT_CHARGE:
        areas.require_room(Area.HALF_BUILT)
    log.record("parked", by=by, at=at, job=job, place=job.parked_in, step=job.stage)
    return job


@verb(*BENCH)
def resume(
    *,
    job: Job,
    by: User,
    groups_mv: Sequence[Decimal | None] = (),
    supervised_by: str = "",
    instrument: Instrument | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """Before work goes on the groups are read again; one that fell behind the others is looked into first."""
    at = moment(now)
    job = lock_job(job, version)
    led_back = job.route if job.parked else ()  # a corrected reading may have done so meanwhile
    require_stage(job, *PARKED_AT, *led_back, parked_too=True)
    if not job.parked:
        raise ShopError("not_parked", f"The pack of job {job.code} is not parked.")
    plan = _plan(job)
    _require_possible(plan, groups_mv)
    found = rules.taken_up(plan, before=parked_groups(job), groups_mv=groups_mv, supervised=bool(supervised_by.strip()))
    if stops := rules.stopping(found):
        raise Held(stops)
    _write(job, "taken up, ", groups_mv, instrument, by, at)
    place, job.parked_in = job.parked_in, ""
    job.version += 1
    save(job)
    if Stage(job.stage) in AT_CHARGE:
        areas.require_room(Area.CHARGING)
    named = {"supervised_by": supervised_by.strip()} if supervised_by.strip() else {}
    log.record("taken up again", by=by, at=at, job=job, place=place, step=job.stage, **named)
    return job


def parked_groups(job: Job) -> dict[str, Decimal]:
    """Return what each group had when the pack was parked last, by its name."""
    read = Reading.objects.standing().filter(job=job, point__startswith=PARKED, measure=Measure.REST_VOLTAGE.value)
    return {point.removeprefix(PARKED): value for point, value in read.values_list("point", "value")}


def possible(job: Job) -> bool:
    """Whether there is a half-built pack that can be parked."""
    return Stage(job.stage) in PARKED_AT and not job.held and not job.parked and job.closed_at is None


def _plan(job: Job) -> Plan:
    plan = standing_plan(job)
    plan.job = job
    return plan


def _require_possible(plan: Plan, groups_mv: Sequence[Decimal | None]) -> None:
    require_count(plan.series, groups_mv)
    require_possible({f"group {n}": mv for n, mv in enumerate(groups_mv, start=1)}, plan.cell_model)


def _write(
    job: Job, when: str, groups_mv: Sequence[Decimal | None], instrument: Instrument | None, by: User, at: datetime
) -> None:
    for number, value in enumerate(groups_mv, start=1):
        if value is not None:
            write(
                job=job,
                stage=Stage(job.stage),
                point=f"{when}group {number}",
                measure=Measure.REST_VOLTAGE,
                value=value,
                instrument=instrument,
                by=by,
                at=at,
            )
