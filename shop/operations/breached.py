"""A can was pierced while a pack was joined: stop, set the block apart, and replace that one cell."""

from datetime import datetime

from packs.terms import Condition, Place, Stage
from shop.bridge import layouts, rules
from shop.errors import Held, ShopError
from shop.models import Cell, IncidentKind, Job, Joint, JointState, Plan, PlanPosition, Step, StepOutcome, User

from . import book, conditions, incidents, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, standing_plan, verb

BREACHED_AT = (Stage.JOIN, Stage.LADDER)
DONE_AGAIN = (Stage.PLACE, Stage.MEASURE, Stage.JOIN, Stage.LADDER)


@verb(*BENCH)
def replace_breached(
    *,
    job: Job,
    code: str,
    instead: str,
    happened: str,
    isolated: bool,
    by: User,
    reacting: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> PlanPosition:
    """A breached cell is damaged for good; only it and the strips on it come off, and the job goes back to placing.

    It is an incident: job and welder are used no further until a lead released it.
    """
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *BREACHED_AT)
    plan = standing_plan(job)
    if not happened.strip():
        raise ShopError("reason_missing", "Write down what happened.", field="happened")
    position = _position(plan, code.strip())
    new = _instead(plan, instead.strip())
    if stops := rules.stopping([*rules.isolated(plan, isolated), *rules.matched(plan, [new])]):
        raise Held(stops)
    old = position.cell
    strips = _take_off(plan, position)
    condition = Condition.REACTIVE if reacting else Condition.DAMAGED
    conditions.change(old, condition, f"can breached: {happened.strip()}", by=by, at=at)
    book.move(old, Place.BENCH, by=by, at=at, job=job, note=f"breached at position {position.name}")
    position.cell, position.placed_at, position.placed_by = new, None, None
    save(position)
    begin_again(job)
    advance(job, Stage.PLACE)
    sample = job.peel_samples.last()
    incidents.write(
        IncidentKind.PIERCED, f"cell {old.code} at {position.name}: {happened.strip()}", job=job, happened_at=at, by=by,
        at=at, moved=f"cell {old.code} off the pack, to the bench", welder=sample.machine if sample else "",
    )  # fmt: skip
    log.record(
        "cell breached", by=by, at=at, job=job, cell=old.code, instead=new.code, position=position.name, strips=strips,
        happened=happened.strip(),
    )  # fmt: skip
    return position


def _position(plan: Plan, code: str) -> PlanPosition:
    positions = plan.positions.select_related("cell__lot__cell_model")
    position = positions.filter(cell__code=code, placed_at__isnull=False).first()
    if position is None:
        raise ShopError("wrong_cell", f"Cell {code} is not in this pack.", field="code", cell=code)
    return position


def _instead(plan: Plan, code: str) -> Cell:
    list(Cell.objects.select_for_update().filter(code=code))
    cell = Cell.objects.free(plan.job).filter(code=code, lot__cell_model_id=plan.cell_model_id).first()
    if cell is None:
        message = f"{code or 'Nothing'} is no free cell of this model; name one that is in stock."
        raise ShopError("cells_gone", message, field="instead", cells=[code])
    return cell


def _take_off(plan: Plan, position: PlanPosition) -> list[int]:
    """Take off the strips on the cell and no others; their joints stay in the table, as undone."""
    place = (position.group, position.place)
    touched = [
        strip.number
        for strip in layouts.of_plan(plan).strips
        if any((joint.group, joint.place) == place for joint in strip.joints)
    ]
    standing = Joint.objects.filter(position__plan=plan, strip__in=touched).exclude(state=JointState.UNDONE.value)
    taken_off = sorted(set(standing.values_list("strip", flat=True)))
    standing.update(state=JointState.UNDONE.value)
    return taken_off


def begin_again(job: Job) -> None:
    """What was done before the breach stays as a try that was given up; its readings no longer count."""
    begun = Step.objects.filter(job=job, stage__in=[stage.value for stage in DONE_AGAIN])
    begun.filter(outcome=StepOutcome.DONE.value).update(outcome=StepOutcome.GIVEN_UP.value)
